//! Which cases are asked for, as the command line says it.

use super::super::{BAD_INPUT, World};
use crate::case::CaseKind;
use crate::review::{Asked, Cache, Ending, Filter, Month, QuantileType, Stream};

/// Which cases.
#[derive(Debug, clap::Args)]
pub struct FilterArgs {
    /// Rehearsals instead of live cases; the two never mix.
    #[arg(long)]
    pub rehearsals: bool,
    /// How the cases ended; those that were stopped or void never mix with finished ones.
    #[arg(long, value_name = "HOW", default_value = "finished", value_parser = ["finished", "stopped", "void"])]
    pub ended: String,
    /// Only this pathway.
    #[arg(long, value_name = "ID")]
    pub pathway: Option<String>,
    /// Only this site.
    #[arg(long, value_name = "NAME")]
    pub site: Option<String>,
    /// Only this C-arm.
    #[arg(long, value_name = "NAME")]
    pub machine: Option<String>,
    /// Only this surgeon, by the key's thumbprint.
    #[arg(long, value_name = "KID")]
    pub surgeon: Option<String>,
    /// From this month on, as 2031-03.
    #[arg(long, value_name = "MONTH", value_parser = month)]
    pub from: Option<Month>,
    /// Up to this month.
    #[arg(long, value_name = "MONTH", value_parser = month)]
    pub to: Option<Month>,
    /// Type of the quantiles: 7, or 6 as the NIST handbook computes them.
    #[arg(long, value_name = "TYPE", default_value_t = 7, value_parser = clap::value_parser!(u8).range(6..=7))]
    pub quantile: u8,
}

/// A month as 2031-03.
pub fn month(text: &str) -> Result<Month, String> {
    let wrong = || format!("\"{text}\" is no month such as 2031-03");
    let (year, month) =
        text.split_once('-').filter(|(year, month)| year.len() == 4 && month.len() == 2).ok_or_else(wrong)?;
    let (year, month) = (year.parse().map_err(|_| wrong())?, month.parse().map_err(|_| wrong())?);
    if (1..=12).contains(&month) { Ok(Month { year, month }) } else { Err(wrong()) }
}

impl FilterArgs {
    /// What is asked of the core.
    pub fn asked(&self) -> Asked {
        let kind = if self.rehearsals { CaseKind::Rehearsal } else { CaseKind::Live };
        let ending = match self.ended.as_str() {
            "stopped" => Ending::Stopped,
            "void" => Ending::Void,
            _ => Ending::Finished,
        };
        let stream = Stream { kind, ending };
        let filter = Filter {
            stream,
            pathway: self.pathway.clone(),
            site: self.site.clone(),
            machine: self.machine.clone(),
            surgeon: self.surgeon.clone(),
            from: self.from,
            to: self.to,
        };
        let quantile = if self.quantile == 6 { QuantileType::Six } else { QuantileType::Seven };
        Asked { filter, quantile, ..Asked::of(stream) }
    }
}

/// A name that no case carries is a mistake of whoever asked, not an empty answer.
pub fn known(asked: &Asked, cache: &Cache, world: &mut World<'_>) -> Result<(), u8> {
    match cache.unknown(&asked.filter) {
        Some((what, name)) => Err(world.fail(BAD_INPUT, format_args!("--{what} {name}: no case in the index has it"))),
        None => Ok(()),
    }
}

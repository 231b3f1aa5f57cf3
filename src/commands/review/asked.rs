//! Which cases are asked for, as the command line says it.

use super::super::{BAD_INPUT, World};
use crate::case::CaseKind;
use crate::review::{Asked, Cache, Ending, Filter, Month, Narrow, QuantileType, Stream};

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
    /// Only this team, as `review summary --by team` names it. No signal is raised about a team.
    #[arg(long, value_name = "TEAM")]
    pub team: Option<String>,
    /// Only cases with this outcome: finished, cancelled, abandoned, converted, void.
    #[arg(long, value_name = "OUTCOME", conflicts_with = "ended", value_parser = |word: &str| one_of(Narrow::Outcome, word))]
    pub outcome: Option<String>,
    /// Only patients of this size: below 60 kg, 60 to 80 kg, 80 to 100 kg, 100 kg and more, not disclosed.
    #[arg(long, value_name = "SIZE", value_parser = |word: &str| one_of(Narrow::Size, word))]
    pub size: Option<String>,
    /// Only cases on this side: left, right, both.
    #[arg(long, value_name = "SIDE", value_parser = |word: &str| one_of(Narrow::Side, word))]
    pub side: Option<String>,
    /// Only patients with this sacrum: normal, dysmorphic, not judged.
    #[arg(long, value_name = "SHAPE", value_parser = |word: &str| one_of(Narrow::Sacrum, word))]
    pub sacrum: Option<String>,
    /// Only cases with so many implants.
    #[arg(long, value_name = "NUMBER", value_parser = |word: &str| one_of(Narrow::Implants, word))]
    pub implants: Option<String>,
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
    Month::of_word(text).ok_or_else(|| format!("\"{text}\" is no month such as 2031-03"))
}

/// A word that names a value.
fn one_of(by: Narrow, word: &str) -> Result<String, String> {
    let known = Filter::of(Stream::LIVE).narrowed(by, Some(word));
    known.map(|_| word.to_owned()).ok_or_else(|| format!("\"{word}\" is none of them"))
}

impl FilterArgs {
    /// What is asked of the core.
    pub fn asked(&self) -> Asked {
        let kind = if self.rehearsals { CaseKind::Rehearsal } else { CaseKind::Live };
        let ending = match self.outcome.as_deref().unwrap_or(&self.ended) {
            "stopped" | "cancelled" | "abandoned" | "converted" => Ending::Stopped,
            "void" => Ending::Void,
            _ => Ending::Finished,
        };
        let stream = Stream { kind, ending };
        let named = [
            (Narrow::Pathway, &self.pathway),
            (Narrow::Site, &self.site),
            (Narrow::Machine, &self.machine),
            (Narrow::Surgeon, &self.surgeon),
            (Narrow::Team, &self.team),
            (Narrow::Outcome, &self.outcome),
            (Narrow::Size, &self.size),
            (Narrow::Side, &self.side),
            (Narrow::Sacrum, &self.sacrum),
            (Narrow::Implants, &self.implants),
        ];
        let all = Filter { from: self.from, to: self.to, ..Filter::of(stream) };
        let narrow = |filter: Filter, (by, word): (Narrow, &Option<String>)| {
            filter.narrowed(by, word.as_deref()).expect("a word was judged when it was read")
        };
        let filter = named.into_iter().fold(all, narrow);
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

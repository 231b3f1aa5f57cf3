//! `brimline review report`: a month as PDF.

use super::super::{COULD_NOT, NO, World, YES};
use super::asked::{FilterArgs, known, month};
use super::{IndexArgs, ReviewPorts, open, refuse};
use crate::review::{Filter, Month, month_report};
use std::path::PathBuf;

/// Which month, and where the report goes.
#[derive(Debug, clap::Args)]
pub struct ReportArgs {
    /// The month, as 2031-03.
    #[arg(value_parser = month)]
    pub month: Month,
    #[command(flatten)]
    pub filter: FilterArgs,
    /// The PDF file, or - for standard output.
    #[arg(short, long, value_name = "FILE.pdf")]
    pub output: PathBuf,
}

pub(super) fn run(args: &ReportArgs, which: &IndexArgs, world: &mut World<'_>, ports: &ReviewPorts) -> Result<u8, u8> {
    let cache = open(which, false, world, ports)?.cache().map_err(|fault| refuse(&fault, world))?;
    let asked = args.filter.asked();
    known(&asked, &cache, world)?;
    let alone = Filter { from: Some(args.month), to: Some(args.month), ..asked.filter.clone() };
    if alone.cases(&cache).is_empty() {
        return Err(
            world.fail(NO, format_args!("{}: the index holds none of the {} of that month", args.month, alone.stream))
        );
    }
    let pages = month_report(&cache, args.month, &asked);
    let title = format!("Brimline · Review of {}", args.month);
    let bytes = ports.press.pdf(&title, &pages);
    let bytes = bytes.map_err(|fault| world.fail(COULD_NOT, format_args!("the report: {fault}")))?;
    world.write(&args.output, &bytes)?;
    Ok(YES)
}

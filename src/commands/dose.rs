//! `brimline dose`: what the machine's own report says.

mod figures;
mod read;

use super::World;
use crate::ports::ReportReader;
use clap::{Args, Subcommand};

/// Dose: the machine's own report.
#[derive(Debug, Args)]
pub struct DoseArgs {
    #[command(subcommand)]
    pub verb: DoseVerb,
}

#[derive(Debug, Subcommand)]
pub enum DoseVerb {
    /// Print what dose reports say, with unit and attribute, and where they contradict themselves.
    Read(read::ReadArgs),
}

/// Exit code: see the verb.
pub fn run(args: &DoseArgs, world: &mut World<'_>, reports: &dyn ReportReader) -> u8 {
    match &args.verb {
        DoseVerb::Read(args) => read::run(args, world, reports),
    }
}

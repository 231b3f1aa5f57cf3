//! `brimline dose`: what the machine reports, and which step it belongs to.

mod figures;
mod read;
pub mod reconcile;
mod team_sequence;
mod words;

use super::World;
use crate::open_case;
use crate::ports::ReportReader;
use clap::{Args, Subcommand};

/// Dose: the machine's own report.
#[derive(Debug, Args)]
pub struct DoseArgs {
    #[command(subcommand)]
    pub verb: DoseVerb,
}

/// What to do with it.
#[derive(Debug, Subcommand)]
pub enum DoseVerb {
    /// Print what dose reports say, with unit and attribute, and where they contradict themselves
    Read(read::ReadArgs),
    /// Attribute a report's events to the steps of a case
    Reconcile(reconcile::ReconcileArgs),
}

/// Exit code: see the verb.
pub fn run(args: &DoseArgs, world: &mut World<'_>, ports: &open_case::World, reports: &dyn ReportReader) -> u8 {
    match &args.verb {
        DoseVerb::Read(args) => read::run(args, world, reports),
        DoseVerb::Reconcile(args) => reconcile::run(args, world, ports, reports),
    }
}

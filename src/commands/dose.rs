//! `brimline dose`: what the machine reports, and which step it belongs to.

pub mod reconcile;
mod team_sequence;
mod words;

use super::World;
use crate::dose::DoseReport;
use crate::open_case;

/// Makes a report of the bytes of a file that is not its JSON form; says in one line what is wrong with it.
pub type ReadReport<'a> = &'a dyn Fn(&[u8]) -> Result<DoseReport, String>;

/// Read the machine's dose report.
#[derive(Debug, clap::Args)]
pub struct DoseArgs {
    #[command(subcommand)]
    pub verb: DoseVerb,
}

/// What to do with it.
#[derive(Debug, clap::Subcommand)]
pub enum DoseVerb {
    /// Attribute a report's events to the steps of a case
    Reconcile(reconcile::ReconcileArgs),
}

/// Exit code 0: done; 2: bad input; 3: could not.
pub fn run(args: &DoseArgs, world: &mut World<'_>, ports: &open_case::World, read: ReadReport<'_>) -> u8 {
    match &args.verb {
        DoseVerb::Reconcile(args) => reconcile::run(args, world, ports, read),
    }
}

//! `brimline plan`: what the geometry says, from files.
//!
//! What it does not do: it opens no case and writes no file.

pub mod pin;

use super::World;
use clap::{Args, Subcommand};

/// The geometry of a plan, from files.
#[derive(Debug, Args)]
pub struct PlanArgs {
    #[command(subcommand)]
    pub verb: PlanVerb,
}

#[derive(Debug, Subcommand)]
pub enum PlanVerb {
    /// Say where the guide pin is, from touches on two or more views.
    Pin(pin::PinArgs),
}

/// Exit code 0: done; 1: no; 2: bad input; 3: the result could not be written.
pub fn run(args: &PlanArgs, world: &mut World<'_>) -> u8 {
    match &args.verb {
        PlanVerb::Pin(args) => pin::run(args, world),
    }
}

//! `brimline rehearse`: what the synthetic machine and the model people say, without a window.
//!
//! What it does not do: it keeps no case; nothing here is about a patient.

mod compare;
mod interval;
mod report;
mod report_text;

use super::World;
use clap::{Args, Subcommand};

/// The synthetic machine and the model people, without a window.
#[derive(Debug, Args)]
pub struct RehearseArgs {
    #[command(subcommand)]
    pub verb: RehearseVerb,
}

#[derive(Debug, Subcommand)]
pub enum RehearseVerb {
    /// Let scripted teams find views and place pins on the same model people, by five strategies
    Compare(compare::CompareArgs),
}

/// Exit code 0: done; 2: usage; 3: the answer could not be written.
pub fn run(args: &RehearseArgs, world: &mut World<'_>) -> u8 {
    let done = match &args.verb {
        RehearseVerb::Compare(args) => compare::run(args, world),
    };
    done.unwrap_or_else(|code| code)
}

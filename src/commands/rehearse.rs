//! `brimline rehearse`: what the synthetic machine and the model people say, without a window.
//!
//! What it does not do: it keeps no case; nothing here is about a patient.

mod compare;
pub mod image;
mod interval;
mod report;
mod report_text;

use super::World;
use crate::ports::picture::PictureWriter;
use clap::{Args, Subcommand};

/// The synthetic machine and the model people, without a window.
#[derive(Debug, Args)]
pub struct RehearseArgs {
    #[command(subcommand)]
    pub verb: RehearseVerb,
}

#[derive(Debug, Subcommand)]
pub enum RehearseVerb {
    /// Make one synthetic picture of a model person
    Image(image::ImageArgs),
    /// Let scripted teams find views and place pins on the same model people, by five strategies
    Compare(compare::CompareArgs),
}

/// Exit code 0: done; 1: refused, with the reason; 2: usage; 3: could not be written.
pub fn run(args: &RehearseArgs, world: &mut World<'_>, pictures: &dyn PictureWriter) -> u8 {
    match &args.verb {
        RehearseVerb::Image(args) => image::run(args, world, pictures),
        RehearseVerb::Compare(args) => compare::run(args, world).unwrap_or_else(|code| code),
    }
}

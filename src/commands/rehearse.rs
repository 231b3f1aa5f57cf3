//! `brimline rehearse`: what the synthetic machine and the model people say, without a window.
//!
//! What it does not do: it keeps no case; nothing here is about a patient.

pub mod image;

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
}

/// Exit code 0: done; 1: refused, with the reason; 2: usage; 3: could not be written.
pub fn run(args: &RehearseArgs, world: &mut World<'_>, pictures: &dyn PictureWriter) -> u8 {
    match &args.verb {
        RehearseVerb::Image(args) => image::run(args, world, pictures),
    }
}

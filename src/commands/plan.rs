//! `brimline plan`: the geometry of a case from files, without a window.
//!
//! Each verb reads one strict, versioned JSON document and prints what a radiographer can act on, or JSON. What it does
//! not do: it keeps nothing and changes no case. Every answer is advisory.

pub mod correct;
pub mod pin;
mod setup;
pub mod targets;

use super::{BAD_INPUT, World};
use crate::carm::{WORDS_MAX_BYTES, Words};
use crate::settings::Settings;
use crate::strict_json::ReadError;
use clap::{Args, Subcommand};
use std::path::PathBuf;
use thiserror::Error;

/// The geometry of a case: view targets, view corrections, pin findings.
#[derive(Debug, Args)]
pub struct PlanArgs {
    #[command(subcommand)]
    pub verb: PlanVerb,
}

#[derive(Debug, Subcommand)]
pub enum PlanVerb {
    /// Say how to reach each view of this sacrum on this machine.
    Targets(MoveArgs),
    /// Turn what a picture shows into the moves to the true view.
    Correct(MoveArgs),
    /// Say where the guide pin is, from touches on two or more views.
    Pin(pin::PinArgs),
}

/// A document that is answered by moves of the machine, and how to answer.
#[derive(Debug, Args)]
pub struct MoveArgs {
    /// The document, or - for standard input.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
    /// The site's own words for the moves.
    #[arg(long, value_name = "FILE")]
    pub words: Option<PathBuf>,
}

impl MoveArgs {
    /// The words in force: the site's, or those that come with the program.
    fn words(&self, world: &mut World<'_>) -> Result<Words, u8> {
        let Some(path) = &self.words else { return Ok(Words::built_in()) };
        let bytes = world.read(path, WORDS_MAX_BYTES)?;
        Words::read(&bytes).map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", path.display())))
    }
}

/// Exit code 0: answered; 1: refused, with the reason; 2: no readable document; 3: the answer could not be written.
pub fn run(args: &PlanArgs, world: &mut World<'_>, settings: &Settings) -> u8 {
    let done = match &args.verb {
        PlanVerb::Targets(args) => targets::run(args, world, &settings.machine),
        PlanVerb::Correct(args) => correct::run(args, world),
        PlanVerb::Pin(args) => pin::run(args, world, settings.pin),
    };
    done.unwrap_or_else(|code| code)
}

/// Reads the document of a verb, naming the file in every refusal.
fn document<T>(
    args: &MoveArgs,
    world: &mut World<'_>,
    read: impl FnOnce(&[u8]) -> Result<T, DocumentError>,
) -> Result<T, u8> {
    let bytes = world.read(&args.file, MAX_BYTES)?;
    read(&bytes).map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", args.file.display())))
}

/// The largest document accepted, bytes.
pub const MAX_BYTES: u64 = 64 << 10;

/// What stands under every answer.
pub const ADVISORY: &str = "Advisory: the surgeon's reading of the image decides.";

/// Why bytes are not the document wanted.
#[derive(Debug, Error, PartialEq)]
pub enum DocumentError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    #[error("{place}: {value} is not plausible ({from} to {to})")]
    Implausible { place: String, value: f64, from: f64, to: f64 },
    #[error("{place}: {reason}")]
    Contradiction { place: &'static str, reason: String },
}

/// Refuses a number outside its plausible range, by its place.
fn plausible(place: impl Into<String>, value: f64, from: f64, to: f64) -> Result<(), DocumentError> {
    if (from..=to).contains(&value) {
        return Ok(());
    }
    Err(DocumentError::Implausible { place: place.into(), value, from, to })
}

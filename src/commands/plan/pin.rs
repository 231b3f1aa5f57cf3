//! `brimline plan pin`: a pin finding from a file of touches.
//!
//! What it does not do: it computes nothing itself and keeps nothing.

mod text;

use crate::commands::{BAD_INPUT, NO, World, YES};
use crate::pin;
use crate::settings::PinSettings;
use serde_json::json;
use std::path::PathBuf;

/// Say where the guide pin is, from touches on two or more views. Advisory: the surgeon's reading of the image decides.
#[derive(Debug, clap::Args)]
pub struct PinArgs {
    /// The touches (format `brimline_pin` 1), or - for standard input.
    pub file: PathBuf,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// Exit code 0: found, with or without a question; 1: something caught holds the finding back; 2: no readable input.
pub(super) fn run(args: &PinArgs, world: &mut World<'_>, site: PinSettings) -> Result<u8, u8> {
    let bytes = world.read(&args.file, pin::MAX_BYTES)?;
    let scene = pin::read_of_site(&bytes, site)
        .map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", args.file.display())))?;
    let finding = pin::find(&scene);
    if args.json {
        world.say(format_args!("{}", json!({ "finding": finding, "advisory": pin::ADVISORY })))?;
    } else {
        world.say(format_args!("{}", text::text(&finding).trim_end()))?;
    }
    Ok(if finding.held_back() { NO } else { YES })
}

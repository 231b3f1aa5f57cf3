//! `brimline plan correct`: from what a picture shows to the moves to the true view.

mod document;
mod print;

pub use document::{FORMAT, Read, read};

use super::{ADVISORY, MoveArgs};
use crate::carm::correction::correct;
use crate::commands::{NO, World, YES};
use serde_json::json;

/// Exit code 0: answered; 1: refused, with the reason; 2: no readable document.
pub(super) fn run(args: &MoveArgs, world: &mut World<'_>) -> Result<u8, u8> {
    let words = args.words(world)?;
    let read = super::document(args, world, read)?;
    let name = args.file.display();
    match correct(&read.sighting) {
        Ok(answer) => {
            let text = if args.json {
                print::json(&read, &answer, &words).to_string()
            } else {
                print::text(&read, &answer, &words)
            };
            world.say(format_args!("{text}"))?;
            Ok(YES)
        }
        Err(fault) => {
            if args.json {
                let refused =
                    json!({"brimline_correction_answer": 1, "refused": fault.to_string(), "advisory": ADVISORY});
                world.say(format_args!("{refused}"))?;
            }
            Ok(world.fail(NO, format_args!("{name}: {}: {fault}", read.view)))
        }
    }
}

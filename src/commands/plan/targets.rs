//! `brimline plan targets`: how to reach each view of this sacrum on this machine.

mod document;
mod print;

pub use document::{Answer, FORMAT, Read, Refused, read, read_of_site};
pub use print::{Block, blocks};

use super::MoveArgs;
use crate::commands::{NO, World, YES};
use crate::settings::MachineSettings;

/// Exit code 0: every view has its target; 1: refused, with the reason; 2: no readable document.
pub(super) fn run(args: &MoveArgs, world: &mut World<'_>, site: &MachineSettings) -> Result<u8, u8> {
    let words = args.words(world)?;
    let read = super::document(args, world, |bytes| read_of_site(bytes, site))?;
    let name = args.file.display();
    let answer = read.answer().map_err(|fault| world.fail(NO, format_args!("{name}: {fault}")))?;
    let text = if args.json { print::json(&answer, &words).to_string() } else { print::text(&answer, &words) };
    world.say(format_args!("{text}"))?;
    Ok(YES)
}

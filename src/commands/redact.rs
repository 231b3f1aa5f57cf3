//! `brimline redact`: a copy of a record without its disclosures.

use super::{BAD_INPUT, NO, World, YES};
use crate::record::{self, SignedRecord};
use std::path::PathBuf;

/// Write a copy of a record without names, dates, serials and free text. Every signature still verifies.
#[derive(Debug, clap::Args)]
pub struct RedactArgs {
    /// The record, or - for standard input.
    pub record: PathBuf,
    /// Where the copy goes, or - for standard output.
    #[arg(short, long, value_name = "FILE")]
    pub output: PathBuf,
    /// Claims whose disclosures stay, for instance `patient_age`.
    #[arg(long, value_name = "CLAIM", num_args = 1..)]
    pub keep: Vec<String>,
}

/// Exit code 0: written; 1: the record contradicts itself; 2: not a readable record, or no such claim.
pub fn run(args: &RedactArgs, world: &mut World<'_>) -> u8 {
    redact(args, world).unwrap_or_else(|code| code)
}

fn redact(args: &RedactArgs, world: &mut World<'_>) -> Result<u8, u8> {
    if let Some(name) = args.keep.iter().find(|name| !record::is_claim(name)) {
        let known = record::CLAIMS.join(", ");
        return Err(world.fail(BAD_INPUT, format_args!("--keep {name}: no such claim; there are {known}")));
    }
    let bytes = world.read(&args.record, record::MAX_BYTES)?;
    let redacted = SignedRecord::read(&bytes).and_then(|signed| record::redact(signed, &args.keep));
    match redacted {
        Ok(redacted) => world.write(&args.output, &redacted.to_bytes()).map(|()| YES),
        Err(fault) => {
            let code = if fault.is_unreadable() { BAD_INPUT } else { NO };
            Err(world.fail(code, format_args!("{}: {fault}", args.record.display())))
        }
    }
}

//! `brimline show`: a record or an addendum as text.

use super::{BAD_INPUT, NO, World, YES};
use crate::record::{self, Document, RecordError, Signed, SignedAddendum, SignedRecord};
use serde_json::json;
use std::path::PathBuf;

/// Print a case record or an addendum. No signature is verified: `brimline verify` does that.
#[derive(Debug, clap::Args)]
pub struct ShowArgs {
    /// The record, or - for standard input.
    pub record: PathBuf,
    /// Print it as JSON, disclosed claims in their places.
    #[arg(long)]
    pub json: bool,
}

/// Exit code 0: shown; 1: it contradicts itself; 2: not a readable record.
pub fn run(args: &ShowArgs, world: &mut World<'_>) -> u8 {
    show(args, world).unwrap_or_else(|code| code)
}

fn show(args: &ShowArgs, world: &mut World<'_>) -> Result<u8, u8> {
    let bytes = world.read(&args.record, record::MAX_BYTES)?;
    let shown = match SignedRecord::read(&bytes) {
        Ok(signed) => print(args, &signed, &record::text(signed.document()), world),
        // An addendum says what it is in its headers, so that is where a record's reader stops.
        Err(RecordError::Header { .. }) if SignedAddendum::read(&bytes).is_ok() => match SignedAddendum::read(&bytes) {
            Ok(signed) => print(args, &signed, &record::text_of_addendum(signed.document()), world),
            Err(fault) => return Err(refuse(args, &fault, world)),
        },
        Err(fault) => return Err(refuse(args, &fault, world)),
    };
    shown.map(|()| YES)
}

fn refuse(args: &ShowArgs, fault: &RecordError, world: &mut World<'_>) -> u8 {
    let code = if fault.is_unreadable() { BAD_INPUT } else { NO };
    world.fail(code, format_args!("{}: {fault}", args.record.display()))
}

fn print<D: Document>(args: &ShowArgs, signed: &Signed<D>, text: &str, world: &mut World<'_>) -> Result<(), u8> {
    let headers: Vec<_> = signed.signatures().iter().map(|signature| &signature.header).collect();
    if args.json {
        let document = json!({"payload": signed.document(), "digest": signed.digest(), "signatures": headers,
                              "missing": signed.missing(), "verified": false});
        return world.say(format_args!("{document}"));
    }
    world.say(format_args!("{}", text.trim_end()))?;
    for header in headers {
        let (role, meaning, seconds) = (header.role, header.meaning, header.signed_ms / 1_000);
        let replaces = header.replaces.as_ref().map(|old| format!(", by {} in place of {old}", header.kid));
        let replaces = replaces.unwrap_or_default();
        world.say(format_args!("signature of the {role} for {meaning}, {seconds} s after opening{replaces}"))?;
    }
    for who in signed.missing() {
        world.say(format_args!("NOT SIGNED yet by the {}", who.role))?;
    }
    world.say(format_args!("Payload SHA-256 {}. No signature was verified here.", signed.digest()))
}

//! `brimline verify`: does a record hold, and is it complete?

use super::{BAD_INPUT, NO, World, YES};
use crate::people::{self, Roster};
use crate::record::{self, RecordError, VerifiedRecord};
use serde_json::json;
use std::path::PathBuf;

/// Verify a signed case record.
#[derive(Debug, clap::Args)]
pub struct VerifyArgs {
    /// The record, or - for standard input.
    pub record: PathBuf,
    /// The roster of public keys.
    #[arg(long, value_name = "FILE")]
    pub roster: PathBuf,
    /// An addendum to the record, verified with it.
    #[arg(long, value_name = "FILE")]
    pub addendum: Vec<PathBuf>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Exit code 0: valid and complete; 1: invalid, incomplete or an unknown key; 2: not a readable record or roster.
pub fn run(args: &VerifyArgs, world: &mut World<'_>) -> u8 {
    verify(args, world).unwrap_or_else(|code| code)
}

fn verify(args: &VerifyArgs, world: &mut World<'_>) -> Result<u8, u8> {
    let roster = world.read(&args.roster, people::MAX_BYTES)?;
    let roster = Roster::read(&roster)
        .map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", args.roster.display())))?;
    let bytes = world.read(&args.record, record::MAX_BYTES)?;
    let verified = match record::verify(&bytes, &roster) {
        Ok(verified) => verified,
        Err(fault) => return refuse(args, &args.record.display().to_string(), &fault, world),
    };
    for path in &args.addendum {
        let bytes = world.read(path, record::MAX_BYTES)?;
        if let Err(fault) = record::verify_addendum(&bytes, &verified, &roster) {
            return refuse(args, &path.display().to_string(), &fault, world);
        }
    }
    accept(args, &verified, &roster, world)?;
    Ok(YES)
}

fn refuse(args: &VerifyArgs, file: &str, fault: &RecordError, world: &mut World<'_>) -> Result<u8, u8> {
    let code = if fault.is_unreadable() { BAD_INPUT } else { NO };
    if args.json {
        let incomplete = matches!(fault, RecordError::Incomplete { .. });
        let answer = json!({"valid": false, "incomplete": incomplete, "file": file, "fault": fault.to_string()});
        world.say(format_args!("{answer}"))?;
    }
    Ok(world.fail(code, format_args!("{file}: {fault}")))
}

fn accept(args: &VerifyArgs, verified: &VerifiedRecord, roster: &Roster, world: &mut World<'_>) -> Result<(), u8> {
    let signatures = verified.signatures();
    let held: Vec<_> = signatures.iter().map(|one| (one.who.role, one.who.kid.clone())).collect();
    let together = roster.held_together(&held);
    if args.json {
        let signature = |one: &record::VerifiedSignature| {
            json!({"role": one.who.role, "kid": one.who.kid, "name": one.name, "meaning": one.meaning,
                   "replaces": one.replaces, "signed_ms": one.signed_ms, "retired": one.retired})
        };
        let signatures: Vec<_> = signatures.iter().map(signature).collect();
        let together: Vec<_> = together.iter().map(|(one, other)| json!([one, other])).collect();
        let answer = json!({"valid": true, "payload": verified.digest(), "signatures": signatures,
                            "one_person_as": together, "addenda": args.addendum.len()});
        return world.say(format_args!("{answer}"));
    }
    world.say(format_args!("valid and complete, payload SHA-256 {}", verified.digest()))?;
    for one in signatures {
        let retired = if one.retired { ", key retired since" } else { "" };
        let replaced =
            if one.replaces.is_some() { ", with the key that took the place of the one asked for" } else { "" };
        let seconds = one.signed_ms / 1_000;
        let (name, role, meaning) = (&one.name, one.who.role, one.meaning);
        world.say(format_args!(
            "signed by {name}, {role}, for {meaning}, {seconds} s after opening{retired}{replaced}"
        ))?;
    }
    for (one, other) in together {
        world.say(format_args!(
            "one person signed as {one} and as {other}: the second signature is not an independent one"
        ))?;
    }
    if !args.addendum.is_empty() {
        world.say(format_args!("addenda verified: {}", args.addendum.len()))?;
    }
    Ok(())
}

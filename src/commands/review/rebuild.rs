//! `brimline review rebuild`: every record verified again, every row derived again and compared.

use super::super::{COULD_NOT, NO, World, YES};
use super::{IndexArgs, ReviewPorts, open, refuse, roster};
use crate::people::Roster;
use crate::review::{Index, Stored};
use serde_json::json;

/// How to prove it.
#[derive(Debug, clap::Args)]
pub struct RebuildArgs {
    /// Only compare; put nothing right.
    #[arg(long)]
    pub compare_only: bool,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// What the comparison found.
#[derive(Debug, Default)]
pub struct Proof {
    pub records: usize,
    /// Digests whose row said something else than the record.
    pub differed: Vec<String>,
    /// Digests whose record does not hold, with the reason; their rows stay.
    pub unsound: Vec<(String, String)>,
}

/// Compares every row with what its record says; with `repair` puts the rows right.
///
/// # Errors
/// An exit code, after one line on standard error.
pub fn prove(index: &mut dyn Index, roster: &Roster, repair: bool, world: &mut World<'_>) -> Result<Proof, u8> {
    let mut proof = Proof::default();
    for digest in index.digests().map_err(|fault| refuse(&fault, world))? {
        let stored = index.get(&digest).map_err(|fault| refuse(&fault, world))?;
        let Some(stored) = stored else {
            return Err(world.fail(COULD_NOT, format_args!("{digest}: it vanished while it was compared")));
        };
        proof.records += 1;
        match stored.derived(roster) {
            Err(fault) => proof.unsound.push((digest, fault.to_string())),
            Ok(again) if again.row.as_ref().is_none_or(|row| row.digest() != digest) => {
                proof.unsound.push((digest, "it is filed under another record's digest".to_owned()));
            }
            Ok(again) if again != stored => {
                if repair {
                    put_right(index, &digest, &again, world)?;
                }
                proof.differed.push(digest);
            }
            Ok(_) => {}
        }
    }
    Ok(proof)
}

fn put_right(index: &mut dyn Index, digest: &str, again: &Stored, world: &mut World<'_>) -> Result<(), u8> {
    let merged = index.push(&[digest.to_owned()], &mut |_, _| Some(again.clone()));
    merged.map(|_| ()).map_err(|fault| refuse(&fault, world))
}

pub(super) fn run(args: &RebuildArgs, which: &IndexArgs, world: &mut World<'_>, ports: &ReviewPorts) -> Result<u8, u8> {
    let roster = roster(which, world)?;
    let mut index = open(which, false, world, ports)?;
    let proof = prove(&mut *index, &roster, !args.compare_only, world)?;
    let equal = proof.differed.is_empty() && proof.unsound.is_empty();
    if args.json {
        let unsound: Vec<_> =
            proof.unsound.iter().map(|(digest, why)| json!({"record": digest, "reason": why})).collect();
        let answer = json!({"equal": equal, "records": proof.records, "differed": proof.differed, "unsound": unsound});
        world.say(format_args!("{answer}"))?;
    } else {
        tell(args, &proof, equal, world)?;
    }
    Ok(if equal { YES } else { NO })
}

fn tell(args: &RebuildArgs, proof: &Proof, equal: bool, world: &mut World<'_>) -> Result<(), u8> {
    if equal {
        return world.say(format_args!("equal: {} records verified, every row is what its record says", proof.records));
    }
    let done = if args.compare_only { "left as they are" } else { "put right" };
    let (differed, unsound) = (proof.differed.len(), proof.unsound.len());
    world.say(format_args!(
        "{} records; {differed} rows differed and were {done}; {unsound} records do not hold",
        proof.records
    ))?;
    for digest in &proof.differed {
        world.fail(NO, format_args!("differed: {digest}"));
    }
    for (digest, why) in &proof.unsound {
        world.fail(NO, format_args!("does not hold: {digest}: {why}"));
    }
    Ok(())
}

//! `brimline review import`: files become rows, a bad one is named and left out.

use super::super::{COULD_NOT, NO, World, YES};
use super::{IndexArgs, ReviewPorts, open, refuse, roster};
use crate::people::Roster;
use crate::record;
use crate::review::{Index, Pushed, Refused, Stored, check_addendum, check_records};
use serde_json::json;
use std::path::{Path, PathBuf};

/// Files verified and kept as one transaction.
const BATCH: usize = 256;
/// How deep folders are looked into.
const DEPTH_MAX: usize = 6;
/// How a signed file begins; in a folder, what begins otherwise is no record and is passed over.
const SIGNED: &[u8] = b"{\"payload\":";

/// What to import.
#[derive(Debug, clap::Args)]
pub struct ImportArgs {
    /// Records, addenda, or folders that hold them; the store's own cases if left out.
    pub paths: Vec<PathBuf>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// What became of the files.
#[derive(Default)]
struct Tally {
    new: usize,
    extended: usize,
    known: usize,
    passed_over: usize,
    left_out: Vec<(PathBuf, String)>,
}

impl Tally {
    fn count(&mut self, answers: &[Pushed]) {
        for answer in answers {
            match answer {
                Pushed::New => self.new += 1,
                Pushed::Extended => self.extended += 1,
                Pushed::Known => self.known += 1,
                Pushed::LeftOut => {}
            }
        }
    }
}

pub(super) fn run(args: &ImportArgs, which: &IndexArgs, world: &mut World<'_>, ports: &ReviewPorts) -> Result<u8, u8> {
    let roster = roster(which, world)?;
    let paths = if args.paths.is_empty() { vec![world.store.join("cases")] } else { args.paths.clone() };
    let mut files = Vec::new();
    for path in &paths {
        find(path, 0, world, &mut files)?;
    }
    let mut index = open(which, true, world, ports)?;
    let mut tally = Tally::default();
    let mut addenda = Vec::new();
    for batch in files.chunks(BATCH) {
        let late = take(batch, &roster, &mut *index, world, ports, &mut tally)?;
        addenda.extend(late);
    }
    for (path, bytes) in addenda {
        append(&path, bytes, &roster, &mut *index, world, &mut tally)?;
    }
    say(args, &tally, world)
}

/// Every file under a path; whether it was named or found matters to how it is judged.
fn find(path: &Path, depth: usize, world: &mut World<'_>, out: &mut Vec<(PathBuf, bool)>) -> Result<(), u8> {
    let Ok(names) = world.disk.list(path) else {
        if depth == 0 || path.extension().is_some_and(|ending| ending == "json") {
            out.push((path.to_owned(), depth == 0));
        }
        return Ok(());
    };
    if depth >= DEPTH_MAX {
        return Err(world.fail(COULD_NOT, format_args!("{}: folders lie too deep", path.display())));
    }
    names.iter().try_for_each(|name| find(&path.join(name), depth + 1, world, out))
}

/// Verifies and keeps one batch; returns the addenda in it, which wait for their records.
fn take(
    batch: &[(PathBuf, bool)],
    roster: &Roster,
    index: &mut dyn Index,
    world: &mut World<'_>,
    ports: &ReviewPorts,
    tally: &mut Tally,
) -> Result<Vec<(PathBuf, Vec<u8>)>, u8> {
    let (mut paths, mut files) = (Vec::new(), Vec::new());
    for (path, named) in batch {
        match world.disk.read(path, record::MAX_BYTES) {
            Ok(bytes) if *named || bytes.starts_with(SIGNED) || is_record(path) => {
                paths.push(path.clone());
                files.push(bytes);
            }
            Ok(_) => tally.passed_over += 1,
            Err(fault) => tally.left_out.push((path.clone(), fault.to_string())),
        }
    }
    let mut checked = Vec::new();
    let mut late = Vec::new();
    let answers = check_records(&files, roster, ports.threads);
    for ((path, bytes), answer) in paths.into_iter().zip(files).zip(answers) {
        match answer {
            Ok(record) => checked.push((path, record)),
            Err(Refused::Record(record::RecordError::Header { .. })) if check_addendum(&bytes).is_ok() => {
                late.push((path, bytes));
            }
            Err(fault) => tally.left_out.push((path, fault.to_string())),
        }
    }
    let digests: Vec<String> = checked.iter().map(|(_, record)| record.digest().to_owned()).collect();
    let mut contradictions = Vec::new();
    let merged = index.push(&digests, &mut |at, standing| {
        let (path, record) = &checked[at];
        record.joined(standing, roster).map_err(|fault| contradictions.push((path.clone(), fault.to_string()))).ok()
    });
    tally.count(&merged.map_err(|fault| refuse(&fault, world))?);
    tally.left_out.extend(contradictions);
    Ok(late)
}

/// A case's own record, judged even where its first bytes are damaged.
fn is_record(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name == "record.json")
}

/// Adds one addendum to its record.
fn append(
    path: &Path,
    bytes: Vec<u8>,
    roster: &Roster,
    index: &mut dyn Index,
    world: &mut World<'_>,
    tally: &mut Tally,
) -> Result<(), u8> {
    let (own, of) = match check_addendum(&bytes) {
        Ok(digests) => digests,
        Err(fault) => {
            tally.left_out.push((path.to_owned(), fault.to_string()));
            return Ok(());
        }
    };
    let mut refused = None;
    let merged = index.push(std::slice::from_ref(&of), &mut |_, standing: Option<Stored>| {
        let standing = standing.ok_or_else(|| Refused::NoRecord { of: of.clone() });
        let joined = standing.and_then(|standing| standing.with_addendum(&own, bytes.clone(), roster));
        joined.map_err(|fault| refused = Some(fault.to_string())).ok()
    });
    tally.count(&merged.map_err(|fault| refuse(&fault, world))?);
    tally.left_out.extend(refused.map(|fault| (path.to_owned(), fault)));
    Ok(())
}

fn say(args: &ImportArgs, tally: &Tally, world: &mut World<'_>) -> Result<u8, u8> {
    let code = if tally.left_out.is_empty() { YES } else { NO };
    if args.json {
        let left_out: Vec<_> = tally
            .left_out
            .iter()
            .map(|(path, why)| json!({"file": path.display().to_string(), "reason": why}))
            .collect();
        let answer = json!({"new": tally.new, "extended": tally.extended, "known": tally.known,
                            "passed_over": tally.passed_over, "left_out": left_out});
        world.say(format_args!("{answer}"))?;
        return Ok(code);
    }
    world.say(format_args!(
        "{} new, {} extended, {} known already, {} left out",
        tally.new,
        tally.extended,
        tally.known,
        tally.left_out.len()
    ))?;
    for (path, why) in &tally.left_out {
        world.fail(NO, format_args!("left out: {}: {why}", path.display()));
    }
    Ok(code)
}

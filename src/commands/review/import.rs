//! `brimline review import`: files become rows, a bad one is named and left out.

use super::super::{COULD_NOT, NO, World, YES};
use super::{IndexArgs, ReviewPorts, open, refuse, roster};
use crate::people::Roster;
use crate::record;
use crate::review::{Checked, Index, IndexError, Pushed, Refused, Stored, check_addendum, check_records_beside};
use serde_json::json;
use std::path::{Path, PathBuf};

/// Files verified and kept as one transaction.
const BATCH: usize = 128;
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
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally {
    pub new: usize,
    pub extended: usize,
    pub known: usize,
    pub passed_over: usize,
    /// Each with its reason.
    pub left_out: Vec<(PathBuf, String)>,
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
    let mut index = open(which, true, world, ports)?;
    let tally = take_all(&paths, &roster, &mut *index, world, ports.threads, &mut |_, _| true)?;
    say(args, &tally, world)
}

/// Verifies and keeps everything under the paths; `told` hears how many files are done, and of how many, and may end it
/// there: what was kept stays.
///
/// # Errors
/// An exit code, after one line on standard error.
pub(super) fn take_all(
    paths: &[PathBuf],
    roster: &Roster,
    index: &mut dyn Index,
    world: &mut World<'_>,
    threads: usize,
    told: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Tally, u8> {
    let mut files = Vec::new();
    for path in paths {
        find(path, 0, world, &mut files)?;
    }
    let mut taking = Taking { roster, index, threads, tally: Tally::default(), addenda: Vec::new() };
    let mut verified = Verified::default();
    let mut done = 0;
    for batch in files.chunks(BATCH) {
        if !told(done, files.len()) {
            break;
        }
        let read = read_batch(batch, world, &mut taking.tally);
        verified = taking.verify_and_keep(read, verified).map_err(|fault| refuse(&fault, world))?;
        done += batch.len();
    }
    taking.keep(verified).map_err(|fault| refuse(&fault, world))?;
    let Taking { index, mut tally, addenda, .. } = taking;
    for (path, bytes) in addenda {
        append(&path, bytes, roster, index, world, &mut tally)?;
    }
    told(done, files.len());
    Ok(tally)
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

/// Files of one batch that may be records, each with its path.
type Read = (Vec<PathBuf>, Vec<Vec<u8>>);

/// Reads one batch.
fn read_batch(batch: &[(PathBuf, bool)], world: &World<'_>, tally: &mut Tally) -> Read {
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
    (paths, files)
}

/// Records of one batch that hold, not yet kept.
#[derive(Default)]
struct Verified {
    paths: Vec<PathBuf>,
    records: Vec<Checked>,
}

/// An import under way.
struct Taking<'a> {
    roster: &'a Roster,
    index: &'a mut dyn Index,
    threads: usize,
    tally: Tally,
    /// They wait for their records.
    addenda: Vec<(PathBuf, Vec<u8>)>,
}

impl Taking<'_> {
    /// Verifies what was read and, meanwhile, keeps what was verified before.
    fn verify_and_keep(&mut self, (paths, files): Read, before: Verified) -> Result<Verified, IndexError> {
        let (roster, threads) = (self.roster, self.threads);
        let (answers, kept) = check_records_beside(&files, roster, threads, || self.keep(before));
        kept?;
        let mut verified = Verified::default();
        for ((path, bytes), answer) in paths.into_iter().zip(files).zip(answers) {
            match answer {
                Ok(record) => {
                    verified.paths.push(path);
                    verified.records.push(record);
                }
                Err(Refused::Record(record::RecordError::Header { .. })) if check_addendum(&bytes).is_ok() => {
                    self.addenda.push((path, bytes));
                }
                Err(fault) => self.tally.left_out.push((path, fault.to_string())),
            }
        }
        Ok(verified)
    }

    /// Keeps records as one transaction.
    fn keep(&mut self, Verified { paths, records }: Verified) -> Result<(), IndexError> {
        if records.is_empty() {
            return Ok(());
        }
        let digests: Vec<String> = records.iter().map(|record| record.digest().to_owned()).collect();
        let (roster, mut contradictions) = (self.roster, Vec::new());
        let mut records: Vec<Option<Checked>> = records.into_iter().map(Some).collect();
        let merged = self.index.push(&digests, &mut |at, standing| {
            let joined = records[at].take()?.joined(standing, roster);
            joined.map_err(|fault| contradictions.push((paths[at].clone(), fault.to_string()))).ok()
        });
        self.tally.count(&merged?);
        self.tally.left_out.extend(contradictions);
        Ok(())
    }
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

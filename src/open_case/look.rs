//! Reading a case from its folder, changing nothing.

use super::names::{self, PATHWAY, PLAN};
use super::{OpenError, World, create};
use crate::case::{Case, ReplayError};
use crate::journal::{self, FILE_BYTES_MAX, JournalError, JournalReading, LineFault, Sum, Tail, VerifiedJournal};
use crate::{pathway, plan};
use std::io;
use std::path::Path;
use std::sync::Arc;

/// A case as its folder holds it.
pub struct CaseOnDisk {
    /// The state after the last good event.
    pub case: Case,
    pub journal: VerifiedJournal,
    /// Name of the journal these events stand in.
    pub journal_file: String,
    /// What stands behind the last good event.
    pub tail: Tail,
    /// Length of the good part of the journal, bytes.
    pub good_bytes: u64,
    /// The end of the good part, to be written over.
    pub(super) end: Vec<u8>,
    pub(super) names: Vec<String>,
}

/// No run of the program leaves more than this unsynced, bytes: what it may hold in memory, at the usual length of
/// a line.
const DOUBTFUL_BYTES_MAX: usize = 4 << 20;

/// Reads a case without opening it: no lock, no change; a case that is open elsewhere is read as far as it is written.
///
/// # Errors
/// [`OpenError`] if there is no case or not even its first event can be read.
pub fn look(world: &World, folder: &Path) -> Result<CaseOnDisk, OpenError> {
    let (there, numbers) = journals(world, folder)?;
    let newest = numbers.last().copied().unwrap_or(1);
    let (number, reading, bytes) = newest_readable(world, folder, &numbers)?;
    let JournalReading { mut journal, mut good_bytes, mut tail } = reading;
    let journal_file = names::journal(number);
    if number != newest {
        tail = Tail::Damaged { line: 1, fault: LineFault::NotHistory(unreadable(newest)) };
    }
    let (case, fault) = fold(world, folder, &journal_file, &journal)?;
    if let Some(fault) = fault {
        let seq = case.state().seq;
        good_bytes = end_of_line(&bytes, seq);
        tail = Tail::Damaged { line: seq + 1, fault: LineFault::NotHistory(fault.to_string()) };
        journal.truncate(seq);
    }
    let good = usize::try_from(good_bytes).expect("read into memory").min(bytes.len());
    let end = bytes[good.saturating_sub(DOUBTFUL_BYTES_MAX)..good].to_vec();
    Ok(CaseOnDisk { case, journal, journal_file, tail, good_bytes, end, names: there })
}

/// Names in a case's folder and the numbers of its journals, at least one.
pub(super) fn journals(world: &World, folder: &Path) -> Result<(Vec<String>, Vec<u32>), OpenError> {
    let no_case = || OpenError::NoCase { folder: folder.to_owned() };
    let there = world.disk.list(folder).map_err(|source| match source.kind() {
        io::ErrorKind::NotFound => no_case(),
        _ => OpenError::Disk { path: folder.to_owned(), source },
    })?;
    let numbers = names::journal_numbers(&there);
    if numbers.is_empty() { Err(no_case()) } else { Ok((there, numbers)) }
}

fn unreadable(newest: u32) -> String {
    format!("nothing of {} can be read; this is the journal before it", names::journal(newest))
}

/// The newest journal with at least one good line; a damaged one must not hide the good one it continues.
fn newest_readable(world: &World, folder: &Path, numbers: &[u32]) -> Result<(u32, JournalReading, Vec<u8>), OpenError> {
    let mut first_fault = None;
    for number in numbers.iter().rev() {
        let name = names::journal(*number);
        let bytes = read(world, folder, &name, FILE_BYTES_MAX)?;
        match journal::read(&bytes) {
            Ok(reading) => return Ok((*number, reading, bytes)),
            Err(source @ JournalError::NothingGood(_)) => {
                first_fault.get_or_insert(OpenError::Journal { file: name, source });
            }
            Err(source) => return Err(OpenError::Journal { file: name, source }),
        }
    }
    Err(first_fault.unwrap_or_else(|| OpenError::NoCase { folder: folder.to_owned() }))
}

/// The case after as many events as make sense, and why the next one does not.
fn fold(
    world: &World,
    folder: &Path,
    file: &str,
    journal: &VerifiedJournal,
) -> Result<(Case, Option<ReplayError>), OpenError> {
    let pathway_bytes = read(world, folder, PATHWAY, pathway::MAX_BYTES)?;
    let plan_bytes = read(world, folder, PLAN, plan::MAX_BYTES)?;
    let opening = journal.opening();
    for (name, bytes, digest) in
        [(PATHWAY, &pathway_bytes, &opening.pathway_digest), (PLAN, &plan_bytes, &opening.plan_digest)]
    {
        if Sum::of(bytes).to_string() != *digest {
            return Err(OpenError::OtherDocument { file: name.to_owned() });
        }
    }
    let (pathway, plan) = create::parse(&pathway_bytes, &plan_bytes)?;
    let mut events = journal.events().iter();
    let first = events.next().expect("a journal holds its first line");
    let mut case = Case::open(Arc::new(pathway), Arc::new(plan), first)
        .map_err(|source| OpenError::NotHistory { file: file.to_owned(), source })?;
    let fault = events.find_map(|event| case.apply(event).err());
    Ok((case, fault))
}

/// Where that many lines end, bytes.
fn end_of_line(bytes: &[u8], lines: u64) -> u64 {
    let lines = usize::try_from(lines).unwrap_or(usize::MAX);
    bytes.split_inclusive(|byte| *byte == b'\n').take(lines).map(|line| line.len() as u64).sum()
}

fn read(world: &World, folder: &Path, name: &str, max_bytes: u64) -> Result<Vec<u8>, OpenError> {
    let path = folder.join(name);
    world.disk.read(&path, max_bytes).map_err(|source| OpenError::Disk { path, source })
}

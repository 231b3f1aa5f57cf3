//! Opening a case again: the chain verified, a torn tail set aside, damage left untouched.

use super::create::{first_line, hex, lock};
use super::held::{Saving, stamp};
use super::writer::reopened;
use super::{Notify, OpenCase, OpenError, World, names};
use crate::case::{Case, Continues, Did, Event, Opening, ReplayError};
use crate::journal::{self, ChainPoint, JournalReading, Start, Tail, VerifiedJournal};
use crate::pathway;
use crate::people::Actor;
use crate::plan;
use sha2::{Digest, Sha256};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A case opened again, and what was found at the end of its journal.
pub struct Reopened {
    pub case: OpenCase,
    pub tail: TailFound,
}

/// What stood behind the last good line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TailFound {
    Whole,
    /// A torn line was set aside in this file; it was never acknowledged.
    SetAside {
        file: PathBuf,
    },
    /// The case is open to read only, as it stood before the damaged line.
    Damaged {
        file: PathBuf,
        line: u64,
        reason: String,
    },
}

/// Journals of one case, read in order.
struct History {
    events: Vec<Event>,
    /// Path, length of its good lines and number of the last journal.
    path: PathBuf,
    number: u32,
    good_bytes: u64,
    end: ChainPoint,
    closing: Option<ChainPoint>,
    tail: Tail,
    bytes: Vec<u8>,
}

impl OpenCase {
    /// Opens a case again and verifies its chain.
    ///
    /// # Errors
    /// [`OpenError`]; nothing has been written then.
    pub fn reopen(world: &World, folder: &Path, notify: Notify) -> Result<Reopened, OpenError> {
        let lock = lock(world, folder)?;
        let history = read_history(world, folder)?;
        let case = replay(world, folder, &history)?;
        let last = history.events.last().map(|event| event.stamp.clone()).expect("a journal holds its first line");
        let (saving, tail) = resume(world, &history, notify)?;
        let process = last.process + 1;
        let folder = folder.to_owned();
        let (end, closing) = (history.end, history.closing);
        let case = Self { world: world.clone(), folder, case, process, end, closing, last, saving, _lock: lock };
        Ok(Reopened { case, tail })
    }

    /// Continues a damaged case in a new journal that names the last good line of the damaged one.
    ///
    /// # Errors
    /// [`OpenError::Disk`]; the case stays open to read only.
    pub fn continue_in_new_journal(
        &mut self,
        by: &Actor,
        logged_by: &Actor,
        notify: Notify,
    ) -> Result<PathBuf, OpenError> {
        let (path, _) = free_journal(&self.world, &self.folder)?;
        let continues = Some(Continues { seq: self.end.seq, sum: self.end.sum.to_string() });
        let opening = Opening { continues, ..self.case.state().opening.clone() };
        let stamp = stamp(&self.world.clock.now(), self.process);
        let did = Did::CaseOpened(Box::new(opening));
        let event = Event { seq: self.end.seq + 1, stamp, by: by.clone(), logged_by: logged_by.clone(), did };
        let (line, end) = journal::encode(&event, self.end);
        let file =
            first_line(&self.world, &path, &line).map_err(|fault| OpenError::Disk { path: path.clone(), fault })?;
        self.case.apply(&event).map_err(|fault| OpenError::Replay { path: path.clone(), fault })?;
        self.saving = Some(Saving::start(&self.world, path.clone(), file, line.len() as u64, end.seq, notify));
        self.end = end;
        self.last = event.stamp;
        Ok(path)
    }
}

fn free_journal(world: &World, folder: &Path) -> Result<(PathBuf, u32), OpenError> {
    let there = listed(world, folder)?;
    let number = (2..=u32::MAX).find(|number| !there.contains(&names::journal(*number))).expect("numbers do not end");
    Ok((folder.join(names::journal(number)), number))
}

fn listed(world: &World, folder: &Path) -> Result<Vec<String>, OpenError> {
    world.disk.list(folder).map_err(|fault| OpenError::Disk { path: folder.to_owned(), fault })
}

fn read_history(world: &World, folder: &Path) -> Result<History, OpenError> {
    let there = listed(world, folder)?;
    let (mut reading, path, bytes) = read_one(world, folder, 1, Start::First)?;
    let closing = closing_of(&reading.journal);
    let (end, good_bytes, tail) = (reading.journal.end(), reading.journal.bytes(), reading.tail.clone());
    let mut history = History { events: Vec::new(), path, number: 1, good_bytes, end, closing, tail, bytes };
    for number in (2..).take_while(|number| there.contains(&names::journal(*number))) {
        let path = folder.join(names::journal(number));
        let point = continued(world, &path, &reading.journal)?;
        let (next, path, bytes) = read_one(world, folder, number, Start::Behind(point))?;
        let upto = usize::try_from(point.seq).unwrap_or(usize::MAX);
        let before = std::mem::replace(&mut reading, next);
        history.events.extend(before.journal.into_events());
        history.events.truncate(upto);
        history.closing = closing_of(&reading.journal).or(history.closing.filter(|closing| closing.seq <= point.seq));
        (history.path, history.number, history.bytes) = (path, number, bytes);
        (history.end, history.good_bytes) = (reading.journal.end(), reading.journal.bytes());
        history.tail = reading.tail.clone();
    }
    history.events.extend(reading.journal.into_events());
    Ok(history)
}

fn read_one(
    world: &World,
    folder: &Path,
    number: u32,
    start: Start,
) -> Result<(JournalReading, PathBuf, Vec<u8>), OpenError> {
    let path = folder.join(names::journal(number));
    let bytes =
        world.disk.read(&path, journal::MAX_BYTES).map_err(|fault| OpenError::Disk { path: path.clone(), fault })?;
    let reading = journal::read(&bytes, start).map_err(|fault| OpenError::Journal { path: path.clone(), fault })?;
    Ok((reading, path, bytes))
}

/// The line of the journal before that a continuing journal names, if it is there.
fn continued(world: &World, path: &Path, before: &VerifiedJournal) -> Result<ChainPoint, OpenError> {
    let failed = |fault| OpenError::Disk { path: path.to_owned(), fault };
    let bytes = world.disk.read(path, journal::MAX_BYTES).map_err(failed)?;
    let first = bytes.split(|byte| *byte == b'\n').next().unwrap_or_default();
    let named: Option<(u64, String)> = serde_json::from_slice::<serde_json::Value>(first).ok().and_then(|line| {
        let continues = line.pointer("/did/case-opened/continues")?;
        Some((continues.get("seq")?.as_u64()?, continues.get("sum")?.as_str()?.to_owned()))
    });
    let unknown = || OpenError::Continues { path: path.to_owned() };
    let (seq, sum) = named.ok_or_else(unknown)?;
    let known = before.sum_of(seq).filter(|known| known.to_string() == sum).ok_or_else(unknown)?;
    Ok(ChainPoint { seq, sum: known })
}

fn closing_of(journal: &VerifiedJournal) -> Option<ChainPoint> {
    let closed = journal.events().iter().find(|event| matches!(event.did, Did::CaseClosed { .. }))?;
    Some(ChainPoint { seq: closed.seq, sum: journal.sum_of(closed.seq)? })
}

fn replay(world: &World, folder: &Path, history: &History) -> Result<Case, OpenError> {
    let read = |name: &str, max| {
        let path = folder.join(name);
        let bytes = world.disk.read(&path, max).map_err(|fault| OpenError::Disk { path: path.clone(), fault })?;
        Ok((path, bytes))
    };
    let (path, bytes) = read(names::PATHWAY, pathway::MAX_BYTES)?;
    let pathway_digest = hex(&Sha256::digest(&bytes));
    let pathway = pathway::read(&bytes).map_err(|fault| OpenError::Pathway { path: path.clone(), fault })?;
    let (plan_path, bytes) = read(names::PLAN, plan::MAX_BYTES)?;
    let plan_digest = hex(&Sha256::digest(&bytes));
    let plan = plan::read(&bytes).map_err(|fault| OpenError::Plan { path: plan_path.clone(), fault })?;
    let failed = |fault: ReplayError| OpenError::Replay { path: history.path.clone(), fault };
    let case = Case::replay(Arc::new(pathway), Arc::new(plan), &history.events).map_err(failed)?;
    let opening = &case.state().opening;
    if opening.pathway_digest != pathway_digest {
        return Err(OpenError::Digest { path });
    }
    if opening.plan_digest != plan_digest {
        return Err(OpenError::Digest { path: plan_path });
    }
    Ok(case)
}

/// Sets a torn tail aside and starts the writer, or leaves the case to read only.
fn resume(world: &World, history: &History, notify: Notify) -> Result<(Option<Saving>, TailFound), OpenError> {
    let path = history.path.clone();
    let failed = |fault: io::Error| OpenError::Disk { path: path.clone(), fault };
    let tail = match &history.tail {
        Tail::Damaged { line, reason } => {
            let (file, line, reason) = (path, *line, reason.clone());
            return Ok((None, TailFound::Damaged { file, line, reason }));
        }
        Tail::Whole => TailFound::Whole,
        Tail::Torn => {
            let start = usize::try_from(history.good_bytes).expect("a journal that was read fits in memory");
            let file = path.with_file_name(format!("torn-{}-after-{}.part", history.number, history.end.seq));
            world.disk.replace(&file, &history.bytes[start..]).map_err(failed)?;
            TailFound::SetAside { file }
        }
    };
    let file = reopened(&*world.disk, &path, history.good_bytes).map_err(failed)?;
    let saving = Saving::start(world, path.clone(), file, history.good_bytes, history.end.seq, notify);
    Ok((Some(saving), tail))
}

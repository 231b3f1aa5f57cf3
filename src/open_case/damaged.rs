//! A case whose journal is damaged: to read, and to continue in a new journal.

use super::create::{PROGRAM, nonce, parts_of};
use super::saving::Saving;
use super::writer::{Repair, Target};
use super::{CaseOnDisk, OpenCase, OpenError, World, folder};
use crate::case::{Case, Continues, Did, Event, FORMAT};
use crate::journal::{self, JournalReading, LineFault, Sum, SumAt, Tail, VerifiedJournal};
use std::path::{Path, PathBuf};

/// The last good state of a case whose journal is damaged behind it. The damaged journal is never changed.
pub struct DamagedCase {
    world: World,
    folder: PathBuf,
    found: CaseOnDisk,
    lock: Box<dyn Send>,
}

impl DamagedCase {
    pub(super) fn new(world: &World, folder: &Path, found: CaseOnDisk, lock: Box<dyn Send>) -> Self {
        Self { world: world.clone(), folder: folder.to_owned(), found, lock }
    }

    /// The state after the last good event.
    #[must_use]
    pub fn case(&self) -> &Case {
        &self.found.case
    }

    /// The good events.
    #[must_use]
    pub fn journal(&self) -> &VerifiedJournal {
        &self.found.journal
    }

    /// Name of the damaged journal, for instance `journal.jsonl`.
    #[must_use]
    pub fn journal_file(&self) -> &str {
        &self.found.journal_file
    }

    /// The first line that is not good, and why.
    #[must_use]
    pub fn damage(&self) -> (u64, &LineFault) {
        match &self.found.tail {
            Tail::Damaged { line, fault } => (*line, fault),
            Tail::Whole | Tail::Torn { .. } => (self.found.journal.last().seq + 1, &LineFault::Unterminated),
        }
    }

    /// Continues from the last good state in a new journal that repeats the good events, with their times, and names
    /// the damaged journal's last good `{seq, sum}`. The new journal is durable, as a whole, when this returns.
    ///
    /// # Errors
    /// [`OpenError`]; there is no new journal then.
    pub fn continue_in_new_journal(self) -> Result<OpenCase, OpenError> {
        let Self { world, folder, found, lock } = self;
        let newest = folder::journal_numbers(&found.names).last().copied().unwrap_or(1);
        let name = folder::journal_name(newest + 1);
        let bytes = repeat(&world, &found.journal)?;
        let reading = journal::read(&bytes).map_err(|source| OpenError::Journal { file: name.clone(), source })?;
        let JournalReading { journal, good_bytes, .. } = reading;
        let (pathway, plan) = (found.case.pathway().clone(), found.case.plan().clone());
        let case = Case::replay(pathway, plan, journal.events())
            .map_err(|source| OpenError::NotHistory { file: name.clone(), source })?;
        let path = folder::path(&folder, &name);
        let on_disk = world.disk.replace(&path, &bytes).and_then(|()| world.disk.open_append(&path, false));
        let file = Some(on_disk.map_err(|source| OpenError::Disk { path: path.clone(), source })?);
        let target = Target { path, file, good_bytes, repair: Repair::default(), lock };
        let saving = Saving::new(journal.last().seq, 0);
        OpenCase::start(&world, parts_of(&world, &folder, name, case, journal), target, saving)
    }
}

/// The good events behind an opening that names where they come from.
fn repeat(world: &World, good: &VerifiedJournal) -> Result<Vec<u8>, OpenError> {
    let SumAt { seq, sum } = good.last();
    let mut opening = good.opening().clone();
    opening.brimline_journal = FORMAT;
    PROGRAM.clone_into(&mut opening.program);
    opening.nonce = nonce(world)?;
    opening.continues = Some(Continues { seq, sum: sum.to_string() });
    let first = Event { did: Did::CaseOpened(Box::new(opening)), ..good.events()[0].clone() };
    let (mut bytes, mut prev) = journal::encode(&first, &Sum::ZERO).map_err(OpenError::Opening)?;
    for event in &good.events()[1..] {
        let (line, sum) = journal::encode(event, &prev).map_err(OpenError::Opening)?;
        bytes.extend_from_slice(&line);
        prev = sum;
    }
    Ok(bytes)
}

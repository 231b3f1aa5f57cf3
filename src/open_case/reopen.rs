//! Opening a case again.

use super::create::{lock, parts_of};
use super::saving::Saving;
use super::writer::{Repair, Target};
use super::look::{self, look};
use super::{CaseOnDisk, DamagedCase, OpenCase, OpenError, World, folder};
use crate::journal::Tail;
use std::path::Path;

/// A case opened again, and how its journal was found.
pub enum Reopened {
    Intact(OpenCase),
    /// A last line that was never written to its end is kept in `aside`, a file of the case's folder, and cut off.
    TornTail { case: OpenCase, aside: String, bytes: usize },
    /// Damaged: the last good state to read; one touch continues in a new journal.
    Damaged(DamagedCase),
}

impl Reopened {
    /// The case, if it can be written to as it is.
    #[must_use]
    pub fn writable(self) -> Option<OpenCase> {
        match self {
            Self::Intact(case) | Self::TornTail { case, .. } => Some(case),
            Self::Damaged(_) => None,
        }
    }
}

impl OpenCase {
    /// Opens a case again: verifies its journal, folds its events, takes the lock.
    ///
    /// What was read counts as saved only after the writer has written its end over and synced it.
    ///
    /// # Errors
    /// [`OpenError`]; nothing has changed then.
    pub fn reopen(world: &World, folder: &Path) -> Result<Reopened, OpenError> {
        // The lock file belongs to a case: a folder that holds none is left as it is.
        look::names(world, folder)?;
        let lock = lock(world, folder)?;
        let found = look(world, folder)?;
        match found.tail {
            Tail::Damaged { .. } => Ok(Reopened::Damaged(DamagedCase::new(world, folder, found, lock))),
            Tail::Whole => Ok(Reopened::Intact(resume(world, folder, found, None, lock)?)),
            Tail::Torn { ref bytes } => {
                let bytes = bytes.clone();
                let aside = folder::torn_name(&found.journal_file, &found.names);
                let count = bytes.len();
                let keep = Some((folder::path(folder, &aside), bytes));
                let case = resume(world, folder, found, keep, lock)?;
                Ok(Reopened::TornTail { case, aside, bytes: count })
            }
        }
    }
}

fn resume(
    world: &World,
    folder: &Path,
    found: CaseOnDisk,
    aside: Option<(std::path::PathBuf, Vec<u8>)>,
    lock: Box<dyn Send>,
) -> Result<OpenCase, OpenError> {
    let CaseOnDisk { case, journal, journal_file, good_bytes, end, .. } = found;
    let offset = good_bytes - end.len() as u64;
    let repair = Repair { aside, vouch: Some((offset, end)) };
    let path = folder::path(folder, &journal_file);
    let target = Target { path, file: None, good_bytes, repair, lock };
    let saving = Saving::new(0, journal.last().seq);
    OpenCase::start(world, parts_of(world, folder, journal_file, case, journal), target, saving)
}

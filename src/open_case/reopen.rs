//! Opening a case again: the chain verified, a torn tail set aside, damage left untouched.

use super::create::lock;
use super::look::{journals, look};
use super::saving::{Notify, Saving};
use super::writer::{Repair, Target};
use super::{CaseOnDisk, OpenCase, OpenError, World, names};
use crate::journal::Tail;
use std::path::{Path, PathBuf};

/// A case opened again, and what was found at the end of its journal.
pub struct Reopened {
    pub case: OpenCase,
    pub tail: TailFound,
}

/// What stood behind the last good line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TailFound {
    Whole,
    /// A last line that was never written to its end, and so never acknowledged, is kept in this file and cut off.
    SetAside {
        file: PathBuf,
    },
    /// The case is open to read only, as it stood when the last line was written that holds.
    Damaged {
        file: PathBuf,
        line: u64,
        reason: String,
    },
}

impl OpenCase {
    /// Opens a case again: verifies its journal, folds its events, takes the lock.
    ///
    /// What was read counts as saved only after the writer has written its end over and synced it: an earlier run may
    /// have been killed before it could.
    ///
    /// # Errors
    /// [`OpenError`]; nothing has been written then.
    pub fn reopen(world: &World, folder: &Path, notify: Notify) -> Result<Reopened, OpenError> {
        // The lock file belongs to a case: a folder that holds none is left as it is.
        journals(world, folder)?;
        let lock = lock(world, folder)?;
        let CaseOnDisk { case, journal, journal_file, tail, good_bytes, end, names: there } = look(world, folder)?;
        let path = folder.join(&journal_file);
        let saved = Saving::new(0, journal.last().seq, notify);
        let aside_file = folder.join(names::torn(&journal_file, &there));
        let mut case = Self::read_only(world, folder, journal_file, (case, journal), lock);
        let (aside, tail) = match tail {
            Tail::Damaged { line, fault } => {
                let tail = TailFound::Damaged { file: path, line, reason: fault.to_string() };
                return Ok(Reopened { case, tail });
            }
            Tail::Whole => (None, TailFound::Whole),
            Tail::Torn { bytes } => (Some((aside_file.clone(), bytes)), TailFound::SetAside { file: aside_file }),
        };
        let vouch = Some((good_bytes - end.len() as u64, end));
        let target = Target { path, file: None, good_bytes, repair: Repair { aside, vouch } };
        case.write_to(target, saved)?;
        Ok(Reopened { case, tail })
    }
}

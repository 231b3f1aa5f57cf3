//! Why a case does not open, and why a command was not taken.

use super::UNSAVED_MAX;
use crate::case::{Refused, ReplayError};
use crate::journal::{JournalError, LineFault};
use crate::pathway::PathwayError;
use crate::people::Role;
use crate::plan::PlanError;
use std::io;
use std::path::PathBuf;
use thiserror::Error;

/// Why a case could not be opened.
#[derive(Debug, Error)]
pub enum OpenError {
    #[error("{}: there is a case already", folder.display())]
    Exists { folder: PathBuf },
    #[error("{}: there is no case", folder.display())]
    NoCase { folder: PathBuf },
    #[error("{}: the case is open in another window or process", folder.display())]
    InUse { folder: PathBuf },
    #[error("{file}: {source}")]
    Pathway { file: String, source: PathwayError },
    #[error("{file}: {source}")]
    Plan { file: String, source: PlanError },
    #[error("{file}: made for the pathway \"{wanted}\", not for \"{found}\"")]
    OtherPathway { file: String, wanted: String, found: String },
    #[error("nobody holds the role {0}, which the pathway needs")]
    RoleMissing(Role),
    #[error("{file}: {source}")]
    Journal { file: String, source: JournalError },
    #[error("{file}: not the file this case was opened with; its digest differs from line 1 of the journal")]
    OtherDocument { file: String },
    #[error("{file}: {source}")]
    NotHistory { file: String, source: ReplayError },
    #[error("line 1 of the journal cannot be written: {0}")]
    Opening(LineFault),
    #[error("{}: {source}", path.display())]
    Disk { path: PathBuf, source: io::Error },
    #[error("no unpredictable bytes: {0}")]
    Randomness(io::Error),
    #[error("the journal's writer cannot be started: {0}")]
    Thread(io::Error),
}

impl OpenError {
    /// Whether the input is at fault (exit 2), not the disk, a lock or the system (exit 3).
    #[must_use]
    pub fn is_bad_input(&self) -> bool {
        !matches!(self, Self::InUse { .. } | Self::Disk { .. } | Self::Randomness(_) | Self::Thread(_))
    }
}

/// Why a command changed nothing.
#[derive(Debug, Error)]
pub enum IssueError {
    /// The case says no.
    #[error(transparent)]
    Refused(#[from] Refused),
    #[error(
        "{UNSAVED_MAX} events wait to be saved and no more can be held: \
         free space on the disk or repair it, then go on; write down by hand what happens meanwhile"
    )]
    TooManyUnsaved,
    #[error("the journal is damaged and the case open to read only; continue in a new journal first")]
    ReadOnly,
    /// The event cannot become a line of the journal.
    #[error("this cannot be logged: {0}")]
    Line(#[from] LineFault),
    /// The case decided what it cannot apply.
    #[error("this cannot be applied: {0}")]
    NotHistory(#[from] ReplayError),
}

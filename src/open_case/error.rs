//! What can stand in the way of opening a case or of a command.

use crate::case::{Refused, ReplayError};
use crate::journal;
use crate::pathway::PathwayError;
use crate::plan::PlanError;
use std::io;
use std::path::PathBuf;
use thiserror::Error;

/// Why a case cannot be opened.
#[derive(Debug, Error)]
pub enum OpenError {
    #[error("{}: {fault}", path.display())]
    Disk { path: PathBuf, fault: io::Error },
    #[error("{}: another program holds this case", folder.display())]
    InUse { folder: PathBuf },
    #[error("{}: {fault}", path.display())]
    Pathway { path: PathBuf, fault: PathwayError },
    #[error("{}: {fault}", path.display())]
    Plan { path: PathBuf, fault: PlanError },
    #[error("{}: {fault}", path.display())]
    Journal { path: PathBuf, fault: journal::Fault },
    #[error("{}: {fault}", path.display())]
    Replay { path: PathBuf, fault: ReplayError },
    #[error("{}: its digest is not the one that line 1 of the journal names", path.display())]
    Digest { path: PathBuf },
    #[error("{}: it continues a line that the journal before does not have", path.display())]
    Continues { path: PathBuf },
    #[error("the pathway \"{pathway}\" wants somebody as {role}")]
    RoleMissing { pathway: String, role: crate::people::Role },
    #[error("the plan is for the pathway \"{planned}\", not for \"{given}\"")]
    OtherPathway { planned: String, given: String },
}

impl OpenError {
    /// Whether the input is at fault, not the disk or another program.
    #[must_use]
    pub fn is_bad_input(&self) -> bool {
        !matches!(self, Self::Disk { .. } | Self::InUse { .. })
    }
}

/// Why a command did nothing.
#[derive(Debug, Error)]
pub enum IssueError {
    #[error(transparent)]
    Refused(#[from] Refused),
    #[error("{max} entries wait for the disk; nothing more can be kept until it takes them")]
    TooManyUnsaved { max: u64 },
    #[error("this case is open to read only; continue in a new journal first")]
    ReadOnly,
}

//! The machine's dose report, from bytes.

use crate::dose::DoseReport;
use thiserror::Error;

/// Reads dose reports; the format is the adapter's business.
pub trait ReportReader: Send + Sync {
    /// Reads one file.
    ///
    /// # Errors
    /// [`Unread`]; what is merely missing or contradictory stands in the report's findings.
    fn read(&self, bytes: &[u8]) -> Result<DoseReport, Unread>;

    /// Files of a medium's directory that may hold a report: the parts of each path below the directory's folder.
    ///
    /// # Errors
    /// [`Unread`] if the directory cannot be read, or leads out of its folder.
    fn media_index(&self, bytes: &[u8]) -> Result<Vec<Vec<String>>, Unread>;
}

/// Why bytes are not a dose report. One line; the caller puts the file's name before it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Unread {
    #[error("not a DICOM file")]
    NotDicom,
    #[error("an object of class {class}, not a dose report")]
    OtherObject { class: String },
    #[error("{reason}")]
    Unreadable { reason: String },
}

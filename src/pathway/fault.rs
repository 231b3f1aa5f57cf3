//! What can be wrong with a pathway.

use crate::strict_json::ReadError;
use thiserror::Error;

/// One fault of a pathway document, with its place.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{place}: {what}")]
pub struct Fault {
    /// Where, as a path into the document: `phases[2].steps[1].checks[0].when`.
    pub place: String,
    pub what: String,
}

/// Why bytes are not a usable pathway.
#[derive(Debug, Error)]
pub enum PathwayError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    /// At least one fault.
    #[error("{}", faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Faulty { faults: Vec<Fault> },
}

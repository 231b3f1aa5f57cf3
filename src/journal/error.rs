//! What can be wrong with a line and with a journal.

use crate::strict_json::one_line;
use thiserror::Error;

/// Why a line is not the next line of a journal.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LineFault {
    #[error("{bytes} bytes are more than the {max} a line may have")]
    TooLong { bytes: usize, max: usize },
    #[error("the line does not end with its sum")]
    NoSum,
    #[error("the sum does not fit the line")]
    WrongSum,
    #[error("column {column}: {}", one_line(.reason))]
    Syntax { column: usize, reason: String },
    #[error("number {found} stands where {expected} is expected")]
    OutOfOrder { found: u64, expected: u64 },
    #[error("the line does not follow the line before it")]
    WrongPrevious,
    #[error("the first line does not open a case")]
    NotOpening,
    /// The line itself holds and is kept.
    #[error("the line holds, but the byte behind it is {found:#04x} and no line end")]
    WrongEnd { found: u8 },
    #[error("the line is not complete")]
    Unterminated,
    #[error("the journal is empty")]
    Empty,
    /// The event holds what JSON cannot, for instance a number that is not finite.
    #[error("the event cannot be read back from its line")]
    NotReadBack,
    /// The chain holds, but the events are not the history of a case.
    #[error("{}", one_line(.0))]
    NotHistory(String),
}

/// Why bytes are no journal at all: not even the first line is good.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum JournalError {
    #[error("{bytes} bytes are more than the {max} accepted")]
    TooLarge { bytes: u64, max: u64 },
    #[error("line 1: brimline_journal is {found}, newer than the {newest} this program reads; left untouched")]
    Newer { found: u64, newest: u32 },
    #[error("line 1: {0}")]
    NothingGood(LineFault),
}

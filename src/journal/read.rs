//! Reading a journal: every line verified, the tail judged.

use super::{ChainPoint, Sum, line};
use crate::case::{Did, Event, FORMAT};
use thiserror::Error;

/// The largest journal accepted, bytes.
pub const MAX_BYTES: u64 = 1 << 30;

/// Where the journal stands in the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// It opens the case.
    First,
    /// It continues a damaged journal behind its last good line.
    Behind(ChainPoint),
}

/// Why bytes are no journal of ours at all.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Fault {
    #[error("{bytes} bytes are more than the {MAX_BYTES} accepted")]
    TooLarge { bytes: u64 },
    #[error("line 1: {reason}")]
    FirstLine { reason: String },
    #[error("line 1: brimline_journal is {found}, newer than the {FORMAT} this program reads; left untouched")]
    Newer { found: u64 },
}

/// Events whose chain was verified from the first line on. Made by [`read`] alone.
#[derive(Debug, Clone, PartialEq)]
pub struct VerifiedJournal {
    events: Vec<Event>,
    sums: Vec<Sum>,
    bytes: u64,
}

impl VerifiedJournal {
    /// The events in order; at least one.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// The last good line.
    #[must_use]
    pub fn end(&self) -> ChainPoint {
        let seq = self.events.last().map_or(0, |event| event.seq);
        ChainPoint { seq, sum: self.sums.last().copied().unwrap_or(Sum::NONE) }
    }

    /// The sum of the line that holds event `seq`.
    #[must_use]
    pub fn sum_of(&self, seq: u64) -> Option<Sum> {
        let first = self.events.first()?.seq;
        self.sums.get(usize::try_from(seq.checked_sub(first)?).ok()?).copied()
    }

    /// Length of the good lines, bytes.
    #[must_use]
    pub fn bytes(&self) -> u64 {
        self.bytes
    }

    /// The events, given away.
    #[must_use]
    pub fn into_events(self) -> Vec<Event> {
        self.events
    }
}

/// What follows the last good line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tail {
    Whole,
    /// A line without its newline: an append that did not come to its end, never acknowledged.
    Torn,
    /// A whole line that does not verify: damage.
    Damaged {
        line: u64,
        reason: String,
    },
}

/// A journal read as far as it verifies.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalReading {
    pub journal: VerifiedJournal,
    pub tail: Tail,
}

/// Reads a journal.
///
/// # Errors
/// [`Fault`] if not even the first line verifies, or its format is newer.
pub fn read(bytes: &[u8], start: Start) -> Result<JournalReading, Fault> {
    let length = bytes.len() as u64;
    if length > MAX_BYTES {
        return Err(Fault::TooLarge { bytes: length });
    }
    let mut before = match start {
        Start::First => ChainPoint::NONE,
        Start::Behind(point) => point,
    };
    let capacity = bytes.len() / 300;
    let (mut events, mut sums) = (Vec::with_capacity(capacity), Vec::with_capacity(capacity));
    let mut at = 0;
    let tail = loop {
        let rest = &bytes[at..];
        if rest.is_empty() {
            break Tail::Whole;
        }
        let Some(end) = rest.iter().position(|byte| *byte == b'\n') else { break Tail::Torn };
        match line::decode(&rest[..end], before) {
            Ok((event, point)) => {
                events.push(event);
                sums.push(point.sum);
                before = point;
                at += end + 1;
            }
            Err(reason) => break Tail::Damaged { line: events.len() as u64 + 1, reason },
        }
    };
    judge_first(bytes, &events, &tail)?;
    let journal = VerifiedJournal { events, sums, bytes: at as u64 };
    Ok(JournalReading { journal, tail })
}

/// The first line must verify and open a case in a format this program knows.
fn judge_first(bytes: &[u8], events: &[Event], tail: &Tail) -> Result<(), Fault> {
    let Some(first) = events.first() else {
        if let Some(found) = newer_format(bytes) {
            return Err(Fault::Newer { found });
        }
        let reason = match tail {
            Tail::Damaged { reason, .. } => reason.clone(),
            Tail::Torn => "it has no end".to_owned(),
            Tail::Whole => "the file is empty".to_owned(),
        };
        return Err(Fault::FirstLine { reason });
    };
    match &first.did {
        Did::CaseOpened(opening) if opening.brimline_journal > FORMAT => {
            Err(Fault::Newer { found: u64::from(opening.brimline_journal) })
        }
        Did::CaseOpened(_) => Ok(()),
        _ => Err(Fault::FirstLine { reason: "it does not open a case".to_owned() }),
    }
}

/// The format a first line of a newer program names, wherever it stands in it.
fn newer_format(bytes: &[u8]) -> Option<u64> {
    let end = bytes.iter().position(|byte| *byte == b'\n')?;
    let value: serde_json::Value = serde_json::from_slice(&bytes[..end.min(line::LINE_MAX_BYTES)]).ok()?;
    let found = value.pointer("/did/case-opened/brimline_journal")?.as_u64()?;
    (found > u64::from(FORMAT)).then_some(found)
}

//! A journal whose chain holds.

use super::{ChainPoint, LineFault, Sum, line};
use crate::case::{Did, Event, Opening};

/// Events whose chain was verified from line 1. [`super::read`] is the one constructor; it holds at least the
/// event that opens the case.
#[derive(Debug, Clone, PartialEq)]
pub struct VerifiedJournal {
    opening: Box<Opening>,
    events: Vec<Event>,
    sums: Vec<Sum>,
}

impl VerifiedJournal {
    pub(super) fn begin(event: Event, sum: Sum) -> Result<Self, LineFault> {
        let Did::CaseOpened(opening) = &event.did else { return Err(LineFault::NotOpening) };
        let opening = opening.clone();
        Ok(Self { opening, events: vec![event], sums: vec![sum] })
    }

    pub(super) fn push(&mut self, event: Event, sum: Sum) {
        self.events.push(event);
        self.sums.push(sum);
    }

    /// Encodes the event behind the last one and takes it in; returns its line with the line end.
    ///
    /// # Errors
    /// [`LineFault`] if it has another number than the next, is too long or could not be read back; nothing is
    /// taken in then.
    pub fn append(&mut self, event: Event) -> Result<Vec<u8>, LineFault> {
        let ChainPoint { seq, sum } = self.last();
        if event.seq != seq + 1 {
            return Err(LineFault::OutOfOrder { found: event.seq, expected: seq + 1 });
        }
        let (line, sum) = line::encode(&event, &sum)?;
        self.push(event, sum);
        Ok(line)
    }

    /// Forgets the events behind that number; the first always stays.
    pub fn truncate(&mut self, seq: u64) {
        let keep = usize::try_from(seq).unwrap_or(usize::MAX).max(1);
        self.events.truncate(keep);
        self.sums.truncate(keep);
    }

    /// Line 1.
    #[must_use]
    pub fn opening(&self) -> &Opening {
        &self.opening
    }

    /// In order, numbered from 1 without a gap.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// The last line.
    #[must_use]
    pub fn last(&self) -> ChainPoint {
        ChainPoint { seq: self.events.len() as u64, sum: *self.sums.last().expect("a journal holds its first line") }
    }

    /// The sum of the line of that number.
    #[must_use]
    pub fn sum_at(&self, seq: u64) -> Option<ChainPoint> {
        let index = usize::try_from(seq.checked_sub(1)?).ok()?;
        self.sums.get(index).map(|sum| ChainPoint { seq, sum: *sum })
    }
}

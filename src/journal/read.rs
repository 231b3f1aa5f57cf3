//! Reading a whole journal: the events whose chain holds, and what stands behind them.

use super::{JournalError, LineFault, Sum, VerifiedJournal, line};
use crate::case::{Event, FORMAT};

/// The largest journal accepted, bytes.
pub const FILE_BYTES_MAX: u64 = 1 << 30;

/// So many zero bytes on end are a block that was never written, not a flipped bit: the journal itself holds none.
const NEVER_WRITTEN_BYTES: usize = 16;

/// Disks write whole blocks of at least this, bytes.
const BLOCK_BYTES: usize = 512;

/// The good part of a journal and what follows it.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalReading {
    pub journal: VerifiedJournal,
    /// Length of the good part, bytes; without the byte behind the last line where that one is damaged.
    pub good_bytes: u64,
    pub tail: Tail,
}

/// What stands behind the last good line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tail {
    /// Nothing.
    Whole,
    /// A last line that was never written to its end; nothing of it was ever acknowledged.
    Torn { bytes: Vec<u8> },
    /// Something else than a torn write. Nothing behind it can be trusted. A line of which only the end is damaged
    /// ([`LineFault::WrongEnd`]) is among the events: its own sum vouches for it.
    Damaged { line: u64, fault: LineFault },
}

/// Reads a journal, verifying the chain, up to the first line that is not good.
///
/// # Errors
/// [`JournalError`] if not even line 1 is good, or the format is newer than [`FORMAT`].
pub fn read(bytes: &[u8]) -> Result<JournalReading, JournalError> {
    let length = bytes.len() as u64;
    if length > FILE_BYTES_MAX {
        return Err(JournalError::TooLarge { bytes: length, max: FILE_BYTES_MAX });
    }
    let (mut journal, mut at, mut stop) = first(bytes)?;
    let mut sum = journal.last().sum;
    let mut seq = 1;
    while stop.is_none() && at < bytes.len() {
        match next(bytes, at, seq + 1, &sum) {
            Ok(Next { event, sum: of_line, length, stop: found }) => {
                journal.push(event, of_line);
                (sum, seq, at, stop) = (of_line, seq + 1, at + length, found);
            }
            Err(tail) => stop = Some(tail),
        }
    }
    Ok(JournalReading { journal, good_bytes: at as u64, tail: stop.unwrap_or(Tail::Whole) })
}

/// A line that holds.
struct Next {
    event: Event,
    sum: Sum,
    /// Bytes, with its line end if that is right.
    length: usize,
    /// Why nothing is read behind it.
    stop: Option<Tail>,
}

/// The line that begins there.
fn next(bytes: &[u8], at: usize, number: u64, prev: &Sum) -> Result<Next, Tail> {
    let rest = &bytes[at..];
    let line = line_of(rest);
    let fault = match line.map(|line| (line, line::decode(line, number, prev))) {
        Some((line, Ok((event, sum)))) => return Ok(Next { event, sum, length: line.len() + 1, stop: None }),
        Some((line, Err(fault))) => Some((line, fault)),
        None => None,
    };
    if let Some(next) = wrong_end(bytes, at, number, prev) {
        return Ok(next);
    }
    Err(fault.map_or_else(|| Tail::Torn { bytes: rest.to_vec() }, |(line, fault)| bad(rest, line, number, fault)))
}

/// A line that holds although the byte behind it is no line end: it was written, and perhaps acknowledged, so it is
/// kept, and the damage is said. A zero where a block of the disk begins was never written at all: the write is torn.
fn wrong_end(bytes: &[u8], at: usize, number: u64, prev: &Sum) -> Option<Next> {
    let rest = &bytes[at..];
    let length = line::summed_length(rest)?;
    let behind = *rest.get(length)?;
    if behind == 0 && (at + length).is_multiple_of(BLOCK_BYTES) {
        return None;
    }
    let (event, sum) = line::decode(&rest[..length], number, prev).ok()?;
    let stop = Some(Tail::Damaged { line: number, fault: LineFault::WrongEnd { found: behind } });
    Some(Next { event, sum, length, stop })
}

fn first(bytes: &[u8]) -> Result<(VerifiedJournal, usize, Option<Tail>), JournalError> {
    if bytes.is_empty() {
        return Err(JournalError::NothingGood(LineFault::Empty));
    }
    let line = line_of(bytes);
    let found = line::version(line.unwrap_or(bytes));
    if let Some(found) = found.filter(|found| *found > u64::from(FORMAT)) {
        return Err(JournalError::Newer { found, newest: FORMAT });
    }
    let Next { event, sum, length, stop } = next(bytes, 0, 1, &Sum::NONE).map_err(|tail| {
        JournalError::NothingGood(match tail {
            Tail::Damaged { fault, .. } => fault,
            Tail::Torn { .. } | Tail::Whole => LineFault::Unterminated,
        })
    })?;
    let journal = VerifiedJournal::begin(event, sum).map_err(JournalError::NothingGood)?;
    Ok((journal, length, stop))
}

/// Up to the line end, without it.
fn line_of(rest: &[u8]) -> Option<&[u8]> {
    rest.iter().position(|byte| *byte == b'\n').map(|end| &rest[..end])
}

/// A last line with blocks that never reached the disk is torn although its end did.
fn bad(rest: &[u8], line: &[u8], number: u64, fault: LineFault) -> Tail {
    let last = rest.len() == line.len() + 1;
    let never_written = line.split(|byte| *byte != 0).any(|zeros| zeros.len() >= NEVER_WRITTEN_BYTES);
    if last && never_written {
        return Tail::Torn { bytes: rest.to_vec() };
    }
    Tail::Damaged { line: number, fault }
}

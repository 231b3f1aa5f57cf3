//! Reading a whole journal: the events whose chain holds, and what stands behind them.

use super::{JournalError, LineFault, Sum, VerifiedJournal, line};
use crate::case::FORMAT;

/// The largest journal accepted, bytes.
pub const FILE_BYTES_MAX: u64 = 1 << 30;

/// So many zero bytes on end are a block that was never written, not a flipped bit: the journal itself holds none.
const NEVER_WRITTEN_BYTES: usize = 16;

/// The good part of a journal and what follows it.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalReading {
    pub journal: VerifiedJournal,
    /// Length of the good part, bytes.
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
    /// Something else than a torn write. Nothing behind it can be trusted.
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
    let (mut journal, mut at) = first(bytes)?;
    let mut sum = journal.last().sum;
    let mut seq = 1;
    let tail = loop {
        let rest = &bytes[at..];
        if rest.is_empty() {
            break Tail::Whole;
        }
        let Some(line) = line_of(rest) else { break Tail::Torn { bytes: rest.to_vec() } };
        match line::decode(line, seq + 1, &sum) {
            Ok((event, of_line)) => journal.push(event, of_line),
            Err(fault) => break bad(rest, line, seq + 1, fault),
        }
        sum = journal.last().sum;
        seq += 1;
        at += line.len() + 1;
    };
    Ok(JournalReading { journal, good_bytes: at as u64, tail })
}

fn first(bytes: &[u8]) -> Result<(VerifiedJournal, usize), JournalError> {
    if bytes.is_empty() {
        return Err(JournalError::NothingGood(LineFault::Empty));
    }
    let line = line_of(bytes).ok_or(JournalError::NothingGood(LineFault::Unterminated))?;
    if let Some(found) = line::version(line).filter(|found| *found > u64::from(FORMAT)) {
        return Err(JournalError::Newer { found, newest: FORMAT });
    }
    let (event, sum) = line::decode(line, 1, &Sum::NONE).map_err(JournalError::NothingGood)?;
    let journal = VerifiedJournal::begin(event, sum).map_err(JournalError::NothingGood)?;
    Ok((journal, line.len() + 1))
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

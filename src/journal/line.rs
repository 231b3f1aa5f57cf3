//! One event as one line, and back.

use super::sum::Summing;
use super::{LineFault, Sum};
use crate::case::{Did, Event, Stamp};
use crate::people::Actor;
use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

/// The longest line written or accepted, bytes, with its line end.
pub const LINE_BYTES_MAX: usize = 256 << 10;

const SUM_MEMBER: &[u8] = b",\"sum\":\"";
const SUM_END: &[u8] = b"\"}";
/// Bytes behind what is summed: the member's name, 64 digits, quote and brace.
const SUM_BYTES: usize = SUM_MEMBER.len() + 64 + SUM_END.len();

/// The members before the sum; their order is the format.
#[derive(Serialize)]
struct Body<'a> {
    seq: u64,
    at: &'a DateTime<FixedOffset>,
    process: u32,
    boot_ms: u64,
    by: &'a Actor,
    logged_by: &'a Actor,
    did: &'a Did,
    prev: &'a str,
}

/// A line as read. `prev` and `sum` are compared as bytes of the line, so they hold no escapes.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Line<'a> {
    seq: u64,
    at: DateTime<FixedOffset>,
    process: u32,
    boot_ms: u64,
    by: Actor,
    logged_by: Actor,
    did: Did,
    prev: &'a str,
    sum: &'a str,
}

/// Encodes an event as the line that follows the line of sum `prev`, with its line end.
///
/// # Errors
/// [`LineFault::TooLong`]; [`LineFault::NotReadBack`] for an event whose line would not give the same event again.
pub fn encode(event: &Event, prev: &Sum) -> Result<(Vec<u8>, Sum), LineFault> {
    let prev_hex = prev.to_string();
    let Event { seq, stamp, by, logged_by, did } = event;
    let Stamp { at, process, boot_ms } = stamp;
    let body = Body { seq: *seq, at, process: *process, boot_ms: *boot_ms, by, logged_by, did, prev: &prev_hex };
    let mut line = serde_json::to_vec(&body).map_err(|_| LineFault::NotReadBack)?;
    line.pop();
    let sum = Sum::of(&line);
    line.extend_from_slice(SUM_MEMBER);
    line.extend_from_slice(&sum.hex());
    line.extend_from_slice(SUM_END);
    line.push(b'\n');
    if line.len() > LINE_BYTES_MAX {
        return Err(LineFault::TooLong { bytes: line.len(), max: LINE_BYTES_MAX });
    }
    match decode(&line[..line.len() - 1], *seq, prev) {
        Ok((again, _)) if again == *event => Ok((line, sum)),
        _ => Err(LineFault::NotReadBack),
    }
}

/// Decodes a line, given without its line end, that must be number `seq` behind the line of sum `prev`.
pub(super) fn decode(line: &[u8], seq: u64, prev: &Sum) -> Result<(Event, Sum), LineFault> {
    if line.len() >= LINE_BYTES_MAX {
        return Err(LineFault::TooLong { bytes: line.len() + 1, max: LINE_BYTES_MAX });
    }
    let (body, written) = split(line).ok_or(LineFault::NoSum)?;
    let sum = Sum::of(body);
    if sum.hex() != written {
        return Err(LineFault::WrongSum);
    }
    let read: Line<'_> = serde_json::from_slice(line).map_err(|fault| syntax(&fault))?;
    if read.seq != seq {
        return Err(LineFault::OutOfOrder { found: read.seq, expected: seq });
    }
    if read.prev.as_bytes() != prev.hex() || read.sum.as_bytes() != written {
        return Err(LineFault::WrongPrevious);
    }
    let stamp = Stamp { at: read.at, process: read.process, boot_ms: read.boot_ms };
    Ok((Event { seq: read.seq, stamp, by: read.by, logged_by: read.logged_by, did: read.did }, sum))
}

/// What is summed, and the digits of the sum.
fn split(line: &[u8]) -> Option<(&[u8], &[u8])> {
    let (body, tail) = line.split_at_checked(line.len().checked_sub(SUM_BYTES)?)?;
    let digits = tail.strip_prefix(SUM_MEMBER)?.strip_suffix(SUM_END)?;
    Some((body, digits))
}

/// Length of the line at the front of these bytes, told by its sum alone, whatever stands behind it.
pub(super) fn summed_length(bytes: &[u8]) -> Option<usize> {
    let bytes = bytes.get(..LINE_BYTES_MAX).unwrap_or(bytes);
    let mut summing = Summing::default();
    let mut from = 0;
    while let Some(found) = bytes[from..].windows(SUM_MEMBER.len()).position(|window| window == SUM_MEMBER) {
        summing.take(&bytes[from..from + found]);
        from += found;
        let line = &bytes[..(from + SUM_BYTES).min(bytes.len())];
        if let Some((_, written)) = split(line).filter(|(body, _)| body.len() == from)
            && summing.so_far().hex() == written
        {
            return Some(line.len());
        }
        summing.take(SUM_MEMBER);
        from += SUM_MEMBER.len();
    }
    None
}

fn syntax(fault: &serde_json::Error) -> LineFault {
    let reason = fault.to_string();
    let reason = reason.split(" at line ").next().unwrap_or(&reason).to_owned();
    LineFault::Syntax { column: fault.column(), reason }
}

/// The format version a first line names, read with everything else ignored: a newer line may look different.
pub(super) fn version(line: &[u8]) -> Option<u64> {
    let value: serde_json::Value = serde_json::from_slice(line.get(..LINE_BYTES_MAX).unwrap_or(line)).ok()?;
    value.pointer("/did/case-opened/brimline_journal")?.as_u64()
}

//! One line of the journal.

use super::{ChainPoint, Sum};
use crate::case::{Did, Event, Stamp};
use crate::people::Actor;
use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

/// The longest line accepted, bytes.
pub const LINE_MAX_BYTES: usize = 256 * 1024;

/// The members of a line before `prev`, in their order.
#[derive(Serialize)]
struct Written<'e> {
    seq: u64,
    at: &'e DateTime<FixedOffset>,
    process: u32,
    boot_ms: u64,
    by: &'e Actor,
    logged_by: &'e Actor,
    did: &'e Did,
}

/// A line as read. `sum` is judged on the bytes before it is parsed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Read<'l> {
    seq: u64,
    at: DateTime<FixedOffset>,
    process: u32,
    boot_ms: u64,
    by: Actor,
    logged_by: Actor,
    did: Did,
    prev: &'l str,
    #[serde(rename = "sum")]
    _sum: &'l str,
}

/// Encodes an event behind a point of the chain: the line with its newline, and the point it makes.
#[must_use]
pub fn encode(event: &Event, before: ChainPoint) -> (Vec<u8>, ChainPoint) {
    let Event { seq, stamp, by, logged_by, did } = event;
    let written =
        Written { seq: *seq, at: &stamp.at, process: stamp.process, boot_ms: stamp.boot_ms, by, logged_by, did };
    let mut line = Vec::with_capacity(512);
    serde_json::to_writer(&mut line, &written).expect("an event is plain data and serialises");
    line.pop();
    line.extend_from_slice(b",\"prev\":\"");
    line.extend_from_slice(&before.sum.hex());
    line.push(b'"');
    let sum = Sum::of(&line);
    line.extend_from_slice(SUM_MEMBER);
    line.extend_from_slice(&sum.hex());
    line.extend_from_slice(b"\"}\n");
    (line, ChainPoint { seq: *seq, sum })
}

const SUM_MEMBER: &[u8] = b",\"sum\":\"";
/// Length of `,"sum":"…"}` at the end of a line without its newline.
const SUM_LENGTH: usize = SUM_MEMBER.len() + 64 + 2;

/// Decodes one line, without its newline, behind a point of the chain.
///
/// # Errors
/// A sentence that says what is wrong with the line.
pub(super) fn decode(line: &[u8], before: ChainPoint) -> Result<(Event, ChainPoint), String> {
    if line.len() > LINE_MAX_BYTES {
        return Err(format!("longer than {LINE_MAX_BYTES} bytes"));
    }
    let sum = checked_sum(line)?;
    let read: Read<'_> = serde_json::from_slice(line).map_err(|fault| fault.to_string())?;
    if read.prev.as_bytes() != before.sum.hex() {
        return Err("its \"prev\" is not the sum of the line before".to_owned());
    }
    let seq = before.seq + 1;
    if read.seq != seq {
        return Err(format!("its \"seq\" is {}, not {seq}", read.seq));
    }
    let stamp = Stamp { at: read.at, process: read.process, boot_ms: read.boot_ms };
    let event = Event { seq, stamp, by: read.by, logged_by: read.logged_by, did: read.did };
    Ok((event, ChainPoint { seq, sum }))
}

fn checked_sum(line: &[u8]) -> Result<Sum, String> {
    let missing = || "it does not end with its \"sum\"".to_owned();
    let body_length = line.len().checked_sub(SUM_LENGTH).ok_or_else(missing)?;
    let (body, end) = line.split_at(body_length);
    let hex = end.strip_prefix(SUM_MEMBER).and_then(|end| end.strip_suffix(b"\"}")).ok_or_else(missing)?;
    let stated = Sum::from_hex(hex).ok_or_else(missing)?;
    if stated != Sum::of(body) {
        return Err("its \"sum\" does not fit its bytes".to_owned());
    }
    Ok(stated)
}

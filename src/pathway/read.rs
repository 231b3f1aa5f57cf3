//! Reading a pathway from bytes.

use super::{FORMAT, Pathway, PathwayError, faults};
use crate::strict_json;

/// The largest pathway accepted, bytes.
pub const MAX_BYTES: u64 = 4 << 20;

/// Reads a pathway and judges it.
///
/// # Errors
/// [`PathwayError::Unreadable`] for what is no pathway at all, [`PathwayError::Faulty`] with every fault found.
pub fn read(bytes: &[u8]) -> Result<Pathway, PathwayError> {
    let pathway: Pathway = strict_json::read(bytes, "brimline_pathway", FORMAT, MAX_BYTES)?;
    let faults = faults(&pathway);
    if faults.is_empty() { Ok(pathway) } else { Err(PathwayError::Faulty { faults }) }
}

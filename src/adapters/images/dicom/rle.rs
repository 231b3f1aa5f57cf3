//! RLE Lossless: byte planes packed by runs, the more significant plane first.
//!
//! Source: DICOM PS3.5, annex G. Decoded here and not by the library's adapter, which panics on a plane that ends early.

use super::pixels::{Layout, damaged};
use crate::ports::image::ImageError;

/// Fifteen offsets behind the count of segments.
const HEAD_BYTES: usize = 64;

/// Little-endian cells.
///
/// # Errors
/// [`ImageError`] if there is not one segment per byte of a cell, or if one does not fill the picture.
pub fn decode(coded: &[u8], layout: Layout) -> Result<Vec<u8>, ImageError> {
    let head = coded.get(..HEAD_BYTES).ok_or_else(|| damaged("run-length head cut off".to_owned()))?;
    let number = |at: usize| u32::from_le_bytes([head[at * 4], head[at * 4 + 1], head[at * 4 + 2], head[at * 4 + 3]]);
    if usize::try_from(number(0)) != Ok(layout.bytes) {
        return Err(damaged(format!("{} run-length segments, wanted {}", number(0), layout.bytes)));
    }
    let mut bytes = vec![0; layout.count * layout.bytes];
    for plane in 0..layout.bytes {
        let from = number(plane + 1) as usize;
        let to = if plane + 1 < layout.bytes { number(plane + 2) as usize } else { coded.len() };
        let segment = coded.get(from.max(HEAD_BYTES)..to);
        let segment = segment.ok_or_else(|| damaged(format!("run-length segment {plane} lies outside")))?;
        let into = bytes.iter_mut().skip(layout.bytes - 1 - plane).step_by(layout.bytes);
        unpack(segment, into).ok_or_else(|| damaged(format!("run-length segment {plane} ends early")))?;
    }
    Ok(bytes)
}

/// Fills every place of `into`; `None` if the segment ends before.
fn unpack<'a>(segment: &[u8], mut into: impl ExactSizeIterator<Item = &'a mut u8>) -> Option<()> {
    let mut at = 0;
    while into.len() > 0 {
        let control = *segment.get(at)?;
        at += 1;
        match control {
            0..=127 => {
                let literal = segment.get(at..at + usize::from(control) + 1)?;
                at += literal.len();
                into.by_ref().zip(literal).for_each(|(place, value)| *place = *value);
            }
            128 => {}
            129..=255 => {
                let value = *segment.get(at)?;
                at += 1;
                into.by_ref().take(257 - usize::from(control)).for_each(|place| *place = value);
            }
        }
    }
    Some(())
}

//! Fragments of a P-DATA-TF PDU, read where they lie: an object of a megabyte is copied once on its way, not at each
//! layer.
//!
//! Source: PS3.8, 9.3.5 and Annex E.2.

use thiserror::Error;

/// Type of a P-DATA-TF PDU.
pub(super) const P_DATA: u8 = 0x04;

/// One presentation data value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fragment<'a> {
    /// Presentation context.
    pub context: u8,
    /// Of a command set; otherwise of a data set.
    pub command: bool,
    /// The last of its set.
    pub last: bool,
    pub data: &'a [u8],
}

/// Why bytes are no presentation data values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("a presentation data value that goes beyond its PDU")]
pub struct BadFragment;

/// The values of a PDU, without its header of six bytes.
///
/// # Errors
/// [`BadFragment`] if a stated length is too short for its own header or goes beyond the end.
pub fn fragments(body: &[u8]) -> Result<Vec<Fragment<'_>>, BadFragment> {
    let mut rest = body;
    let mut all = Vec::with_capacity(1);
    while !rest.is_empty() {
        let (length, behind) = rest.split_first_chunk::<4>().ok_or(BadFragment)?;
        let length = usize::try_from(u32::from_be_bytes(*length)).map_err(|_| BadFragment)?;
        let (value, behind) = behind.split_at_checked(length).ok_or(BadFragment)?;
        let ([context, control], data) = value.split_first_chunk::<2>().ok_or(BadFragment)?;
        all.push(Fragment { context: *context, command: control & 1 != 0, last: control & 2 != 0, data });
        rest = behind;
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dicom_ul::pdu::{PDataValue, PDataValueType, Pdu, read_pdu, write_pdu};
    use proptest::prelude::*;

    proptest! {
        /// What the DICOM library writes is read as it was meant, and whatever it refuses is refused.
        #[test]
        fn fragments_are_those_the_library_writes(
            values in prop::collection::vec((any::<u8>(), any::<bool>(), any::<bool>(), prop::collection::vec(any::<u8>(), 0..40)), 1..4),
            at in any::<prop::sample::Index>(), to in any::<u8>(), cut in any::<prop::sample::Index>(),
        ) {
            let value = |(context, command, last, data): &(u8, bool, bool, Vec<u8>)| PDataValue {
                presentation_context_id: *context,
                value_type: if *command { PDataValueType::Command } else { PDataValueType::Data },
                is_last: *last,
                data: data.clone(),
            };
            let data: Vec<PDataValue> = values.iter().map(value).collect();
            let mut bytes = Vec::new();
            write_pdu(&mut bytes, &Pdu::PData { data: data.clone() }).unwrap();
            let same = |own: &[Fragment<'_>], theirs: &[PDataValue]| own.len() == theirs.len() && own.iter().zip(theirs).all(|(own, their)| {
                own.context == their.presentation_context_id && own.last == their.is_last && own.data == their.data
                    && own.command == (their.value_type == PDataValueType::Command)
            });
            prop_assert!(same(&fragments(&bytes[6..]).unwrap(), &data));
            let at = 6 + at.index(bytes.len() - 6);
            bytes[at] = to;
            let theirs = read_pdu(&bytes[..], 1 << 20, false);
            if let (Ok(own), Ok(Some(Pdu::PData { data }))) = (fragments(&bytes[6..]), &theirs) {
                prop_assert!(same(&own, data));
            }
            // Cut anywhere: never a panic, and nothing beyond the end.
            let _ = fragments(&bytes[6..6 + cut.index(bytes.len() - 6)]);
        }
    }
}

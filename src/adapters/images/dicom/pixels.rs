//! From the stored bytes to grey values.
//!
//! Source: DICOM PS3.5, 8.1 and 8.2 (layout of cells), PS3.3 C.7.6.3 (bits, sign). A signed value is kept shifted up by
//! half its range, so that every picture holds unsigned values in the same order.

use super::elements::{Coding, Elements};
use super::{lossless, rle};
use crate::ports::image::{ImageError, Pixels};
use dicom_dictionary_std::tags;

/// How the cells lie.
#[derive(Debug, Clone, Copy)]
pub struct Layout {
    pub width: u32,
    pub height: u32,
    pub count: usize,
    /// 1 or 2.
    pub bytes: usize,
    stored: u16,
    signed: bool,
}

impl Layout {
    /// # Errors
    /// [`ImageError`] names the attribute that does not fit.
    pub fn of(elements: &Elements, width: u32, height: u32, count: usize) -> Result<Self, ImageError> {
        let allocated = elements.wanted_number(tags::BITS_ALLOCATED, "Bits Allocated")?;
        let stored = elements.wanted_number(tags::BITS_STORED, "Bits Stored")?;
        let high = elements.number(tags::HIGH_BIT, "High Bit")?.unwrap_or(stored.wrapping_sub(1));
        let sign = elements.wanted_number(tags::PIXEL_REPRESENTATION, "Pixel Representation")?;
        let refused =
            |attribute, value: u16, reason| Err(ImageError::Unusable { attribute, value: value.to_string(), reason });
        if !matches!(allocated, 8 | 16) {
            return refused("Bits Allocated", allocated, "8 or 16 are read");
        }
        if !(1..=allocated).contains(&stored) {
            return refused("Bits Stored", stored, "more than are allocated, or none");
        }
        if high != stored - 1 {
            return refused("High Bit", high, "one less than Bits Stored is wanted");
        }
        if sign > 1 {
            return refused("Pixel Representation", sign, "0 or 1 is wanted");
        }
        Ok(Self { width, height, count, bytes: usize::from(allocated / 8), stored, signed: sign == 1 })
    }

    /// What was added to signed values.
    pub fn shift(self) -> u16 {
        if self.signed { 1 << (self.stored - 1) } else { 0 }
    }

    /// A stored value as it is kept: unused bits off, shifted up if it is signed.
    pub fn shifted(self, raw: u16) -> u16 {
        // Adding half the range and taking the stored bits alone turns two's complement into an offset.
        raw.wrapping_add(self.shift()) & self.mask()
    }

    fn mask(self) -> u16 {
        u16::MAX >> (16 - self.stored)
    }
}

/// # Errors
/// [`ImageError`] if there are more or fewer bytes than the picture has, or if coded pixels are damaged.
pub fn unpack(elements: &Elements, layout: Layout) -> Result<Pixels, ImageError> {
    match elements.coding {
        Coding::Native => {
            let bytes = elements.bytes(tags::PIXEL_DATA).unwrap_or(&[]);
            let wanted = layout.count * layout.bytes;
            if bytes.len() != wanted && bytes.len() != wanted + wanted % 2 {
                let reason = format!("{} bytes where the size asks for {wanted}", bytes.len());
                return Err(damaged(reason));
            }
            Ok(cells(&bytes[..wanted], layout))
        }
        Coding::RunLength => rle::decode(&elements.coded, layout).map(|bytes| cells(&bytes, layout)),
        Coding::JpegLossless => lossless::decode(&elements.coded, layout).map(|bytes| cells(&bytes, layout)),
    }
}

/// Little-endian cells.
fn cells(bytes: &[u8], layout: Layout) -> Pixels {
    if layout.bytes == 1 {
        let (shift, mask) = (layout.shift().to_le_bytes()[0], layout.mask().to_le_bytes()[0]);
        return Pixels::Eight(bytes.iter().map(|byte| byte.wrapping_add(shift) & mask).collect());
    }
    let pairs = bytes.chunks_exact(2);
    Pixels::Sixteen(pairs.map(|pair| layout.shifted(u16::from_le_bytes([pair[0], pair[1]]))).collect())
}

pub(super) fn damaged(reason: String) -> ImageError {
    ImageError::Damaged { kind: "DICOM file", place: "Pixel Data".to_owned(), reason }
}

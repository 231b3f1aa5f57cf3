//! Pictures out of files: PNG and DICOM, told apart by their first bytes.
//!
//! What it does not do: it opens no file (bytes come in, bounded by whoever reads them), converts no colour, joins no
//! frames and measures nothing. What is damaged, in colour, of many frames or of another kind is refused in one line.

mod dicom;
mod png;

use crate::ports::image::{FILE_BYTES_MAX, FramePoses, GreyImage, ImageError, ImageReader, PIXELS_MAX, SIDE_MAX};

/// Reads PNG and DICOM.
#[derive(Debug, Clone, Copy, Default)]
pub struct ImageFiles;

impl ImageReader for ImageFiles {
    fn read(&self, bytes: &[u8]) -> Result<GreyImage, ImageError> {
        let length = bytes.len() as u64;
        if length > FILE_BYTES_MAX {
            return Err(ImageError::TooLarge { bytes: length, max: FILE_BYTES_MAX });
        }
        if bytes.starts_with(png::SIGNATURE) {
            return png::read(bytes);
        }
        if bytes.get(dicom::PREFIX_AT..).is_some_and(|rest| rest.starts_with(dicom::PREFIX)) {
            return dicom::read(bytes);
        }
        Err(ImageError::UnknownKind)
    }

    fn poses(&self, bytes: &[u8]) -> FramePoses {
        if bytes.starts_with(png::SIGNATURE) { FramePoses::of(1, None) } else { dicom::poses(bytes) }
    }
}

/// Width and height as a buffer's size, within the bounds.
fn size(width: u64, height: u64) -> Result<(u32, u32, usize), ImageError> {
    let refused = ImageError::Size { width, height, side_max: SIDE_MAX, pixels_max: PIXELS_MAX };
    let side = |value: u64| u32::try_from(value).ok().filter(|value| (1..=SIDE_MAX).contains(value));
    let (Some(columns), Some(rows)) = (side(width), side(height)) else { return Err(refused) };
    let pixels = columns as usize * rows as usize;
    if pixels > PIXELS_MAX { Err(refused) } else { Ok((columns, rows, pixels)) }
}

/// Words of a file or a library on one line, cut short.
fn one_line(words: &str) -> String {
    let shown = words.chars().map(|sign| if sign.is_control() { ' ' } else { sign });
    shown.take(80).collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

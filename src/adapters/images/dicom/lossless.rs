//! JPEG Lossless, process 14: decoded by the crate `jpeg-decoder`, after its frame header was held against the picture.
//!
//! The check comes first because that header decides what the decoder allocates and which of its paths it takes.

use super::super::one_line;
use super::pixels::{Layout, damaged};
use crate::ports::image::ImageError;
use jpeg_decoder::{Decoder, PixelFormat};

/// Source: ITU-T T.81, table B.1.
const START_OF_IMAGE: [u8; 2] = [0xFF, 0xD8];
const START_OF_LOSSLESS_FRAME: u8 = 0xC3;
const START_OF_SCAN: u8 = 0xDA;
/// Tables, restart interval, comments and application segments, which may stand before the frame.
const BEFORE_THE_FRAME: [u8; 4] = [0xC4, 0xDB, 0xDD, 0xFE];

/// Little-endian cells.
///
/// # Errors
/// [`ImageError`] if the frame is not one component of the picture's size, or is damaged.
pub fn decode(coded: &[u8], layout: Layout) -> Result<Vec<u8>, ImageError> {
    let precision = frame(coded, layout)?;
    let mut decoder = Decoder::new(coded);
    decoder.set_max_decoding_buffer_size(layout.count * 2);
    let decoded = decoder.decode().map_err(|fault| damaged(one_line(&fault.to_string())))?;
    let format = decoder.info().map(|info| info.pixel_format);
    match (format, layout.bytes) {
        (Some(PixelFormat::L8), 1) if decoded.len() == layout.count => Ok(decoded),
        (Some(PixelFormat::L8), 2) if decoded.len() == layout.count => {
            Ok(decoded.into_iter().flat_map(|value| [value, 0]).collect())
        }
        (Some(PixelFormat::L16), 2) if decoded.len() == layout.count * 2 => {
            let pairs = decoded.chunks_exact(2).map(|pair| u16::from_ne_bytes([pair[0], pair[1]]));
            Ok(pairs.flat_map(u16::to_le_bytes).collect())
        }
        _ => Err(damaged(format!("JPEG of {precision} bits in cells of {} bytes", layout.bytes))),
    }
}

/// Bits of the lossless frame; the markers before it are walked, their lengths held against the bytes.
fn frame(coded: &[u8], layout: Layout) -> Result<u8, ImageError> {
    let cut_off = || damaged("JPEG cut off before its frame".to_owned());
    let mut rest = coded.strip_prefix(&START_OF_IMAGE).ok_or_else(|| damaged("no JPEG".to_owned()))?;
    loop {
        let [0xFF, marker, high, low, ..] = *rest else { return Err(cut_off()) };
        let length = usize::from(u16::from_be_bytes([high, low]));
        let segment = rest.get(4..2 + length).ok_or_else(cut_off)?;
        rest = &rest[2 + length..];
        match marker {
            START_OF_LOSSLESS_FRAME => return judge(segment, layout),
            START_OF_SCAN => return Err(damaged("a JPEG scan without frame".to_owned())),
            0xE0..=0xEF => {}
            other if BEFORE_THE_FRAME.contains(&other) => {}
            other => return Err(damaged(format!("JPEG marker {other:02X} where a lossless frame is wanted"))),
        }
    }
}

fn judge(segment: &[u8], layout: Layout) -> Result<u8, ImageError> {
    let [precision, h1, h0, w1, w0, components, ..] = *segment else {
        return Err(damaged("JPEG frame cut off".to_owned()));
    };
    let (height, width) = (u16::from_be_bytes([h1, h0]), u16::from_be_bytes([w1, w0]));
    if components != 1 {
        return Err(ImageError::Colour { found: format!("a JPEG of {components} components") });
    }
    if (u32::from(width), u32::from(height)) != (layout.width, layout.height) {
        return Err(damaged(format!("JPEG of {width} by {height} pixels in another size")));
    }
    Ok(precision)
}

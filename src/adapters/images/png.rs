//! A grey PNG. It says nothing of a patient: its physical size, if any, is that of a print or a screen, and is left
//! aside.

use super::{one_line, size};
use crate::ports::image::{GreyImage, ImageError, PIXELS_MAX, Pixels};
use png::{BitDepth, ColorType, Decoder, Limits, Transformations};
use std::io::Cursor;

/// Source: PNG (Third Edition), 5.2.
pub const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";

/// # Errors
/// [`ImageError`] if it is damaged, in colour, see-through, animated or too large.
pub fn read(bytes: &[u8]) -> Result<GreyImage, ImageError> {
    let limits = Limits { bytes: PIXELS_MAX * 4 };
    let mut decoder = Decoder::new_with_limits(Cursor::new(bytes), limits);
    decoder.set_transformations(Transformations::EXPAND);
    let mut reader = decoder.read_info().map_err(|fault| damaged(&fault.to_string()))?;
    let info = reader.info();
    let (width, height, pixels) = size(u64::from(info.width), u64::from(info.height))?;
    if let Some(animation) = info.animation_control() {
        return Err(ImageError::ManyFrames { frames: animation.num_frames });
    }
    let found = match info.color_type {
        ColorType::Grayscale if info.trns.is_none() => None,
        ColorType::Grayscale | ColorType::GrayscaleAlpha => Some("see-through grey"),
        ColorType::Rgb | ColorType::Rgba => Some("red, green, blue"),
        ColorType::Indexed => Some("a palette"),
    };
    if let Some(found) = found {
        return Err(ImageError::Colour { found: found.to_owned() });
    }
    let (_, depth) = reader.output_color_type();
    let wide = depth == BitDepth::Sixteen;
    let mut buffer = vec![0; pixels * if wide { 2 } else { 1 }];
    reader.next_frame(&mut buffer).map_err(|fault| damaged(&fault.to_string()))?;
    reader.finish().map_err(|fault| damaged(&fault.to_string()))?;
    let pixels = if wide {
        Pixels::Sixteen(buffer.chunks_exact(2).map(|pair| u16::from_be_bytes([pair[0], pair[1]])).collect())
    } else {
        Pixels::Eight(buffer)
    };
    GreyImage::plain(width, height, pixels).ok_or_else(|| damaged("the buffer has another size"))
}

fn damaged(reason: &str) -> ImageError {
    ImageError::Damaged { kind: "PNG", place: "stream".to_owned(), reason: one_line(reason) }
}

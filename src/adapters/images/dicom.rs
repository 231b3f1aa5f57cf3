//! A DICOM image of one frame in grey: X-ray angiography, fluoroscopy, secondary capture, CT slice.
//!
//! The file is walked once, element by element, with every length held against what is left of the bytes: nothing is
//! allocated because a file says so, nothing recurses, and the pixels are borrowed until they are unpacked. An object
//! parser that builds the whole tree first gives neither bound.

mod elements;
mod geometry;
mod lossless;
mod pixels;
mod rle;
mod values;

use super::size;
use crate::dose::NoPose;
use crate::ports::image::{FramePoses, GreyImage, ImageError, Modality, Rescale, Window};
use dicom_dictionary_std::{tags, uids};
use elements::Elements;

/// Where the prefix stands: behind the preamble.
pub const PREFIX_AT: usize = 128;
/// Source: DICOM PS3.10, 7.1.
pub const PREFIX: &[u8] = b"DICM";

/// # Errors
/// [`ImageError`], one line.
pub fn read(bytes: &[u8]) -> Result<GreyImage, ImageError> {
    let elements = Elements::read(bytes, PREFIX_AT + PREFIX.len())?;
    let modality = modality(&elements)?;
    judge_grey(&elements)?;
    let frames = elements.whole(tags::NUMBER_OF_FRAMES, "Number of Frames")?.unwrap_or(1);
    if frames != 1 {
        return Err(ImageError::ManyFrames { frames: u32::try_from(frames).unwrap_or(0) });
    }
    let rows = elements.wanted_number(tags::ROWS, "Rows")?;
    let columns = elements.wanted_number(tags::COLUMNS, "Columns")?;
    let (width, height, count) = size(u64::from(columns), u64::from(rows))?;
    let layout = pixels::Layout::of(&elements, width, height, count)?;
    let mut left_aside = Vec::new();
    let geometry = geometry::of(&elements, modality, &mut left_aside)?;
    let window = window(&elements, &mut left_aside)?;
    name_what_is_not_applied(&elements, &mut left_aside);
    let pixels = pixels::unpack(&elements, layout)?;
    let padding = elements.number(tags::PIXEL_PADDING_VALUE, "Pixel Padding Value")?;
    Ok(GreyImage {
        width,
        height,
        pixels,
        rescale: rescale(&elements, layout)?,
        low_is_white: elements.text(tags::PHOTOMETRIC_INTERPRETATION) == Some("MONOCHROME1"),
        window,
        padding: padding.map(|value| layout.shifted(value)),
        modality,
        geometry,
        left_aside,
    })
}

/// How the machine stood for each frame, by the header alone: a file of many frames is no picture here, but its pose is
/// known where the machine stood still.
///
/// Source: DICOM PS3.3, C.8.7.5: angles of the file hold for every frame unless the positioner is stated to move or
/// increments are given; enhanced images state them in the functional groups of each frame (C.8.19.6).
pub fn poses(bytes: &[u8]) -> FramePoses {
    stated_poses(bytes).unwrap_or(FramePoses { frames: 1, pose: Err(NoPose::Unreadable) })
}

fn stated_poses(bytes: &[u8]) -> Result<FramePoses, ImageError> {
    if !bytes.get(PREFIX_AT..).is_some_and(|rest| rest.starts_with(PREFIX)) {
        return Err(ImageError::UnknownKind);
    }
    let elements = Elements::read(bytes, PREFIX_AT + PREFIX.len())?;
    let frames = elements.whole(tags::NUMBER_OF_FRAMES, "Number of Frames")?.unwrap_or(1);
    let frames = u32::try_from(frames).unwrap_or(1).max(1);
    if matches!(
        elements.text(tags::SOP_CLASS_UID),
        Some(uids::ENHANCED_XA_IMAGE_STORAGE | uids::ENHANCED_XRF_IMAGE_STORAGE)
    ) {
        return Ok(FramePoses { frames, pose: Err(NoPose::FrameByFrame) });
    }
    let primary = elements.decimal(tags::POSITIONER_PRIMARY_ANGLE, "Positioner Primary Angle")?;
    let secondary = elements.decimal(tags::POSITIONER_SECONDARY_ANGLE, "Positioner Secondary Angle")?;
    let steps = [
        elements.decimals(tags::POSITIONER_PRIMARY_ANGLE_INCREMENT, "Positioner Primary Angle Increment")?,
        elements.decimals(tags::POSITIONER_SECONDARY_ANGLE_INCREMENT, "Positioner Secondary Angle Increment")?,
    ];
    let moves = elements.text(tags::POSITIONER_MOTION) == Some("DYNAMIC")
        || steps.iter().any(|steps| steps.iter().any(|step| *step != 0.0));
    if frames > 1 && moves {
        return Ok(FramePoses { frames, pose: Err(NoPose::Moves) });
    }
    Ok(FramePoses::of(frames, primary.zip(secondary)))
}

fn modality(elements: &Elements) -> Result<Modality, ImageError> {
    let uid = elements.text(tags::SOP_CLASS_UID).ok_or(ImageError::Missing { attribute: "SOP Class UID" })?;
    match uid {
        uids::X_RAY_ANGIOGRAPHIC_IMAGE_STORAGE | uids::X_RAY_RADIOFLUOROSCOPIC_IMAGE_STORAGE => {
            Ok(Modality::Projection)
        }
        uids::CT_IMAGE_STORAGE => Ok(Modality::Slice),
        uids::SECONDARY_CAPTURE_IMAGE_STORAGE => Ok(Modality::Capture),
        other => Err(ImageError::OtherKind { uid: super::one_line(other) }),
    }
}

fn judge_grey(elements: &Elements) -> Result<(), ImageError> {
    let photometric = elements
        .text(tags::PHOTOMETRIC_INTERPRETATION)
        .ok_or(ImageError::Missing { attribute: "Photometric Interpretation" })?;
    let samples = elements.wanted_number(tags::SAMPLES_PER_PIXEL, "Samples per Pixel")?;
    if samples == 1 && matches!(photometric, "MONOCHROME1" | "MONOCHROME2") {
        return Ok(());
    }
    Err(ImageError::Colour { found: super::one_line(photometric) })
}

/// Values that are stored signed are kept shifted up, so the intercept takes the shift back.
fn rescale(elements: &Elements, layout: pixels::Layout) -> Result<Rescale, ImageError> {
    let slope = elements.decimal(tags::RESCALE_SLOPE, "Rescale Slope")?.unwrap_or(1.0);
    let intercept = elements.decimal(tags::RESCALE_INTERCEPT, "Rescale Intercept")?.unwrap_or(0.0);
    if slope == 0.0 {
        let reason = "no value can be told from another";
        return Err(ImageError::Unusable { attribute: "Rescale Slope", value: "0".to_owned(), reason });
    }
    Ok(Rescale { slope, intercept: intercept - slope * f64::from(layout.shift()) })
}

/// The first window of the file.
fn window(elements: &Elements, left_aside: &mut Vec<&'static str>) -> Result<Option<Window>, ImageError> {
    let centres = elements.decimals(tags::WINDOW_CENTER, "Window Center")?;
    let widths = elements.decimals(tags::WINDOW_WIDTH, "Window Width")?;
    let (Some(&centre), Some(&width)) = (centres.first(), widths.first()) else { return Ok(None) };
    let function = elements.text(tags::VOILUT_FUNCTION).unwrap_or("LINEAR");
    if !matches!(function, "LINEAR" | "LINEAR_EXACT") {
        left_aside.push("the window's function is not linear; a linear one is shown");
    }
    let exact = function == "LINEAR_EXACT";
    if width < 1.0 && !(exact && width > 0.0) {
        left_aside.push("the window has no width; one over all values is shown");
        return Ok(None);
    }
    Ok(Some(Window { centre, width, exact }))
}

fn name_what_is_not_applied(elements: &Elements, left_aside: &mut Vec<&'static str>) {
    let named = [
        (tags::MODALITY_LUT_SEQUENCE, "a modality look-up table is not applied; brightness differs"),
        (tags::VOILUT_SEQUENCE, "a look-up table of the display is not applied; contrast differs"),
        (tags::MASK_SUBTRACTION_SEQUENCE, "a subtraction of a mask is not applied"),
    ];
    left_aside.extend(named.into_iter().filter(|(tag, _)| elements.holds(*tag)).map(|(_, words)| words));
}

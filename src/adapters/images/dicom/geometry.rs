//! What a DICOM file says of its geometry, by the standard's own rules.
//!
//! Source: DICOM PS3.3, 10.7.1.3 (pixel spacing without a calibration type says nothing about the patient),
//! C.8.7.5 (positioner), C.7.6.2 (image plane). A distance or spacing of 0 or less is how some machines write
//! "unknown": it is left aside, and said so.

use super::elements::Elements;
use super::values::unusable;
use crate::ports::image::{Depth, Geometry, ImageError, Modality, PatientPosition, SlicePlane, Spacing, SpacingAt};
use crate::units::Side;
use dicom_core::Tag;
use dicom_dictionary_std::tags;

/// How far the axes of a slice may be from unit length and from a right angle. DICOM decimals have 16 signs; what older
/// writers round to five digits stays well inside.
const AXES_TOLERANCE: f64 = 1e-3;

/// # Errors
/// [`ImageError`] for a value that cannot be read.
pub fn of(elements: &Elements, modality: Modality, left_aside: &mut Vec<&'static str>) -> Result<Geometry, ImageError> {
    let beam = modality == Modality::Projection;
    let mut length = |tag: Tag, name, words| -> Result<Option<f64>, ImageError> {
        Ok(positive(elements.decimal(tag, name)?, words, left_aside))
    };
    let mut geometry = Geometry { spacing: None, ..Geometry::default() };
    if beam {
        geometry.source_to_detector_mm = length(
            tags::DISTANCE_SOURCE_TO_DETECTOR,
            "Distance Source to Detector",
            "the distance from source to detector is 0 or less and left aside",
        )?;
        geometry.source_to_object_mm = length(
            tags::DISTANCE_SOURCE_TO_PATIENT,
            "Distance Source to Patient",
            "the distance from source to patient is 0 or less and left aside",
        )?;
        geometry.magnification = length(
            tags::ESTIMATED_RADIOGRAPHIC_MAGNIFICATION_FACTOR,
            "Estimated Radiographic Magnification Factor",
            "the magnification is 0 or less and left aside",
        )?;
        geometry.primary_deg = angle(elements, tags::POSITIONER_PRIMARY_ANGLE, "Positioner Primary Angle", 180.0)?;
        geometry.secondary_deg = angle(elements, tags::POSITIONER_SECONDARY_ANGLE, "Positioner Secondary Angle", 90.0)?;
    }
    geometry.spacing = spacing(elements, modality, left_aside)?;
    geometry.pixel_aspect = aspect(elements, left_aside)?;
    geometry.patient_position = elements.text(tags::PATIENT_POSITION).and_then(PatientPosition::of_code);
    geometry.laterality = laterality(elements)?;
    if modality == Modality::Slice {
        geometry.slice = slice(elements)?;
    }
    Ok(geometry)
}

fn positive(value: Option<f64>, words: &'static str, left_aside: &mut Vec<&'static str>) -> Option<f64> {
    if value.is_some_and(|value| value <= 0.0) {
        left_aside.push(words);
    }
    value.filter(|value| *value > 0.0)
}

fn angle(elements: &Elements, tag: Tag, name: &'static str, limit: f64) -> Result<Option<f64>, ImageError> {
    let angle = elements.decimal(tag, name)?;
    match angle {
        Some(degrees) if degrees.abs() > limit => Err(unusable(name, &degrees.to_string(), "beyond a half turn")),
        angle => Ok(angle),
    }
}

/// The spacing and its plane; DICOM gives the distance between rows first.
fn spacing(
    elements: &Elements,
    modality: Modality,
    left_aside: &mut Vec<&'static str>,
) -> Result<Option<Spacing>, ImageError> {
    let patient = pair(elements, tags::PIXEL_SPACING, "Pixel Spacing", left_aside)?;
    let detector = match modality {
        Modality::Projection => pair(elements, tags::IMAGER_PIXEL_SPACING, "Imager Pixel Spacing", left_aside)?,
        Modality::Slice | Modality::Capture => None,
    };
    let depth = match elements.text(tags::PIXEL_SPACING_CALIBRATION_TYPE) {
        Some("GEOMETRY") => Some(Depth::Geometry),
        Some("FIDUCIAL") => Some(Depth::Fiducial),
        _ => None,
    };
    let at = |values: Option<[f64; 2]>, at| values.map(|[down_mm, across_mm]| Spacing { across_mm, down_mm, at });
    if modality == Modality::Slice {
        return Ok(at(patient, SpacingAt::Slice));
    }
    if let (Some(_), Some(depth)) = (patient, depth) {
        return Ok(at(patient, SpacingAt::Patient(depth)));
    }
    if patient.is_some() && patient != detector {
        left_aside.push("a pixel spacing without its calibration says nothing of the patient and is left aside");
    }
    Ok(at(detector, SpacingAt::Detector))
}

fn pair(
    elements: &Elements,
    tag: Tag,
    name: &'static str,
    left_aside: &mut Vec<&'static str>,
) -> Result<Option<[f64; 2]>, ImageError> {
    let values = elements.decimals_of::<2>(tag, name)?;
    if values.is_some_and(|values| values.iter().any(|value| *value <= 0.0)) {
        left_aside.push("a pixel spacing of 0 or less is left aside");
        return Ok(None);
    }
    Ok(values)
}

/// Height over width of a pixel: DICOM writes the vertical part first, as whole numbers.
fn aspect(elements: &Elements, left_aside: &mut Vec<&'static str>) -> Result<Option<f64>, ImageError> {
    let values = elements.decimals_of::<2>(tags::PIXEL_ASPECT_RATIO, "Pixel Aspect Ratio")?;
    match values {
        Some([down, across]) if down > 0.0 && across > 0.0 => Ok(Some(down / across)),
        Some(_) => {
            left_aside.push("a pixel aspect ratio of 0 or less is left aside");
            Ok(None)
        }
        None => Ok(None),
    }
}

/// The image's own laterality before the series'; they may not disagree.
fn laterality(elements: &Elements) -> Result<Option<Side>, ImageError> {
    let side = |tag| match elements.text(tag) {
        Some("L") => Some(Side::Left),
        Some("R") => Some(Side::Right),
        _ => None,
    };
    match (side(tags::IMAGE_LATERALITY), side(tags::LATERALITY)) {
        (Some(image), Some(series)) if image != series => {
            Err(unusable("Image Laterality", "left and right", "Laterality names the other side"))
        }
        (image, series) => Ok(image.or(series)),
    }
}

fn slice(elements: &Elements) -> Result<Option<SlicePlane>, ImageError> {
    let name = "Image Orientation (Patient)";
    let position = elements.decimals_of::<3>(tags::IMAGE_POSITION_PATIENT, "Image Position (Patient)")?;
    let axes = elements.decimals_of::<6>(tags::IMAGE_ORIENTATION_PATIENT, name)?;
    let (Some(origin_mm), Some([ax, ay, az, dx, dy, dz])) = (position, axes) else { return Ok(None) };
    let (across, down) = ([ax, ay, az], [dx, dy, dz]);
    let dot = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let off = [dot(across, across) - 1.0, dot(down, down) - 1.0, dot(across, down)];
    if off.iter().any(|off| off.abs() > AXES_TOLERANCE) {
        return Err(unusable(name, "its two axes", "not of unit length at a right angle"));
    }
    Ok(Some(SlicePlane { origin_mm, across, down }))
}

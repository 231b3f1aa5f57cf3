//! From pixels to millimetres in the patient, with how sure that is.

use super::{Line, Repeatability, TouchError};
use crate::anatomy::Length;

/// How far landmarks may lie from the depth that a projection's scale holds for, mm, one standard deviation.
///
/// Common practice, no source. At 650 mm from the source it is 6 %, which is how far the shadow of a 3.2 mm pin runs from
/// 4.92 mm to 5.25 or 4.64 mm at 40 mm less or more; computed from the magnification.
pub const DEPTH_PLUS_MINUS_MM: f64 = 40.0;

/// Millimetres in the patient per pixel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Along a row.
    pub across_mm: f64,
    /// Along a column.
    pub down_mm: f64,
    /// One standard deviation of both together, as a share.
    pub relative_sd: f64,
}

impl Scale {
    /// Pixel widths in place of millimetres, for angles.
    pub(super) fn pixels(aspect: f64) -> Result<Self, TouchError> {
        Self::of(1.0, aspect, 0.0)
    }

    fn of(across_mm: f64, down_mm: f64, relative_sd: f64) -> Result<Self, TouchError> {
        for (what, value) in [("pixel width", across_mm), ("pixel height", down_mm)] {
            positive(what, value)?;
        }
        Ok(Self { across_mm, down_mm, relative_sd })
    }

    /// A slice's own spacing: nothing is magnified.
    ///
    /// # Errors
    /// [`TouchError::NotPositive`].
    pub fn of_slice(across_mm: f64, down_mm: f64) -> Result<Self, TouchError> {
        Self::of(across_mm, down_mm, 0.0)
    }

    /// The spacing on the detector, divided by the magnification at `source_to_object_mm`; landmarks may lie
    /// `depth_plus_minus_mm` nearer or farther.
    ///
    /// # Errors
    /// [`TouchError::NotPositive`].
    pub fn of_detector(
        across_mm: f64,
        down_mm: f64,
        source_to_detector_mm: f64,
        source_to_object_mm: f64,
        depth_plus_minus_mm: f64,
    ) -> Result<Self, TouchError> {
        positive("distance from source to detector", source_to_detector_mm)?;
        positive("distance from source to object", source_to_object_mm)?;
        let share = source_to_object_mm / source_to_detector_mm;
        Self::of(across_mm * share, down_mm * share, depth_plus_minus_mm / source_to_object_mm)
    }

    /// A spacing that the file says is calibrated in the patient; it holds at one depth.
    ///
    /// # Errors
    /// [`TouchError::NotPositive`].
    pub fn of_calibrated(
        across_mm: f64,
        down_mm: f64,
        source_to_object_mm: f64,
        depth_plus_minus_mm: f64,
    ) -> Result<Self, TouchError> {
        positive("distance from source to object", source_to_object_mm)?;
        Self::of(across_mm, down_mm, depth_plus_minus_mm / source_to_object_mm)
    }

    /// From a marker of known length, touched at both ends. It holds at the marker's own depth: on a projection give
    /// `depth_share`, how far landmarks may lie from it over their distance to the source; on a slice 0.
    ///
    /// # Errors
    /// [`TouchError`] if the marker is too short or has no length.
    pub fn of_marker(
        marker: Line,
        known: Length,
        aspect: f64,
        repeat: Repeatability,
        depth_share: f64,
    ) -> Result<Self, TouchError> {
        positive("length of the marker", known.mm)?;
        let pictured = marker.length(Self::pixels(aspect)?, repeat)?;
        let across_mm = known.mm / pictured.mm;
        let touched = pictured.plus_minus_mm / pictured.mm;
        let relative_sd = touched.hypot(known.plus_minus_mm / known.mm).hypot(depth_share);
        Self::of(across_mm, across_mm * aspect, relative_sd)
    }
}

fn positive(what: &'static str, value: f64) -> Result<(), TouchError> {
    if value.is_finite() && value > 0.0 { Ok(()) } else { Err(TouchError::NotPositive { what, value }) }
}

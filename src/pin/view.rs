//! One view with its touches, and how wrong each of them may be.
//!
//! What it does not do: no pixels. Touches are millimetres on the detector, from its centre.

use super::caught::PoseFault;
use crate::carm::{ImagePoint, Point, Pose, ViewName};
use crate::units::{Degrees, Millimetres};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where the size of a touch error is stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TouchPlane {
    /// In the detector's plane, where shadows are larger than life.
    Detector,
    /// At the patient, in life size.
    Patient,
}

/// How far a touch falls from what was meant, one standard deviation in each of the two directions of the picture.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TouchError {
    /// Millimetres, one standard deviation, more than 0.
    pub sigma_mm: f64,
    pub at: TouchPlane,
}

impl TouchError {
    /// The same error in the detector's plane.
    #[must_use]
    pub fn on_detector(self, magnification: f64) -> Millimetres {
        match self.at {
            TouchPlane::Detector => Millimetres(self.sigma_mm),
            TouchPlane::Patient => Millimetres(self.sigma_mm * magnification),
        }
    }
}

/// Standard deviations of what a view is known by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViewErrors {
    /// Of a touch in each direction, in the detector's plane.
    pub touch: Millimetres,
    /// Of the picture's scale, relative: 0.01 is one per cent.
    pub scale: f64,
    /// Of the view's turn about each axis through the isocentre.
    pub angle: Degrees,
}

/// A view with the pin touched on it.
#[derive(Debug, Clone, PartialEq)]
pub struct PinView {
    pub name: ViewName,
    /// As the machine's angles and distances have it. Where no common frame holds, only its turn and its distances mean
    /// anything.
    pub pose: Pose,
    /// The isocentre: what an error of angle turns the view about, and the depth at which the patient is taken to be.
    pub isocentre: Point,
    pub errors: ViewErrors,
    pub tip: ImagePoint,
    /// Other places along the pin, at least one.
    pub shank: Vec<ImagePoint>,
    /// How wide the pin is pictured, on the detector.
    pub pictured_width: Option<Millimetres>,
}

/// What the pin's own pictured width says about the scale. It corrects nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WidthCheck {
    /// Of the pin at its depth, from the picture.
    pub found: Millimetres,
    pub expected: Millimetres,
    pub agrees: bool,
}

/// A width read off a picture is good to ±10 %: an edge is blurred over a pixel or two of about sixteen.
///
/// Common practice, no source.
pub const WIDTH_TOLERANCE: f64 = 0.10;

/// Source to detector that a C-arm can have, mm. About 1000 (common practice, no source); twice and half of it bound
/// what is believed.
const SOURCE_TO_DETECTOR_MM: [f64; 2] = [500.0, 2000.0];
/// No touch lies farther from the detector's centre, mm: a flat panel of 43 cm has its corner at 304.
const DETECTOR_REACH_MM: f64 = 310.0;
/// Axes of a picture are at right angles to this cosine.
const RIGHT_ANGLE: f64 = 1e-6;

impl PinView {
    /// Magnification at the isocentre; infinite for a pose that is impossible.
    #[must_use]
    pub fn magnification(&self) -> f64 {
        self.pose.magnification_at(&self.isocentre).unwrap_or(f64::INFINITY)
    }

    /// What makes the pose or a touch impossible, if anything does.
    #[must_use]
    pub fn fault(&self) -> Option<PoseFault> {
        let pose = &self.pose;
        let distance = pose.source_to_detector_mm();
        let [nearest, farthest] = SOURCE_TO_DETECTOR_MM;
        // Written so that a NaN fails.
        let plausible = (nearest..=farthest).contains(&distance);
        if !plausible {
            return Some(PoseFault::Distance);
        }
        if pose.across.dot(&pose.down).abs() > RIGHT_ANGLE
            || pose.across.cross(&pose.down).dot(&pose.beam()).abs() < 0.5
        {
            return Some(PoseFault::Axes);
        }
        let magnification = self.magnification();
        let between = magnification > 1.0 && magnification.is_finite();
        if !between {
            return Some(PoseFault::Isocentre);
        }
        let on_detector = |at: &ImagePoint| at.across_mm.hypot(at.down_mm) <= DETECTOR_REACH_MM;
        let touched = self.shank.iter().chain([&self.tip]).all(on_detector);
        (!touched).then_some(PoseFault::TouchOffDetector)
    }

    /// The pin's pictured width held against its diameter, at `depth` of the tip or of the isocentre.
    #[must_use]
    pub fn width_check(&self, diameter: Millimetres, tip: &Point) -> Option<WidthCheck> {
        let found = Millimetres(self.pictured_width?.0 / self.pose.magnification_at(tip)?);
        let agrees = (found.0 - diameter.0).abs() <= WIDTH_TOLERANCE * diameter.0;
        Some(WidthCheck { found, expected: diameter, agrees })
    }
}

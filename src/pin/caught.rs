//! What goes wrong with a pin finding, each by its own name.
//!
//! What it does not do: it stops nothing. What is caught either holds results back, and says which way out there is, or
//! stands beside them. What may never change: the names, which stand in journals and records.

use crate::carm::ViewName;
use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Why a pose cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PoseFault {
    /// Source and detector are not 500 to 2000 mm apart.
    Distance,
    /// The picture's axes are not at right angles to each other, or lie along the beam.
    Axes,
    /// The isocentre does not lie between source and detector.
    Isocentre,
    /// A touch lies farther from the centre than any detector reaches.
    TouchOffDetector,
    /// The tip that follows lies outside the beam's way from source to detector, or far from the isocentre.
    TipOutside,
}

/// One thing caught.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Caught {
    /// A pose that no C-arm can have.
    PoseImpossible { view: ViewName, fault: PoseFault },
    /// The pin is touched on one view.
    OneViewOnly { view: ViewName },
    /// The touches of a view give no line.
    NoShadow { view: ViewName },
    /// The beam lines are too close together.
    NearParallelViews { first: ViewName, second: ViewName, arc_deg: f64 },
    /// The pin lies in the plane of both beams, so that its two shadows say the same.
    PinAlongBothBeams { first: ViewName, second: ViewName },
    /// Tip and shank are swapped on these views.
    TipAndShankSwapped { views: Vec<ViewName> },
    /// The pin runs in from the other side than the plan says. `or_swapped`: no midline was touched, so tip and shank
    /// swapped on every view would look the same.
    OtherSide { planned: Side, entered_from: Side, or_swapped: bool },
    /// The tip has not reached the joint.
    TipBehindJoint { by_mm: f64 },
    /// The pin runs along the joint: where it crosses means nothing.
    PinAlongJoint { off_perpendicular_deg: f64 },
    /// The rays of the tip miss each other by more than the stated errors explain.
    RaysMiss { first: ViewName, second: ViewName, gap_mm: f64, explained_mm: f64 },
    /// The landmarks do not fit together. `landmark`: the worst of them, from 1.
    LandmarksDisagree { landmark: usize, residual_mm: f64 },
    /// The pin's pictured width contradicts the scale.
    ScaleDoubtful { view: ViewName, pictured_mm: f64, expected_mm: f64 },
}

impl Caught {
    /// Whether results are held back because of it, rather than shown beside it.
    #[must_use]
    pub fn holds_back(&self) -> bool {
        !matches!(
            self,
            Self::TipBehindJoint { .. }
                | Self::PinAlongJoint { .. }
                | Self::RaysMiss { .. }
                | Self::LandmarksDisagree { .. }
                | Self::ScaleDoubtful { .. }
        )
    }
}

impl fmt::Display for PoseFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Distance => "source and detector are not 500 to 2000 mm apart",
            Self::Axes => "the picture's axes are not at right angles",
            Self::Isocentre => "the isocentre is not between source and detector",
            Self::TouchOffDetector => "a touch lies off every detector; check the scale",
            Self::TipOutside => "the tip would lie outside the beam; check which view is which",
        })
    }
}

impl fmt::Display for Caught {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::PoseImpossible { view, fault } => write!(f, "Pose impossible on {view}: {fault}."),
            Self::OneViewOnly { view } => {
                write!(f, "One view only ({view}): no angle, no position. Touch a second view.")
            }
            Self::NoShadow { view } => write!(f, "No line on {view}: tip and shank are touched at one place."),
            Self::NearParallelViews { first, second, arc_deg } => {
                write!(
                    f,
                    "Near-parallel views: {first} and {second} are {arc_deg:.0}° apart. Take one more across them."
                )
            }
            Self::PinAlongBothBeams { first, second } => {
                write!(f, "The pin lies in the plane of both beams ({first}, {second}). Take one more view across it.")
            }
            Self::TipAndShankSwapped { views } => {
                let names: Vec<String> = views.iter().map(ToString::to_string).collect();
                write!(f, "Tip and shank swapped on {}. Touch again.", names.join(" and "))
            }
            Self::OtherSide { planned, entered_from, or_swapped } => {
                write!(f, "Left and right: the plan says {planned}, this pin comes from the {entered_from}")?;
                f.write_str(if *or_swapped { ", or tip and shank are swapped on every view." } else { "." })
            }
            Self::TipBehindJoint { by_mm } => write!(f, "Tip behind the joint: {by_mm:.0} mm short of crossing it."),
            Self::PinAlongJoint { off_perpendicular_deg } => {
                write!(f, "The pin runs along the joint ({off_perpendicular_deg:.0}° off its perpendicular).")
            }
            Self::RaysMiss { first, second, gap_mm, explained_mm } => write!(
                f,
                "{first} and {second} disagree: the tip's rays miss by {gap_mm:.1} mm, touches and angles explain \
                 {explained_mm:.1}. Not the same tip, or column or patient moved?"
            ),
            Self::LandmarksDisagree { landmark, residual_mm } => {
                write!(
                    f,
                    "Landmarks disagree: number {landmark} is off by {residual_mm:.1} mm on the detector. Touch again."
                )
            }
            Self::ScaleDoubtful { view, pictured_mm, expected_mm } => {
                write!(f, "Scale doubtful on {view}: the {expected_mm:.1} mm pin measures {pictured_mm:.1} mm.")
            }
        }
    }
}

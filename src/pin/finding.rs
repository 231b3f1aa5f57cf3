//! What is found of a pin: plain data, made to be kept.
//!
//! Numbers are rounded to a hundredth, so that a finding reads the same on every machine. No name, no date and no free
//! text is among its members. What it does not do: it decides nothing. What may never change: these members and their
//! names, which stand in journals and records.

use super::caught::Caught;
use super::edge::EdgeName;
use super::frame::{AnglesOnly, DeclaredBy};
use crate::carm::ViewName;
use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Stands under every finding.
pub const ADVISORY: &str = "Advisory: the surgeon's reading of the image decides.";
/// How many of 100 findings are off by no more than their ±, if the stated errors are right.
pub const COVERAGE_PERCENT: u8 = 95;

/// A value with its uncertainty; the unit stands in the member's name.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    pub value: f64,
    /// Half the width of the interval that holds in [`COVERAGE_PERCENT`] of 100.
    pub plus_minus: f64,
}

/// A pin finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    pub side: Side,
    pub views: Vec<ViewName>,
    pub frame: FrameUsed,
    pub coverage_percent: u8,
    /// Diameter of the largest planned tool.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool_mm: Option<f64>,
    /// The margin below which the site asks.
    pub margin_limit_mm: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<AtJoint>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip: Option<Place>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heading: Option<Heading>,
    /// How far the tip's rays miss each other, for each pair of views.
    pub gaps: Vec<Gap>,
    pub margins: Vec<Margin>,
    /// What is to be expected if the pin goes on along itself.
    pub further: Vec<Further>,
    /// What a millimetre seen on one view is on another, where they are not square to each other.
    pub cross_views: Vec<CrossView>,
    pub caught: Vec<Caught>,
    pub questions: Vec<Question>,
    pub not_given: Vec<NotGiven>,
}

/// In what frame the views were put together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum FrameUsed {
    ColumnUnmoved {
        declared_by: DeclaredBy,
    },
    /// `residual_mm`: root mean square on the detectors.
    Landmarks {
        count: usize,
        residual_mm: f64,
    },
    AnglesOnly {
        why: AnglesOnly,
    },
}

/// The pin where it crosses the joint.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AtJoint {
    pub off_perpendicular_deg: Measured,
    /// Sine of that angle: the part of a force along the pin that shears the joint.
    pub along_percent: Measured,
    /// Cosine of that angle: the part that closes the joint.
    pub across_percent: Measured,
    /// From the crossing to the tip, along the pin; negative before the joint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub past_mm: Option<Measured>,
}

/// A place in the frame of the views: patient LPS, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Place {
    pub left_mm: Measured,
    pub posterior_mm: Measured,
    pub head_mm: Measured,
}

/// Where the pin points, from shank to tip: parts of a direction of length one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Heading {
    pub left: Measured,
    pub posterior: Measured,
    pub head: Measured,
}

/// How far two rays of the tip miss each other.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gap {
    pub first: ViewName,
    pub second: ViewName,
    pub gap_mm: f64,
    /// What the stated errors explain, at most (three standard deviations).
    pub explained_mm: f64,
}

/// From the largest tool's surface to an edge that was touched.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Margin {
    pub edge: EdgeName,
    pub margin_mm: Measured,
    /// The views that profile the edge and on which it was touched; with one, the margin is "in this view".
    pub views: Vec<ViewName>,
    /// Whether it is below the site's limit.
    pub short: bool,
}

/// What is expected after a further step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Further {
    pub further_mm: f64,
    pub tip: Place,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub past_mm: Option<Measured>,
    pub margins: Vec<Margin>,
}

/// A millimetre moved along what one view shows, seen on another view: the cosine of the arc between the beams.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CrossView {
    pub here: ViewName,
    pub there: ViewName,
    /// Between the beam lines, 0 to 90.
    pub arc_deg: f64,
    /// Millimetres on the other view for each millimetre seen here.
    pub seen_mm: f64,
}

/// What is asked of the team. It stops nothing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Question {
    /// A margin is below the site's limit.
    ShortMargin { edge: EdgeName, margin_mm: Measured, limit_mm: f64 },
}

/// A result that is not given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NotGiven {
    pub what: What,
    pub why: Why,
}

/// Which result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum What {
    Angle,
    Position,
    PastJoint,
    Margin { edge: EdgeName },
}

/// Why not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Why {
    /// Something caught holds it back.
    Caught,
    AnglesOnly {
        why: AnglesOnly,
    },
    /// Nothing is known of the joint, or its points give no surface.
    NoJoint,
    /// Where the pin crosses the joint is not known.
    CrossingNotTouched,
    /// The edge was touched on no view that profiles it.
    NotProfiled,
    /// No tool is planned.
    NoTool,
}

impl Finding {
    /// Whether something caught holds results back.
    #[must_use]
    pub fn held_back(&self) -> bool {
        self.caught.iter().any(Caught::holds_back)
    }
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Angle => f.write_str("angle to the joint"),
            Self::Position => f.write_str("tip position"),
            Self::PastJoint => f.write_str("length past the joint"),
            Self::Margin { edge } => write!(f, "margin to {edge}"),
        }
    }
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Caught => f.write_str("held back, see above"),
            Self::AnglesOnly { why } => why.fmt(f),
            Self::NoJoint => f.write_str("nothing is known of the joint"),
            Self::CrossingNotTouched => f.write_str("where the pin crosses the joint is not touched"),
            Self::NotProfiled => f.write_str("not touched on a view that profiles it"),
            Self::NoTool => f.write_str("no tool is planned"),
        }
    }
}

impl fmt::Display for Question {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::ShortMargin { edge, limit_mm, .. } = self;
        write!(f, "{edge}: nearer the edge you touched than this site's {limit_mm} mm. Keep it, or redirect?")
    }
}

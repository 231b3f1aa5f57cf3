//! The input of `brimline plan pin`: touches in pixels with what the views are known by.
//!
//! What it does not do: it carries no patient and no image. What may never change: the meaning of format 1.

use super::edge::EdgeName;
use super::frame::DeclaredBy;
use super::view::TouchError;
use crate::carm::{PositionerAngles, ViewName};
use crate::units::Side;
use schemars::JsonSchema;
use serde::Deserialize;

/// The format this program reads.
pub const FORMAT: u32 = 1;

/// Across and down, in pixels from the centre of the picture's first pixel.
pub type Pixel = [f64; 2];

/// The document.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PinDocument {
    /// Format version, 1.
    pub brimline_pin: u32,
    /// The side the plan says.
    pub side: Side,
    /// 1 to 6 mm.
    pub pin_diameter_mm: f64,
    /// The largest tool planned along this pin. Without it there are no margins.
    #[serde(default)]
    pub tool: Option<ToolDocument>,
    /// The site's limit, 0 to 50 mm; 5 if left out.
    #[serde(default)]
    pub margin_limit_mm: Option<f64>,
    /// How far the pin might go on: steps of 10 mm up to this, 0 to 100 mm; 20 if left out.
    #[serde(default)]
    pub further_to_mm: Option<f64>,
    /// One standard deviation of every touch; 1 mm at the patient if left out.
    #[serde(default)]
    pub touch: Option<TouchError>,
    pub frame: FrameDocument,
    /// One to four, each view once.
    pub views: Vec<ViewDocument>,
    #[serde(default)]
    pub joint: Option<JointDocument>,
    #[serde(default)]
    pub edges: Vec<EdgeDocument>,
    /// A place of the midline: tells a pin of the other side from one touched the wrong way round.
    #[serde(default)]
    pub midline: Option<TouchDocument>,
}

/// A tool.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ToolDocument {
    /// 1 to 20 mm.
    pub diameter_mm: f64,
    /// From the pin's tip outward, 10 to 300 mm; 100 if left out.
    #[serde(default)]
    pub length_mm: Option<f64>,
}

/// The common frame.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum FrameDocument {
    /// Column, table and patient stayed still between the views.
    #[serde(rename_all = "snake_case")]
    ColumnUnmoved {
        declared_by: DeclaredBy,
        /// One standard deviation of how far source and detector stand off, 0 to 20 mm; 2 if left out.
        #[serde(default)]
        drift_mm: Option<f64>,
    },
    /// The same landmarks, touched on the first view and each other one.
    #[serde(rename_all = "snake_case")]
    Landmarks {
        landmarks: Vec<LandmarkDocument>,
        #[serde(default)]
        lengths: Vec<LengthDocument>,
        /// One standard deviation of the landmarks' depth against the isocentre's, 1 to 100 mm; 30 if left out.
        #[serde(default)]
        depth_sigma_mm: Option<f64>,
    },
    /// Nobody can say: angles only.
    Unknown,
}

/// A landmark.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LandmarkDocument {
    pub touched: Vec<TouchDocument>,
}

/// A length known between two landmarks, by their numbers from 1.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LengthDocument {
    pub from: usize,
    pub to: usize,
    pub length_mm: f64,
    /// One standard deviation.
    pub sigma_mm: f64,
}

/// A touch on one of the views.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TouchDocument {
    pub view: ViewName,
    pub at_px: Pixel,
}

/// A view with the pin on it.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ViewDocument {
    pub view: ViewName,
    /// DICOM positioner angles.
    #[schemars(with = "AnglesSchema")]
    pub angles: PositionerAngles,
    /// How far the picture's top is turned clockwise from the head, -180 to 180; at 90 the head lies at the left. 0 if left
    /// out.
    #[serde(default)]
    pub roll_deg: Option<f64>,
    /// The picture shows left and right exchanged against a view from the detector.
    #[serde(default)]
    pub mirrored: bool,
    /// One standard deviation of the view's turn about each axis, 0.1 to 20; 1 if left out.
    #[serde(default)]
    pub angle_sigma_deg: Option<f64>,
    pub source_to_detector_mm: f64,
    pub source_to_isocentre_mm: f64,
    /// The isocentre in the patient frame; its origin if left out.
    #[serde(default)]
    pub isocentre_mm: Option<[f64; 3]>,
    /// Where the central ray meets the picture.
    pub centre_px: Pixel,
    pub scale: ScaleDocument,
    pub tip_px: Pixel,
    /// Other places along the pin, one to four.
    pub shank_px: Vec<Pixel>,
    /// The pin's two edges across from each other: a check of the scale to ±10 %, never the scale.
    #[serde(default)]
    pub width_px: Option<[Pixel; 2]>,
}

/// The shape of `PositionerAngles` for the schema.
#[derive(JsonSchema)]
#[allow(dead_code, reason = "read by the schema alone")]
struct AnglesSchema {
    primary_deg: f64,
    secondary_deg: f64,
}

/// How large a pixel is.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum ScaleDocument {
    /// Pixel spacing in the detector's plane, DICOM Imager Pixel Spacing (0018,1164).
    #[serde(rename_all = "snake_case")]
    DetectorSpacing {
        mm_per_px: f64,
        /// One standard deviation, 0 to 20 per cent; 1 if left out.
        #[serde(default)]
        sigma_percent: Option<f64>,
    },
    /// A marker or another known length on the picture.
    #[serde(rename_all = "snake_case")]
    KnownLength {
        from_px: Pixel,
        to_px: Pixel,
        length_mm: f64,
        /// Its distance from the source along the beam; the isocentre's if left out.
        #[serde(default)]
        source_to_length_mm: Option<f64>,
        /// One standard deviation of that distance, 0 to 100 mm; 10 if left out.
        #[serde(default)]
        depth_sigma_mm: Option<f64>,
    },
}

/// The joint.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum JointDocument {
    /// Its angles at some heights, from the plan.
    #[serde(rename_all = "snake_case")]
    Normals {
        /// From the feet up, one to eight.
        stations: Vec<StationDocument>,
        /// One standard deviation of each angle, 0.1 to 30; 3 if left out.
        #[serde(default)]
        sigma_deg: Option<f64>,
        /// One standard deviation of the stations' height, 0 to 50 mm; 5 if left out.
        #[serde(default)]
        height_sigma_mm: Option<f64>,
        #[serde(default)]
        crossing: Option<CrossingDocument>,
    },
    /// Points on it, three to sixteen.
    Surface { points: Vec<JointPointDocument> },
}

/// Angles of the joint at a height.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StationDocument {
    /// z of the patient frame, -200 to 200.
    pub height_mm: f64,
    /// Positive with the front edge farther lateral, -60 to 60.
    pub axial_deg: f64,
    /// Positive with the cranial edge farther lateral, -60 to 60.
    pub coronal_deg: f64,
}

/// Where the pin crosses.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum CrossingDocument {
    /// Touched on a view that profiles the joint.
    Touched(TouchDocument),
    /// A point of the joint in the views' frame.
    Through(PointDocument),
}

/// A point in the views' frame.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PointDocument {
    /// Left, posterior, head, each -500 to 500.
    pub at_mm: [f64; 3],
    /// One standard deviation, 0.1 to 50.
    pub sigma_mm: f64,
}

/// A point of the joint.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum JointPointDocument {
    /// From the plan, in the views' frame.
    Planned(PointDocument),
    /// Touched on two views or more.
    Touched(Vec<TouchDocument>),
}

/// An edge.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EdgeDocument {
    pub edge: EdgeName,
    pub seen: Vec<SeenDocument>,
}

/// An edge on a view.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeenDocument {
    pub view: ViewName,
    /// Whether this view profiles the edge, as the team judges.
    pub profiled: bool,
    /// In order along it, one to sixteen.
    pub points_px: Vec<Pixel>,
    /// The last joins the first.
    #[serde(default)]
    pub closed: bool,
}

//! Edges that the team touched, and the tool's margin to them.
//!
//! What it does not do: it draws no edge by itself and takes none from a model. An edge on a view that does not profile
//! it gets no distance. What may never change: the names, which stand in journals and records.

use super::evaluate::Draw;
use super::line::PinLine;
use super::tool::{Tool, margin_to_ray, margin_to_sheet};
use crate::carm::{ImagePoint, Point, Pose};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What was touched. A closed list, so that no free text enters a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EdgeName {
    S1Foramen,
    S2Foramen,
    S3Foramen,
    /// Anterior cortex of the sacral body.
    FrontCortex,
    AlarSlope,
    IliacCorticalDensity,
    SacralCanal,
    S1Endplate,
    SciaticNotch,
    Midline,
    Other,
}

impl fmt::Display for EdgeName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::S1Foramen => "S1 foramen",
            Self::S2Foramen => "S2 foramen",
            Self::S3Foramen => "S3 foramen",
            Self::FrontCortex => "front cortex",
            Self::AlarSlope => "alar slope",
            Self::IliacCorticalDensity => "iliac cortical density",
            Self::SacralCanal => "sacral canal",
            Self::S1Endplate => "S1 endplate",
            Self::SciaticNotch => "sciatic notch",
            Self::Midline => "midline",
            Self::Other => "other edge",
        })
    }
}

/// An edge with every view it was touched on.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    pub name: EdgeName,
    pub seen: Vec<Seen>,
}

/// An edge on one view.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Number of the view.
    pub view: usize,
    /// Whether this view profiles the edge, as the team judges. If not, the touches give no distance.
    pub profiled: bool,
    /// In order along the edge, at least one.
    pub points: Vec<ImagePoint>,
    /// The last touch joins the first, as around a foramen.
    pub closed: bool,
}

impl Edge {
    /// The views that profile it.
    pub(super) fn profiling(&self) -> impl Iterator<Item = &Seen> {
        self.seen.iter().filter(|seen| seen.profiled)
    }
}

impl Seen {
    /// Where the touches stand on the detector, each off by its drawn error.
    pub(super) fn places(&self, pose: &Pose, draw: &mut Draw<'_>) -> Vec<Point> {
        self.points.iter().map(|at| pose.point_of(draw.touch_on(self.view, *at))).collect()
    }

    /// From the tool's surface to the edge that `places` of this view's picture make, mm.
    pub(super) fn margin(&self, line: &PinLine, tool: &Tool, pose: &Pose, places: &[Point]) -> Option<f64> {
        let joins = if self.closed && places.len() > 2 { places.len() } else { places.len() - 1 };
        let between = (0..joins).filter_map(|from| {
            margin_to_sheet(line, tool, &pose.source, &places[from], &places[(from + 1) % places.len()])
        });
        let ray = |place: &Point| crate::carm::Ray {
            origin: pose.source,
            direction: crate::carm::Direction::new_normalize(place - pose.source),
        };
        // Sheets cost little; most rays are then known to be no nearer.
        places.iter().fold(between.reduce(f64::min), |nearest, place| {
            let found = margin_to_ray(line, tool, &ray(place), nearest.unwrap_or(f64::INFINITY));
            nearest.into_iter().chain(found).reduce(f64::min)
        })
    }
}

//! Whether two views speak of the same places.
//!
//! Two views of an untracked C-arm share no common frame unless the column stayed still and somebody says so, or the
//! team touched the same landmarks on both. Directions survive without; positions do not, and then none is given. What
//! may never change: a [`CommonFrame`] comes from [`Frame::common`] alone, and nothing else yields a position.

use super::bundle::{self, Bundle, BundleError, KnownLength, Landmark};
use super::evaluate::Draw;
use super::view::PinView;
use crate::carm::{Direction, Point, Pose, Rotation, Vector};
use crate::units::Millimetres;
use nalgebra::Vector6;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Who says that the column did not move. A role, never a name: it stands in records.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DeclaredBy {
    Surgeon,
    Radiographer,
    Nurse,
}

impl DeclaredBy {
    /// The role as it is said.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Surgeon => "surgeon",
            Self::Radiographer => "radiographer",
            Self::Nurse => "nurse",
        }
    }
}

/// What the team can say of the frame.
#[derive(Debug, Clone, PartialEq)]
pub enum Frame {
    /// Neither column nor table nor patient moved between the views. `drift`: one standard deviation, in each direction,
    /// of how far source and detector still stand from where angles and distances put them (sag, play, a centre of
    /// rotation that is not one point).
    ColumnUnmoved { declared_by: DeclaredBy, drift: Millimetres },
    /// The same landmarks touched on the first view and on each other one.
    Landmarks {
        landmarks: Vec<Landmark>,
        lengths: Vec<KnownLength>,
        /// One standard deviation of how far the landmarks' middle may lie from the isocentre's depth.
        depth: Millimetres,
    },
    /// Nobody can say.
    Unknown,
}

/// Why there are angles only.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum AnglesOnly {
    /// The pin was touched on one view.
    OneView,
    /// Nobody said that the column stayed still, and no landmarks were touched.
    ColumnMayHaveMoved,
    /// Too few landmarks were touched on both views.
    TooFewLandmarks { found: usize },
    /// The landmarks fit no pose.
    LandmarksFitNoPose,
    /// The beams of all views, or the pin with them, lie too close to one line or plane.
    ViewsTooAlike,
}

impl fmt::Display for AnglesOnly {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OneView => f.write_str("the pin is touched on one view"),
            Self::ColumnMayHaveMoved => {
                f.write_str("nobody said that the column stayed still, and no landmarks were touched on both views")
            }
            Self::TooFewLandmarks { found } => {
                write!(f, "{found} landmarks are touched on both views, {} are needed", bundle::LANDMARKS_MIN)
            }
            Self::LandmarksFitNoPose => f.write_str("the landmarks fit no pose of the second view"),
            Self::ViewsTooAlike => f.write_str("the views show too much of the same"),
        }
    }
}

/// Proof that positions of the views may be put together.
#[derive(Debug, Clone, PartialEq)]
pub struct CommonFrame(Common);

#[derive(Debug, Clone, PartialEq)]
enum Common {
    Declared {
        by: DeclaredBy,
        drift: Millimetres,
    },
    /// How each view after the first stands to it.
    Solved(Vec<Bundle>),
}

impl Frame {
    /// The common frame of these views, or why there is none.
    ///
    /// # Errors
    /// [`AnglesOnly`], in words that can be shown.
    pub fn common(&self, views: &[PinView]) -> Result<CommonFrame, AnglesOnly> {
        if views.len() < 2 {
            return Err(AnglesOnly::OneView);
        }
        match self {
            Self::Unknown => Err(AnglesOnly::ColumnMayHaveMoved),
            Self::ColumnUnmoved { declared_by, drift } => {
                Ok(CommonFrame(Common::Declared { by: *declared_by, drift: *drift }))
            }
            Self::Landmarks { landmarks, lengths, depth } => {
                let solved: Result<Vec<Bundle>, BundleError> =
                    (1..views.len()).map(|other| bundle::solve(views, other, landmarks, lengths, *depth)).collect();
                solved.map(|bundles| CommonFrame(Common::Solved(bundles))).map_err(|fault| match fault {
                    BundleError::TooFew { found } => AnglesOnly::TooFewLandmarks { found },
                    BundleError::NotSettled => AnglesOnly::LandmarksFitNoPose,
                })
            }
        }
    }
}

impl CommonFrame {
    /// Who declared it, if it was declared.
    #[must_use]
    pub fn declared_by(&self) -> Option<DeclaredBy> {
        match &self.0 {
            Common::Declared { by, .. } => Some(*by),
            Common::Solved(_) => None,
        }
    }

    /// How the views after the first stand to it, if landmarks told.
    #[must_use]
    pub fn bundles(&self) -> &[Bundle] {
        match &self.0 {
            Common::Declared { .. } => &[],
            Common::Solved(bundles) => bundles,
        }
    }

    /// The poses of all views in one frame, each off by its drawn error.
    pub(super) fn place(&self, views: &[PinView], draw: &mut Draw<'_>) -> Vec<Pose> {
        match &self.0 {
            Common::Declared { drift, .. } => {
                let declared = |view: &PinView| {
                    let turn = draw.turn(view.errors.angle.radians());
                    let shift = Vector::new(draw.next(drift.0), draw.next(drift.0), draw.next(drift.0));
                    moved(&view.pose, &view.isocentre, &turn, &shift)
                };
                views.iter().map(declared).collect()
            }
            Common::Solved(bundles) => {
                let first = &views[0];
                // What the first view's angles are wrong by turns everything with it.
                let turn = draw.turn(first.errors.angle.radians());
                let mut poses = vec![moved(&first.pose, &first.isocentre, &turn, &Vector::zeros())];
                for (view, bundle) in views[1..].iter().zip(bundles) {
                    let error = bundle.root * Vector6::from_fn(|_, _| draw.next(1.0));
                    let own = Rotation::from_scaled_axis(Vector::from(bundle.turn + error.fixed_rows::<3>(0)));
                    let shift = bundle.shift + error.fixed_rows::<3>(3);
                    let pose = moved(&view.pose, &view.isocentre, &own, &shift);
                    poses.push(moved(&pose, &first.isocentre, &turn, &Vector::zeros()));
                }
                poses
            }
        }
    }
}

/// Poses of views whose places mean nothing, each turned by its drawn error.
pub(super) fn turned(views: &[PinView], draw: &mut Draw<'_>) -> Vec<Pose> {
    let turned =
        |view: &PinView| moved(&view.pose, &view.isocentre, &draw.turn(view.errors.angle.radians()), &Vector::zeros());
    views.iter().map(turned).collect()
}

/// A pose turned about `centre`, then shifted.
pub(super) fn moved(pose: &Pose, centre: &Point, turn: &Rotation, shift: &Vector) -> Pose {
    let carry = |point: &Point| centre + turn * (point - centre) + shift;
    let point_to = |direction: &Direction| Direction::new_unchecked(turn * direction.into_inner());
    Pose {
        source: carry(&pose.source),
        detector_centre: carry(&pose.detector_centre),
        across: point_to(&pose.across),
        down: point_to(&pose.down),
    }
}

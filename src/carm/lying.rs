//! How the patient lies on the table, and so where up, head and left are in the patient frame.
//!
//! What it does not do: it does not measure the pelvis' turn (that is the re-aim from a true lateral), and it knows no
//! table that is itself tilted sideways.

use super::space::{Direction, Vector};
use super::view_name::ViewName;
use crate::units::Degrees;
use serde::{Deserialize, Serialize};

/// Which way the patient lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PatientPosition {
    Supine,
    Prone,
}

/// The patient on the table.
///
/// `turn`: how much further back the pelvis is turned about the patient's left-right axis than it lay when the plan was
/// measured, degrees; positive (retroversion) adds to every inlet tilt and takes from every outlet tilt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lying {
    pub position: PatientPosition,
    pub turn: Degrees,
}

impl Lying {
    /// As it lay when the plan was measured.
    #[must_use]
    pub fn as_planned(position: PatientPosition) -> Self {
        Self { position, turn: Degrees(0.0) }
    }

    /// What the turn adds to the angle of a view from the vertical; nothing for a view along the body's axes.
    #[must_use]
    pub fn adds(&self, view: ViewName) -> Degrees {
        match view {
            ViewName::InletBody | ViewName::InletCanal | ViewName::InletAla => self.turn,
            ViewName::OutletWorking | ViewName::OutletEndplate | ViewName::OutletEnFace => Degrees(-self.turn.0),
            ViewName::Ap | ViewName::Lateral => Degrees(0.0),
        }
    }

    /// Away from the floor, in the patient frame.
    #[must_use]
    pub fn up(&self) -> Direction {
        let (sin, cos) = self.turn.radians().sin_cos();
        let front = Direction::new_unchecked(Vector::new(0.0, -cos, -sin));
        match self.position {
            PatientPosition::Supine => front,
            PatientPosition::Prone => -front,
        }
    }

    /// Level, toward the head end of the table, in the patient frame.
    #[must_use]
    pub fn toward_head(&self) -> Direction {
        let (sin, cos) = self.turn.radians().sin_cos();
        Direction::new_unchecked(Vector::new(0.0, -sin, cos))
    }
}

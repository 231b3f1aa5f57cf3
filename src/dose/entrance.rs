//! Where the beam enters the patient: it decides which coefficient applies, and a view's name does not tell it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the patient lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Position {
    Prone,
    Supine,
}

/// Where the tube is, in the room and along the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TubeSide {
    UnderTable,
    AboveTable,
    /// At the patient's left, as in a lateral.
    PatientLeft,
    PatientRight,
}

/// The surface through which the beam enters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Entrance {
    Anterior,
    Posterior,
    Left,
    Right,
}

impl Entrance {
    /// By position and tube side. Prone with the tube under the table the beam enters in front.
    #[must_use]
    pub fn of(position: Position, tube: TubeSide) -> Self {
        match (position, tube) {
            (_, TubeSide::PatientLeft) => Self::Left,
            (_, TubeSide::PatientRight) => Self::Right,
            (Position::Prone, TubeSide::UnderTable) | (Position::Supine, TubeSide::AboveTable) => Self::Anterior,
            (Position::Prone, TubeSide::AboveTable) | (Position::Supine, TubeSide::UnderTable) => Self::Posterior,
        }
    }

    /// By the beam, a vector from source to detector in the patient frame (LPS), of any length but zero.
    ///
    /// The surface that the source faces most; a beam from head or feet enters by its smaller share all the same,
    /// since the coefficients know no other.
    #[must_use]
    pub fn of_beam(beam: [f64; 3]) -> Option<Self> {
        let [left, posterior, _] = beam;
        if !beam.iter().all(|part| part.is_finite()) || (left == 0.0 && posterior == 0.0) {
            return None;
        }
        Some(match (left.abs() > posterior.abs(), left > 0.0, posterior > 0.0) {
            // The beam goes toward the patient's left, so it comes from the right.
            (true, true, _) => Self::Right,
            (true, false, _) => Self::Left,
            (false, _, true) => Self::Anterior,
            (false, _, false) => Self::Posterior,
        })
    }

    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Anterior => "front",
            Self::Posterior => "back",
            Self::Left => "left side",
            Self::Right => "right side",
        }
    }
}

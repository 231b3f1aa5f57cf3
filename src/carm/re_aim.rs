//! What a re-aim leaves to be kept: by how much the plan is turned, from which line and by which proof, and for which
//! placement of patient and table.
//!
//! What it does not do: it measures nothing ([`super::PelvicTurn`] does) and does not know whether anything moved since;
//! whoever keeps it compares [`ReAim::placement`]. What may never change: the members and codes, which stand in journals
//! and records.

use super::lying::{Lying, PatientPosition};
use super::target::{Angle, SacralMeasurements};
use super::view_name::ViewName;
use crate::units::Degrees;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A line of the sacrum that the plan measured and a true lateral shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SacralLine {
    AnteriorCortex,
    PosteriorCortex,
    SymphysisOverS2,
    Endplate,
}

impl SacralLine {
    pub const ALL: [Self; 4] = [Self::AnteriorCortex, Self::PosteriorCortex, Self::SymphysisOverS2, Self::Endplate];

    /// Its angle as planned, inlet positive and outlet negative; `None`: the plan did not measure it.
    #[must_use]
    pub fn planned(self, measured: &SacralMeasurements) -> Option<Angle> {
        let (planned, inlet) = match self {
            Self::AnteriorCortex => (measured.anterior_cortex, 1.0),
            Self::PosteriorCortex => (measured.posterior_cortex, 1.0),
            Self::SymphysisOverS2 => (measured.symphysis_over_s2, -1.0),
            Self::Endplate => (measured.endplate, -1.0),
        };
        planned.map(|planned| Angle { value: Degrees(inlet * planned.value.0), sd: planned.sd })
    }

    /// As it is said.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::AnteriorCortex => "anterior cortex of S1",
            Self::PosteriorCortex => "posterior cortex of S1",
            Self::SymphysisOverS2 => "line from S2 to the symphysis",
            Self::Endplate => "superior endplate of S1",
        }
    }
}

/// By what the vertical was proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum VerticalProof {
    PlumbLine,
    TableEdge,
    ArmRoll,
}

impl VerticalProof {
    pub const ALL: [Self; 3] = [Self::PlumbLine, Self::TableEdge, Self::ArmRoll];

    /// As it is said.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::PlumbLine => "plumb line",
            Self::TableEdge => "edge of the level table",
            Self::ArmRoll => "known roll of the arm",
        }
    }
}

/// A re-aim of the plan by one true lateral.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReAim {
    pub line: SacralLine,
    pub proven: VerticalProof,
    /// How the patient lay.
    pub position: PatientPosition,
    /// The line's angle in the plan, degrees, inlet positive and outlet negative.
    pub planned_deg: f64,
    /// How much further back the pelvis is turned than in the plan, degrees.
    pub turn_deg: f64,
    /// One standard deviation of the turn, degrees.
    pub sd_deg: f64,
    /// Which placement of patient and table it holds for, counted from 1.
    pub placement: u32,
}

impl ReAim {
    /// How the patient lies with the pelvis as it is turned.
    #[must_use]
    pub fn lying(&self) -> Lying {
        Lying { position: self.position, turn: Degrees(self.turn_deg) }
    }

    /// What it adds to the planned angle of a view; nothing for a view that is taken along the body's axes.
    #[must_use]
    pub fn adds_deg(&self, view: ViewName) -> f64 {
        self.lying().adds(view).0
    }
}

/// "plan turned 6° ± 2° back".
impl fmt::Display for ReAim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let way = if self.turn_deg < 0.0 { "forward" } else { "back" };
        write!(f, "plan turned {:.0}° ± {:.0}° {way}", self.turn_deg.abs(), self.sd_deg)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(turn_deg: f64) -> ReAim {
        ReAim {
            line: SacralLine::AnteriorCortex,
            proven: VerticalProof::PlumbLine,
            position: PatientPosition::Prone,
            planned_deg: 25.0,
            turn_deg,
            sd_deg: 1.6,
            placement: 1,
        }
    }

    /// A pelvis turned back needs more inlet and less outlet, whichever way the patient lies.
    /// Source: the definition of the inclinations; the beam must follow the line that turned.
    #[test]
    fn a_turn_back_adds_to_inlets_and_takes_from_outlets() {
        for view in [ViewName::InletBody, ViewName::InletCanal, ViewName::InletAla] {
            assert!((turned(6.0).adds_deg(view) - 6.0).abs() < f64::EPSILON);
        }
        for view in [ViewName::OutletWorking, ViewName::OutletEndplate, ViewName::OutletEnFace] {
            assert!((turned(6.0).adds_deg(view) + 6.0).abs() < f64::EPSILON);
        }
        assert!(turned(6.0).adds_deg(ViewName::Lateral).abs() < f64::EPSILON);
        assert_eq!(turned(-6.0).to_string(), "plan turned 6° ± 2° forward");
    }

    #[test]
    fn a_line_is_planned_in_the_sense_of_inlets() {
        let angle = |deg| Some(Angle { value: Degrees(deg), sd: Degrees(2.0) });
        let measured =
            SacralMeasurements { anterior_cortex: angle(25.0), endplate: angle(40.0), ..SacralMeasurements::default() };
        assert_eq!(SacralLine::AnteriorCortex.planned(&measured).map(|planned| planned.value.0), Some(25.0));
        assert_eq!(SacralLine::Endplate.planned(&measured).map(|planned| planned.value.0), Some(-40.0));
        assert_eq!(SacralLine::PosteriorCortex.planned(&measured), None);
    }
}

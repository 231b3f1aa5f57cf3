//! Re-aiming the planned tilts on the patient as he lies now, from one true lateral with a proven vertical.
//!
//! The plan was measured supine on a CT table; on the operating table the pelvis is turned. On a true lateral a line that
//! the plan measured stands at some angle to the vertical; the difference from the plan is the turn, which adds to every
//! inlet tilt and is taken from every outlet tilt. A picture's own top is no vertical: it is proven by a plumb line, by the
//! edge of a level table, or by a roll of the arm that is known. The turn is void once patient or table moves: its degrees
//! come only with the [`Placement`] it was measured in. What it does not do: it cannot notice a move that nobody enters.

use super::arm::Arm;
use super::lying::{Lying, PatientPosition};
use super::pose::ImagePoint;
use super::target::Angle;
use crate::units::{Degrees, Millimetres};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// One placement of patient and table, ended by the next move of either. It cannot be copied: whoever moves the patient
/// gives it up.
#[derive(Debug, PartialEq, Eq)]
pub struct Placement(u32);

impl Placement {
    /// As first laid on the table.
    #[must_use]
    pub fn first() -> Self {
        Self(1)
    }

    /// Patient or table was moved: another placement begins and this one is over.
    #[must_use]
    pub fn moved(self) -> Self {
        Self(self.0.saturating_add(1))
    }

    /// Its number, counted from 1.
    #[must_use]
    pub fn number(&self) -> u32 {
        self.0
    }
}

/// How the vertical of the picture is proven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ProvenVertical {
    /// A hanging line in the picture, touched above and below.
    PlumbLine { above: ImagePoint, below: ImagePoint },
    /// The edge of a level table, touched twice; the patient lies above it.
    TableEdge { one: ImagePoint, other: ImagePoint },
    /// A known roll of the arm: how far the picture's top leans from the vertical toward its right, with the doubt of it.
    ArmRoll { leans_right: Angle },
}

/// A side of the picture as shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PictureSide {
    Top,
    Bottom,
    Left,
    Right,
}

impl PictureSide {
    /// Across to the right and up.
    fn way(self) -> [f64; 2] {
        match self {
            Self::Top => [0.0, 1.0],
            Self::Bottom => [0.0, -1.0],
            Self::Left => [-1.0, 0.0],
            Self::Right => [1.0, 0.0],
        }
    }
}

/// What was touched on the lateral: a line of the sacrum that the plan measured, and the vertical.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LateralTouches {
    /// The line's two ends, in any order; further apart is better.
    pub line: [ImagePoint; 2],
    pub vertical: ProvenVertical,
    /// The side of the picture nearest the head.
    pub head: PictureSide,
    /// Standard uncertainty of one coordinate of one touch, on the detector.
    pub touch_sd: Millimetres,
}

/// How much further back the pelvis is turned than in the plan. Read only with the placement it was measured in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PelvicTurn {
    turn: Angle,
    placement: u32,
}

/// Why there is no turn, or why it holds no more.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum AimError {
    #[error(
        "void: patient or table has moved since it was measured (placement {measured}, now {now}); take another true lateral"
    )]
    Void { measured: u32, now: u32 },
    #[error("{what}: touched {apart_mm:.1} mm apart; at least {APART_MIN_MM} mm are needed")]
    TooClose { what: &'static str, apart_mm: f64 },
    #[error(
        "the pelvis would be turned {turn_deg:.0}°, more than {TURN_MAX_DEG}°: head and feet, or the line, are confused"
    )]
    Improbable { turn_deg: f64 },
}

/// Below this distance on the detector two touches give no direction, millimetres. Common practice, no source.
const APART_MIN_MM: f64 = 10.0;
/// A pelvis turned further than this between scan and table is a mistake of entry, degrees. Common practice, no source.
pub const TURN_MAX_DEG: f64 = 25.0;

impl PelvicTurn {
    /// Measures the turn. `planned`: the inlet angle of the touched line in the plan (outlet lines negative).
    ///
    /// # Errors
    /// [`AimError::TooClose`], [`AimError::Improbable`].
    pub fn measure(
        position: PatientPosition,
        planned: Angle,
        touched: &LateralTouches,
        placement: &Placement,
    ) -> Result<Self, AimError> {
        let line = Touched::between("the line of the sacrum", touched.line, touched.touch_sd)?;
        let (up, vertical_sd) = touched.up()?;
        let level = [-up[1], up[0]];
        let toward_head = level.map(|part| part * along(level, touched.head.way()).signum());
        let front = match position {
            PatientPosition::Supine => up,
            PatientPosition::Prone => up.map(|part| -part),
        };
        let (forward, headward) = (along(line.way, front), along(line.way, toward_head));
        // A line has no sense of its own: it is counted with its end toward the front.
        let inlet = Degrees::from_radians((headward * forward.signum()).atan2(forward.abs()));
        let turn = half_turns_off(inlet.0 - planned.value.0);
        if turn.is_nan() || turn.abs() > TURN_MAX_DEG {
            return Err(AimError::Improbable { turn_deg: turn });
        }
        let sd = line.sd.0.hypot(vertical_sd.0).hypot(planned.sd.0);
        Ok(Self { turn: Angle { value: Degrees(turn), sd: Degrees(sd) }, placement: placement.0 })
    }

    /// The turn, if nothing has moved since.
    ///
    /// # Errors
    /// [`AimError::Void`].
    pub fn at(&self, now: &Placement) -> Result<Angle, AimError> {
        if self.placement == now.0 {
            return Ok(self.turn);
        }
        Err(AimError::Void { measured: self.placement, now: now.0 })
    }

    /// The machine beside the patient as he lies now, for the targets anew.
    ///
    /// # Errors
    /// [`AimError::Void`].
    pub fn re_aim(&self, arm: &Arm, now: &Placement) -> Result<Arm, AimError> {
        let turn = self.at(now)?.value;
        Ok(Arm { lying: Lying { turn, ..arm.lying }, ..*arm })
    }
}

/// The part of one direction of the picture along another.
fn along(one: [f64; 2], other: [f64; 2]) -> f64 {
    one[0] * other[0] + one[1] * other[1]
}

/// A line has no sense, so its angle is known up to half turns: the least one.
fn half_turns_off(degrees: f64) -> f64 {
    degrees - 180.0 * (degrees / 180.0).round()
}

/// The direction between two touches, across to the right and up, and the doubt of its angle.
struct Touched {
    way: [f64; 2],
    sd: Degrees,
}

impl Touched {
    fn between(what: &'static str, [from, to]: [ImagePoint; 2], touch_sd: Millimetres) -> Result<Self, AimError> {
        let way = [to.across_mm - from.across_mm, from.down_mm - to.down_mm];
        let apart = way[0].hypot(way[1]);
        if apart.is_nan() || apart < APART_MIN_MM {
            return Err(AimError::TooClose { what, apart_mm: apart });
        }
        let sd = Degrees::from_radians(std::f64::consts::SQRT_2 * touch_sd.0 / apart);
        Ok(Self { way: way.map(|part| part / apart), sd })
    }
}

impl LateralTouches {
    /// Up on the picture as proven, across to the right and up, and the doubt of its angle.
    fn up(&self) -> Result<([f64; 2], Degrees), AimError> {
        match self.vertical {
            ProvenVertical::PlumbLine { above, below } => {
                let line = Touched::between("the plumb line", [below, above], self.touch_sd)?;
                Ok((line.way, line.sd))
            }
            ProvenVertical::TableEdge { one, other } => {
                let edge = Touched::between("the table's edge", [one, other], self.touch_sd)?;
                let square = [-edge.way[1], edge.way[0]];
                let touch = self.line[0];
                let to_patient = along(square, [touch.across_mm - one.across_mm, one.down_mm - touch.down_mm]);
                Ok((square.map(|part| part * to_patient.signum()), edge.sd))
            }
            ProvenVertical::ArmRoll { leans_right } => {
                let (sin, cos) = leans_right.value.radians().sin_cos();
                Ok(([-sin, cos], leans_right.sd))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::{Distances, Joints, Point, Tube, Vector};
    use crate::units::Side;

    /// Rounding of a projection and back, degrees.
    const ROUNDING_DEG: f64 = 1e-6;

    fn arm(position: PatientPosition, turn: f64) -> Arm {
        let lying = Lying { position, turn: Degrees(turn) };
        Arm { lying, tube: Tube::Under, stand: Side::Right, off_square: Degrees(0.0) }
    }

    /// A true lateral of a pelvis turned by `turn`, the picture rolled by a tilt of the arm, with a plumb line in it.
    fn lateral(position: PatientPosition, turn: f64, roll: f64, orbit: f64) -> LateralTouches {
        let arm = arm(position, turn);
        let joints = Joints { tilt: Degrees(roll), orbit: Degrees(orbit), ..Joints::default() };
        let distances = Distances { source_to_isocentre: Millimetres(650.0), source_to_detector: Millimetres(1000.0) };
        let pose = arm.pose(&joints, Point::origin(), distances);
        let seen = |point: Point| pose.project(&point).expect("in front of the source");
        let (up, head) = (arm.lying.up().into_inner(), arm.lying.toward_head().into_inner());
        // The anterior cortex, 25° inlet, 40 mm long; the plumb line hangs beside the patient.
        let half = Vector::new(0.0, -25.0_f64.to_radians().cos(), 25.0_f64.to_radians().sin()) * 20.0;
        let beside = Point::new(-180.0, 0.0, 0.0) + head * 30.0;
        let toward = seen(Point::origin() + head * 50.0);
        let head = match (toward.across_mm.abs() > toward.down_mm.abs(), toward.across_mm > 0.0, toward.down_mm > 0.0) {
            (true, true, _) => PictureSide::Right,
            (true, false, _) => PictureSide::Left,
            (false, _, true) => PictureSide::Bottom,
            (false, _, false) => PictureSide::Top,
        };
        LateralTouches {
            line: [seen(Point::origin() + half), seen(Point::origin() - half)],
            vertical: ProvenVertical::PlumbLine { above: seen(beside + up * 60.0), below: seen(beside - up * 60.0) },
            head,
            touch_sd: Millimetres(0.5),
        }
    }

    fn planned() -> Angle {
        Angle { value: Degrees(25.0), sd: Degrees(2.0) }
    }

    #[test]
    fn one_true_lateral_with_a_plumb_line_gives_the_turn() {
        for position in [PatientPosition::Supine, PatientPosition::Prone] {
            for (turn, roll, orbit) in [(6.0, 0.0, 90.0), (-9.0, 70.0, 90.0), (6.0, -80.0, -90.0), (12.0, 100.0, -90.0)]
            {
                let touched = lateral(position, turn, roll, orbit);
                let placement = Placement::first();
                let found = PelvicTurn::measure(position, planned(), &touched, &placement).expect("a turn");
                let found = found.at(&placement).expect("nothing moved").value.0;
                assert!((found - turn).abs() < ROUNDING_DEG, "{position:?} {turn} {roll} {orbit}: {found}");
            }
        }
    }

    #[test]
    fn a_table_edge_and_a_known_roll_prove_the_vertical_as_well() {
        let touched = |vertical| {
            let at = |across_mm, down_mm| ImagePoint { across_mm, down_mm };
            let (sin, cos) = 31.0_f64.to_radians().sin_cos();
            // Supine, head to the right, picture upright: front is up. The line stands 31° inlet.
            let line = [at(30.0 * sin, -30.0 * cos), at(-30.0 * sin, 30.0 * cos)];
            let measured = LateralTouches { line, vertical, head: PictureSide::Right, touch_sd: Millimetres(0.5) };
            PelvicTurn::measure(PatientPosition::Supine, planned(), &measured, &Placement::first())
        };
        let at = |across_mm, down_mm| ImagePoint { across_mm, down_mm };
        let edge = touched(ProvenVertical::TableEdge { one: at(80.0, 60.0), other: at(-80.0, 60.0) }).expect("a turn");
        assert!((edge.turn.value.0 - 6.0).abs() < ROUNDING_DEG, "{edge:?}");
        let roll =
            |leans: f64| ProvenVertical::ArmRoll { leans_right: Angle { value: Degrees(leans), sd: Degrees(1.0) } };
        assert!((touched(roll(0.0)).expect("a turn").turn.value.0 - 6.0).abs() < ROUNDING_DEG);
        // The picture's top leans 4° to the right, so the vertical leans 4° to its left: the line stands 4° further.
        assert!((touched(roll(4.0)).expect("a turn").turn.value.0 - 10.0).abs() < ROUNDING_DEG);
    }

    #[test]
    fn a_move_of_patient_or_table_makes_the_turn_void() {
        let placement = Placement::first();
        let touched = lateral(PatientPosition::Prone, 6.0, 0.0, 90.0);
        let turn = PelvicTurn::measure(PatientPosition::Prone, planned(), &touched, &placement).expect("a turn");
        let aimed = turn.re_aim(&arm(PatientPosition::Prone, 0.0), &placement).expect("nothing moved");
        assert!((aimed.lying.turn.0 - 6.0).abs() < ROUNDING_DEG);
        let placement = placement.moved();
        assert_eq!(turn.at(&placement), Err(AimError::Void { measured: 1, now: 2 }));
        assert!(turn.re_aim(&arm(PatientPosition::Prone, 0.0), &placement).is_err());
    }

    /// The line's √2 · 0.5 mm over its 61.5 mm on the picture, the plumb line's over its own, and the plan's 2°.
    #[test]
    fn the_turn_carries_its_doubt() {
        let touched = lateral(PatientPosition::Supine, 0.0, 0.0, 90.0);
        let turn =
            PelvicTurn::measure(PatientPosition::Supine, planned(), &touched, &Placement::first()).expect("a turn");
        let of = |apart: f64| (0.5 * std::f64::consts::SQRT_2 / apart).to_degrees();
        let expected = of(40.0 / 0.65).hypot(of(120.0 * 1000.0 / 470.0)).hypot(2.0);
        assert!((turn.turn.sd.0 - expected).abs() < 1e-3, "{} for {expected}", turn.turn.sd.0);
    }

    #[test]
    fn touches_too_close_and_a_confused_head_are_refused_by_name() {
        let placement = Placement::first();
        let mut touched = lateral(PatientPosition::Supine, 0.0, 0.0, 90.0);
        touched.head = if touched.head == PictureSide::Top { PictureSide::Bottom } else { PictureSide::Top };
        let confused = PelvicTurn::measure(PatientPosition::Supine, planned(), &touched, &placement);
        assert!(matches!(confused, Err(AimError::Improbable { .. })), "{confused:?}");
        touched.line[1] = touched.line[0];
        let close = PelvicTurn::measure(PatientPosition::Supine, planned(), &touched, &placement);
        assert!(matches!(close, Err(AimError::TooClose { .. })), "{close:?}");
    }
}

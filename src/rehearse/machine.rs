//! The machine that a trainee drives: joints with play and overshoot, displays, and what its ends run into.
//!
//! The displays stand before the play: they show where the drive is, in whole degrees, and the C lags by up to half the
//! play each way, so a view come to from the other side is another view. A move stops where an end of the C would touch
//! table or patient ([`crate::carm::clearance`]). What it does not do: it names no view and gives no advice. The sizes of
//! play and overshoot: common practice, no source.

use super::chance::Chance;
use super::console::MAGNIFIED;
use crate::carm::clearance::{ArmProfile, Clearance, End, TableAndPatient};
use crate::carm::{Arm, Distances, Joint, Joints, Point, Pose, Tube, Vector};
use crate::units::{Degrees, Millimetres};

/// How a machine is built.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Build {
    pub distances: Distances,
    pub profile: ArmProfile,
    /// Whole width of the play of wag, tilt and orbit, degrees.
    pub play: [f64; 3],
    /// Standard deviation of how far a move goes on after it was let go, degrees.
    pub overshoot: f64,
    /// Half the width of the detector, mm.
    pub half_field: f64,
}

impl Default for Build {
    /// A mobile C-arm with a flat panel of 30 cm.
    fn default() -> Self {
        let mm = Millimetres;
        Self {
            distances: Distances { source_to_isocentre: mm(650.0), source_to_detector: mm(1000.0) },
            profile: ArmProfile {
                receptor_distance: mm(350.0),
                receptor_half_width: mm(160.0),
                tube_distance: mm(450.0),
                tube_half_width: mm(150.0),
            },
            play: [1.0, 1.0, 1.0],
            overshoot: 0.7,
            half_field: 150.0,
        }
    }
}

/// What became of a move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Moved {
    Done,
    /// It stopped: this end would touch.
    Touched(End),
}

/// A machine at a table.
#[derive(Debug, Clone)]
pub struct Machine {
    /// With the pelvis as it really lies.
    arm: Arm,
    build: Build,
    clearance: Clearance,
    /// Where the drives stand.
    drives: Joints,
    /// How far each joint lags behind its drive: wag, tilt, orbit.
    lag: [f64; 3],
    isocentre: Point,
    magnified: bool,
}

/// Steps in which a way is looked at for what stands in it, degrees.
const STEP_DEG: f64 = 0.5;
/// From this orbit on both ends stand beside the table. Common practice, no source.
const BESIDE_DEG: f64 = 60.0;
/// The table top below the patient and its half width, mm. Common practice, no source.
const TABLE_MM: [f64; 2] = [80.0, 250.0];
const JOINTS: [Joint; 3] = [Joint::Wag, Joint::Tilt, Joint::Orbit];

impl Machine {
    /// A machine beside a patient who is `thickness` thick where the receptor passes.
    #[must_use]
    pub fn new(arm: Arm, build: Build, thickness: Millimetres, joints: Joints, isocentre: Point) -> Self {
        let clearance = clearance(&build, thickness, arm.tube);
        Self { arm, build, clearance, drives: joints, lag: [0.0; 3], isocentre, magnified: false }
    }

    /// Turns the drive of one joint by `by` and a little more.
    pub fn drive(&mut self, joint: Joint, by: Degrees, chance: &mut Chance) -> Moved {
        if by.0 == 0.0 {
            return Moved::Done;
        }
        let more = chance.normal(self.build.overshoot).abs().min(by.0.abs());
        self.turn(joint, by.0 + by.0.signum() * more)
    }

    /// Turns a drive by exactly that, as a hand does that knocks against it.
    pub fn turn(&mut self, joint: Joint, by: f64) -> Moved {
        let mut left = by;
        while left.abs() > 1e-9 {
            let step = left.clamp(-STEP_DEG, STEP_DEG);
            let before = (self.drives, self.lag);
            self.step(joint, step);
            let gap = self.gap();
            // An end that touches already may go back.
            if gap.0 <= 0.0 && gap.0 < self.gap_of(&before.0, &before.1).0 {
                (self.drives, self.lag) = before;
                return Moved::Touched(gap.1);
            }
            left -= step;
        }
        Moved::Done
    }

    /// The joint follows its drive once the play is used up.
    fn step(&mut self, joint: Joint, by: f64) {
        self.drives = self.drives.moved(joint, Degrees(by));
        let half = self.build.play[joint as usize] / 2.0;
        let lag = &mut self.lag[joint as usize];
        *lag = (*lag + by).clamp(-half, half);
    }

    fn gap(&self) -> (f64, End) {
        self.gap_of(&self.drives, &self.lag)
    }

    fn gap_of(&self, drives: &Joints, lag: &[f64; 3]) -> (f64, End) {
        let joints = behind(drives, lag);
        let gap = if joints.orbit.0.abs() >= BESIDE_DEG {
            self.clearance.at_lateral()
        } else {
            self.clearance.at(joints.tilt)
        };
        (gap.gap.0, gap.end)
    }

    /// Moves the machine, or the table under it, so that the central ray passes elsewhere; the drives stay.
    pub fn shift(&mut self, by: Vector) {
        self.isocentre += by;
    }

    /// What the displays read: the drives, in whole degrees.
    #[must_use]
    pub fn readings(&self) -> Joints {
        let whole = |joint| Degrees(self.drives.of(joint).0.round());
        Joints { wag: whole(Joint::Wag), tilt: whole(Joint::Tilt), orbit: whole(Joint::Orbit) }
    }

    /// Where the C really is.
    #[must_use]
    pub fn joints(&self) -> Joints {
        behind(&self.drives, &self.lag)
    }

    /// Where source and detector really stand, in the patient frame.
    #[must_use]
    pub fn pose(&self) -> Pose {
        self.arm.pose(&self.joints(), self.isocentre, self.build.distances)
    }

    #[must_use]
    pub fn arm(&self) -> &Arm {
        &self.arm
    }

    #[must_use]
    pub fn build(&self) -> &Build {
        &self.build
    }

    #[must_use]
    pub fn isocentre(&self) -> Point {
        self.isocentre
    }

    /// The pelvis turns on the table.
    pub fn pelvis_turned(&mut self, by: Degrees) {
        self.arm.lying.turn.0 += by.0;
    }

    /// Whether the picture shows the middle of the field alone, enlarged.
    pub fn magnify(&mut self, on: bool) {
        self.magnified = on;
    }

    #[must_use]
    pub fn magnified(&self) -> bool {
        self.magnified
    }

    /// Half the width of what the picture shows, mm on the detector.
    #[must_use]
    pub fn half_field(&self) -> f64 {
        self.build.half_field * if self.magnified { MAGNIFIED } else { 1.0 }
    }

    /// Whether a place falls on the picture.
    #[must_use]
    pub fn in_field(&self, place: &Point) -> bool {
        let shadow = self.pose().project(place);
        shadow.is_some_and(|at| at.across_mm.abs().max(at.down_mm.abs()) <= self.half_field())
    }
}

/// How near the ends come to the table and a patient of that thickness, the isocentre in the patient's middle.
#[must_use]
pub fn clearance(build: &Build, thickness: Millimetres, tube: Tube) -> Clearance {
    let around = TableAndPatient {
        table_thickness: Millimetres(TABLE_MM[0]),
        patient_thickness: thickness,
        half_width: Millimetres(TABLE_MM[1]),
        isocentre_height: Millimetres(thickness.0 / 2.0),
    };
    Clearance::of(&build.profile, &around, tube == Tube::Under).expect("a model's thickness is plausible")
}

fn behind(drives: &Joints, lag: &[f64; 3]) -> Joints {
    JOINTS.into_iter().zip(lag).fold(*drives, |joints, (joint, lag)| joints.moved(joint, Degrees(-lag)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::{Lying, PatientPosition};
    use crate::units::Side;

    fn machine(thickness: f64) -> Machine {
        let lying = Lying::as_planned(PatientPosition::Prone);
        let arm = Arm { lying, tube: Tube::Under, stand: Side::Right, off_square: Degrees(0.0) };
        Machine::new(arm, Build::default(), Millimetres(thickness), Joints::default(), Point::origin())
    }

    #[test]
    fn a_joint_stands_still_until_its_play_is_used_up() {
        let mut machine = machine(220.0);
        machine.turn(Joint::Tilt, 10.0);
        assert!((machine.joints().tilt.0 - 9.5).abs() < 1e-9, "half the play behind");
        machine.turn(Joint::Tilt, -1.0);
        assert!((machine.joints().tilt.0 - 9.5).abs() < 1e-9, "the play is used up first");
        machine.turn(Joint::Tilt, -9.0);
        assert!((machine.readings().tilt.0).abs() < 1e-9 && (machine.joints().tilt.0 - 0.5).abs() < 1e-9);
    }

    #[test]
    fn a_let_go_move_goes_on_a_little_and_never_back() {
        let mut chance = Chance::of(3, 0);
        for _ in 0..50 {
            let mut machine = machine(220.0);
            machine.drive(Joint::Orbit, Degrees(20.0), &mut chance);
            let drive = machine.drives.orbit.0;
            assert!((20.0..24.0).contains(&drive), "{drive}");
        }
    }

    #[test]
    fn an_end_stops_where_it_touches_and_can_go_back() {
        let mut stout = machine(400.0);
        assert!(matches!(stout.turn(Joint::Tilt, 60.0), Moved::Touched(_)));
        let tilt = stout.readings().tilt.0;
        let first = stout.clearance.first_collision().0.0;
        assert!(tilt < 60.0 && (stout.joints().tilt.0 - first).abs() < 1.0, "{tilt} {first}");
        assert_eq!(stout.turn(Joint::Tilt, -10.0), Moved::Done);
        assert_eq!(machine(200.0).turn(Joint::Tilt, 40.0), Moved::Done);
    }
}

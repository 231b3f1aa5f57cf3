//! A machine's own scale: what its display reads for a joint, learnt once per machine.
//!
//! Two readings teach a joint: one with the joint at zero (beam vertical by plumb line, boom level and square), one after
//! a move whose way and rough size are known. What it does not do: it guesses nothing from a sign, and a scale learnt
//! with the tube below the table says nothing about the tube above. The scale belongs to the machine: it holds whichever
//! way the patient lies and on whichever side the stand is.

use super::arm::{Arm, Joint, Joints, Tube};
use super::space::left;
use crate::settings::{CountsSetting, DisplaySetting, MachineSettings, TubeSetting};
use crate::units::{Degrees, Side};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Which way a display counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Counts {
    Up,
    Down,
}

/// One joint's display.
///
/// `zero_deg`: what it reads with the joint at zero. `counts`: up or down as the upper end of the C goes to the right of
/// somebody at the stand who faces the table (tilt), away from the stand (orbit), or as the machine turns anticlockwise
/// seen from above (wag).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JointScale {
    pub zero_deg: f64,
    pub counts: Counts,
}

/// The displays of one machine.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineScale {
    /// Where the tube was when the scale was learnt.
    pub tube: Tube,
    pub wag: JointScale,
    pub tilt: JointScale,
    pub orbit: JointScale,
}

/// Why a scale is not learnt, or not used.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ScaleError {
    #[error(
        "the display went from {from_deg}° to {to_deg}° over a move of about {moved_deg}°: not the same joint, or misread"
    )]
    ReadingsDisagree { from_deg: f64, to_deg: f64, moved_deg: f64 },
    #[error("a move of {moved_deg}° is too small to learn a scale from; move at least {LEARNT_FROM_DEG}°")]
    MoveTooSmall { moved_deg: f64 },
    #[error("the scale was learnt with the tube on the other side of the table: learn it anew")]
    LearntOtherwise,
}

/// The smallest move that teaches a direction, degrees. Common practice, no source.
const LEARNT_FROM_DEG: f64 = 10.0;
/// By how much of the move the display may differ from it, since the move is judged by eye. Common practice, no source.
const BY_EYE: f64 = 0.5;

impl JointScale {
    /// Learns a display from its reading `at_zero` and its reading `after` a move of about `moved` in the positive way
    /// named at [`JointScale`].
    ///
    /// # Errors
    /// [`ScaleError::MoveTooSmall`], [`ScaleError::ReadingsDisagree`].
    pub fn learn(at_zero: Degrees, after: Degrees, moved: Degrees) -> Result<Self, ScaleError> {
        if moved.0.is_nan() || moved.0.abs() < LEARNT_FROM_DEG {
            return Err(ScaleError::MoveTooSmall { moved_deg: moved.0 });
        }
        let read = after.0 - at_zero.0;
        if read.is_nan() || (read.abs() - moved.0.abs()).abs() > BY_EYE * moved.0.abs() {
            return Err(ScaleError::ReadingsDisagree { from_deg: at_zero.0, to_deg: after.0, moved_deg: moved.0 });
        }
        let counts = if read * moved.0 > 0.0 { Counts::Up } else { Counts::Down };
        Ok(Self { zero_deg: at_zero.0, counts })
    }

    fn sign(self) -> f64 {
        match self.counts {
            Counts::Up => 1.0,
            Counts::Down => -1.0,
        }
    }
}

impl JointScale {
    /// As a site's settings have it.
    fn of_site(site: DisplaySetting) -> Self {
        let counts = match site.counts {
            CountsSetting::Up => Counts::Up,
            CountsSetting::Down => Counts::Down,
        };
        Self { zero_deg: site.zero_deg, counts }
    }

    /// As a site's settings have it.
    #[must_use]
    pub fn to_site(self) -> DisplaySetting {
        let counts = match self.counts {
            Counts::Up => CountsSetting::Up,
            Counts::Down => CountsSetting::Down,
        };
        DisplaySetting { zero_deg: self.zero_deg, counts }
    }
}

impl MachineScale {
    /// As a site's settings have it; `None` until tilt and orbit are learnt. A machine whose wag has no display is said to
    /// turn from 0, anticlockwise.
    #[must_use]
    pub fn of_site(site: &MachineSettings) -> Option<Self> {
        let [wag, tilt, orbit] = site.displays.map(|display| display.map(JointScale::of_site));
        let tube = match site.tube.unwrap_or(TubeSetting::UnderTable) {
            TubeSetting::UnderTable => Tube::Under,
            TubeSetting::AboveTable => Tube::Over,
        };
        let wag = wag.unwrap_or(JointScale { zero_deg: 0.0, counts: Counts::Up });
        Some(Self { tube, wag, tilt: tilt?, orbit: orbit? })
    }

    /// What the displays read with the arm at `joints`.
    ///
    /// # Errors
    /// [`ScaleError::LearntOtherwise`].
    pub fn readings(&self, arm: &Arm, joints: &Joints) -> Result<Joints, ScaleError> {
        self.each(arm, |scale, way, joint| Degrees(scale.zero_deg + scale.sign() * way * joints.of(joint).0))
    }

    /// Where the joints stand when the displays read `readings`.
    ///
    /// # Errors
    /// [`ScaleError::LearntOtherwise`].
    pub fn joints(&self, arm: &Arm, readings: &Joints) -> Result<Joints, ScaleError> {
        self.each(arm, |scale, way, joint| Degrees((readings.of(joint).0 - scale.zero_deg) * scale.sign() * way))
    }

    fn each(&self, arm: &Arm, of: impl Fn(JointScale, f64, Joint) -> Degrees) -> Result<Joints, ScaleError> {
        if self.tube != arm.tube {
            return Err(ScaleError::LearntOtherwise);
        }
        let [tilt, orbit] = ways(arm);
        Ok(Joints {
            wag: of(self.wag, 1.0, Joint::Wag),
            tilt: of(self.tilt, tilt, Joint::Tilt),
            orbit: of(self.orbit, orbit, Joint::Orbit),
        })
    }
}

/// +1 or -1 for tilt and orbit: whether the machine's positive way is the patient's.
fn ways(arm: &Arm) -> [f64; 2] {
    let ahead = match arm.stand {
        Side::Right => left(),
        Side::Left => -left(),
    };
    let to_the_right = ahead.cross(&arm.lying.up());
    // With the tube above, the upper end goes the other way than the receptor.
    let upper = match arm.tube {
        Tube::Under => 1.0,
        Tube::Over => -1.0,
    };
    [upper * to_the_right.dot(&arm.lying.toward_head()).signum(), upper * ahead.dot(&left()).signum()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::{Lying, PatientPosition};

    fn arm(position: PatientPosition, stand: Side) -> Arm {
        Arm { lying: Lying::as_planned(position), tube: Tube::Under, stand, off_square: Degrees(0.0) }
    }

    fn scale(counts: Counts) -> MachineScale {
        let joint = |zero_deg| JointScale { zero_deg, counts };
        MachineScale { tube: Tube::Under, wag: joint(0.0), tilt: joint(90.0), orbit: joint(-5.0) }
    }

    #[test]
    fn a_scale_is_learnt_from_a_zero_and_a_move() {
        let learnt = JointScale::learn(Degrees(90.0), Degrees(68.0), Degrees(20.0)).expect("a move of 20");
        assert_eq!(learnt, JointScale { zero_deg: 90.0, counts: Counts::Down });
        assert!(matches!(
            JointScale::learn(Degrees(0.0), Degrees(3.0), Degrees(20.0)),
            Err(ScaleError::ReadingsDisagree { .. })
        ));
        assert!(matches!(
            JointScale::learn(Degrees(0.0), Degrees(3.0), Degrees(3.0)),
            Err(ScaleError::MoveTooSmall { .. })
        ));
    }

    #[test]
    fn readings_and_joints_are_each_other_s_reverse() {
        for (position, stand) in [(PatientPosition::Prone, Side::Left), (PatientPosition::Supine, Side::Right)] {
            let (arm, scale) = (arm(position, stand), scale(Counts::Down));
            let joints = Joints { wag: Degrees(3.0), tilt: Degrees(-25.0), orbit: Degrees(88.0) };
            let back = scale.joints(&arm, &scale.readings(&arm, &joints).expect("as learnt")).expect("as learnt");
            assert_eq!(back, joints);
        }
    }

    /// Somebody at the right side of a supine patient who faces the table has the feet to the right; prone, the head.
    #[test]
    fn a_scale_holds_whichever_way_the_patient_lies() {
        let joints = Joints { tilt: Degrees(25.0), orbit: Degrees(10.0), ..Joints::default() };
        let reads = |position, stand| {
            let read = scale(Counts::Up).readings(&arm(position, stand), &joints).expect("as learnt");
            (read.tilt.0, read.orbit.0)
        };
        assert_eq!(reads(PatientPosition::Supine, Side::Right), (65.0, 5.0));
        assert_eq!(reads(PatientPosition::Prone, Side::Right), (115.0, 5.0));
        assert_eq!(reads(PatientPosition::Supine, Side::Left), (115.0, -15.0));
        assert_eq!(reads(PatientPosition::Prone, Side::Left), (65.0, -15.0));
    }

    #[test]
    fn a_site_s_displays_are_a_scale_once_tilt_and_orbit_are_learnt() {
        let learnt = scale(Counts::Down);
        let [tilt, orbit] = [learnt.tilt, learnt.orbit].map(JointScale::to_site);
        let site = MachineSettings { displays: [None, Some(tilt), Some(orbit)], ..MachineSettings::default() };
        let wag = JointScale { zero_deg: 0.0, counts: Counts::Up };
        assert_eq!(MachineScale::of_site(&site), Some(MachineScale { wag, ..learnt }));
        let half = MachineSettings { displays: [None, Some(tilt), None], ..MachineSettings::default() };
        assert_eq!(MachineScale::of_site(&half), None);
    }

    #[test]
    fn a_scale_learnt_with_the_tube_below_says_nothing_of_the_tube_above() {
        let mut over = arm(PatientPosition::Prone, Side::Left);
        over.tube = Tube::Over;
        assert_eq!(scale(Counts::Up).readings(&over, &Joints::default()), Err(ScaleError::LearntOtherwise));
    }
}

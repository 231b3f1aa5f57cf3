//! The machine as a joint chain: wag about the vertical, tilt about the boom, orbit along the C, in that order.
//!
//! What it is for: which joints give a beam, and which beam the joints give. What it does not do: it knows no machine's
//! own scale (that is [`super::MachineScale`]) and moves nothing. A joint is no DICOM angle: tilt -43° with orbit 10° is
//! primary 13.6°, secondary -42.2°. What may never change: the signs of [`Joints`].

use super::lying::Lying;
use super::pose::Pose;
use super::space::{Direction, Point, Rotation, Vector, left};
use crate::units::{Degrees, Millimetres, Side};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Which end of the C stands below the table with every joint at zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tube {
    /// Tube below, image receptor above: the usual way.
    Under,
    /// Tube above, image receptor below.
    Over,
}

/// Where the joints stand, from a vertical beam with the boom level.
///
/// `tilt`: positive moves the image receptor toward the head. `orbit`: positive moves it toward the patient's left.
/// `wag`: positive turns the machine anticlockwise seen from above. Tilt and orbit are so for an arm square to the table;
/// at an angle they turn with the boom.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Joints {
    pub wag: Degrees,
    pub tilt: Degrees,
    pub orbit: Degrees,
}

/// A joint of the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joint {
    Wag,
    Tilt,
    Orbit,
}

impl Joints {
    /// One joint's angle.
    #[must_use]
    pub fn of(&self, joint: Joint) -> Degrees {
        match joint {
            Joint::Wag => self.wag,
            Joint::Tilt => self.tilt,
            Joint::Orbit => self.orbit,
        }
    }

    /// The same with `joint` moved by `by`.
    #[must_use]
    pub fn moved(mut self, joint: Joint, by: Degrees) -> Self {
        let angle = match joint {
            Joint::Wag => &mut self.wag,
            Joint::Tilt => &mut self.tilt,
            Joint::Orbit => &mut self.orbit,
        };
        angle.0 += by.0;
        self
    }
}

/// The machine beside the patient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arm {
    pub lying: Lying,
    pub tube: Tube,
    /// The patient's side on which the stand is.
    pub stand: Side,
    /// How far the boom is from square to the table with the wag at zero, anticlockwise seen from above, -45 to 45.
    pub off_square: Degrees,
}

/// Distances of a machine along the central ray.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distances {
    pub source_to_isocentre: Millimetres,
    /// DICOM (0018,1110).
    pub source_to_detector: Millimetres,
}

/// Why no joints are given.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ArmError {
    #[error("the beam runs along the boom, where tilt only rolls the picture: reach it by wag and orbit")]
    AlongTheBoom,
    #[error("the beam is vertical, where wag only rolls the picture: reach it by tilt and orbit")]
    Vertical,
    #[error("no orbit reaches the beam with a tilt of {tilt_deg}°")]
    OutOfReach { tilt_deg: f64 },
}

/// Sine of the angle between the beam and a joint's axis below which the joint only rolls the picture, 0.6°: there the
/// whole degree of an instruction moves the beam by less than a hundredth of a degree.
const ROLLS_ONLY: f64 = 0.01;

impl Arm {
    /// From source to detector with every joint at zero.
    #[must_use]
    pub fn home(&self) -> Direction {
        match self.tube {
            Tube::Under => self.lying.up(),
            Tube::Over => -self.lying.up(),
        }
    }

    /// The boom, toward the patient's left, and the level direction across it, toward the head, with the wag where it is.
    fn wagged(&self, wag: Degrees) -> [Vector; 2] {
        let (sin, cos) = (wag.radians() + self.off_square.radians()).sin_cos();
        let up = self.lying.up();
        [left(), self.lying.toward_head()].map(|axis| axis.into_inner() * cos + up.cross(&axis) * sin)
    }

    /// From source to detector, in the patient frame.
    #[must_use]
    pub fn beam(&self, joints: &Joints) -> Direction {
        self.beam_and_axes(joints).0
    }

    /// The beam and the axis about which each joint turns it where the joints stand: wag, tilt, orbit.
    #[must_use]
    pub fn beam_and_axes(&self, joints: &Joints) -> (Direction, [Direction; 3]) {
        let [boom, level] = self.wagged(joints.wag);
        let home = self.home().into_inner();
        let (sin_tilt, cos_tilt) = joints.tilt.radians().sin_cos();
        let (sin_orbit, cos_orbit) = joints.orbit.radians().sin_cos();
        let tilted = home * cos_tilt + level * sin_tilt;
        let beam = boom * sin_orbit + tilted * cos_orbit;
        let axes = [self.lying.up(), unit(home.cross(&level)), unit(tilted.cross(&boom))];
        (unit(beam), axes)
    }

    /// The pose with the central ray through `isocentre`; the picture turns with the chain, head at the top at zero.
    #[must_use]
    pub fn pose(&self, joints: &Joints, isocentre: Point, distances: Distances) -> Pose {
        let [_, level] = self.wagged(joints.wag);
        let (sin, cos) = joints.tilt.radians().sin_cos();
        let beam = self.beam(joints);
        let down = self.home().into_inner() * sin - level * cos;
        let source = isocentre - beam.into_inner() * distances.source_to_isocentre.0;
        let detector_centre = source + beam.into_inner() * distances.source_to_detector.0;
        Pose { source, detector_centre, across: unit(beam.cross(&down)), down: unit(down) }
    }

    /// Of the two ends of a beam line, the one that has the image receptor where this machine has it: below or above the
    /// table by `tube`, and for a level line on the side `receptor`.
    #[must_use]
    pub fn receptor_end(&self, line: Direction, receptor: Side) -> Direction {
        let rises = line.dot(&self.home());
        let wanted = match (rises.abs() > ROLLS_ONLY, receptor) {
            (true, _) => rises > 0.0,
            (false, Side::Left) => line.dot(&left()) > 0.0,
            (false, Side::Right) => line.dot(&left()) < 0.0,
        };
        if wanted { line } else { -line }
    }

    /// Tilt and orbit that give `beam` with the wag left at `wag`; orbit within -90 to 90.
    ///
    /// # Errors
    /// [`ArmError::AlongTheBoom`].
    pub fn by_tilt(&self, beam: &Direction, wag: Degrees) -> Result<Joints, ArmError> {
        let square = Rotation::from_axis_angle(&self.lying.up(), -wag.radians() - self.off_square.radians()) * beam;
        let (rise, along) = (square.dot(&self.home()), square.dot(&self.lying.toward_head()));
        if rise.hypot(along) < ROLLS_ONLY {
            return Err(ArmError::AlongTheBoom);
        }
        let orbit = square.dot(&left()).atan2(rise.hypot(along));
        let (tilt, orbit) = (Degrees::from_radians(along.atan2(rise)), Degrees::from_radians(orbit));
        Ok(Joints { wag, tilt, orbit })
    }

    /// Wag and orbit that give `beam` with the tilt left at `tilt`, the orbit toward the side of the beam: for laterals.
    ///
    /// # Errors
    /// [`ArmError::Vertical`], or [`ArmError::OutOfReach`] for a tilt that no orbit brings to the beam's height.
    pub fn by_wag(&self, beam: &Direction, tilt: Degrees) -> Result<Joints, ArmError> {
        let up = self.home();
        let rise = beam.dot(&up);
        if rise.abs() > (1.0 - ROLLS_ONLY * ROLLS_ONLY).sqrt() {
            return Err(ArmError::Vertical);
        }
        let cosine = rise / tilt.radians().cos();
        if cosine.is_nan() || cosine.abs() > 1.0 {
            return Err(ArmError::OutOfReach { tilt_deg: tilt.0 });
        }
        let side = if beam.dot(&left()) < 0.0 { -1.0 } else { 1.0 };
        let orbit = Degrees::from_radians(side * cosine.acos());
        let unwagged = Joints { wag: Degrees(0.0), tilt, orbit };
        let bare = Self { off_square: Degrees(0.0), ..*self }.beam(&unwagged);
        // Anticlockwise seen from above, from where the bare chain points to where the beam points.
        let vertical = self.lying.up();
        let turned = bare.cross(beam).dot(&vertical);
        let level = bare.dot(beam) - bare.dot(&vertical) * beam.dot(&vertical);
        let wag = Degrees(turned.atan2(level).to_degrees() - self.off_square.0);
        Ok(Joints { wag, tilt, orbit })
    }
}

/// A combination of right-angled unit vectors by sine and cosine has length one already.
fn unit(vector: Vector) -> Direction {
    Direction::new_unchecked(vector)
}

#[cfg(test)]
mod tests;

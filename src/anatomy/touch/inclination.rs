//! Inclinations off a sagittal picture whose axes in the patient are known.

use super::{Line, Repeatability, Scale, TouchError};
use crate::anatomy::Angle;

/// How far a picture may be turned out of the sagittal plane. At 15° an inclination is off by at most 1°: it is read in
/// the picture, whose in-plane front is shortened by cos 15°; computed.
pub const SAGITTAL_WITHIN_DEG: f64 = 15.0;

/// How the picture lies in the patient frame (LPS): unit vectors along a row to the right, and along a column down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PictureAxes {
    pub across: [f64; 3],
    pub down: [f64; 3],
}

impl PictureAxes {
    /// A sagittal picture with the patient's front to the left and the head at the top, as most are shown.
    pub const FRONT_LEFT: Self = Self { across: [0.0, 1.0, 0.0], down: [0.0, 0.0, -1.0] };

    /// How far the picture's plane is turned out of the sagittal one, degrees.
    #[must_use]
    pub fn turned_deg(&self) -> f64 {
        let normal = self.across[1].mul_add(self.down[2], -(self.across[2] * self.down[1]));
        normal.abs().min(1.0).acos().to_degrees()
    }

    /// The inclination of a line, either end first: the angle from the patient's posterior-to-anterior axis to it, -90 to
    /// 90°, positive when the anterior end lies nearer the head.
    ///
    /// # Errors
    /// [`TouchError`] if the picture is not sagittal or the line too short.
    pub fn inclination(&self, line: Line, scale: Scale, repeat: Repeatability) -> Result<Angle, TouchError> {
        let turned_deg = self.turned_deg();
        if turned_deg > SAGITTAL_WITHIN_DEG {
            return Err(TouchError::NotSagittal { turned_deg, limit_deg: SAGITTAL_WITHIN_DEG });
        }
        let direction = line.direction(scale, repeat)?;
        let along = |axis: usize| self.across[axis].mul_add(direction.across, self.down[axis] * direction.down);
        let (front, head) = (-along(1), along(2));
        let (front, head) = if front < 0.0 { (-front, -head) } else { (front, head) };
        Ok(Angle::touched(head.atan2(front).to_degrees(), direction.sd_rad.to_degrees()))
    }
}

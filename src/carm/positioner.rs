//! Positioner angles as DICOM defines them: longitude and latitude of the detector on the patient.
//!
//! What it does not do: they are no settings of a machine, whose joints are a chain of their own, and their signs alone
//! never name a view: the same beam line is inlet supine and prone with opposite secondary angles.

use super::space::{Direction, Vector};
use crate::units::Degrees;
use serde::{Deserialize, Serialize};

/// Where the detector stands as seen from the patient.
///
/// Source: DICOM PS3.3 C.8.7.5.1.2. At 0/0 the patient's chest faces the detector.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PositionerAngles {
    /// -180 to 180, +90 with the detector at the patient's left.
    #[serde(rename = "primary_deg")]
    pub primary: Degrees,
    /// -90 to 90, +90 with the detector at the patient's head.
    #[serde(rename = "secondary_deg")]
    pub secondary: Degrees,
}

/// Below this cosine of the secondary angle the primary angle means nothing and is given as 0: the detector stands
/// within a hundred-millionth of a degree of head or feet.
const POLE_COSINE: f64 = 1e-10;

impl PositionerAngles {
    /// The direction from source to detector, in the patient frame:
    /// `(sin p cos s, -cos p cos s, sin s)`.
    #[must_use]
    pub fn beam(self) -> Direction {
        let (sin_p, cos_p) = self.primary.radians().sin_cos();
        let (sin_s, cos_s) = self.secondary.radians().sin_cos();
        Direction::new_normalize(Vector::new(sin_p * cos_s, -cos_p * cos_s, sin_s))
    }

    /// The angles of a beam, from source to detector; primary in (-180, 180], secondary in [-90, 90].
    #[must_use]
    pub fn of(beam: &Direction) -> Self {
        let across = beam.x.hypot(beam.y);
        let primary = if across < POLE_COSINE { 0.0 } else { beam.x.atan2(-beam.y) };
        Self { primary: Degrees::from_radians(primary), secondary: Degrees::from_radians(beam.z.atan2(across)) }
    }

    /// The same beam line with source and detector swapped: the picture is mirrored.
    #[must_use]
    pub fn swapped(self) -> Self {
        Self::of(&-self.beam())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rounding of a handful of trigonometric calls.
    const ROUNDING: f64 = 1e-9;

    fn angles(primary: f64, secondary: f64) -> PositionerAngles {
        PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) }
    }

    /// Source: DICOM PS3.3 C.8.7.5.1.2, chest to the detector at 0/0, +90 primary left, +90 secondary head.
    #[test]
    fn the_cardinal_angles_stand_where_dicom_puts_them() {
        let cases = [(0.0, 0.0, [0.0, -1.0, 0.0]), (90.0, 0.0, [1.0, 0.0, 0.0]), (0.0, 90.0, [0.0, 0.0, 1.0])];
        for (primary, secondary, [x, y, z]) in cases {
            let beam = angles(primary, secondary).beam();
            assert!((beam.into_inner() - Vector::new(x, y, z)).norm() < ROUNDING, "{primary}/{secondary}: {beam:?}");
        }
    }

    #[test]
    fn angles_return_from_their_beam() {
        for primary in [-179.0, -90.0, -13.6, 0.0, 45.0, 180.0] {
            for secondary in [-89.0, -42.2, 0.0, 25.0, 89.0] {
                let back = PositionerAngles::of(&angles(primary, secondary).beam());
                assert!((back.primary.0 - primary).abs() < ROUNDING, "{primary}/{secondary}: {back:?}");
                assert!((back.secondary.0 - secondary).abs() < ROUNDING, "{primary}/{secondary}: {back:?}");
            }
        }
    }

    #[test]
    fn swapping_the_ends_adds_180_to_the_primary_and_flips_the_secondary() {
        let swapped = angles(13.6, -42.2).swapped();
        assert!((swapped.primary.0 - (13.6 - 180.0)).abs() < ROUNDING, "{swapped:?}");
        assert!((swapped.secondary.0 - 42.2).abs() < ROUNDING, "{swapped:?}");
    }

    #[test]
    fn at_the_head_the_primary_angle_is_given_as_zero() {
        assert_eq!(PositionerAngles::of(&Vector::z_axis()), angles(0.0, 90.0));
    }
}

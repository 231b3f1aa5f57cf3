//! The quantitative score: S1 coronal angle plus twice the S1 axial angle.
//!
//! Source: Kaiser, Gardner, Liu, Routt and Morshed, J Bone Joint Surg Am 2014;96:e120 (n = 104): the higher the score, the
//! less likely a long or transsacral corridor in the upper segment. That no safe transsacral S1 corridor was found above
//! 70 is from memory. 70 does not define dysmorphism: the published mean of dysmorphic sacra, 30° and 15°, scores 60.
//! How the two angles are laid is from memory and not firm: the axis of the upper segment's corridor against the line
//! between the crests on the coronal reformat along the outlet, and against the transverse line on the axial reformat
//! along the inlet.

use super::measured::{Against, against};
use super::{Angle, SideAnatomy};
use serde::Serialize;

/// Above this score no safe transsacral S1 corridor was found. Source: Kaiser et al. 2014, from memory.
pub const NO_TRANSSACRAL_ABOVE: f64 = 70.0;

/// The score of one side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Score {
    pub points: f64,
    /// One standard deviation, from those of the two angles.
    pub plus_minus: f64,
}

/// What the published line says of a score.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reading {
    Below,
    /// The line lies within the score's ±.
    NotTold,
    Above,
}

impl Score {
    /// Source: Kaiser et al. 2014.
    #[must_use]
    pub fn of(coronal: Angle, axial: Angle) -> Self {
        Self {
            points: 2.0_f64.mul_add(axial.deg, coronal.deg),
            plus_minus: coronal.plus_minus_deg.hypot(2.0 * axial.plus_minus_deg),
        }
    }

    /// The score of a side whose two angles are known.
    #[must_use]
    pub fn of_side(side: &SideAnatomy) -> Option<Self> {
        Some(Self::of(side.s1_coronal?, side.s1_axial?))
    }

    #[must_use]
    pub fn reading(self) -> Reading {
        match against(self.points, self.plus_minus, NO_TRANSSACRAL_ABOVE) {
            Against::Below => Reading::Below,
            Against::Near => Reading::NotTold,
            Against::Above => Reading::Above,
        }
    }
}

impl Reading {
    /// What is published of it, and what it is not.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Above => {
                "above 70: no safe transsacral S1 corridor in the series of Kaiser 2014; no measure of dysmorphism"
            }
            Self::NotTold => {
                "70 lies within its ±: the score does not tell whether a transsacral S1 corridor is to be expected"
            }
            Self::Below => {
                "below 70, the line above which Kaiser 2014 found no transsacral S1 corridor; dysmorphic sacra average 60"
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: means of normal and dysmorphic sacra, Gardner et al. 2010 (n = 50): 21° and 4°, 30° and 15°; severe set of
    /// 2023: 29.97° and 21.80° in men, 28.15° and 19.97° in women. Scores computed from the definition.
    #[test]
    fn published_means_score_29_60_73_6_and_68_1() {
        for (coronal, axial, points) in
            [(21.0, 4.0, "29.0"), (30.0, 15.0, "60.0"), (29.97, 21.80, "73.6"), (28.15, 19.97, "68.1")]
        {
            let score = Score::of(Angle::typed(coronal), Angle::typed(axial));
            assert_eq!(format!("{:.1}", score.points), points);
        }
    }

    #[test]
    fn the_axial_angle_counts_twice_in_the_uncertainty_too() {
        let score = Score::of(Angle::touched(30.0, 3.0), Angle::touched(15.0, 2.0));
        assert!((score.plus_minus - 5.0).abs() < 1e-12);
    }

    #[test]
    fn a_score_within_its_uncertainty_of_70_tells_nothing() {
        let of = |coronal| Score::of(Angle::touched(coronal, 3.0), Angle::touched(20.0, 2.0)).reading();
        assert_eq!(
            [of(24.9), of(25.0), of(35.0), of(35.1)],
            [Reading::Below, Reading::NotTold, Reading::NotTold, Reading::Above]
        );
    }
}

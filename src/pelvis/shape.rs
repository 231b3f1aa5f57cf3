//! What makes one pelvis differ from another: measures with published means and spreads, left and right apart.
//!
//! Draws are normal, cut at three standard deviations. A seed gives the same shape for ever: the generator and the
//! order of the draws never change. What it does not do: no solids (that is `model`).

use rand_core::Rng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// A mean and a standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    pub mean: f64,
    pub deviation: f64,
}

/// Draws beyond this many standard deviations are drawn again.
const CUT: f64 = 3.0;

/// Pelvic incidence, degrees. Source: Mac-Thiong et al., 2011, n = 709: mean 53, mean ± 2 SD 32 to 74.
pub const INCIDENCE: Spread = Spread { mean: 53.0, deviation: 10.5 };
/// Pelvic tilt standing, degrees. Source: the same, 13, 0 to 27.
pub const TILT: Spread = Spread { mean: 13.0, deviation: 6.75 };
/// Sacral slope standing, degrees. Source: the same, 40, 24 to 55; incidence less tilt by definition.
pub const SLOPE: Spread = Spread { mean: 40.0, deviation: 7.75 };
/// Height of the sacrum, promontory to tip, mm. Source: 30 sacra, 106.7 ± 10.2.
pub const SACRAL_HEIGHT: Spread = Spread { mean: 106.7, deviation: 10.2 };
/// Greatest width of the sacrum, mm. Source: the same 30 sacra, 103.6 ± 6.8.
pub const SACRAL_WIDTH: Spread = Spread { mean: 103.6, deviation: 6.8 };
/// Distance between the ASISs, mm, of women and of men. Source: 100 Malaysian pelves.
pub const INTER_ASIS: [Spread; 2] = [Spread { mean: 225.0, deviation: 20.0 }, Spread { mean: 227.0, deviation: 13.0 }];
/// Promontory to upper border of the symphysis, mm, of women and of men. Source: the same 100 pelves.
pub const CONJUGATE: [Spread; 2] = [Spread { mean: 116.0, deviation: 10.0 }, Spread { mean: 105.0, deviation: 10.0 }];

/// Inclination of the S1 corridor of a side, degrees: coronal, axial (see `Bones::corridor_angles`).
/// Source: unselected cadaver sacra, 21.7 ± 5.1 on the outlet and 4.1 ± 7.5 on the inlet.
pub const CORRIDOR: [Spread; 2] = [Spread { mean: 21.7, deviation: 5.1 }, Spread { mean: 4.1, deviation: 7.5 }];
/// How much steeper the corridor of a dysmorphic side is, degrees: coronal, axial.
/// Source: Gardner et al., 2010, n = 50: 30 and 15 against 21 and 4.
const STEEPER: [f64; 2] = [9.0, 11.0];
/// Share of sides that are dysmorphic, from the shares of pelves below: 0.41 · (1 − 0.298 / 2).
const DYSMORPHIC_SIDES: f64 = 0.348_9;
/// How a joint is turned about the body's long axis against the average, degrees; common practice, no source.
const JOINT_TURN: Spread = Spread { mean: 0.0, deviation: 3.0 };
/// How much farther the left ASIS lies from the midline than the right, mm; common practice, no source.
const WIDER_LEFT: Spread = Spread { mean: 0.0, deviation: 3.0 };
/// How the pelvis turns back between standing and lying supine or prone, degrees. No published series: an open
/// assumption, wide enough that nobody may rely on a mean.
const SETTLES: [Spread; 2] = [Spread { mean: 0.0, deviation: 4.0 }, Spread { mean: 0.0, deviation: 6.0 }];

/// Correlation of incidence and tilt that gives the slope its published spread:
/// (10.5² + 6.75² − 7.75²) / (2 · 10.5 · 6.75).
const INCIDENCE_WITH_TILT: f64 = 0.675_7;

/// Share of pelves with a dysmorphic side, and of those that are dysmorphic on one side alone.
/// Source: 41 % of 104 (Kaiser et al., JBJS Am 2014;96:e120); 29.8 % of dysmorphic pelves are asymmetric (JOT 2025).
const DYSMORPHIC: (f64, f64) = (0.41, 0.298);

/// Where dysmorphic sides begin on the scale of [`Shape::dysmorphism`].
pub const DYSMORPHIC_FROM: f64 = 0.5;

/// How a person holds the pelvis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Posture {
    Standing,
    Supine,
    Prone,
}

/// The measures of one pelvis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    pub male: bool,
    /// Degrees.
    pub incidence: f64,
    /// Sacral slope as the person stands, degrees.
    pub slope: f64,
    /// mm.
    pub sacral_height: f64,
    /// mm.
    pub sacral_width: f64,
    /// mm.
    pub inter_asis: f64,
    /// mm.
    pub conjugate: f64,
    /// From 0, no sign of dysmorphism, to 1, all of them: left, right.
    pub dysmorphism: [f64; 2],
    /// Coronal and axial inclination of the S1 corridor, degrees: left, right.
    pub corridor: [[f64; 2]; 2],
    /// How each joint is turned about the body's long axis against the average, degrees, positive with its front end
    /// farther lateral: left, right.
    pub joint_turn: [f64; 2],
    /// How much farther the left ASIS lies from the midline than the right, mm.
    pub wider_left: f64,
    /// How far the pelvis turns back from standing to lying, degrees: supine, prone.
    pub settles: [f64; 2],
    /// Least width of the SI joint, mm.
    pub joint_gap: f64,
    /// Half width and half depth of the trunk at the pelvis, mm.
    pub girth: [f64; 2],
}

impl Shape {
    /// The mean of every measure, a woman's where the sexes differ, no dysmorphism.
    #[must_use]
    pub fn average() -> Self {
        Self {
            male: false,
            incidence: INCIDENCE.mean,
            slope: SLOPE.mean,
            sacral_height: SACRAL_HEIGHT.mean,
            sacral_width: SACRAL_WIDTH.mean,
            inter_asis: INTER_ASIS[0].mean,
            conjugate: CONJUGATE[0].mean,
            dysmorphism: [0.0, 0.0],
            corridor: [[0, 1].map(|axis| CORRIDOR[axis].mean - DYSMORPHIC_SIDES * STEEPER[axis]); 2],
            joint_turn: [0.0, 0.0],
            wider_left: 0.0,
            settles: [0.0, 0.0],
            joint_gap: GAP_MM,
            girth: [180.0, 115.0],
        }
    }

    /// The person of that number.
    #[must_use]
    pub fn of_seed(seed: u64) -> Self {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
        Self::drawn(&mut random)
    }

    /// The same person in that posture: the whole pelvis turned back, which the slope follows and the incidence does not.
    #[must_use]
    pub fn lying(mut self, posture: Posture) -> Self {
        self.slope -= match posture {
            Posture::Standing => 0.0,
            Posture::Supine => self.settles[0],
            Posture::Prone => self.settles[1],
        };
        self
    }

    /// A person by chance.
    pub fn drawn(random: &mut impl Rng) -> Self {
        let male = even(random) < 0.5;
        let sex = usize::from(male);
        let one = normal(random);
        // The second of two correlated normals, from two that are not.
        let other = INCIDENCE_WITH_TILT * one + (1.0 - INCIDENCE_WITH_TILT.powi(2)).sqrt() * normal(random);
        let incidence = INCIDENCE.mean + INCIDENCE.deviation * one;
        let tilt = TILT.mean + TILT.deviation * other;
        let slope = incidence - tilt;
        let mut of = |spread: Spread| spread.mean + spread.deviation * normal(random);
        let (sacral_height, sacral_width) = (of(SACRAL_HEIGHT), of(SACRAL_WIDTH));
        let (inter_asis, conjugate) = (of(INTER_ASIS[sex]), of(CONJUGATE[sex]));
        let girth = [of(GIRTH[0]), of(GIRTH[1])];
        let dysmorphism = dysmorphism(random);
        let joint_gap = GAP_MM * (0.8 + 0.4 * even(random));
        let mut of = |spread: Spread| spread.mean + spread.deviation * normal(random);
        let corridor = dysmorphism.map(|marked| [0, 1].map(|axis| of(corridor(axis, marked))));
        let joint_turn = [of(JOINT_TURN), of(JOINT_TURN)];
        let wider_left = of(WIDER_LEFT);
        let settles = SETTLES.map(&mut of);
        Self {
            male,
            incidence,
            slope,
            sacral_height,
            sacral_width,
            inter_asis,
            conjugate,
            dysmorphism,
            corridor,
            joint_turn,
            wider_left,
            settles,
            joint_gap,
            girth,
        }
    }
}

/// Least width of the joint; common practice, no source.
const GAP_MM: f64 = 1.4;

/// Half width and half depth of the trunk, mm; common practice, no source.
const GIRTH: [Spread; 2] = [Spread { mean: 180.0, deviation: 18.0 }, Spread { mean: 115.0, deviation: 15.0 }];

/// The spread of a corridor's angle on sides that are dysmorphic or not, so that all sides together have [`CORRIDOR`]'s.
fn corridor(axis: usize, marked: f64) -> Spread {
    let (share, all, steeper) = (DYSMORPHIC_SIDES, CORRIDOR[axis], STEEPER[axis]);
    let between = steeper * steeper * share * (1.0 - share);
    let above = if marked >= DYSMORPHIC_FROM { 1.0 - share } else { -share };
    Spread { mean: all.mean + steeper * above, deviation: (all.deviation * all.deviation - between).sqrt() }
}

/// Mean inclination of the S1 corridor on a side so marked, degrees; `axis`: 0 coronal, 1 axial.
pub(super) fn usual_corridor(axis: usize, marked: f64) -> f64 {
    corridor(axis, marked).mean
}

/// From 0 to 1.
fn even(random: &mut impl Rng) -> f64 {
    const STEPS: f64 = (1_u64 << 53) as f64;
    (random.next_u64() >> 11) as f64 / STEPS
}

/// Of mean 0 and deviation 1, within three deviations.
fn normal(random: &mut impl Rng) -> f64 {
    loop {
        let drawn: f64 = StandardNormal.sample(random);
        if drawn.abs() <= CUT {
            return drawn;
        }
    }
}

/// Dysmorphic sides lie between 0.5 and 1, the others between 0 and 0.25.
fn dysmorphism(random: &mut impl Rng) -> [f64; 2] {
    let (some, alone, which) = (even(random) < DYSMORPHIC.0, even(random) < DYSMORPHIC.1, even(random) < 0.5);
    let (marked, slight) = (0.5 + 0.5 * even(random), [0.25 * even(random), 0.25 * even(random)]);
    match (some, alone) {
        (false, _) => slight,
        (true, false) => [marked, (marked + 0.1 * (even(random) - 0.5)).clamp(0.5, 1.0)],
        (true, true) if which => [marked, slight[1]],
        (true, true) => [slight[0], marked],
    }
}

//! View correction: from two landmarks that stand apart on the picture to the moves that lay them over each other.
//!
//! A true view lays a pair of landmarks over each other: both ends of a known lever lie along the beam. On an inlet they
//! are the cortical lines of S1 and S2, on an outlet symphysis and S2, on a lateral the two notches or the two iliac
//! cortical densities, for rotation a midline in front and one behind. What is asked for is the direction of the central
//! ray, so what a landmark's distance from it adds on the picture (parallax) is taken off: a true lateral whose notches
//! stand 45 mm off the central ray answers 0°.
//!
//! Two ways lead there. [`closed_form`](self::closed_form) takes depth, lever and parallax to first order, and needs a
//! second picture for large errors. The full solve puts the pair behind the cone beam and the joint chain and finds, by
//! Gauss-Newton, the joints at which the beam runs along it. The answer carries the Cramér-Rao bound of the touches and
//! what the stated doubt of lever and depth adds.
//!
//! What it does not do: it finds no landmark, knows no anatomy, and never guesses which of two notches is which: the
//! larger one on the picture is nearer the source. It assumes that nothing moved between picture and touch.

mod closed_form;
mod pair;
mod solve;

pub use closed_form::closed_form;
pub use pair::{MIDLINES, NOTCHES, PairNames, pair_names};

use super::arm::{Arm, Distances, Joint, Joints};
use super::pose::{ImagePoint, Pose};
use super::space::{Direction, Point};
use super::words::Move;
use crate::units::{Degrees, Millimetres};
use serde::{Deserialize, Serialize};
use solve::Solved;
use thiserror::Error;

/// A length with its standard uncertainty (one standard deviation).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Length {
    pub value: Millimetres,
    pub sd: Millimetres,
}

/// Which differences between the two landmarks count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Axes {
    /// Up and down the picture alone: cortical lines, which run across it.
    HeadFoot,
    /// Across the picture alone: a midline in front and one behind.
    Across,
    /// Both: points.
    Both,
}

/// What was seen, and on which machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sighting {
    pub arm: Arm,
    /// Where the joints stood.
    pub joints: Joints,
    pub distances: Distances,
    pub axes: Axes,
    /// Touch of the landmark that stands nearer the detector on the true view; millimetres on the detector, the picture
    /// oriented as [`Arm::pose`] has it.
    pub nearer_detector: ImagePoint,
    pub nearer_source: ImagePoint,
    /// The distance between the two landmarks, along the beam of the true view.
    pub lever: Length,
    /// From the source to the middle of the pair, along the central ray.
    pub depth: Length,
    /// Standard uncertainty of one coordinate of one touch, on the detector.
    pub touch_sd: Millimetres,
}

/// What to do, and how sure it is. Advisory.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    /// What each joint must turn by; joints that do not take part are 0.
    pub turn: Joints,
    /// Standard uncertainty of each turn: touches, lever and depth together.
    pub sd: Joints,
    /// Cramér-Rao bound of each turn: the least standard deviation any unbiased answer from these touches can have.
    pub bound: Joints,
    /// The angle between the beam and the true view.
    pub off_by: Degrees,
    /// The turns in whole degrees, in the order they are given.
    pub moves: Vec<Move>,
    /// How far apart the pair should stand after the moves, at the pair's depth, parallax apart.
    pub remaining: Millimetres,
    /// How far apart the pair stands at its depth for being off the central ray alone. Centring removes it; no move does.
    pub parallax: Millimetres,
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum CorrectionError {
    #[error("{what}: {value} is not plausible")]
    Implausible { what: &'static str, value: f64 },
    #[error(
        "lever too short: with {lever_mm:.0} mm between the landmarks the touches leave ±{bound_deg:.1}°, more than {BOUND_MAX_DEG}°"
    )]
    LeverTooShort { lever_mm: f64, bound_deg: f64 },
    #[error(
        "offset beyond the lever: the landmarks stand {offset_mm:.1} mm apart and are only {lever_mm:.1} mm from each other; not this pair, or misread"
    )]
    OffsetBeyondLever { offset_mm: f64, lever_mm: f64 },
    #[error(
        "too far off: about {off_deg:.0}° from the true view, more than {FAR_MAX_DEG}°; go to the planned angle first"
    )]
    TooFarOff { off_deg: f64 },
    #[error("no position of the machine explains both touches")]
    NoSolution,
}

/// The greatest bound that still makes an instruction: what a hand's error of 4° does to a screw is published (Templeman et
/// al., Clin Orthop 1996); the limit just above it is common practice, no source.
pub const BOUND_MAX_DEG: f64 = 5.0;
/// From here on the two landmarks are no longer told from their neighbours. Common practice, no source; tested to 15°.
pub const FAR_MAX_DEG: f64 = 20.0;
/// Of the joint that moves the beam up and down the picture: tilt, unless it does less than half its work there.
const TILT_WORKS: f64 = 0.5;

/// The correction that lays the pair over each other, if the touches are good enough to act on.
///
/// # Errors
/// [`CorrectionError`] names what stands in the way.
pub fn correct(seen: &Sighting) -> Result<Correction, CorrectionError> {
    let answer = measure(seen)?;
    let bound_deg = answer.bound.wag.0.max(answer.bound.tilt.0).max(answer.bound.orbit.0);
    if bound_deg > BOUND_MAX_DEG {
        return Err(CorrectionError::LeverTooShort { lever_mm: seen.lever.value.0, bound_deg });
    }
    if answer.off_by.0 > FAR_MAX_DEG {
        return Err(CorrectionError::TooFarOff { off_deg: answer.off_by.0 });
    }
    Ok(answer)
}

/// What the touches say by the full solve, however far off or uncertain: for whoever studies the method, not to act on.
///
/// # Errors
/// [`CorrectionError::Implausible`], [`CorrectionError::OffsetBeyondLever`], [`CorrectionError::NoSolution`].
pub fn measure(seen: &Sighting) -> Result<Correction, CorrectionError> {
    judge(seen)?;
    let stance = Stance::of(seen);
    let solved = solve::solve(seen, &stance, &closed_form::from_stance(seen, &stance)?)?;
    let bound = solved.bound(seen, &stance);
    let sd = doubt(seen, &stance, &solved, &bound);
    Ok(answer(seen, &stance, &solved, bound, sd))
}

fn answer(seen: &Sighting, stance: &Stance, solved: &Solved, bound: Joints, sd: Joints) -> Correction {
    let true_beam = seen.arm.beam(&added(&seen.joints, &solved.turn));
    let off_by = Degrees::from_radians(stance.beam.angle(&true_beam));
    let whole = Joints {
        wag: Degrees(solved.turn.wag.0.round()),
        tilt: Degrees(solved.turn.tilt.0.round()),
        orbit: Degrees(solved.turn.orbit.0.round()),
    };
    let after = seen.arm.beam(&added(&seen.joints, &whole));
    Correction {
        turn: solved.turn,
        sd,
        bound,
        off_by,
        moves: Move::to(&seen.arm, &whole),
        remaining: Millimetres(seen.lever.value.0 * after.cross(&true_beam).norm()),
        parallax: Millimetres(closed_form::parallax(seen).into_iter().fold(0.0, f64::hypot)),
    }
}

/// Touches, lever and depth together: what a standard deviation more of lever or depth would have answered.
fn doubt(seen: &Sighting, stance: &Stance, solved: &Solved, bound: &Joints) -> Joints {
    let changed = |lever_mm: f64, depth_mm: f64| {
        let mut other = *seen;
        other.lever.value.0 += lever_mm;
        other.depth.value.0 += depth_mm;
        let same = lever_mm == 0.0 && depth_mm == 0.0;
        if same {
            solved.turn
        } else {
            solve::solve(&other, stance, &solved.turn).map_or(solved.turn, |other| other.turn)
        }
    };
    let (longer, deeper) = (changed(seen.lever.sd.0, 0.0), changed(0.0, seen.depth.sd.0));
    let of = |joint: Joint| {
        let from = solved.turn.of(joint).0;
        Degrees(bound.of(joint).0.hypot(longer.of(joint).0 - from).hypot(deeper.of(joint).0 - from))
    };
    Joints { wag: of(Joint::Wag), tilt: of(Joint::Tilt), orbit: of(Joint::Orbit) }
}

fn added(joints: &Joints, turn: &Joints) -> Joints {
    joints.moved(Joint::Wag, turn.wag).moved(Joint::Tilt, turn.tilt).moved(Joint::Orbit, turn.orbit)
}

fn judge(seen: &Sighting) -> Result<(), CorrectionError> {
    let sod = seen.distances.source_to_isocentre.0;
    let ranges = [
        ("distance from source to detector, mm (300 to 2000)", seen.distances.source_to_detector.0, 300.0, 2000.0),
        ("distance from source to isocentre, mm (100 to 2000)", sod, 100.0, 2000.0),
        ("distance from source to the landmarks, mm (200 to 2000)", seen.depth.value.0, 200.0, 2000.0),
        ("uncertainty of the distance to the landmarks, mm (0 to 200)", seen.depth.sd.0, 0.0, 200.0),
        ("distance between the landmarks, mm (1 to 300)", seen.lever.value.0, 1.0, 300.0),
        ("uncertainty of the distance between the landmarks, mm (0 to 50)", seen.lever.sd.0, 0.0, 50.0),
        ("uncertainty of a touch, mm (0 to 20)", seen.touch_sd.0, 0.0, 20.0),
        ("touch across, mm (-500 to 500)", seen.nearer_detector.across_mm, -500.0, 500.0),
        ("touch down, mm (-500 to 500)", seen.nearer_detector.down_mm, -500.0, 500.0),
        ("touch across, mm (-500 to 500)", seen.nearer_source.across_mm, -500.0, 500.0),
        ("touch down, mm (-500 to 500)", seen.nearer_source.down_mm, -500.0, 500.0),
    ];
    for (what, value, from, to) in ranges {
        if !(from..=to).contains(&value) {
            return Err(CorrectionError::Implausible { what, value });
        }
    }
    Ok(())
}

/// Where the machine stood, worked out once per sighting.
struct Stance {
    /// Only directions count, so its isocentre is the origin.
    pose: Pose,
    beam: Direction,
    /// About which wag, tilt and orbit turn the beam.
    axes: [Direction; 3],
    /// The joint that moves the beam down the picture and the one that moves it across, if they take part.
    used: [Option<Joint>; 2],
}

impl Stance {
    fn of(seen: &Sighting) -> Self {
        let (beam, axes) = seen.arm.beam_and_axes(&seen.joints);
        let down = if axes[1].cross(&beam).norm() >= TILT_WORKS { Joint::Tilt } else { Joint::Wag };
        let used = match seen.axes {
            Axes::HeadFoot => [Some(down), None],
            Axes::Across => [None, Some(Joint::Orbit)],
            Axes::Both => [Some(down), Some(Joint::Orbit)],
        };
        Self { pose: seen.arm.pose(&seen.joints, Point::origin(), seen.distances), beam, axes, used }
    }
}

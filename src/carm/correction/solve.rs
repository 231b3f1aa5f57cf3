//! The full solve: the turn of the joints and the place of the pair that explain both touches, by Gauss-Newton.
//!
//! Unknown are the turns of the joint that moves the beam down the picture and of the one that moves it across, and where
//! the pair's middle stands down and across at its stated depth; known are the four coordinates of the two touches. An
//! axis that does not count keeps its joint still and its middle where the touches have it. What it does not do: no
//! search over several solutions, since a lean of less than 90° has one.

use super::{CorrectionError, Sighting, Stance, added};
use crate::carm::arm::Joints;
use crate::carm::pose::{ImagePoint, Pose};
use crate::carm::space::Vector;
use crate::units::Degrees;
use nalgebra::{Matrix4, Vector4};

/// Steps after which a solve that has not settled is given up; touches of a true pair settle in four.
const STEPS_MAX: usize = 25;
/// A step smaller than this, radians and millimetres, has settled: convergence is quadratic, so what is left after it is
/// of the order of its square.
const SETTLED: f64 = 1e-6;

/// A solve that settled.
pub(super) struct Solved {
    pub turn: Joints,
    /// Inverse of the derivative of the equations by the unknowns at the solution.
    inverse: Matrix4<f64>,
}

/// The unknowns: turns down and across in radians, the middle's place down and across in millimetres.
struct Unknowns {
    turns: [f64; 2],
    middle: [f64; 2],
}

/// What stays the same over the steps.
struct Problem<'a> {
    seen: &'a Sighting,
    stance: &'a Stance,
    /// Where the touches have the middle, down and across, millimetres at the pair's depth.
    middle: [f64; 2],
}

/// Solves from `begin`.
pub(super) fn solve(seen: &Sighting, stance: &Stance, begin: &Joints) -> Result<Solved, CorrectionError> {
    let life = seen.depth.value.0 / seen.distances.source_to_detector.0;
    let (detector, source) = (seen.nearer_detector, seen.nearer_source);
    let sums = [detector.down_mm + source.down_mm, detector.across_mm + source.across_mm];
    let middle = sums.map(|sum| sum / 2.0 * life);
    let problem = Problem { seen, stance, middle };
    let turns = stance.used.map(|joint| joint.map_or(0.0, |joint| begin.of(joint).radians()));
    let mut unknowns = Unknowns { turns, middle };
    for _ in 0..STEPS_MAX {
        let (residual, jacobian) = problem.linearised(&unknowns).ok_or(CorrectionError::NoSolution)?;
        let inverse = jacobian.try_inverse().ok_or(CorrectionError::NoSolution)?;
        let step = inverse * residual;
        unknowns.turns = [unknowns.turns[0] - step[0], unknowns.turns[1] - step[1]];
        unknowns.middle = [unknowns.middle[0] - step[2], unknowns.middle[1] - step[3]];
        if !step.amax().is_finite() {
            return Err(CorrectionError::NoSolution);
        }
        if step.amax() < SETTLED {
            return Ok(Solved { turn: problem.turn(&unknowns), inverse });
        }
    }
    Err(CorrectionError::NoSolution)
}

impl Problem<'_> {
    fn turn(&self, unknowns: &Unknowns) -> Joints {
        let mut turn = Joints::default();
        for axis in [0, 1] {
            if let Some(joint) = self.stance.used[axis] {
                turn = turn.moved(joint, Degrees::from_radians(unknowns.turns[axis]));
            }
        }
        turn
    }

    /// Residuals and their derivatives; rows: detector side down and across, source side down and across. `None` where
    /// the pair reaches the source.
    fn linearised(&self, unknowns: &Unknowns) -> Option<(Vector4<f64>, Matrix4<f64>)> {
        let (beam, axes) = self.seen.arm.beam_and_axes(&added(&self.seen.joints, &self.turn(unknowns)));
        let moves =
            self.stance.used.map(|joint| joint.map_or_else(Vector::zeros, |joint| axes[joint as usize].cross(&beam)));
        let half = self.seen.lever.value.0 / 2.0;
        let middle = self.stance.pose.beam().into_inner() * self.seen.depth.value.0
            + self.stance.pose.down.into_inner() * unknowns.middle[0]
            + self.stance.pose.across.into_inner() * unknowns.middle[1];
        let mut residual = Vector4::zeros();
        let mut jacobian = Matrix4::zeros();
        let ends = [(half, self.seen.nearer_detector), (-half, self.seen.nearer_source)];
        for (end, (reach, touch)) in ends.into_iter().enumerate() {
            let shadow = Shadow::of(&self.stance.pose, &(middle + beam.into_inner() * reach))?;
            for axis in [0, 1] {
                let row = 2 * end + axis;
                if self.stance.used[axis].is_none() {
                    // Nothing is asked of this axis: the turn stays 0 and the middle where the touches have it.
                    let (column, rest) = [(axis, 0.0), (2 + axis, self.middle[axis])][end];
                    let now = [unknowns.turns[axis], unknowns.middle[axis]][end];
                    residual[row] = now - rest;
                    jacobian[(row, column)] = 1.0;
                    continue;
                }
                residual[row] = shadow.at[axis] - down_across(touch)[axis];
                let by = [
                    moves[0] * reach,
                    moves[1] * reach,
                    self.stance.pose.down.into_inner(),
                    self.stance.pose.across.into_inner(),
                ];
                for (column, by) in by.into_iter().enumerate() {
                    jacobian[(row, column)] = shadow.slope[axis].dot(&by);
                }
            }
        }
        Some((residual, jacobian))
    }
}

fn down_across(place: ImagePoint) -> [f64; 2] {
    [place.down_mm, place.across_mm]
}

/// A shadow on the detector, down and across, and how it moves with what casts it.
struct Shadow {
    at: [f64; 2],
    slope: [Vector; 2],
}

impl Shadow {
    /// `from_source`: from the source to what casts the shadow.
    fn of(pose: &Pose, from_source: &Vector) -> Option<Self> {
        let (beam, reach) = (pose.beam(), pose.source_to_detector_mm());
        let depth = from_source.dot(&beam);
        if depth <= 0.0 {
            return None;
        }
        let enlarged = reach / depth;
        let along = |axis: Vector| from_source.dot(&axis) * enlarged;
        let axes = [pose.down.into_inner(), pose.across.into_inner()];
        let at = axes.map(along);
        let slope = [0, 1].map(|i| axes[i] * enlarged - beam.into_inner() * (at[i] / depth));
        Some(Self { at, slope })
    }
}

impl Solved {
    /// The Cramér-Rao bound of each turn for independent normal errors of the touches: the square roots of the diagonal of
    /// the inverse Fisher information, which for as many unknowns as equations is `J⁻¹ σ² J⁻ᵀ`.
    pub(super) fn bound(&self, seen: &Sighting, stance: &Stance) -> Joints {
        let mut bound = Joints::default();
        for axis in [0, 1] {
            let Some(joint) = stance.used[axis] else { continue };
            // Rows of an axis that does not count hold no touch.
            let touched = (0..4).filter(|row| stance.used[row % 2].is_some());
            let gain: f64 = touched.map(|row| self.inverse[(axis, row)].powi(2)).sum();
            bound = bound.moved(joint, Degrees::from_radians(seen.touch_sd.0 * gain.sqrt()));
        }
        bound
    }
}

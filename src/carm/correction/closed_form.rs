//! The correction in closed form: offset over lever, after the parallax.
//!
//! With depth D, lever L and the pair's middle c off the central ray, what stands apart at the pair's depth is
//! `L sin(error) + c D L / (D² - L²/4)`. What it does not do: it treats each axis of the picture apart and takes the pair to
//! stand level with the beam, so an error of 15° leaves some tenths of a degree for a second picture.

use super::{CorrectionError, Sighting, Stance};
use crate::carm::arm::Joints;
use crate::units::Degrees;

/// What each joint must turn by, to first order.
///
/// # Errors
/// [`CorrectionError::OffsetBeyondLever`], or [`CorrectionError::NoSolution`] where a joint only rolls the picture.
pub fn closed_form(seen: &Sighting) -> Result<Joints, CorrectionError> {
    from_stance(seen, &Stance::of(seen))
}

/// [`closed_form`] where the stance is known already.
pub(super) fn from_stance(seen: &Sighting, stance: &Stance) -> Result<Joints, CorrectionError> {
    let (lever, offsets, parallax) = (seen.lever.value.0, offsets(seen), parallax(seen));
    let Stance { pose, beam, axes, used } = stance;
    let own = [0, 1].map(|axis| if used[axis].is_some() { offsets[axis] - parallax[axis] } else { 0.0 });
    let apart = own[0].hypot(own[1]);
    if apart >= lever {
        return Err(CorrectionError::OffsetBeyondLever { offset_mm: apart, lever_mm: lever });
    }
    // Where the pair's detector end leans from the beam, down the picture and across it.
    let lean = own.map(|own| (-own / lever).asin());
    let pictured = [pose.down, pose.across];
    let mut turn = Joints::default();
    let mut left = lean;
    // The orbit moves the beam across alone, so it comes second: what the other joint does across is then known.
    for axis in [0, 1] {
        let Some(joint) = used[axis] else { continue };
        let moves = axes[joint as usize].cross(beam);
        let by = left[axis] / moves.dot(&pictured[axis]);
        if !by.is_finite() {
            return Err(CorrectionError::NoSolution);
        }
        turn = turn.moved(joint, Degrees::from_radians(by));
        left = [0, 1].map(|axis| left[axis] - by * moves.dot(&pictured[axis]));
    }
    Ok(turn)
}

/// How far the source-side landmark stands from the detector-side one at the pair's depth, down and across, millimetres.
fn offsets(seen: &Sighting) -> [f64; 2] {
    let life = seen.depth.value.0 / seen.distances.source_to_detector.0;
    let (detector, source) = (seen.nearer_detector, seen.nearer_source);
    [source.down_mm - detector.down_mm, source.across_mm - detector.across_mm].map(|apart| apart * life)
}

/// What of the offsets comes from standing off the central ray, down and across, millimetres at the pair's depth.
pub(super) fn parallax(seen: &Sighting) -> [f64; 2] {
    let (depth, lever) = (seen.depth.value.0, seen.lever.value.0);
    let life = depth / seen.distances.source_to_detector.0;
    let (detector, source) = (seen.nearer_detector, seen.nearer_source);
    // The mean of the two shadows stands further out than the pair's middle by this much.
    let squared = depth * depth - lever * lever / 4.0;
    let mean_to_middle = squared / (depth * depth);
    [detector.down_mm + source.down_mm, detector.across_mm + source.across_mm]
        .map(|sum| sum / 2.0 * life * mean_to_middle * depth * lever / squared)
}

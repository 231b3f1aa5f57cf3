//! Which way the pin runs: tip and shank swapped, or the other side than the plan says.
//!
//! What it does not do: it swaps nothing back. Whoever touched it touches again.

use super::caught::Caught;
use super::evaluate::Scene;
use super::joint::lateral;
use super::line::{Shadow, axis};
use crate::carm::space::left;
use crate::carm::{ImagePoint, Pose};
use crate::units::Side;

/// What is wrong with the pin's direction, if anything is.
///
/// A pin of the planned side runs from lateral to medial. On a view whose shadow runs against the others tip and shank
/// are swapped. Where all run outward, the midline tells a pin of the other side from one touched the wrong way round.
pub(super) fn caught(scene: &Scene, poses: &[Pose], shadows: &[Shadow]) -> Option<Caught> {
    let axis = axis(shadows)?;
    let medial = -lateral(scene.side) * axis.x;
    let inward = if medial < 0.0 { -axis } else { axis };
    let outward: Vec<usize> = (0..shadows.len()).filter(|view| shadows[*view].agreement(&inward) < 0.0).collect();
    if outward.is_empty() {
        return None;
    }
    let swapped = || Caught::TipAndShankSwapped { views: outward.iter().map(|view| scene.views[*view].name).collect() };
    if outward.len() < shadows.len() {
        return Some(swapped());
    }
    let (planned, entered_from) = (scene.side, other(scene.side));
    match scene.midline {
        None => Some(Caught::OtherSide { planned, entered_from, or_swapped: true }),
        Some((view, at)) if on_planned_side(scene, &poses[view], view, at) => Some(swapped()),
        Some(_) => Some(Caught::OtherSide { planned, entered_from, or_swapped: false }),
    }
}

fn other(side: Side) -> Side {
    match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
    }
}

/// Whether what was touched of the pin lies, on the whole, on the planned side of the midline.
fn on_planned_side(scene: &Scene, pose: &Pose, view: usize, midline: ImagePoint) -> bool {
    let (across, down) = (left().dot(&pose.across), left().dot(&pose.down));
    let pin = &scene.views[view];
    let leftward =
        |at: &ImagePoint| (at.across_mm - midline.across_mm) * across + (at.down_mm - midline.down_mm) * down;
    let sum: f64 = pin.shank.iter().chain([&pin.tip]).map(leftward).sum();
    sum * lateral(scene.side) > 0.0
}

//! The picture of what a view must show: a model fitted to the plan, seen as the plan aims. Everything here is plain
//! data, made beside the window.
//!
//! What it does not do: it names no screen and keeps nothing. A model's picture is no picture of the patient.

use super::picture::whole_buffer;
use super::view_known::{Room, SOURCE_TO_DETECTOR_MM, SOURCE_TO_ISOCENTRE_MM, target};
use crate::carm::{Distances, ViewName, Words};
use crate::fluoro::{Imaging, Scene, Structure, apart_deg, picture, pose_of, structures};
use crate::pelvis::{Fitted, Known, Pelvis};
use crate::plan::{Plan, SacrumShape};
use crate::ports::image::{GreyImage, Pixels};
use crate::units::{Millimetres, Side};
use rand_core::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
use slint::{Rgb8Pixel, SharedPixelBuffer};

/// The grain of the picture: the same every time.
const GRAIN: u64 = 1;
/// A turn of the model smaller than this goes without a word, degrees: no room sets half a degree.
const TURN_SAID_DEG: f64 = 0.5;

/// A model with what it was fitted to.
pub(super) struct Model {
    pub fitted: Fitted,
    pub pelvis: Pelvis,
}

impl Model {
    pub fn of(known: &Known) -> Self {
        let fitted = Fitted::to(known);
        let pelvis = Pelvis::of(&fitted.shape);
        Self { fitted, pelvis }
    }
}

/// What a plan holds that the model can follow.
pub(super) fn known(plan: &Plan) -> Known {
    let judged = |side: Side| match plan.side(side)?.sacrum {
        SacrumShape::Normal => Some(false),
        SacrumShape::Dysmorphic => Some(true),
        SacrumShape::NotJudged => None,
    };
    Known {
        anatomy: plan.anatomy.clone().unwrap_or_default(),
        dysmorphic: [judged(Side::Left), judged(Side::Right)],
        thickness_mm: plan.patient.thickness_cm.map(|thickness| thickness * 10.0),
    }
}

/// One view of the model, at the sizes it is shown at.
pub(super) struct Drawn {
    pub small: SharedPixelBuffer<Rgb8Pixel>,
    pub large: SharedPixelBuffer<Rgb8Pixel>,
    /// In parts of the picture's sides.
    pub structures: Vec<Structure>,
    /// "22°", or nothing for a view along the body's axes.
    pub angle: String,
    /// What the angle rests on, and the moves.
    pub words: String,
    /// By how much the model was turned so that it stands as planned, if that is worth a word.
    pub turned: Option<String>,
    pub turned_far: bool,
}

/// Draws a view. `pixels`: sides of the small and of the large picture.
pub(super) fn drawn(model: &Model, plan: &Plan, view: ViewName, room: Room, pixels: [u32; 2]) -> Result<Drawn, String> {
    let (planned, basis) = target(plan, view, room, None).ok_or("the plan's angle of this view cannot be reached")?;
    let own = room.own_target(view, &model.pelvis.landmarks.measurements())?;
    let distances = Distances {
        source_to_isocentre: Millimetres(SOURCE_TO_ISOCENTRE_MM),
        source_to_detector: Millimetres(SOURCE_TO_DETECTOR_MM),
    };
    // Turning the whole model until its own true view lies along the planned beam, or aiming along its own true view,
    // gives the same picture.
    let pose = pose_of(view, &model.pelvis, own.beam, distances);
    let imaging = Imaging { workers: 1, ..Imaging::default() };
    let mut grain = Xoshiro256PlusPlus::seed_from_u64(GRAIN);
    let shown = picture(&Scene::of(&model.pelvis), &pose, &imaging, &mut grain).map_err(|fault| fault.to_string())?;
    let side = |length: usize| u32::try_from(length).map_err(|fault| fault.to_string());
    let (width, height) = (side(shown.columns)?, side(shown.rows)?);
    let grey = GreyImage::plain(width, height, Pixels::Eight(shown.greys)).ok_or("the picture has no size")?;
    let turn = apart_deg(&model.pelvis, &planned).filter(|turn| turn.abs() >= TURN_SAID_DEG);
    let angle = planned.angle.map_or_else(String::new, |angle| format!("{:.0}°", angle.0));
    let moves = planned.moves.iter().map(|one| Words::built_in().say(one));
    let basis = basis.trim_start_matches(angle.as_str()).trim().to_owned();
    Ok(Drawn {
        small: whole_buffer(&grey, pixels[0]),
        large: whole_buffer(&grey, pixels[1]),
        structures: in_parts(structures(view, &model.pelvis, &pose, &imaging.raster), width, height),
        words: std::iter::once(basis).chain(moves).collect::<Vec<_>>().join(" · "),
        angle,
        turned: turn.map(|turn| format!("the model is turned by {:.0}° so that it stands as planned", turn.abs())),
        turned_far: turn.is_some_and(|turn| turn.abs() > planned.sheet.tolerance_deg),
    })
}

fn in_parts(mut structures: Vec<Structure>, width: u32, height: u32) -> Vec<Structure> {
    for place in structures.iter_mut().flat_map(|structure| structure.lines.iter_mut().flatten()) {
        *place = [place[0] / f64::from(width), place[1] / f64::from(height)];
    }
    structures
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_side_that_nobody_judged_is_not_called_normal() {
        let plan = include_bytes!("../../demo-cases/02-dysmorphic-right/plan.json");
        let mut plan = crate::plan::read(plan).expect("a plan");
        plan.sides[0].sacrum = SacrumShape::NotJudged;
        let at = usize::from(plan.sides[0].side == Side::Right);
        assert_eq!(known(&plan).dysmorphic[at], None);
        plan.sides[0].sacrum = SacrumShape::Dysmorphic;
        assert_eq!(known(&plan).dysmorphic[at], Some(true));
    }
}

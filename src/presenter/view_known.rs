//! What a view is known by: its picture's file, the plan, or what was typed; each with how sure it is.
//!
//! What it does not do: it names no view from an angle. A file's angles are taken only where they agree with the view
//! that the team says it is, since mobile machines often write the room's angles there.

use super::picture::Picture;
use crate::carm::{
    Angle, Arm, Lying, PatientPosition, PositionerAngles, SacralMeasurements, Tube, ViewName, ViewTarget, view_sheets,
    view_target,
};
use crate::plan::Plan;
use crate::ports::image::{Geometry, SpacingAt};
use crate::units::{Degrees, Side};
use serde_json::{Value, json};

/// Standard deviations of an angle, degrees, by where it comes from. Common practice, no source.
const FILE_SD: f64 = 1.0;
const TYPED_SD: f64 = 2.0;
const PLANNED_SD: f64 = 3.0;
/// Largest that a finding takes.
const SD_MAX: f64 = 20.0;
/// A file's angles further than this from where the view should be are the room's, not the patient's, degrees.
const AGREES_DEG: f64 = 30.0;
/// Distances of a machine that says none, mm. Common practice, no source.
pub(super) const SOURCE_TO_DETECTOR_MM: f64 = 1000.0;
pub(super) const SOURCE_TO_ISOCENTRE_MM: f64 = 650.0;

/// The machine beside the patient, as the team says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    pub position: PatientPosition,
    pub tube: Tube,
    /// The patient's side on which the stand is.
    pub stand: Side,
}

impl Room {
    /// Prone, tube below: as the built-in pathways have it.
    pub const USUAL: Self = Self { position: PatientPosition::Prone, tube: Tube::Under, stand: Side::Left };

    pub fn arm(self) -> Arm {
        Arm { lying: Lying::as_planned(self.position), tube: self.tube, stand: self.stand, off_square: Degrees(0.0) }
    }

    /// The target of a view of a sacrum whose every angle is known.
    pub fn own_target(self, view: ViewName, measured: &SacralMeasurements) -> Result<ViewTarget, String> {
        let sheet = view_sheets().into_iter().find(|sheet| sheet.view == view).ok_or("the view has no sheet")?;
        view_target(sheet, measured, &self.arm(), self.away()).map_err(|fault| fault.to_string())
    }

    fn away(self) -> Side {
        match self.stand {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
        }
    }
}

/// How a picture was turned and mirrored against a view from the detector, head up.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Turned {
    pub roll_deg: f64,
    pub mirrored: bool,
}

/// A beam with where it comes from.
pub(super) struct Known {
    pub angles: PositionerAngles,
    pub sd_deg: f64,
    /// "21° as planned".
    pub words: String,
    /// Nobody told it of this patient.
    pub guessed: bool,
}

/// The target of a view: at a typed angle, at the plan's, or at a published mean.
pub(super) fn target(plan: &Plan, view: ViewName, room: Room, typed_deg: Option<f64>) -> Option<(ViewTarget, String)> {
    let planned = plan.views.iter().find(|planned| planned.view == view).map(|planned| planned.tilt_deg.abs());
    let angle = typed_deg.map(f64::abs).or(planned);
    let sd = Degrees(if typed_deg.is_some() { TYPED_SD } else { PLANNED_SD });
    let measured = angle.map_or_else(SacralMeasurements::default, |value| {
        SacralMeasurements::of_one(view, Angle { value: Degrees(value), sd })
    });
    let sheet = view_sheets().into_iter().find(|sheet| sheet.view == view)?;
    let study = sheet.start.as_ref().map_or_else(String::new, |start| format!("mean of {}", start.study));
    let target = view_target(sheet, &measured, &room.arm(), room.away()).ok()?;
    let shown = target.angle.map_or_else(String::new, |angle| format!("{:.0}° ", angle.0));
    let words = match (view, typed_deg, planned) {
        (ViewName::Ap | ViewName::Lateral, ..) => "along the body's axes".to_owned(),
        (_, Some(_), _) => format!("{shown}as read"),
        (_, None, Some(_)) => format!("{shown}as planned"),
        (_, None, None) => format!("{shown}{study}"),
    };
    Some((target, words))
}

/// The beam of a view.
pub(super) fn known(
    plan: &Plan,
    view: ViewName,
    room: Room,
    typed_deg: Option<f64>,
    file: Option<&Geometry>,
) -> Option<Known> {
    let (target, words) = target(plan, view, room, typed_deg)?;
    if let (None, Some(angles)) = (typed_deg, file.and_then(of_file))
        && angles.beam().dot(&target.beam).abs() >= AGREES_DEG.to_radians().cos()
    {
        let words = format!("{:.0}° from the file", angle_of(&angles));
        return Some(Known { angles, sd_deg: FILE_SD, words, guessed: false });
    }
    let sd_deg = target.sd.map_or(PLANNED_SD, |sd| sd.0).clamp(0.1, SD_MAX);
    let guessed = words.contains("mean of");
    Some(Known { angles: target.positioner, sd_deg, words, guessed })
}

fn of_file(geometry: &Geometry) -> Option<PositionerAngles> {
    Some(PositionerAngles { primary: Degrees(geometry.primary_deg?), secondary: Degrees(geometry.secondary_deg?) })
}

/// From the vertical, whichever way; at a lateral the primary angle.
fn angle_of(angles: &PositionerAngles) -> f64 {
    let beam = angles.beam();
    if beam.x.abs() > 0.5 { angles.primary.0.abs() } else { beam.z.abs().min(1.0).asin().to_degrees() }
}

/// Source to detector and source to isocentre, mm, and whether a file says so.
pub(super) fn distances(file: Option<&Geometry>) -> (f64, f64, bool) {
    match file.map(|file| (file.source_to_detector_mm, file.source_to_object_mm)) {
        Some((Some(detector), Some(object))) if detector > object => (detector, object, true),
        _ => (SOURCE_TO_DETECTOR_MM, SOURCE_TO_ISOCENTRE_MM, false),
    }
}

/// Millimetres per column on the detector, with one standard deviation in per cent, where the file says.
pub(super) fn detector_spacing(picture: &Picture) -> Option<(f64, f64)> {
    let geometry = &picture.image.geometry;
    let spacing = geometry.spacing?;
    let (detector, isocentre, _) = distances(Some(geometry));
    match spacing.at {
        SpacingAt::Detector => Some((spacing.across_mm, 1.0)),
        // Brought to the isocentre by the machine or by an object whose depth is not told.
        SpacingAt::Patient(_) => Some((spacing.across_mm * detector / isocentre, 5.0)),
        SpacingAt::Slice => None,
    }
}

/// The ways a picture can be turned, for a list.
pub(super) const TURNS: [(&str, &str, Turned); 8] = [
    ("up", "Head up, as the detector sees it", Turned { roll_deg: 0.0, mirrored: false }),
    ("right", "Head to the right", Turned { roll_deg: 90.0, mirrored: false }),
    ("down", "Head down", Turned { roll_deg: 180.0, mirrored: false }),
    ("left", "Head to the left", Turned { roll_deg: -90.0, mirrored: false }),
    ("up-mirrored", "Head up, left and right exchanged", Turned { roll_deg: 0.0, mirrored: true }),
    ("right-mirrored", "Head to the right, exchanged", Turned { roll_deg: 90.0, mirrored: true }),
    ("down-mirrored", "Head down, exchanged", Turned { roll_deg: 180.0, mirrored: true }),
    ("left-mirrored", "Head to the left, exchanged", Turned { roll_deg: -90.0, mirrored: true }),
];

impl Turned {
    pub fn words(self) -> &'static str {
        TURNS.iter().find(|(.., turned)| *turned == self).map_or("", |(_, words, _)| words)
    }
}

/// A place as a document has it.
pub(super) fn pixel(at: super::picture::Spot) -> Value {
    json!([at[0], at[1]])
}

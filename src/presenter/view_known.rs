//! What a view is known by: its picture's file, the plan, or what was typed; each with how sure it is.
//!
//! What it does not do: it names no view from an angle. A file's angles are taken only where they agree with the view
//! that the team says it is, since mobile machines often write the room's angles there.

use super::app::App;
use super::picture::Picture;
use crate::carm::space::left;
use crate::carm::{
    Angle, Arm, Direction, Lying, PatientPosition, PositionerAngles, SacralMeasurements, Tube, ViewName, ViewTarget,
    view_sheets, view_target,
};
use crate::plan::Plan;
use crate::ports::image::{Geometry, SpacingAt};
use crate::settings::MachineSettings;
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
    /// How far the boom is from square to the table, anticlockwise seen from above, degrees.
    pub off_square_deg: f64,
    /// How much further back the pelvis is turned than in the plan, degrees; 0 while nobody re-aimed.
    pub turned_deg: f64,
    /// Source to detector and source to isocentre as the site's settings have them, mm.
    pub distances_mm: Option<[f64; 2]>,
}

impl Room {
    /// Prone, tube below: as the built-in pathways have it.
    pub const USUAL: Self = Self {
        position: PatientPosition::Prone,
        tube: Tube::Under,
        stand: Side::Left,
        off_square_deg: 0.0,
        turned_deg: 0.0,
        distances_mm: None,
    };

    /// As usual, with the site's machine, and with the pelvis as the re-aim in force has it.
    pub fn of(app: &App) -> Self {
        let distances_mm = machine(app).and_then(MachineSettings::distances_mm);
        let usual = Self { distances_mm, ..Self::USUAL };
        let re_aim = app.case().and_then(|case| case.state().re_aim()).map(|re_aimed| &re_aimed.finding);
        re_aim.map_or(usual, |re_aim| Self { position: re_aim.position, turned_deg: re_aim.turn_deg, ..usual })
    }

    pub fn arm(self) -> Arm {
        let off_square = Degrees(self.off_square_deg);
        Arm { lying: self.lying(), tube: self.tube, stand: self.stand, off_square }
    }

    fn lying(self) -> Lying {
        Lying { position: self.position, turn: Degrees(self.turned_deg) }
    }

    /// How far the top of a picture with the table's head end up is turned clockwise from the pelvis' head: at a lateral by
    /// the pelvis' turn, on a view from front or back not at all.
    pub fn rolls_deg(self, beam: &PositionerAngles) -> f64 {
        let across = beam.beam().x;
        if across.abs() > 0.5 { -across.signum() * self.turned_deg } else { 0.0 }
    }

    /// A beam that a file tells of the patient as he lies, told of the pelvis as it was planned.
    fn of_pelvis(self, told: PositionerAngles) -> PositionerAngles {
        if self.turned_deg == 0.0 {
            return told;
        }
        let lying = Lying { position: PatientPosition::Supine, turn: Degrees(self.turned_deg) };
        let beam = told.beam();
        let of_pelvis =
            left().into_inner() * beam.x - lying.up().into_inner() * beam.y + lying.toward_head().into_inner() * beam.z;
        PositionerAngles::of(&Direction::new_normalize(of_pelvis))
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

/// What the site learnt of its machine, unless the case has another C-arm.
pub(super) fn machine(app: &App) -> Option<&MachineSettings> {
    let c_arm = app.case().and_then(|case| case.state().c_arm.as_deref());
    Some(&app.settings.machine).filter(|machine| machine.is(c_arm))
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
    // What the machine reads is the pelvis' own angle and its turn; what was planned is the angle alone.
    let turn = room.lying().adds(view).0;
    let angle = typed_deg.map(|typed| typed.abs() - turn).or(planned);
    let sd = Degrees(if typed_deg.is_some() { TYPED_SD } else { PLANNED_SD });
    let measured = angle.map_or_else(SacralMeasurements::default, |value| {
        SacralMeasurements::of_one(view, Angle { value: Degrees(value), sd })
    });
    let sheet = view_sheets().into_iter().find(|sheet| sheet.view == view)?;
    let study = sheet.start.as_ref().map_or_else(String::new, |start| format!("mean of {}", start.study));
    let target = view_target(sheet, &measured, &room.arm(), room.away()).ok()?;
    let shown = target.angle.map_or_else(String::new, |angle| format!("{:.0}° ", (angle.0 + turn).abs()));
    let as_planned = if turn == 0.0 { "as planned" } else { "as re-aimed" };
    let words = match (view, typed_deg, planned) {
        (ViewName::Ap | ViewName::Lateral, ..) => "along the body's axes".to_owned(),
        (_, Some(_), _) => format!("{shown}as read"),
        (_, None, Some(_)) => format!("{shown}{as_planned}"),
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
    if let (None, Some(angles)) = (typed_deg, file.and_then(of_file).map(|angles| room.of_pelvis(angles)))
        && angles.beam().dot(&target.beam).abs() >= AGREES_DEG.to_radians().cos()
    {
        let told = file.and_then(of_file).unwrap_or(angles);
        let words = format!("{:.0}° from the file", angle_of(&told));
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

/// Source to detector and source to isocentre, mm, and whether a file says so: else the site's, else the usual ones.
pub(super) fn distances(file: Option<&Geometry>, site: Option<[f64; 2]>) -> (f64, f64, bool) {
    let [usual_detector, usual_isocentre] = site.unwrap_or([SOURCE_TO_DETECTOR_MM, SOURCE_TO_ISOCENTRE_MM]);
    match file.map(|file| (file.source_to_detector_mm, file.source_to_object_mm)) {
        Some((Some(detector), Some(object))) if detector > object => (detector, object, true),
        _ => (usual_detector, usual_isocentre, false),
    }
}

/// Millimetres per column on the detector, with one standard deviation in per cent, where the file says.
pub(super) fn detector_spacing(picture: &Picture, site: Option<[f64; 2]>) -> Option<(f64, f64)> {
    let geometry = &picture.image.geometry;
    let spacing = geometry.spacing?;
    let (detector, isocentre, _) = distances(Some(geometry), site);
    match spacing.at {
        SpacingAt::Detector => Some((spacing.across_mm, 1.0)),
        // Brought to the isocentre by the machine or by an object whose depth is not told.
        SpacingAt::Patient(_) => Some((spacing.across_mm * detector / isocentre, 5.0)),
        SpacingAt::Slice => None,
    }
}

/// The ways a picture can be turned, for a list. A roll turns the picture's top clockwise from the head, after left and right
/// were exchanged: with the top at a quarter turn the head lies at the left, exchanged at the right.
pub(super) const TURNS: [(&str, &str, Turned); 8] = [
    ("up", "Head up, as the detector sees it", Turned { roll_deg: 0.0, mirrored: false }),
    ("right", "Head to the right", Turned { roll_deg: -90.0, mirrored: false }),
    ("down", "Head down", Turned { roll_deg: 180.0, mirrored: false }),
    ("left", "Head to the left", Turned { roll_deg: 90.0, mirrored: false }),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::{Point, Pose};
    use crate::plan::ViewPlan;
    use crate::units::Millimetres;

    /// Rounding of a rotation and back, degrees.
    const ROUNDING_DEG: f64 = 1e-9;

    fn plan() -> Plan {
        let mut plan: Plan =
            serde_json::from_slice(include_bytes!("../../tests/support/small_plan.json")).expect("a plan");
        let words = "tilt, receptor toward the feet".to_owned();
        plan.views = vec![ViewPlan { view: ViewName::InletBody, tilt_deg: 25.0, words }];
        plan
    }

    fn turned(position: PatientPosition, turned_deg: f64) -> Room {
        Room { position, turned_deg, ..Room::USUAL }
    }

    /// However the pelvis lies, the view is the same view of it, and only the machine goes further.
    #[test]
    fn a_re_aimed_view_keeps_its_beam_in_the_pelvis_and_tilts_by_the_turn() {
        for position in [PatientPosition::Prone, PatientPosition::Supine] {
            let of = |turn| target(&plan(), ViewName::InletBody, turned(position, turn), None).expect("a target");
            let ((as_planned, _), (re_aimed, words)) = (of(0.0), of(6.0));
            assert!(as_planned.beam.angle(&re_aimed.beam).to_degrees() < ROUNDING_DEG);
            assert!((re_aimed.joints.tilt.0.abs() - 31.0).abs() < ROUNDING_DEG, "{}", re_aimed.joints.tilt.0);
            assert_eq!(words, "31° as re-aimed");
            let read = target(&plan(), ViewName::InletBody, turned(position, 6.0), Some(31.0)).expect("a target");
            assert!(read.0.beam.angle(&re_aimed.beam).to_degrees() < ROUNDING_DEG);
            assert_eq!(read.1, "31° as read");
        }
    }

    /// Where the words say that the head is, it is seen: projected as a picture is read, and shown exchanged where they say so.
    #[test]
    fn every_way_a_picture_is_turned_has_the_head_where_its_words_say() {
        let beam = PositionerAngles { primary: Degrees(0.0), secondary: Degrees(0.0) }.beam();
        for (id, words, turned) in TURNS {
            let (near, far) = (Millimetres(SOURCE_TO_ISOCENTRE_MM), Millimetres(SOURCE_TO_DETECTOR_MM));
            let pose = Pose::looking(beam, Point::origin(), near, far, Degrees(turned.roll_deg));
            let seen = |place: Point| {
                let at = pose.project(&place).expect("in front of the source");
                [if turned.mirrored { -at.across_mm } else { at.across_mm }, at.down_mm]
            };
            let ([across, down], [left, below]) = (seen(Point::new(0.0, 0.0, 40.0)), seen(Point::new(40.0, 0.0, 0.0)));
            let side = match (across.abs() > down.abs(), across > 0.0, down > 0.0) {
                (true, true, _) => "right",
                (true, false, _) => "left",
                (false, _, true) => "down",
                (false, _, false) => "up",
            };
            assert_eq!(id.trim_end_matches("-mirrored"), side, "{words}");
            let said = if across.abs() > down.abs() { format!("Head to the {side}") } else { format!("Head {side}") };
            assert!(words.starts_with(&said), "{words}");
            // From the detector in front, left lies a quarter clockwise of the head; exchanged, the other way round.
            let clockwise = across * below - down * left > 0.0;
            assert_eq!(clockwise, !turned.mirrored, "{words}");
        }
    }

    /// A file tells of the patient on the table; 31° there are 25° of a pelvis that is turned back by 6°.
    #[test]
    fn angles_of_a_file_are_told_of_the_pelvis_as_planned() {
        for (primary, secondary) in [(0.0, 31.0), (180.0, -31.0)] {
            let told = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) };
            let of_pelvis = turned(PatientPosition::Prone, 6.0).of_pelvis(told);
            assert!((of_pelvis.secondary.0.abs() - 25.0).abs() < ROUNDING_DEG, "{of_pelvis:?}");
        }
    }
}

//! A view correction being asked: what was touched or typed, and the document that the answer is made from.
//!
//! The document is that of `brimline plan correct`, so that tablet and command judge the same. What it does not do: it
//! computes no correction and shows nothing.

use super::picture::{Picture, Spot};
use super::view_known::{Room, SOURCE_TO_DETECTOR_MM, Turned, detector_spacing, distances, target};
use crate::carm::correction::{MIDLINES, NOTCHES, Told, ViewFinding, pair_names, usual_lever};
use crate::carm::{Joints, ViewName};
use crate::pathway::{CheckId, Place};
use crate::plan::Plan;
use serde_json::{Value, json};

/// One standard deviation of a touch and of a typed offset at the landmarks, mm. Common practice, no source.
const TOUCH_SD_MM: f64 = 1.0;
const TYPED_SD_MM: f64 = 1.5;
/// One standard deviation of the distance from the source to the landmarks, mm. Common practice, no source.
const DEPTH_SD_MM: f64 = 20.0;
/// Of a lever that was typed, mm. Common practice, no source.
const LEVER_SD_MM: f64 = 3.0;

/// What stands apart: the view's own pair, or the midlines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum About {
    Pair,
    Rotation,
}

/// How long the lever is, and where that comes from.
pub(super) struct Lever {
    pub mm: f64,
    pub sd_mm: f64,
    /// Nobody measured it on this patient.
    pub usual: bool,
}

/// A correction being asked at a view check.
pub(super) struct Draft {
    pub place: Place,
    pub check: CheckId,
    pub view: ViewName,
    pub about: About,
    pub room: Room,
    pub picture: Option<Picture>,
    pub turned: Turned,
    /// The landmark in front and the one behind; on a lateral the larger and the smaller.
    pub touched: [Option<Spot>; 2],
    pub chosen: usize,
    pub dragging: Option<usize>,
    /// Toward the feet, toward the left; on a lateral toward the head, toward the front.
    pub typed: [Option<f64>; 2],
    pub lever_mm: Option<f64>,
    pub depth_mm: Option<f64>,
    /// Tilt toward the head, orbit toward the patient's left, as read.
    pub joints_deg: [Option<f64>; 2],
    pub answer: Option<ViewFinding>,
    pub notice: String,
}

impl Draft {
    pub fn new(place: Place, check: CheckId, view: ViewName, room: Room) -> Self {
        let pair = view == ViewName::Lateral || pair_names(view).is_some();
        Self {
            place,
            check,
            view,
            about: if pair { About::Pair } else { About::Rotation },
            room,
            picture: None,
            turned: Turned::default(),
            touched: [None; 2],
            chosen: 0,
            dragging: None,
            typed: [None; 2],
            lever_mm: None,
            depth_mm: None,
            joints_deg: [None; 2],
            answer: None,
            notice: String::new(),
        }
    }

    pub fn alike(&self) -> bool {
        self.view == ViewName::Lateral && self.about == About::Pair
    }

    /// The two landmarks in the order they are touched.
    pub fn names(&self) -> [&'static str; 2] {
        if self.alike() {
            return NOTCHES;
        }
        let names = if self.about == About::Rotation { MIDLINES } else { pair_names(self.view).unwrap_or(MIDLINES) };
        [names.front, names.back]
    }

    /// Cortical lines run across the picture: only head to foot counts.
    pub fn lines(&self) -> bool {
        let lines = matches!(self.view, ViewName::InletBody | ViewName::InletCanal | ViewName::OutletEndplate);
        self.about == About::Pair && lines
    }

    /// Whether a difference counts: head to foot, then side to side.
    pub fn counts(&self) -> [bool; 2] {
        [self.about == About::Pair, !self.lines()]
    }

    /// The lever: typed, measured in the plan, or the usual one.
    pub fn lever(&self, plan: &Plan) -> Option<Lever> {
        if let Some(mm) = self.lever_mm {
            return Some(Lever { mm, sd_mm: LEVER_SD_MM, usual: false });
        }
        if self.about == About::Rotation {
            return None;
        }
        let midline = plan.anatomy.as_ref().map(|anatomy| anatomy.midline).unwrap_or_default();
        let measured = match self.view {
            ViewName::InletBody | ViewName::InletCanal => midline.s1_to_s2,
            ViewName::OutletWorking => midline.s2_to_symphysis_distance,
            _ => None,
        };
        if let Some(length) = measured {
            return Some(Lever { mm: length.mm, sd_mm: length.plus_minus_mm, usual: false });
        }
        let usual = usual_lever(self.view)?;
        Some(Lever { mm: usual.value.0, sd_mm: usual.sd.0, usual: true })
    }

    /// Source to detector, source to isocentre and source to the landmarks, mm.
    pub fn lengths(&self) -> [f64; 3] {
        let (detector, isocentre, _) =
            distances(self.picture.as_ref().map(|picture| &picture.image.geometry), self.room.distances_mm);
        [detector, isocentre, self.depth_mm.unwrap_or(isocentre)]
    }

    /// Where the joints stand: as read, else as the view's target has them; and in words.
    pub fn joints(&self, plan: &Plan) -> (Joints, String) {
        let target = target(plan, self.view, self.room, None);
        let (mut joints, words) =
            target.map_or((Joints::default(), String::new()), |(target, words)| (target.joints, words));
        let [tilt, orbit] = self.joints_deg;
        joints.tilt.0 = tilt.unwrap_or(joints.tilt.0);
        joints.orbit.0 = orbit.unwrap_or(joints.orbit.0);
        (joints, words)
    }

    /// Both landmarks are touched on a picture that says how large it is.
    pub fn is_touched(&self) -> bool {
        self.touched.iter().all(Option::is_some) && self.spacing().is_some()
    }

    pub fn told(&self) -> Told {
        if self.is_touched() { Told::Touched } else { Told::Typed }
    }

    fn spacing(&self) -> Option<f64> {
        detector_spacing(self.picture.as_ref()?, self.room.distances_mm).map(|(mm, _)| mm)
    }

    /// What is still missing, in words; `None`: nothing.
    pub fn lacks(&self, plan: &Plan) -> Option<&'static str> {
        let counted = self.typed.iter().zip(self.counts()).any(|(typed, counts)| counts && typed.is_some());
        if !counted && !self.is_touched() {
            let sized = self.picture.is_none() || self.spacing().is_some();
            return Some(if sized {
                "touch both, or type what stands apart"
            } else {
                "the file gives no size: type it"
            });
        }
        self.lever(plan).is_none().then_some("say how far apart the two are")
    }

    /// The document of `brimline plan correct`.
    pub fn document(&self, plan: &Plan) -> Option<Value> {
        let lever = self.lever(plan)?;
        let [detector, isocentre, depth] = self.lengths();
        let (joints, _) = self.joints(plan);
        let touched = self.is_touched();
        let mut document = json!({
            "brimline_correction": 1,
            "view": self.view,
            "arm": {"position": self.room.position, "tube": self.room.tube, "stand": self.room.stand,
                    "off_square_deg": self.room.off_square_deg, "turned_back_deg": self.room.turned_deg},
            "joints": {"wag_deg": joints.wag, "tilt_deg": joints.tilt, "orbit_deg": joints.orbit},
            "distances": {"source_to_isocentre_mm": isocentre, "source_to_detector_mm": detector},
            "depth": {"mm": depth, "sd_mm": DEPTH_SD_MM},
            "lever": {"mm": lever.mm, "sd_mm": lever.sd_mm},
            "plane": if touched { "detector" } else { "patient" },
            "touch_sd_mm": if touched { TOUCH_SD_MM * detector / depth } else { TYPED_SD_MM },
            "seen": self.seen(touched)?,
        });
        if touched {
            document["picture"] = json!({"roll_deg": self.turned.roll_deg, "mirrored": self.turned.mirrored});
        }
        if self.about == About::Rotation {
            document["axes"] = json!("across");
        }
        Some(document)
    }

    fn seen(&self, touched: bool) -> Option<Value> {
        if !touched {
            let [one, other] = self.typed.map(|typed| typed.unwrap_or(0.0));
            return Some(if self.alike() {
                json!({"typed-alike": {"larger_toward_head_mm": one, "larger_toward_front_mm": other}})
            } else {
                json!({"typed": {"back_toward_feet_mm": one, "back_toward_left_mm": other}})
            });
        }
        let (picture, spacing) = (self.picture.as_ref()?, self.spacing()?);
        let centre = picture.centre();
        let place = |spot: Spot| json!({"across_mm": (spot[0] - centre[0]) * spacing, "down_mm": (spot[1] - centre[1]) * spacing});
        let [first, second] = self.touched;
        let [first, second] = [place(first?), place(second?)];
        Some(if self.alike() {
            json!({"touched-alike": {"larger": first, "smaller": second}})
        } else {
            json!({"touched": {"front": first, "back": second}})
        })
    }
}

/// The widest distance that a machine has, for the bound of a typed depth.
pub(super) const DEPTH_MAX_MM: f64 = SOURCE_TO_DETECTOR_MM;

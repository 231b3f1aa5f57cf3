//! A re-aim being touched on the true lateral: the sacral line, the vertical, and the document that it is made from.
//!
//! The document is that of `brimline plan targets`, so that tablet and command judge the same. What it does not do: it
//! measures no turn and shows nothing.

use super::picture::{Picture, Spot};
use super::view_known::{Room, detector_spacing};
use crate::carm::{PictureSide, ReAim, SacralLine, VerticalProof};
use crate::pathway::{CheckId, Place};
use crate::plan::Plan;
use serde_json::{Value, json};

/// One standard deviation of a touch, in parts of the picture's side: 3 of 400. Common practice, no source.
const TOUCH_SD: f64 = 3.0 / 400.0;
/// Width of the detector of a picture whose file gives no size, mm: only how far apart touches stand rests on it, no angle.
/// Common practice, no source.
const USUAL_SIDE_MM: f64 = 230.0;
/// One standard deviation of a roll that was read from the machine, degrees. Common practice, no source.
const ROLL_SD_DEG: f64 = 2.0;

/// A re-aim being touched at a check that asks for the lateral.
pub(super) struct Draft {
    pub place: Place,
    pub check: CheckId,
    pub room: Room,
    /// Which placement of patient and table the touches belong to.
    pub placement: u32,
    pub picture: Option<Picture>,
    pub line: Option<SacralLine>,
    pub proven: VerticalProof,
    pub head: Option<PictureSide>,
    /// How far the picture's top leans to its right.
    pub roll_deg: Option<f64>,
    /// Both ends of the sacral line, then both of the vertical's.
    pub touched: [Option<Spot>; 4],
    pub chosen: usize,
    pub dragging: Option<usize>,
    pub answer: Option<ReAim>,
    pub notice: String,
}

/// The lines that the plan measured.
pub(super) fn lines(plan: &Plan) -> Vec<SacralLine> {
    let measured = plan.sacral_measurements();
    SacralLine::ALL.into_iter().filter(|line| line.planned(&measured).is_some()).collect()
}

impl Draft {
    pub fn new(place: Place, check: CheckId, plan: &Plan, room: Room, placement: u32) -> Self {
        Self {
            place,
            check,
            room,
            placement,
            picture: None,
            line: lines(plan).first().copied(),
            proven: VerticalProof::PlumbLine,
            head: None,
            roll_deg: None,
            touched: [None; 4],
            chosen: 0,
            dragging: None,
            answer: None,
            notice: String::new(),
        }
    }

    /// How many places are touched.
    pub fn places(&self) -> usize {
        if self.proven == VerticalProof::ArmRoll { 2 } else { 4 }
    }

    /// What a place stands for.
    pub fn name(&self, place: usize) -> String {
        let line = self.line.map_or("line of the sacrum", SacralLine::word);
        match (place, self.proven) {
            (0, _) => format!("{line}, one end"),
            (1, _) => format!("{line}, the other end"),
            (2, VerticalProof::PlumbLine) => "plumb line, upper end".to_owned(),
            (3, VerticalProof::PlumbLine) => "plumb line, lower end".to_owned(),
            (2, _) => "table edge, one end".to_owned(),
            _ => "table edge, the other end".to_owned(),
        }
    }

    /// What is still missing, in words; `None`: nothing.
    pub fn lacks(&self) -> Option<String> {
        if self.line.is_none() {
            return Some("the plan measured no line that a lateral shows".to_owned());
        }
        if self.picture.is_none() {
            return Some("choose the true lateral".to_owned());
        }
        if self.head.is_none() {
            return Some("say where the head is".to_owned());
        }
        if self.proven == VerticalProof::ArmRoll && self.roll_deg.is_none() {
            return Some("say how the arm is rolled".to_owned());
        }
        let open = (0..self.places()).find(|place| self.touched[*place].is_none());
        open.map(|place| format!("touch {}", self.name(place)))
    }

    /// The document of `brimline plan targets`.
    pub fn document(&self, plan: &Plan) -> Option<Value> {
        let picture = self.picture.as_ref()?;
        let side = f64::from(picture.image.width.max(picture.image.height));
        let spacing = detector_spacing(picture, self.room.distances_mm).map_or(USUAL_SIDE_MM / side, |(mm, _)| mm);
        let centre = picture.centre();
        let place = |number: usize| {
            let at = self.touched[number]?;
            Some(json!({"across_mm": (at[0] - centre[0]) * spacing, "down_mm": (at[1] - centre[1]) * spacing}))
        };
        let vertical = match self.proven {
            VerticalProof::PlumbLine => json!({"plumb-line": {"above": place(2)?, "below": place(3)?}}),
            VerticalProof::TableEdge => json!({"table-edge": {"one": place(2)?, "other": place(3)?}}),
            VerticalProof::ArmRoll => {
                json!({"arm-roll": {"leans_right_deg": self.roll_deg?, "sd_deg": ROLL_SD_DEG}})
            }
        };
        Some(json!({
            "brimline_targets": 1,
            "arm": {"position": self.room.position, "tube": self.room.tube, "stand": self.room.stand},
            "measured": super::plan_targets::measured(plan),
            "lateral": {
                "line": self.line?,
                "touched": [place(0)?, place(1)?],
                "vertical": vertical,
                "head": self.head?,
                "touch_sd_mm": side * spacing * TOUCH_SD,
            },
        }))
    }
}

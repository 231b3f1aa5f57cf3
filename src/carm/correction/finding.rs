//! A view correction as it was told: plain data, made to be kept.
//!
//! Numbers are rounded to a hundredth, so that a finding reads the same on every machine. No name, no date and no free
//! text is among its members. What it does not do: it decides nothing. What may never change: these members and their
//! names, which stand in journals and records.

use super::{Axes, Correction, Sighting};
use crate::carm::arm::Joint;
use crate::carm::space::Point;
use crate::carm::view_name::ViewName;
use crate::carm::words::{Move, Words};
use serde::{Deserialize, Serialize};
use std::fmt;

/// How what was seen came into the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Told {
    /// Touched on the picture.
    Touched,
    /// Read off the console's screen and typed.
    Typed,
}

/// How the pair of landmarks stood apart, at its own depth, in the patient's terms.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum SeenApart {
    /// The landmark at the back from the one in front.
    BackFromFront { toward_feet_mm: f64, toward_left_mm: f64 },
    /// Two alike, on a lateral: the larger, nearer the source, from the smaller.
    LargerFromSmaller { toward_head_mm: f64, toward_front_mm: f64 },
}

/// A length that the answer rests on, with one standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RestsOn {
    pub mm: f64,
    pub sd_mm: f64,
}

/// What a joint must turn by, each with one standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Turn {
    pub joint: Joint,
    /// As [`crate::carm::Joints`] counts.
    pub by_deg: f64,
    /// Touches, lever and depth together.
    pub sd_deg: f64,
    /// What the touches alone leave at best: the Cramér-Rao bound.
    pub bound_deg: f64,
}

/// A view correction that was given to the radiographer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ViewFinding {
    pub view: ViewName,
    pub axes: Axes,
    pub told: Told,
    pub seen: SeenApart,
    /// The distance between the two landmarks along the beam.
    pub lever: RestsOn,
    /// From the source to the landmarks.
    pub depth: RestsOn,
    /// Those that take part.
    pub turns: Vec<Turn>,
    /// The instruction, in whole degrees; empty: less than half a degree.
    pub moves: Vec<Move>,
    pub off_by_deg: f64,
    /// What should remain between the pair after the moves, parallax apart.
    pub remaining_mm: f64,
    /// What stands apart for being off the central ray alone; no move takes it away.
    pub parallax_mm: f64,
    /// Every move is smaller than its standard deviation.
    pub within_doubt: bool,
}

impl ViewFinding {
    /// What is kept of an answer.
    #[must_use]
    pub fn of(view: ViewName, told: Told, seen: &Sighting, answer: &Correction) -> Self {
        let joints = [Joint::Wag, Joint::Tilt, Joint::Orbit].into_iter();
        let turns = joints.filter(|joint| answer.sd.of(*joint).0 > 0.0).map(|joint| Turn {
            joint,
            by_deg: rounded(answer.turn.of(joint).0),
            sd_deg: rounded(answer.sd.of(joint).0),
            bound_deg: rounded(answer.bound.of(joint).0),
        });
        Self {
            view,
            axes: seen.axes,
            told,
            seen: SeenApart::of(view, seen),
            lever: RestsOn { mm: rounded(seen.lever.value.0), sd_mm: rounded(seen.lever.sd.0) },
            depth: RestsOn { mm: rounded(seen.depth.value.0), sd_mm: rounded(seen.depth.sd.0) },
            turns: turns.collect(),
            moves: answer.moves.clone(),
            off_by_deg: rounded(answer.off_by.0),
            remaining_mm: rounded(answer.remaining.0),
            parallax_mm: rounded(answer.parallax.0),
            within_doubt: answer.within_doubt(),
        }
    }

    /// The instruction in the room's words; "no move" where there is none.
    #[must_use]
    pub fn instruction(&self, words: &Words) -> String {
        let said: Vec<String> = self.moves.iter().map(|one| words.say(one)).collect();
        if said.is_empty() { "no move".to_owned() } else { said.join("; ") }
    }
}

impl Correction {
    /// Whether every move is smaller than its standard uncertainty.
    #[must_use]
    pub fn within_doubt(&self) -> bool {
        let joints = [Joint::Wag, Joint::Tilt, Joint::Orbit].into_iter();
        joints.into_iter().all(|joint| self.turn.of(joint).0.abs() <= self.sd.of(joint).0)
    }
}

impl SeenApart {
    fn of(view: ViewName, seen: &Sighting) -> Self {
        let pose = seen.arm.pose(&seen.joints, Point::origin(), seen.distances);
        let magnification = seen.distances.source_to_detector.0 / seen.depth.value.0;
        let across = (seen.nearer_source.across_mm - seen.nearer_detector.across_mm) / magnification;
        let down = (seen.nearer_source.down_mm - seen.nearer_detector.down_mm) / magnification;
        if view == ViewName::Lateral {
            return Self::LargerFromSmaller {
                toward_head_mm: rounded(down * pose.down.z.signum()),
                toward_front_mm: rounded(-across * pose.across.y.signum()),
            };
        }
        // The landmark in front stands nearer the detector where the detector is in front.
        let back_from_front = if pose.beam().y < 0.0 { 1.0 } else { -1.0 };
        Self::BackFromFront {
            toward_feet_mm: rounded(-back_from_front * down * pose.down.z.signum()),
            toward_left_mm: rounded(back_from_front * across * pose.across.x.signum()),
        }
    }
}

impl fmt::Display for SeenApart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (what, [one, other]) = match *self {
            Self::BackFromFront { toward_feet_mm, toward_left_mm } => {
                ("back from front", [way(toward_feet_mm, "feet", "head"), way(toward_left_mm, "left", "right")])
            }
            Self::LargerFromSmaller { toward_head_mm, toward_front_mm } => {
                ("larger from smaller", [way(toward_head_mm, "head", "feet"), way(toward_front_mm, "front", "back")])
            }
        };
        let ways: Vec<String> = [one, other].into_iter().flatten().collect();
        if ways.is_empty() { write!(f, "{what} 0 mm") } else { write!(f, "{what} {}", ways.join(", ")) }
    }
}

/// Smaller than this is not worth a word, millimetres.
const SAID_MM: f64 = 0.05;

fn way(mm: f64, positive: &str, negative: &str) -> Option<String> {
    let toward = if mm > 0.0 { positive } else { negative };
    (mm.abs() >= SAID_MM).then(|| format!("{:.1} mm toward the {toward}", mm.abs()))
}

impl fmt::Display for Turn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {:.1}° ± {:.1}°", self.joint.word(), self.by_deg.abs(), self.sd_deg)
    }
}

/// To a hundredth, never "-0".
fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

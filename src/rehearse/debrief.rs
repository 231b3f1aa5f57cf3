//! The debrief: the shots again, beside the solid seen from two sides, and which of them taught nothing.
//!
//! A shot teaches if it shows something that the shots before it did not: another view, the pin at another place, a
//! picture that is centred where the last was not. What it does not do: it judges nobody, and it cannot tell what
//! somebody thought while looking.

use super::control::{InPicture, Noted, Shot};
use super::session::Rehearsal;
use crate::carm::{Point, ViewName};
use crate::pelvis::{Ball, Bones};
use crate::units::Degrees;
use std::fmt;

/// Stands under every debrief.
pub const NOTICE: &str = "No force is felt here. That this transfers to patients is unproven.";

/// What a shot taught.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Taught {
    /// A picture of a view not seen before from there.
    Angle,
    /// The pin at a new place.
    Pin,
    /// The patient lay otherwise than before.
    Moved,
    /// Somewhere to go on from: the picture before it showed nothing of use.
    Found,
    Nothing(WhyNothing),
}

/// Why a shot taught nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyNothing {
    /// Nothing of the sacrum in the field.
    Blank,
    /// Machine, patient and pin stood as on the shot before.
    SameAsBefore,
    /// The pin had moved and lay outside the field.
    PinOutsideField,
}

/// The shadow of the solid from one side, for a drawing beside the pictures: circles, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aspect {
    /// From the front: left of the patient to the right, head up.
    Front,
    /// From the patient's left: back to the right, head up.
    Left,
}

/// One shot, replayed.
#[derive(Debug, Clone, PartialEq)]
pub struct Replayed {
    pub shot: Shot,
    pub taught: Taught,
    /// Whether it was then accepted, and as what.
    pub accepted: Option<ViewName>,
}

/// The debrief of a rehearsal.
#[derive(Debug, Clone, PartialEq)]
pub struct Debrief {
    pub shots: Vec<Replayed>,
    pub notice: &'static str,
}

/// Less than this is the same picture again. A room sets whole degrees; a pin's place is read to about a millimetre.
const SAME_DEG: f64 = 0.75;
const SAME_MM: f64 = 1.0;
/// A central ray moved by less than this shows the same, mm.
const CENTRED_MM: f64 = 8.0;

impl Debrief {
    #[must_use]
    pub fn of(rehearsal: &Rehearsal) -> Self {
        let notes = rehearsal.notes();
        let mut shots = Vec::new();
        let mut moved = false;
        let mut before: Option<&Shot> = None;
        for (at, note) in notes.iter().enumerate() {
            match &note.what {
                Noted::PelvisTurned(_) => moved = true,
                Noted::Shot(index) => {
                    let shot = &rehearsal.shots()[*index];
                    let taught = taught(shot, before, std::mem::take(&mut moved));
                    let next = notes[at + 1..].iter().take_while(|later| !matches!(later.what, Noted::Shot(_)));
                    let accepted = next.filter_map(|later| match later.what {
                        Noted::Accepted { view, .. } => Some(view),
                        _ => None,
                    });
                    shots.push(Replayed { shot: shot.clone(), taught, accepted: accepted.last() });
                    before = Some(shot);
                }
                _ => {}
            }
        }
        Self { shots, notice: NOTICE }
    }

    /// The shots that taught nothing.
    pub fn wasted(&self) -> impl Iterator<Item = &Replayed> {
        self.shots.iter().filter(|replayed| matches!(replayed.taught, Taught::Nothing(_)))
    }
}

fn taught(shot: &Shot, before: Option<&Shot>, moved: bool) -> Taught {
    if shot.contents == InPicture::Blank {
        return Taught::Nothing(WhyNothing::Blank);
    }
    let Some(before) = before else { return Taught::Found };
    if before.contents == InPicture::Blank {
        return Taught::Found;
    }
    if moved {
        return Taught::Moved;
    }
    if Degrees::from_radians(shot.pose.beam().angle(&before.pose.beam())).0 > SAME_DEG {
        return Taught::Angle;
    }
    let pin_moved = match (&shot.pin, &before.pin) {
        (Some(now), Some(then)) => {
            (now.at(now.depth) - then.at(then.depth)).norm() > SAME_MM || (now.entry - then.entry).norm() > SAME_MM
        }
        (now, then) => now.is_some() != then.is_some(),
    };
    if pin_moved {
        return if shot.contents == InPicture::BoneAndPin {
            Taught::Pin
        } else {
            Taught::Nothing(WhyNothing::PinOutsideField)
        };
    }
    let centred = (shot.pose.detector_centre - before.pose.detector_centre).norm() > CENTRED_MM;
    if centred { Taught::Found } else { Taught::Nothing(WhyNothing::SameAsBefore) }
}

impl Aspect {
    /// A place as seen from this side: to the right and up, mm.
    #[must_use]
    pub fn place(self, point: &Point) -> [f64; 2] {
        match self {
            Self::Front => [point.x, point.z],
            Self::Left => [point.y, point.z],
        }
    }

    /// The circles whose union is the bones' shadow.
    #[must_use]
    pub fn shadow(self, balls: &[Ball]) -> Vec<([f64; 2], f64)> {
        balls.iter().map(|ball| (self.place(&ball.centre), ball.radius)).collect()
    }
}

/// The balls of a person's bones, coarse, for the drawing from two sides.
#[must_use]
pub fn solid(rehearsal: &Rehearsal) -> Vec<Ball> {
    const COARSE_MM: f64 = 8.0;
    let bones = Bones::of(&rehearsal.person().shape);
    [&bones.sacrum, &bones.hips[0], &bones.hips[1]].into_iter().flat_map(|bone| bone.balls(COARSE_MM)).collect()
}

impl fmt::Display for Taught {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Angle => "another view",
            Self::Pin => "the pin at a new place",
            Self::Moved => "the patient lay otherwise",
            Self::Found => "somewhere to go on from",
            Self::Nothing(WhyNothing::Blank) => "taught nothing: blank",
            Self::Nothing(WhyNothing::SameAsBefore) => "taught nothing: the same as before",
            Self::Nothing(WhyNothing::PinOutsideField) => "taught nothing: the pin lay outside the field",
        })
    }
}

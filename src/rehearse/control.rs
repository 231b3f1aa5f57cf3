//! What a trainee can do, what he is told, and what is noted of it.
//!
//! What it does not do: nothing told says more than a room would know; what is noted may, and only score and debrief read
//! it.

use super::console::Cost;
use super::driven::{DrivenPin, PinRefusal};
use super::truth::Off;
use crate::carm::clearance::End;
use crate::carm::{ImagePoint, Joint, Joints, Pose, ViewName};
use crate::pin::EdgeName;
use crate::units::Degrees;
use std::fmt;

/// One thing done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Control {
    /// Moves one joint of the machine.
    Drive {
        joint: Joint,
        by: Degrees,
    },
    /// Moves the central ray toward the patient's left, back and head, mm.
    Shift {
        by: [f64; 3],
    },
    /// Puts a support under the pelvis that turns it back by about that, 0 to 25°. Views found before are void.
    Support {
        back: Degrees,
    },
    /// Shows the middle of the field alone, enlarged, or the whole of it again.
    Magnify {
        on: bool,
    },
    /// Takes a shot, meant as that view if it is meant as any.
    Expose {
        view: Option<ViewName>,
    },
    /// Lets go of the pedal after a run: the last shot lasted so long altogether, counted as at least one shot's time and
    /// at most what the machine gives, and its picture is the last of the run.
    LetGo {
        seconds: f64,
    },
    /// Takes the picture shown as that view.
    Accept {
        view: ViewName,
    },
    /// Finds that the picture shown is not that view.
    Reject {
        view: ViewName,
    },
    /// Sets the pin on the outer table where the last picture, a lateral, was touched; it points along the beam.
    SetPin {
        at: ImagePoint,
    },
    /// Turns the pin in place: its tip toward the head and toward the front, degrees.
    TurnPin {
        head: Degrees,
        front: Degrees,
    },
    Advance {
        mm: f64,
    },
    Withdraw {
        mm: f64,
    },
    /// A new, straight pin in place of the one that stands.
    ReplacePin,
    /// Drills along the pin.
    Drill {
        mm: f64,
    },
    /// Sees to what went wrong.
    Handle {
        mishap: Mishap,
    },
    /// Ends because it is not safe to go on.
    StopUnsure,
    Finish,
}

/// What is thrown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mishap {
    /// Blood wells up; nothing goes further in before it is seen to.
    Bleeding,
    /// The machine is knocked out of its place; the view must be found again.
    LostView,
    /// The pin bends; it must be seen, withdrawn and replaced before it is drilled over.
    BentPin,
}

impl Mishap {
    pub const ALL: [Self; 3] = [Self::Bleeding, Self::LostView, Self::BentPin];
}

/// What a picture is good for, before anybody judges it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InPicture {
    /// Nothing of the sacrum lies in the field.
    Blank,
    /// Sacrum, no pin.
    Bone,
    /// Sacrum and the pin's tip.
    BoneAndPin,
}

/// What the room knows after a control.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Told {
    Moved,
    /// The move stopped: this end would touch table or patient.
    Touched(End),
    Shown {
        number: u32,
        /// Where the displays stand.
        readings: Joints,
        contents: InPicture,
    },
    Accepted,
    Rejected,
    /// How deep the pin stands, as its own scale says.
    PinStands {
        mm: f64,
    },
    Handled,
    /// Something happened that the room notices by itself.
    Happened(Mishap),
    Ended,
}

/// Why a control is not carried out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Refusal {
    #[error("the rehearsal is over")]
    Over,
    #[error("no picture has been taken since the machine moved")]
    NoPicture,
    #[error("a run begins with a shot and lasts some time")]
    NoRun,
    #[error("the picture is blank: nothing of the sacrum lies in the field")]
    Blank,
    #[error("a start point is touched on a lateral picture")]
    NotLateral,
    #[error("the touch lies outside the picture")]
    OutsidePicture,
    #[error("{value} is no move: at most 180° and 500 mm")]
    ImpossibleMove { value: f64 },
    #[error("a support turns the pelvis back by 0 to 25°, not by {value}°, and not once a pin stands")]
    NoSupport { value: f64 },
    #[error("this model does not show the view: {view}")]
    NotShown { view: ViewName },
    #[error("nothing of that kind is to be seen to")]
    NothingToHandle,
    #[error(transparent)]
    Pin(#[from] PinRefusal),
}

/// One shot as it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    /// From 1.
    pub number: u32,
    pub at_ms: u64,
    pub meant: Option<ViewName>,
    pub readings: Joints,
    pub pose: Pose,
    /// How far the beam was from the view meant.
    pub off: Option<Off>,
    pub contents: InPicture,
    /// Half the width of the picture, mm on the detector.
    pub half_field: f64,
    /// How long the pedal was held, seconds; what a single shot takes unless it was a run.
    pub seconds: f64,
    /// Whether the pin's tip was to be seen on a picture that shows its depth: a fresh look.
    pub shows_depth: bool,
    pub cost: Cost,
    /// The pin as it stood.
    pub pin: Option<DrivenPin>,
}

/// What happened, for score and debrief.
#[derive(Debug, Clone, PartialEq)]
pub enum Noted {
    Collided(End),
    /// Position in the list of shots.
    Shot(usize),
    Accepted {
        view: ViewName,
        off: Option<Off>,
        /// A breach that the picture does not show.
        hides: Option<EdgeName>,
    },
    /// Not taken as that view; `off`: how far it really was from it.
    Rejected {
        view: ViewName,
        off: Off,
    },
    PinSet,
    /// Turned; `after_mm`: how deep the pin had been.
    Turned {
        after_mm: f64,
    },
    Advanced {
        mm: f64,
        unseen: f64,
        breach: Option<(EdgeName, f64)>,
    },
    Drilled {
        mm: f64,
        carried: f64,
        unseen: f64,
        bent: bool,
        breach: Option<(EdgeName, f64)>,
    },
    Thrown(Mishap),
    Handled(Mishap),
    /// Went on before it was seen to.
    Ignored(Mishap),
    /// The pelvis turned on the table, degrees.
    PelvisTurned(f64),
    StoppedUnsure,
    Finished,
}

/// What is noted, with when: milliseconds since the rehearsal began.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    pub at_ms: u64,
    pub what: Noted,
}

impl fmt::Display for InPicture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Blank => "blank: nothing of the sacrum lies in the field",
            Self::Bone => "the sacrum; no tip of a pin in the field",
            Self::BoneAndPin => "the sacrum and the pin's tip",
        })
    }
}

impl fmt::Display for Mishap {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Bleeding => "bleeding",
            Self::LostView => "a lost view",
            Self::BentPin => "a bent pin",
        })
    }
}

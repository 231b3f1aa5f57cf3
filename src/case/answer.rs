//! Answers to checks, one shape per check kind.

use crate::people::Actor;
use crate::units::Unit;
use serde::{Deserialize, Serialize};

/// What a check was answered with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum Answer {
    Confirmed,
    /// The id of the option.
    Chosen {
        option: String,
    },
    /// `range` says where the value lies; only what lies within the limits is accepted.
    Measured {
        value: f64,
        unit: Unit,
        range: RangeVerdict,
    },
    /// One number per item of the check, and the second person who counted.
    Counted {
        numbers: Vec<u32>,
        second: Actor,
    },
    /// `scale_deg`: what the machine's own scale shows; `floor_mark`: the mark on the floor.
    ViewAccepted {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        scale_deg: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        floor_mark: Option<String>,
    },
    PinAccepted,
    /// The timer runs from the event's own time less `ago_min` minutes.
    TimerStarted {
        ago_min: u32,
    },
    Scanned {
        text: String,
    },
    Noted {
        text: String,
    },
}

/// Where a measured value lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RangeVerdict {
    Expected,
    /// Outside what is expected, within the limits: asked once more on screen and marked.
    Unusual,
}

//! Places of a record: their checks, answers and gates.

use super::canonical::integer;
use super::claim::Claim;
use super::payload::{Time, Who};
use crate::case::RangeVerdict;
use crate::pathway::{CheckId, Place};
use crate::people::Role;
use crate::units::Unit;
use serde::{Deserialize, Serialize};

/// One place with everything that was answered and counted there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlaceEntry {
    pub place: Place,
    /// The pathway's own words.
    pub title: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entered: Option<Time>,
    /// Milliseconds spent there in all.
    #[serde(with = "integer")]
    pub stay_ms: u64,
    /// Corrections applied.
    pub shots: u32,
    pub checks: Vec<CheckEntry>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gate: Option<GateEntry>,
}

/// One check. `words` and `reason` are claims at every check, whatever its kind.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckEntry {
    pub id: CheckId,
    /// The pathway's own words.
    pub text: String,
    /// Nothing: still open when the case ended.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub done: Option<Entered>,
    pub reopened: u32,
    /// How often its view or pin position was rejected before.
    pub rejected: u32,
    /// Shots of the place when it was last answered.
    pub shots: u32,
    /// What was scanned, typed or marked on the floor.
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub words: Claim<String>,
    /// Why it was not done.
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub reason: Claim<String>,
}

/// How a check was closed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entered {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub by: Who,
    pub logged_by: Who,
    pub answer: RecordedAnswer,
    /// When it was done, for a late entry: milliseconds since opening, by the wall clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub done_ms: Option<u64>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub burst: bool,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub late: bool,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unusual: bool,
}

/// An answer without its free words, which are claims of the check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum RecordedAnswer {
    Confirmed,
    Chosen {
        option: String,
    },
    Measured {
        value: f64,
        unit: Unit,
        range: RangeVerdict,
    },
    Counted {
        numbers: Vec<u32>,
        second: Who,
    },
    ViewAccepted {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        scale_deg: Option<f64>,
    },
    PinAccepted,
    TimerStarted {
        ago_min: u32,
    },
    Scanned,
    Noted,
    NotDone,
}

/// The gate that ends a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GateEntry {
    /// The pathway's own words.
    pub title: String,
    /// Roles that must release it.
    pub wanted: Vec<Role>,
    pub released: Vec<Release>,
    /// Passed by spoken word; the entry stands among the record's overrides.
    pub overridden: bool,
    pub closed_again: u32,
}

/// One role's release.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Release {
    pub role: Role,
    pub by: Who,
    pub at: Time,
}

/// A gate passed by the surgeon's spoken word.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OverrideEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    /// Title of the gate.
    pub gate: String,
    pub by: Who,
    pub logged_by: Who,
    /// The gate was closed again afterwards.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub earlier: bool,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub reason: Claim<String>,
}

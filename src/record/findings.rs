//! View and pin findings of a record, re-aims of the plan and moves of patient or table, in the order they were made.

use super::canonical::integer;
use super::payload::{Time, Who};
use crate::carm::ReAim;
use crate::carm::correction::ViewFinding;
use crate::case::{Moved, PinDecision, PinFound, ReAimed, State, ViewFound};
use crate::pathway::{CheckId, Place};
use crate::pin::{Finding, PinMark};
use serde::{Deserialize, Serialize};

/// A view correction that was given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ViewFindingEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    pub check: CheckId,
    pub by: Who,
    pub logged_by: Who,
    pub finding: ViewFinding,
}

/// A pin finding, what was decided on it, and what it marks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PinFindingEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    pub check: CheckId,
    pub by: Who,
    pub logged_by: Who,
    pub decided: PinDecision,
    pub marks: Vec<PinMark>,
    pub finding: Finding,
}

pub(super) fn view(found: &ViewFound) -> ViewFindingEntry {
    ViewFindingEntry {
        seq: found.seq,
        at: found.at.into(),
        place: found.place.clone(),
        check: found.check.clone(),
        by: Who::from(&found.by),
        logged_by: Who::from(&found.logged_by),
        finding: found.finding.clone(),
    }
}

pub(super) fn pin(found: &PinFound) -> PinFindingEntry {
    let (finding, decided) = &found.finding;
    PinFindingEntry {
        seq: found.seq,
        at: found.at.into(),
        place: found.place.clone(),
        check: found.check.clone(),
        by: Who::from(&found.by),
        logged_by: Who::from(&found.logged_by),
        decided: *decided,
        marks: finding.marks(),
        finding: finding.clone(),
    }
}

/// A re-aim of the plan by one true lateral.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReAimEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    pub check: CheckId,
    pub by: Who,
    pub logged_by: Who,
    /// Patient or table moved later, so that it held only until then.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub voided: bool,
    pub re_aim: ReAim,
}

/// Patient or table was moved.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MoveEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    pub by: Who,
    pub logged_by: Who,
}

pub(super) fn re_aim(state: &State, found: &ReAimed) -> ReAimEntry {
    ReAimEntry {
        seq: found.seq,
        at: found.at.into(),
        place: found.place.clone(),
        check: found.check.clone(),
        by: Who::from(&found.by),
        logged_by: Who::from(&found.logged_by),
        voided: found.finding.placement != state.placement(),
        re_aim: found.finding.clone(),
    }
}

pub(super) fn moved(moved: &Moved) -> MoveEntry {
    MoveEntry {
        seq: moved.seq,
        at: moved.at.into(),
        place: moved.place.clone(),
        by: Who::from(&moved.by),
        logged_by: Who::from(&moved.logged_by),
    }
}

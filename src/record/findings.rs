//! View and pin findings of a record, in the order they were made.

use super::canonical::integer;
use super::payload::{Time, Who};
use crate::carm::correction::ViewFinding;
use crate::case::{PinDecision, PinFound, ViewFound};
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

//! What was found on pictures at a check: a view correction that was given, a pin finding that was kept or not, a re-aim of
//! the plan; and the moves of patient or table that void what was found before them.
//!
//! What it does not do: a finding answers no check and opens no gate. What may never change: the codes of
//! [`PinDecision`], which stand in journals and records.

use super::Elapsed;
use crate::carm::ReAim;
use crate::carm::correction::ViewFinding;
use crate::pathway::{CheckId, Place};
use crate::people::Actor;
use crate::pin::Finding;
use serde::{Deserialize, Serialize};

/// What the team did with the pin after the finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PinDecision {
    Kept,
    Redirected,
}

impl PinDecision {
    /// As it is read aloud.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Redirected => "to be redirected",
        }
    }
}

/// Where, when and by whom something was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found<T> {
    pub seq: u64,
    pub at: Elapsed,
    pub place: Place,
    pub check: CheckId,
    pub by: Actor,
    pub logged_by: Actor,
    pub finding: T,
}

/// A view correction that was given.
pub type ViewFound = Found<ViewFinding>;

/// A pin finding, and what was decided on it.
pub type PinFound = Found<(Finding, PinDecision)>;

/// A re-aim of the plan.
pub type ReAimed = Found<ReAim>;

/// Patient or table was moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    pub seq: u64,
    pub at: Elapsed,
    pub place: Place,
    pub by: Actor,
    pub logged_by: Actor,
}

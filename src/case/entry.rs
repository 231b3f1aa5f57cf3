//! What the state holds of one check and one gate.

use super::{Answer, Elapsed};
use crate::people::{Actor, Role};
use chrono::{DateTime, FixedOffset};

/// The state of one check at one place.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CheckState {
    /// `None` while it is open.
    pub answer: Option<AnswerState>,
    /// How often it was reopened.
    pub reopened: u32,
    /// How often its view or its pin position was rejected before.
    pub rejected: u32,
    /// Shots counted at the place when it was last answered.
    pub shots_at_answer: u32,
}

/// How a check was closed.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerState {
    pub seq: u64,
    pub at: Elapsed,
    pub by: Actor,
    pub logged_by: Actor,
    pub outcome: Closed,
    pub flags: EntryFlags,
}

/// Answered, or not done for a reason.
#[derive(Debug, Clone, PartialEq)]
pub enum Closed {
    Answered { answer: Answer, done_at: Option<DateTime<FixedOffset>> },
    NotDone { reason: String },
}

/// Marks on an entry, shown to the team at sign-off; never held against a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct EntryFlags {
    /// Entered with several others within moments.
    pub burst: bool,
    /// Entered long after its step was left, or as a late entry.
    pub late: bool,
    /// Outside what is expected, or an option that asks for attention.
    pub unusual: bool,
}

/// The state of one gate.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GateState {
    /// Roles that released it, with when.
    pub released: Vec<(Role, Actor, Elapsed)>,
    /// Passed by spoken word.
    pub overridden: Option<Override>,
    /// Overrides from before it was closed again; they stay in the record.
    pub earlier_overrides: Vec<Override>,
    /// How often it was closed again because a check before it was reopened.
    pub closed_again: u32,
}

/// A gate passed by the surgeon's spoken word.
#[derive(Debug, Clone, PartialEq)]
pub struct Override {
    pub seq: u64,
    pub at: Elapsed,
    pub by: Actor,
    pub logged_by: Actor,
    pub reason: String,
}

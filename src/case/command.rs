//! Commands: what somebody wants to have happened.

use super::{Answer, Outcome, PinDecision, RadiationCommand, Stamp};
use crate::carm::ReAim;
use crate::carm::correction::ViewFinding;
use crate::pathway::{CheckId, Place};
use crate::people::{Actor, PersonId, Role};
use crate::pin::Finding;
use crate::units::Side;
use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

/// A command with who acted, who touched, and both clocks.
#[derive(Debug, Clone, PartialEq)]
pub struct Issue {
    pub stamp: Stamp,
    pub by: Actor,
    pub logged_by: Actor,
    pub command: Command,
}

/// What is asked of the case. Every command becomes events or a refusal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum Command {
    EnterStep {
        place: Place,
    },
    Answer {
        place: Place,
        check: CheckId,
        answer: Answer,
    },
    /// An answer to what was done earlier.
    AnswerLate {
        place: Place,
        check: CheckId,
        answer: Answer,
        done_at: DateTime<FixedOffset>,
    },
    NotDone {
        place: Place,
        check: CheckId,
        reason: String,
    },
    Reopen {
        place: Place,
        check: CheckId,
        reason: String,
    },
    RejectView {
        place: Place,
        check: CheckId,
        failed: Vec<u8>,
    },
    RejectPin {
        place: Place,
        check: CheckId,
        failed: Vec<u8>,
    },
    /// A view correction was given at a check that asks for that view.
    CorrectView {
        place: Place,
        check: CheckId,
        finding: Box<ViewFinding>,
    },
    /// The pin was judged from touched views at a check that asks for it.
    FindPin {
        place: Place,
        check: CheckId,
        finding: Box<Finding>,
        decided: PinDecision,
    },
    /// The plan's tilts are re-aimed from the true lateral that a check asks for.
    ReAim {
        place: Place,
        check: CheckId,
        re_aim: Box<ReAim>,
    },
    /// Patient or table was moved, where the team is.
    NoteMove,
    ReleaseGate {
        place: Place,
        role: Role,
    },
    OverrideGate {
        place: Place,
        reason: String,
    },
    /// Counted where the team is.
    CountShots {
        shots: u32,
    },
    LogRun {
        seconds: f64,
    },
    CorrectShots {
        place: Place,
        to: u32,
        reason: String,
    },
    Radiation(RadiationCommand),
    /// In the wrong case: hands its shots on. In the right case: takes them over.
    MoveShots {
        from_case: String,
        to_case: String,
        shots: u32,
    },
    WriteNote {
        text: String,
    },
    NoteDeviation {
        text: String,
    },
    HandOver {
        role: Role,
        to: PersonId,
    },
    SwapCArm {
        to: String,
    },
    AddImplant {
        side: Side,
    },
    Return {
        side_confirmed: bool,
    },
    NoteClockJump {
        by_ms: i64,
    },
    Pause {
        reason: String,
    },
    Resume,
    Stop {
        reason: String,
    },
    WithdrawStop,
    ChooseOutcome {
        outcome: Outcome,
    },
    /// Ends a stopped case whose short list is answered.
    Close,
    /// Ends a case whose gates are all passed.
    Finish,
    Sign {
        role: Role,
        payload: String,
        overrides_confirmed: u32,
        /// The key that signed, where it took the place of the one by which the case knows the signer.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        key: Option<PersonId>,
    },
}

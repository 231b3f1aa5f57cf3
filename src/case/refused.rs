//! Refusals: a command that did not become events, and what stands in its way.

use crate::carm::ViewName;
use crate::pathway::{CheckId, Place, StepId};
use crate::people::Role;
use crate::units::{Side, Unit};
use thiserror::Error;

/// Why a command did nothing. Each names what stands in the way.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Refused {
    #[error("the step \"{0}\" is not part of this case")]
    NoSuchPlace(Place),
    #[error("the check \"{check}\" is not part of {place}")]
    NoSuchCheck { place: Place, check: CheckId },
    #[error("the gate \"{gate}\" at {place} is not released yet")]
    GateClosed { place: Place, gate: String },
    #[error("{place} has no gate")]
    NoGate { place: Place },
    #[error("the gate at {place} is released already")]
    GateOpenAlready { place: Place },
    #[error("the check \"{check}\" at {place} is still open")]
    CheckOpen { place: Place, check: CheckId },
    #[error("the check \"{check}\" at {place} is answered already; reopen it first")]
    AnsweredAlready { place: Place, check: CheckId },
    #[error("the check \"{check}\" at {place} is not answered, so there is nothing to reopen")]
    NotAnswered { place: Place, check: CheckId },
    #[error("the check \"{check}\" wants another kind of answer: {wanted}")]
    WrongKind { check: CheckId, wanted: &'static str },
    #[error("\"{option}\" is not an option of the check \"{check}\"")]
    NoSuchOption { check: CheckId, option: String },
    #[error("{value} {} lies outside the limits {from} to {to} of the check \"{check}\"", unit.symbol())]
    OutsideLimits { check: CheckId, value: f64, unit: Unit, from: f64, to: f64 },
    #[error("the check \"{check}\" counts {wanted} items, not {found}")]
    WrongCount { check: CheckId, wanted: usize, found: usize },
    #[error("the check \"{check}\" is counted by two people, and both are the same")]
    SamePerson { check: CheckId },
    #[error("the check \"{check}\" has {criteria} criteria, and number {named} is not among them")]
    NoSuchCriterion { check: CheckId, criteria: usize, named: u8 },
    #[error("the check \"{check}\" asks for another view: {wanted}")]
    AnotherView { check: CheckId, wanted: ViewName },
    #[error("{place} is not on the {side}, and the finding is")]
    AnotherSide { place: Place, side: Side },
    #[error("void: patient or table has moved since the lateral was touched (placement {measured}, now {now})")]
    MovedSince { measured: u32, now: u32 },
    #[error("the plan did not measure the {line} as the re-aim says, so it shows no turn")]
    NotPlanned { line: &'static str },
    #[error("{what} is not plausible")]
    NotPlausible { what: &'static str },
    #[error("that is for {}", roles(wanted))]
    WrongRole { wanted: Vec<Role> },
    #[error("nobody of that name holds the role {0} in this case")]
    NotInTeam(Role),
    #[error("only the surgeon's word passes a gate")]
    OverrideNotBySurgeon,
    #[error("a reason is needed, of at most {max} characters")]
    ReasonNeeded { max: usize },
    #[error("{what} is outside {from} to {to}")]
    OutOfRange { what: &'static str, from: f64, to: f64 },
    #[error("the count is {is} already")]
    SameNumber { is: u32 },
    #[error("{0} is not an operated side")]
    NotOperated(Side),
    #[error("no more than {max} implants on a side")]
    TooManyImplants { max: u8 },
    #[error("the time lies before the case was opened or after now")]
    TimeOutsideCase,
    #[error("no reading stands under number {seq}")]
    NoSuchReading { seq: u64 },
    #[error("no single shot without a length was counted under number {seq}")]
    NoSuchShot { seq: u64 },
    #[error("no report joined under number {seq}")]
    NoSuchReport { seq: u64 },
    #[error("the console shows nothing of dose, time or exposures")]
    NothingShown,
    #[error("\"{name}\" is no name for a file of a case")]
    NotAFileName { name: String },
    #[error("the case is {now}; that needs it {needed}")]
    WrongStatus { now: &'static str, needed: &'static str },
    #[error("this case is neither the one the shots come from nor the one they go to")]
    NotThisCase,
    #[error("the {0} has signed already")]
    SignedAlready(Role),
    #[error("{confirmed} of {gates} gates passed by spoken word are confirmed")]
    OverridesNotConfirmed { confirmed: u32, gates: u32 },
}

fn roles(roles: &[Role]) -> String {
    roles.iter().map(|role| role.word()).collect::<Vec<_>>().join(" or ")
}

/// Why a sequence of events is not the history of a case.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReplayError {
    #[error("the first event does not open a case")]
    NotOpened,
    #[error("event {seq}: expected number {expected}")]
    OutOfOrder { seq: u64, expected: u64 },
    #[error("event {seq}: a case is opened a second time")]
    OpenedTwice { seq: u64 },
    #[error("event {seq}: the step \"{step}\" is not part of the pathway")]
    UnknownStep { seq: u64, step: StepId },
    #[error("event {seq}: the check \"{check}\" is not part of {place}")]
    UnknownCheck { seq: u64, place: Place, check: CheckId },
    #[error("event 1: a live case rehearses nothing")]
    ExerciseInLive,
    #[error("event 1: {what} differs from the case's own file")]
    WrongDocument { what: &'static str },
}

//! What can be wrong with a pathway.

use super::{CheckId, Mark};
use crate::people::Role;
use crate::strict_json::{ReadError, one_line};
use thiserror::Error;

/// One fault of a pathway document, with its place.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{}", said(.place, .what))]
pub struct Fault {
    /// Where, as a path into the document: `phases[2].steps[1].checks[0].when`.
    pub place: String,
    pub what: Flaw,
}

/// What is wrong at that place.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Flaw {
    #[error(
        "\"{id}\" is no identifier: lower-case words joined by hyphens, beginning with a letter, at most {max} characters"
    )]
    BadId { id: String, max: usize },
    #[error("\"{id}\" stands already at {first}")]
    DuplicateId { id: String, first: String },
    #[error("{found} characters are more than the {max} that fit")]
    TooLong { found: usize, max: usize },
    #[error("is empty or blank")]
    Blank,
    #[error("begins or ends with a space, or holds a control character")]
    Untidy,
    #[error("is too short; at least {min} needed")]
    TooFew { min: usize },
    #[error("{found} entries are more than the {max} allowed")]
    TooMany { found: usize, max: usize },
    #[error("{found} checks in one pause; more than {max} are ticked unread")]
    LongPause { found: usize, max: usize },
    #[error("\"{what}\" stands twice")]
    Twice { what: String },
    #[error("the {0} is not in the team")]
    NotInTeam(Role),
    #[error("no role is named, so nobody can release this gate")]
    NobodyReleases,
    #[error("none of the roles named is in the team, so nobody can answer this check")]
    NobodyAnswers,
    #[error("the condition names the check \"{0}\", which does not exist")]
    UnknownCheck(CheckId),
    #[error("the check \"{check}\" has no option \"{option}\"")]
    UnknownOption { check: CheckId, option: String },
    #[error("the condition names the check \"{0}\", which is not a choice")]
    NotAChoice(CheckId),
    #[error("the condition looks ahead: the check \"{0}\" comes later")]
    LooksAhead(CheckId),
    #[error("the condition runs in a circle: {}", circle.join(" needs "))]
    Cycle { circle: Vec<CheckId> },
    #[error("the check \"{0}\" stands in the list of another outcome, which is never asked together with this one")]
    OtherOutcome(CheckId),
    #[error("can never hold: {0}")]
    NeverHolds(String),
    #[error("a condition without members; leave it out")]
    EmptyCondition,
    #[error("{from} to {to}: \"from\" must lie below \"to\", and both must be finite")]
    BadInterval { from: f64, to: f64 },
    #[error("the limits {limits_from} to {limits_to} exclude a part of the expected {from} to {to}")]
    LimitsExclude { from: f64, to: f64, limits_from: f64, limits_to: f64 },
    #[error("{minutes} minutes: between 1 and {max}")]
    Minutes { minutes: u32, max: u32 },
    #[error("no bound without a condition at the end, so the timer may run without any")]
    NoLastBound,
    #[error("stands behind a bound without a condition and is never in force")]
    DeadBound,
    #[error("the timer runs until the {} and stands behind it", mark_word(*.0))]
    TimerBehindMark(Mark),
    #[error("\"{0}\" is no count of this pathway")]
    UnknownCount(CheckId),
    #[error("the count \"{0}\" does not come earlier")]
    CountNotEarlier(CheckId),
    #[error("the count \"{0}\" has other items")]
    OtherItems(CheckId),
    #[error("the count \"{0}\" is made more often than this one, so it is not clear which is meant")]
    ManyCounts(CheckId),
    #[error("the first step opens the case: once a case, and without a condition")]
    FirstStep,
    #[error("no check marks the {}", mark_word(*.0))]
    NoMark(Mark),
    #[error("the {} is marked already at {first}", mark_word(*mark))]
    MarkedTwice { mark: Mark, first: String },
    #[error("the {} is marked only under a condition, so its time may never be known", mark_word(*.0))]
    MarkUnderCondition(Mark),
    #[error("the incision is marked before any gate was passed")]
    IncisionBeforeGate,
    #[error("the closure is marked before the incision")]
    ClosureBeforeIncision,
    #[error("the incision cannot be marked once a case was stopped")]
    IncisionInStopList,
}

/// Identifiers come from the document and may hold anything.
fn said(place: &str, what: &Flaw) -> String {
    one_line(&format!("{place}: {what}")).into_owned()
}

fn mark_word(mark: Mark) -> &'static str {
    match mark {
        Mark::Incision => "incision",
        Mark::Closure => "closure",
    }
}

/// Why bytes are not a usable pathway.
#[derive(Debug, Error)]
pub enum PathwayError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    /// At least one fault.
    #[error("{}", faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Faulty { faults: Vec<Fault> },
}

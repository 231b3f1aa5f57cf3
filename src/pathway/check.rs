//! A check: one thing somebody says yes to, chooses, measures, counts or looks at.

use super::{CheckId, Condition};
use crate::carm::ViewName;
use crate::dose::Moment;
use crate::people::Role;
use crate::units::Unit;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One line of a step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Check {
    pub id: CheckId,
    /// What is confirmed, in the words the team reads aloud; one line of at most 90 characters.
    pub text: String,
    /// A second, smaller line: how to judge it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// How it is answered; a plain confirmation where nothing is said.
    #[serde(default, skip_serializing_if = "CheckKind::is_confirm")]
    pub ask: CheckKind,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub when: Option<Condition>,
    /// Roles that may answer; empty: anybody of the team.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub by: Vec<Role>,
    /// Critical: a held touch of 0.6 s instead of a tap.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub held: bool,
    /// Answering it marks a moment of the operation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marks: Option<Mark>,
    /// The measure is the console's running total at this moment: it may be answered in whichever unit the console
    /// shows, and counts as a reading of the dose account.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reads: Option<Moment>,
    /// A caution shown with the check while its condition holds.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<Caution>,
}

/// Words of warning, shown while the condition holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    pub text: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub when: Option<Condition>,
}

/// Moments that other times are counted from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    Incision,
    Closure,
}

/// How a check is answered.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum CheckKind {
    /// Yes, said aloud.
    #[default]
    Confirm,
    /// One of two to six options.
    Choice { options: Vec<ChoiceOption> },
    /// A number with a unit. Outside `expected` it is asked once more and marked; outside `limits` refused.
    Measure { unit: Unit, expected: Interval, limits: Interval },
    /// Things counted by two people, each item a number; `same_as` names the earlier count it must equal.
    Count {
        items: Vec<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        same_as: Option<CheckId>,
    },
    /// A fluoroscopic view, accepted or rejected against criteria.
    View { view: ViewName, criteria: Vec<String> },
    /// The guide pin judged on the named views.
    Pin { views: Vec<ViewName>, criteria: Vec<String> },
    /// A time that runs; the first bound whose condition holds is in force.
    Timer { bounds: Vec<TimerBound> },
    /// A label read or typed: size, lot, expiry.
    Scan { what: String },
    /// Free words.
    Note,
}

impl CheckKind {
    /// The word for the kind of answer it wants.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Confirm => "a confirmation",
            Self::Choice { .. } => "one of its options",
            Self::Measure { .. } => "a number with its unit",
            Self::Count { .. } => "numbers counted by two people",
            Self::View { .. } => "a view accepted or rejected",
            Self::Pin { .. } => "a pin position accepted or rejected",
            Self::Timer { .. } => "the start of a time",
            Self::Scan { .. } => "the text of a label",
            Self::Note => "words",
        }
    }

    fn is_confirm(&self) -> bool {
        matches!(self, Self::Confirm)
    }
}

/// One answer of a choice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChoiceOption {
    pub id: String,
    pub text: String,
    /// Choosing it asks for attention and is marked in the record.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub heed: bool,
}

/// A closed interval in the unit of its measure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Interval {
    pub from: f64,
    pub to: f64,
}

impl Interval {
    #[must_use]
    pub fn contains(&self, value: f64) -> bool {
        self.from <= value && value <= self.to
    }
}

/// How long a timer may run before its mark is reached.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TimerBound {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub when: Option<Condition>,
    /// Minutes from the start, above 0.
    pub minutes: u32,
    /// The moment that must come within those minutes.
    pub until: Mark,
}

//! The pathway document: phases, steps, gates, and the short lists of the four ways to stop.

use super::{Check, Condition, PhaseId, Procedure, Scope, StepId};
use crate::dose::Moment;
use crate::people::Role;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The format this program writes and the newest it reads.
pub const FORMAT: u32 = 1;

/// A whole pathway. A case keeps its own copy; its digest stands in journal and record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pathway {
    /// Format version, 1.
    pub brimline_pathway: u32,
    pub id: String,
    /// The author's own version of the content, for instance "1.0".
    pub version: String,
    pub title: String,
    pub procedure: Procedure,
    /// Where the content comes from and who answers for it.
    pub about: String,
    /// Roles that must be held by somebody before a case opens.
    pub team: Vec<Role>,
    /// Roles whose signature makes the record complete, in the order they sign.
    pub signers: Vec<Role>,
    pub phases: Vec<Phase>,
    pub stops: StopLists,
}

/// A part of the operation, an entry of the phase rail.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Phase {
    pub id: PhaseId,
    /// At most 16 characters, to be read at 1.5 m.
    pub title: String,
    pub steps: Vec<Step>,
}

/// What is done together and shown on one screen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Step {
    pub id: StepId,
    /// At most 40 characters.
    pub title: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hint: Option<String>,
    #[serde(default)]
    pub per: Scope,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub when: Option<Condition>,
    pub checks: Vec<Check>,
    /// Ends the step with a pause that the named roles release.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gate: Option<Gate>,
    /// Once the step is done at all its places the console is read; nothing waits for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<Moment>,
    /// Leaves a mark in the record when the step is left; stops nothing.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub logged_point: bool,
}

/// A pause: nothing after it, within its side and implant, is answered until each named role released it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gate {
    /// What is released, for instance "Incision".
    pub title: String,
    pub release: Vec<Role>,
}

/// The short lists, one for each way a case can stop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StopLists {
    pub cancelled: OutcomeList,
    pub abandoned: OutcomeList,
    pub converted: OutcomeList,
    pub void: OutcomeList,
}

/// What is still asked when a case ends this way. Its `step` id names the place its answers stand at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutcomeList {
    pub step: StepId,
    pub title: String,
    pub checks: Vec<Check>,
}

impl StopLists {
    /// The four lists with the names of their members, in document order.
    #[must_use]
    pub fn named(&self) -> [(&'static str, &OutcomeList); 4] {
        [
            ("cancelled", &self.cancelled),
            ("abandoned", &self.abandoned),
            ("converted", &self.converted),
            ("void", &self.void),
        ]
    }
}

impl Pathway {
    /// Steps of all phases in order, each with its phase.
    pub fn steps(&self) -> impl Iterator<Item = (&Phase, &Step)> {
        self.phases.iter().flat_map(|phase| phase.steps.iter().map(move |step| (phase, step)))
    }

    /// The step of that id, with its position in the whole pathway.
    #[must_use]
    pub fn step(&self, id: &str) -> Option<(usize, &Step)> {
        self.steps().map(|(_, step)| step).enumerate().find(|(_, step)| step.id == id)
    }
}

//! The pathway: what must be done, as data. Phases hold steps, steps hold checks.
//!
//! What it does not do: it knows nothing of a running case (that is `case`), of files, or of a language
//! beyond the words written in the document. What may never change: the meaning of format 1; a newer
//! document is refused, an older one stays readable.

mod built_in;
mod check;
mod condition;
mod document;
mod fault;
mod read;
mod schema;
mod scope;
mod validate;

pub use built_in::{built_in, built_in_ids};
pub use check::{Caution, Check, CheckKind, ChoiceOption, Interval, Mark, TimerBound};
pub use condition::{AntibioticCover, Condition, Facts, Procedure};
pub use document::{FORMAT, Gate, OutcomeList, Pathway, Phase, Step, StopLists};
pub use fault::{Fault, Flaw, PathwayError};
pub use read::{MAX_BYTES, read};
pub use schema::{SCHEMA, generated_schema};
pub use scope::{ImplantNumber, Place, Scope};
pub use validate::{PAUSE_MAX, faults};

/// Identifiers are short kebab-case words, unique within their document: `start-point-lateral`.
pub type PhaseId = String;
/// See [`PhaseId`].
pub type StepId = String;
/// See [`PhaseId`]; unique across the whole pathway, so that a condition can name a check alone.
pub type CheckId = String;

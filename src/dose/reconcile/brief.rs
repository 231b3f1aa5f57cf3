//! A reconciliation as journal and record keep it: sums per step and view, and how the clocks were laid on each other.
//!
//! The attribution of each single event is not repeated here: it follows from the journal and the report, whose digest
//! stands beside it. What may never change: the meaning of the members.

use super::{ClockFit, Method, Reconciliation, Row};
use crate::dose::Figures;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a reconciliation says in all.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Brief {
    pub method: Method,
    /// Two explanations fit equally well; the best is kept.
    pub ambiguous: bool,
    /// The machine's clock by the best explanation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock: Option<ClockFit>,
    /// Sums per step and view, in the order of the case.
    pub rows: Vec<Row>,
    /// Shots counted by the team and not found on the machine.
    pub counted_not_reported: u32,
    /// Events within the case that nobody counted.
    pub reported_not_counted: u32,
    /// Events before the case was opened or after its end.
    pub outside: u32,
    /// Events without a time.
    pub untimed: u32,
}

impl Brief {
    /// The short form of a reconciliation.
    #[must_use]
    pub fn of(whole: &Reconciliation) -> Self {
        let count = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        Self {
            method: whole.method,
            ambiguous: whole.ambiguous,
            clock: whole.explanations.first().map(|best| best.clock.clone()),
            rows: whole.rows.clone(),
            counted_not_reported: whole.counted_not_reported.iter().map(|left| left.shots).sum(),
            reported_not_counted: count(whole.reported_not_counted.len()),
            outside: count(whole.outside.len()),
            untimed: count(whole.untimed.len()),
        }
    }

    /// Sums over the rows: what the machine gave within the case.
    #[must_use]
    pub fn figures(&self) -> Figures {
        fn sum<T: std::iter::Sum<T>>(values: impl Iterator<Item = Option<T>>) -> Option<T> {
            let mut known = values.flatten().peekable();
            known.peek().is_some().then_some(())?;
            Some(known.sum())
        }
        Figures {
            kerma_area_product: sum(self.rows.iter().map(|row| row.kerma_area_product)),
            reference_air_kerma: sum(self.rows.iter().map(|row| row.reference_air_kerma)),
            fluoroscopy_time: sum(self.rows.iter().map(|row| row.duration)),
            shots: Some(self.rows.iter().map(|row| row.events).sum()),
        }
    }
}

//! Judging a pathway.

use super::{Fault, Pathway};

/// Every fault of the pathway, in document order; empty if it can be used.
#[must_use]
pub fn faults(_pathway: &Pathway) -> Vec<Fault> {
    Vec::new()
}

//! The words that indexes keep for kinds and outcomes, those of the record's own format.

use crate::case::{CaseKind, Outcome};

pub(super) fn kind_word(kind: CaseKind) -> &'static str {
    match kind {
        CaseKind::Live => "live",
        CaseKind::Rehearsal => "rehearsal",
    }
}

pub(super) fn outcome_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Finished => "finished",
        Outcome::Cancelled => "cancelled",
        Outcome::Abandoned => "abandoned",
        Outcome::Converted => "converted",
        Outcome::Void => "void",
    }
}

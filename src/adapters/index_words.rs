//! The words that indexes keep for kinds, those of the record's own format.

use crate::case::CaseKind;

pub(super) fn kind_word(kind: CaseKind) -> &'static str {
    match kind {
        CaseKind::Live => "live",
        CaseKind::Rehearsal => "rehearsal",
    }
}

//! One case as Review keeps it: what a verified record says, flattened.

use crate::case::{CaseKind, Outcome};
use crate::plan::SacrumShape;
use crate::units::Side;

/// A year and a month, as the clock on the wall had them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Month {
    pub year: i32,
    /// 1 to 12.
    pub month: u8,
}

/// Dose of one case, each where it is known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Dose {
    /// Kerma-area product, Gy·cm².
    pub kerma_area_product_gy_cm2: Option<f64>,
    /// Air kerma at the reference point, mGy.
    pub reference_air_kerma_mgy: Option<f64>,
    /// Fluoroscopy time, s.
    pub fluoroscopy_s: Option<f64>,
}

/// One case. There is no other way to one than over a verified record, or over the bytes an index derived from one.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Lower-case hex SHA-256 of the record's payload.
    pub(super) digest: String,
    pub(super) kind: CaseKind,
    pub(super) outcome: Outcome,
    pub(super) pathway: String,
    pub(super) label: Option<String>,
    pub(super) site: Option<String>,
    pub(super) machine: Option<String>,
    pub(super) age: Option<u8>,
    pub(super) weight_kg: Option<f64>,
    /// Operated sides; both, for a case on both.
    pub(super) left: bool,
    pub(super) right: bool,
    /// Dysmorphic if any side is, not judged if any side is not and none is dysmorphic.
    pub(super) sacrum: SacrumShape,
    pub(super) implants: u8,
    /// Thumbprint of the surgeon at the end.
    pub(super) surgeon: Option<String>,
    /// Thumbprints of everybody who held a role at the end, sorted, joined by a space.
    pub(super) team: String,
    /// Milliseconds since 1970, where disclosed.
    pub(super) opened_ms: Option<i64>,
    pub(super) month: Option<Month>,
    pub(super) shots: u32,
    /// From the incision to the closure.
    pub(super) operation_ms: Option<u64>,
    pub(super) dose: Dose,
    /// Nerve findings of a recovery examination other than full power and unchanged sensation.
    pub(super) nerve_findings: u8,
    pub(super) addenda: u8,
    pub(super) places: Vec<PlaceRow>,
    pub(super) checks: Vec<CheckRow>,
    /// What a reconciled dose report says of places and views; empty where none does.
    pub(super) costs: Vec<CostRow>,
}

/// What one place cost while one view was looked for or worked in.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CostRow {
    /// Position of its place in [`Row::places`].
    pub(super) place: u16,
    /// The view's name; nothing where there was none.
    pub(super) view: Option<String>,
    /// Irradiation events.
    pub(super) events: u32,
    pub(super) kerma_area_product_gy_cm2: Option<f64>,
    pub(super) air_kerma_mgy: Option<f64>,
}

/// One place of a case.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PlaceRow {
    pub(super) step: String,
    pub(super) title: String,
    pub(super) side: Option<Side>,
    pub(super) implant: Option<u8>,
    pub(super) shots: u32,
    pub(super) stay_ms: u64,
    /// Gates of this place passed by spoken word.
    pub(super) overridden: u8,
}

/// How a check ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Marks(pub(super) u8);

impl Marks {
    pub(super) const ANSWERED: u8 = 1;
    pub(super) const NOT_DONE: u8 = 2;
    pub(super) const LATE: u8 = 4;
    pub(super) const BURST: u8 = 8;
    pub(super) const VIEW: u8 = 16;

    pub(super) fn has(self, mark: u8) -> bool {
        self.0 & mark != 0
    }
}

/// One check at one place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CheckRow {
    /// Position of its place in [`Row::places`].
    pub(super) place: u16,
    pub(super) id: String,
    /// The pathway's words, for views alone.
    pub(super) text: String,
    pub(super) marks: Marks,
    pub(super) rejected: u8,
    /// Shots between the answer before it at its place and its own.
    pub(super) shots: u32,
}

impl Row {
    /// Lower-case hex SHA-256 of the record's payload.
    #[must_use]
    pub fn digest(&self) -> &str {
        &self.digest
    }

    #[must_use]
    pub fn kind(&self) -> CaseKind {
        self.kind
    }

    #[must_use]
    pub fn outcome(&self) -> Outcome {
        self.outcome
    }

    /// Identifier of the pathway followed.
    #[must_use]
    pub fn pathway(&self) -> &str {
        &self.pathway
    }

    /// When the case was opened, milliseconds since 1970, where the record discloses it.
    #[must_use]
    pub fn opened_ms(&self) -> Option<i64> {
        self.opened_ms
    }

    /// Shots of the whole case, corrections applied.
    #[must_use]
    pub fn shots(&self) -> u32 {
        self.shots
    }
}

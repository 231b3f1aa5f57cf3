//! What a reader of a dose report finds missing, contradictory or implausible. Nothing is dropped for it.

use super::Plane;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A figure of a report, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Figure {
    /// Gy·cm².
    KermaAreaProduct,
    /// mGy.
    ReferenceAirKerma,
    /// Gy·cm².
    FluoroscopyKermaAreaProduct,
    /// mGy.
    FluoroscopyAirKerma,
    /// Seconds.
    FluoroscopyTime,
    /// Gy·cm².
    AcquisitionKermaAreaProduct,
    /// mGy.
    AcquisitionAirKerma,
    /// Seconds.
    AcquisitionTime,
    /// Number.
    Frames,
    /// Number.
    Events,
}

impl Figure {
    /// Name and unit, as a reader writes them.
    #[must_use]
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::KermaAreaProduct => ("kerma-area product", "Gy·cm²"),
            Self::ReferenceAirKerma => ("reference air kerma", "mGy"),
            Self::FluoroscopyKermaAreaProduct => ("kerma-area product of fluoroscopy", "Gy·cm²"),
            Self::FluoroscopyAirKerma => ("reference air kerma of fluoroscopy", "mGy"),
            Self::FluoroscopyTime => ("fluoroscopy time", "s"),
            Self::AcquisitionKermaAreaProduct => ("kerma-area product of acquisitions", "Gy·cm²"),
            Self::AcquisitionAirKerma => ("reference air kerma of acquisitions", "mGy"),
            Self::AcquisitionTime => ("acquisition time", "s"),
            Self::Frames => ("radiographic frames", ""),
            Self::Events => ("irradiation events", ""),
        }
    }
}

/// One finding about a report. `event` is the position in the report's list, from 0.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "fault", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum ReportFault {
    /// A stated total and the sum over the events differ by more than rounding.
    TotalsDisagree { plane: Option<Plane>, figure: Figure, total: f64, sum: f64 },
    /// A stated total and the sum of its stated parts, fluoroscopy and acquisitions, differ by more than rounding.
    PartsDisagree { plane: Option<Plane>, figure: Figure, total: f64, parts: f64 },
    /// No container of accumulated totals.
    NoTotals,
    /// Neither totals nor events.
    Nothing,
    /// Something the standard demands is missing; `attribute` by its name in the standard, `place` where it would be.
    Missing { place: String, attribute: String },
    /// The event has no UID, so duplicates cannot be told.
    EventWithoutUid { event: usize },
    /// The same UID as an earlier event.
    EventTwice { event: usize, earlier: usize },
    /// The event has no start time, so it belongs to no step.
    EventWithoutTime { event: usize },
    /// Starts before the event before it.
    EventOutOfOrder { event: usize },
    /// A number without a unit, or in one that is not a unit of this quantity; it is not taken over.
    UnknownUnit { place: String, attribute: String, value: f64, unit: String },
    /// A number that cannot be: negative, not finite, or beyond what its attribute may hold; it is not taken over.
    ImpossibleValue { place: String, attribute: String, value: f64 },
    /// A number or a time that cannot be read as one; it is not taken over.
    Unreadable { place: String, attribute: String, text: String },
    /// A figure that is kept and asks for a look.
    Implausible { place: String, attribute: String, value: f64, unit: String, why: String },
    /// The same attribute twice at one place with different values; the first is kept.
    StatedTwice { place: String, attribute: String, kept: String, other: String },
    /// Content of a private group or of an unknown code that was passed over.
    PassedOver { place: String, what: String },
    /// The object ends early; what stands before is kept.
    Truncated { place: String },
}

impl fmt::Display for ReportFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TotalsDisagree { plane, figure, total, sum } => {
                let (name, unit) = figure.words();
                let space = if unit.is_empty() { "" } else { " " };
                write!(f, "{name}: the total says {total}{space}{unit}, the events sum to {sum}{space}{unit}")?;
                f.write_str(in_plane(*plane))
            }
            Self::PartsDisagree { plane, figure, total, parts } => {
                let (name, unit) = figure.words();
                let space = if unit.is_empty() { "" } else { " " };
                write!(f, "{name}: the total says {total}{space}{unit}, its parts sum to {parts}{space}{unit}")?;
                f.write_str(in_plane(*plane))
            }
            Self::NoTotals => f.write_str("no accumulated totals"),
            Self::Nothing => f.write_str("neither totals nor events"),
            Self::Missing { place, attribute } => write!(f, "{place}: {attribute} is missing"),
            Self::EventWithoutUid { event } => write!(f, "event {}: no UID", event + 1),
            Self::EventTwice { event, earlier } => {
                write!(f, "event {}: the same UID as event {}", event + 1, earlier + 1)
            }
            Self::EventWithoutTime { event } => write!(f, "event {}: no start time", event + 1),
            Self::EventOutOfOrder { event } => write!(f, "event {}: starts before the event before it", event + 1),
            Self::UnknownUnit { place, attribute, value, unit } => {
                write!(f, "{place}: {attribute} {value} in \"{unit}\", which is no unit of it; not taken over")
            }
            Self::ImpossibleValue { place, attribute, value } => {
                write!(f, "{place}: {attribute} {value} cannot be; not taken over")
            }
            Self::Unreadable { place, attribute, text } => {
                write!(f, "{place}: {attribute} \"{text}\" cannot be read; not taken over")
            }
            Self::Implausible { place, attribute, value, unit, why } => {
                write!(f, "{place}: {attribute} {value} {unit} is implausible ({why}); kept")
            }
            Self::StatedTwice { place, attribute, kept, other } => {
                write!(f, "{place}: {attribute} stands twice, {kept} kept, {other} not")
            }
            Self::PassedOver { place, what } => write!(f, "{place}: {what} passed over"),
            Self::Truncated { place } => write!(f, "{place}: the object ends early"),
        }
    }
}

fn in_plane(plane: Option<Plane>) -> &'static str {
    match plane {
        Some(Plane::A) => " (plane A)",
        Some(Plane::B) => " (plane B)",
        _ => "",
    }
}

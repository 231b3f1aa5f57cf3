//! Reading a dose report from its JSON form: bounded, strict, one clear error.

use super::{DoseReport, FORMAT, IrradiationEvent, PlaneTotals};
use crate::strict_json::{self, ReadError};
use thiserror::Error;

/// The largest report accepted, bytes.
pub const MAX_BYTES: u64 = 32 << 20;
/// Most events accepted.
pub const EVENTS_MAX: usize = 20_000;

/// No amount in any unit of this program comes near; it keeps sums finite.
const AMOUNT_MAX: f64 = 1e9;

/// Why bytes are not a dose report.
#[derive(Debug, Error, PartialEq)]
pub enum ReportError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    #[error("events: {found} are more than the {max} accepted")]
    TooManyEvents { found: usize, max: usize },
    #[error("{place}: {value} cannot be; it lies between 0 and 1e9")]
    Impossible { place: String, value: f64 },
    #[error("{place}.offset_min: {minutes} is no offset of a zone")]
    Offset { place: String, minutes: i16 },
}

/// Reads a report in its JSON form.
///
/// # Errors
/// [`ReportError`] names the place in the document.
pub fn read_report(bytes: &[u8]) -> Result<DoseReport, ReportError> {
    let report: DoseReport = strict_json::read(bytes, "brimline_dose_report", FORMAT, MAX_BYTES)?;
    judge(&report)?;
    Ok(report)
}

fn judge(report: &DoseReport) -> Result<(), ReportError> {
    if report.events.len() > EVENTS_MAX {
        return Err(ReportError::TooManyEvents { found: report.events.len(), max: EVENTS_MAX });
    }
    for (index, plane) in report.planes.iter().enumerate() {
        not_negative(&format!("planes[{index}]"), &amounts_of_plane(plane))?;
    }
    for (index, event) in report.events.iter().enumerate() {
        not_negative(&format!("events[{index}]"), &amounts_of_event(event))?;
        let offset = event.started.and_then(|started| started.offset_min);
        // Zones lie between 12 hours west and 14 hours east; DICOM allows no others (PS3.5, 6.2).
        if let Some(minutes) = offset.filter(|minutes| !(-12 * 60..=14 * 60).contains(minutes)) {
            return Err(ReportError::Offset { place: format!("events[{index}].started"), minutes });
        }
    }
    Ok(())
}

fn amounts_of_plane(plane: &PlaneTotals) -> [(&'static str, Option<f64>); 8] {
    [
        ("kerma_area_product", plane.kerma_area_product.map(|value| value.0)),
        ("reference_air_kerma", plane.reference_air_kerma.map(|value| value.0)),
        ("fluoroscopy_kerma_area_product", plane.fluoroscopy_kerma_area_product.map(|value| value.0)),
        ("fluoroscopy_air_kerma", plane.fluoroscopy_air_kerma.map(|value| value.0)),
        ("fluoroscopy_time", plane.fluoroscopy_time.map(|value| value.0)),
        ("acquisition_kerma_area_product", plane.acquisition_kerma_area_product.map(|value| value.0)),
        ("acquisition_air_kerma", plane.acquisition_air_kerma.map(|value| value.0)),
        ("acquisition_time", plane.acquisition_time.map(|value| value.0)),
    ]
}

fn amounts_of_event(event: &IrradiationEvent) -> [(&'static str, Option<f64>); 8] {
    [
        ("kerma_area_product", event.kerma_area_product.map(|value| value.0)),
        ("reference_air_kerma", event.reference_air_kerma.map(|value| value.0)),
        ("duration", event.duration.map(|value| value.0)),
        ("pulse_rate", event.pulse_rate),
        ("pulse_width_ms", event.pulse_width_ms),
        ("exposure_time_ms", event.exposure_time_ms),
        ("tube_voltage", event.tube_voltage.map(|value| value.0)),
        ("tube_current", event.tube_current.map(|value| value.0)),
    ]
}

fn not_negative(place: &str, amounts: &[(&'static str, Option<f64>)]) -> Result<(), ReportError> {
    let bad = amounts.iter().find_map(|(name, value)| {
        value.filter(|value| !(0.0..=AMOUNT_MAX).contains(value)).map(|value| (*name, value))
    });
    bad.map_or(Ok(()), |(name, value)| Err(ReportError::Impossible { place: format!("{place}.{name}"), value }))
}

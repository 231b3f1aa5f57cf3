//! Dose of a case: a late dose report where there is one, else what the machine's counter gained between the first
//! and the last reading that the team entered.
//!
//! One reading alone says nothing of the case, since no counter is known to start at 0: the dose is then unknown.

use super::row::Dose;
use crate::record::{AddendumKind, Record, RecordedAnswer, VerifiedAddendum};
use crate::units::Unit;

/// Dose of a record, by its latest dose report, else by its readings.
pub(super) fn of(record: &Record, addenda: &[VerifiedAddendum]) -> Dose {
    let mut dose = readings(record);
    let mut reports: Vec<_> = addenda.iter().map(VerifiedAddendum::document).collect();
    reports.sort_by_key(|report| report.after_ms);
    for report in reports {
        let AddendumKind::LateDoseReport { kerma_area_product_gy_cm2, reference_air_kerma_mgy, fluoroscopy_s, .. } =
            &report.about
        else {
            continue;
        };
        dose = Dose {
            kerma_area_product_gy_cm2: kerma_area_product_gy_cm2.or(dose.kerma_area_product_gy_cm2),
            reference_air_kerma_mgy: reference_air_kerma_mgy.or(dose.reference_air_kerma_mgy),
            fluoroscopy_s: fluoroscopy_s.or(dose.fluoroscopy_s),
        };
    }
    dose
}

/// What the counters of the one machine gained. Where another machine took its place the two counters have nothing in
/// common, and the dose is unknown.
fn readings(record: &Record) -> Dose {
    if record.c_arm.swaps > 0 {
        return Dose::default();
    }
    Dose {
        kerma_area_product_gy_cm2: gained(record, Unit::in_gray_square_centimetres),
        reference_air_kerma_mgy: gained(record, |unit, value| (unit == Unit::Milligray).then_some(value)),
        fluoroscopy_s: None,
    }
}

/// From the first reading of a quantity to its last; nothing for one reading, or a counter that fell.
fn gained(record: &Record, of: fn(Unit, f64) -> Option<f64>) -> Option<f64> {
    let mut readings = Vec::new();
    for check in record.places.iter().flat_map(|place| &place.checks) {
        let Some(done) = &check.done else { continue };
        if let RecordedAnswer::Measured { value, unit, .. } = &done.answer
            && let Some(value) = of(*unit, *value)
        {
            readings.push((done.seq, value));
        }
    }
    readings.sort_by_key(|(seq, _)| *seq);
    match readings.as_slice() {
        [(_, first), .., (_, last)] if last >= first => Some(last - first),
        _ => None,
    }
}

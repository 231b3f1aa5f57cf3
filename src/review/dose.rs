//! Dose of a case: a late dose report where there is one, else what the record says the case cost, by the machine's
//! report or by what its counter gained between the readings that the team entered.
//!
//! One reading alone says nothing of the case, since no counter is known to start at 0: the dose is then unknown.

use super::row::Dose;
use crate::record::{AddendumKind, Record, RecordedAnswer, VerifiedAddendum};
use crate::units::Unit;

/// Dose of a record, by its latest dose report, else by its readings.
pub(super) fn of(record: &Record, addenda: &[VerifiedAddendum]) -> Dose {
    let mut dose = of_record(record).unwrap_or_else(|| readings(record));
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

/// What the record says the case cost; a least value says nothing that could be compared.
fn of_record(record: &Record) -> Option<Dose> {
    let total = record.radiation.total.as_ref().filter(|total| !total.at_least)?;
    Some(Dose {
        kerma_area_product_gy_cm2: total.figures.kerma_area_product.map(|area| area.0),
        reference_air_kerma_mgy: total.figures.reference_air_kerma.map(|kerma| kerma.0),
        fluoroscopy_s: total.figures.fluoroscopy_time.map(|time| time.0),
    })
}

/// Records without an account of the radiation have their readings among the answers alone: what the counters of the one
/// machine gained. Where another machine took its place the two counters have nothing in common, and the dose is unknown.
fn readings(record: &Record) -> Dose {
    if record.c_arm.swaps > 0 || !record.radiation.is_empty() {
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

//! Dose of a case: a late dose report where there is one, else what the machine's counter gained between the first
//! and the last reading that the team entered.
//!
//! One reading alone says nothing of the case, since no counter is known to start at 0: the dose is then unknown.

use super::row::Dose;
use crate::record::{AddendumKind, Record, RecordedAnswer, VerifiedAddendum};

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

fn readings(record: &Record) -> Dose {
    let mut products = Vec::new();
    for check in record.places.iter().flat_map(|place| &place.checks) {
        let Some(done) = &check.done else { continue };
        if let RecordedAnswer::Measured { value, unit, .. } = &done.answer
            && let Some(product) = unit.in_gray_square_centimetres(*value)
        {
            products.push((done.seq, product));
        }
    }
    products.sort_by_key(|(seq, _)| *seq);
    let gained = match products.as_slice() {
        [(_, first), .., (_, last)] if last >= first => Some(last - first),
        _ => None,
    };
    Dose { kerma_area_product_gy_cm2: gained, ..Dose::default() }
}

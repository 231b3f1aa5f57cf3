//! Is a figure plausible? What is not is kept, flagged, and asked about once; it is never dropped or changed.
//!
//! Real machines leave the usual range: a high-level rate over a large field reaches about 78 Gy·cm² a minute, a
//! counter may leave acquisitions out or print 0.0 min. So nothing here refuses anything.

use super::Figures;
use crate::units::{GrayCm2, KermaAreaUnit, Milligray, Seconds};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::ops::RangeInclusive;

/// Usual kerma-area product per minute of fluoroscopy, Gy·cm²/min.
///
/// Source: span of published series of orthopaedic fluoroscopy (Crawley 2000, London reference levels 2015, French
/// operating rooms), rounded outward.
pub const USUAL_RATE: RangeInclusive<f64> = 0.5..=15.0;
/// Beyond this no fluoroscopy of a pelvis gets, short of a high-level rate over a large field, Gy·cm²/min.
///
/// Source: 176 mGy/min, the most that 21 CFR 1020.32 allows (from memory), over a field of 20 cm across gives 55.
pub const HARDLY_EVER_RATE: f64 = 60.0;
/// Kerma-area product over air kerma is the field at the reference point, cm². Common practice, no source.
pub const USUAL_FIELD: RangeInclusive<f64> = 5.0..=1_000.0;
/// Below this a displayed time is mostly rounding: consoles show tenths of a minute.
const TIME_MIN: Seconds = Seconds(6.0);

/// Why figures ask for a second look.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "implausible", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum Implausible {
    /// Gy·cm² per minute outside [`USUAL_RATE`].
    Rate { gray_cm2_per_min: f64, hardly_ever: bool },
    /// Kerma-area product, but no time to speak of.
    NoTime { kerma_area_product: GrayCm2 },
    /// Kerma-area product over air kerma outside [`USUAL_FIELD`]: one of the two is in another unit.
    Field { area_cm2: f64 },
    /// Below zero or not a number.
    Impossible,
}

/// Judges figures; in the order of what matters most.
#[must_use]
pub fn implausible(figures: &Figures) -> Vec<Implausible> {
    let amounts = [
        figures.kerma_area_product.map(|value| value.0),
        figures.reference_air_kerma.map(|value| value.0),
        figures.fluoroscopy_time.map(|value| value.0),
    ];
    if amounts.into_iter().flatten().any(|value| !value.is_finite() || value < 0.0) {
        return vec![Implausible::Impossible];
    }
    let rate = figures.kerma_area_product.zip(figures.fluoroscopy_time).and_then(|(area, time)| of_rate(area, time));
    let field =
        figures.kerma_area_product.zip(figures.reference_air_kerma).and_then(|(area, kerma)| of_field(area, kerma));
    rate.into_iter().chain(field).collect()
}

fn of_rate(area: GrayCm2, time: Seconds) -> Option<Implausible> {
    if area.0 == 0.0 {
        return None;
    }
    if time < TIME_MIN {
        let most = USUAL_RATE.end() * TIME_MIN.minutes();
        return (area.0 > most).then_some(Implausible::NoTime { kerma_area_product: area });
    }
    let gray_cm2_per_min = area.0 / time.minutes();
    let hardly_ever = gray_cm2_per_min > HARDLY_EVER_RATE;
    (!USUAL_RATE.contains(&gray_cm2_per_min)).then_some(Implausible::Rate { gray_cm2_per_min, hardly_ever })
}

fn of_field(area: GrayCm2, kerma: Milligray) -> Option<Implausible> {
    // mGy to Gy: the quotient is an area in cm².
    let area_cm2 = area.0 / kerma.in_unit(crate::units::AirKermaUnit::Gray);
    (area.0 > 0.0 && kerma.0 > 0.0 && !USUAL_FIELD.contains(&area_cm2)).then_some(Implausible::Field { area_cm2 })
}

/// Units in which the same number would be plausible and not below an earlier reading.
///
/// `time`: of fluoroscopy since the earlier reading, if known.
#[must_use]
pub fn units_that_fit(value: f64, earlier: GrayCm2, time: Option<Seconds>) -> Vec<KermaAreaUnit> {
    let fits = |unit: &KermaAreaUnit| {
        let more = GrayCm2::of(value, *unit) - earlier;
        let rate = time.filter(|time| *time >= TIME_MIN).map(|time| more.0 / time.minutes());
        more.0 >= 0.0 && rate.is_none_or(|rate| USUAL_RATE.contains(&rate))
    };
    KermaAreaUnit::ALL.into_iter().filter(fits).collect()
}

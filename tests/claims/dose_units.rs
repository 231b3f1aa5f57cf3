//! Claims about quantities of radiation and their units.

use brimline::units::{AirKermaUnit, GrayCm2, KermaAreaUnit, Milligray, Seconds};
use proptest::prelude::*;

/// Rounding of one multiplication or division.
const ONE_ROUNDING: f64 = 1e-15;

/// [R-DOSE-1]
///
/// Source: SI prefixes; 1 m² = 10⁴ cm². UCUM codes as PS3.16 and FHIR examples use them.
#[test]
fn one_gray_square_centimetre_in_every_unit() {
    let expected = [
        (KermaAreaUnit::GraySquareMetre, "Gy.m2", 1e-4),
        (KermaAreaUnit::GraySquareCentimetre, "Gy.cm2", 1.0),
        (KermaAreaUnit::DecigraySquareCentimetre, "dGy.cm2", 10.0),
        (KermaAreaUnit::CentigraySquareCentimetre, "cGy.cm2", 100.0),
        (KermaAreaUnit::MilligraySquareCentimetre, "mGy.cm2", 1_000.0),
        (KermaAreaUnit::MicrograySquareMetre, "uGy.m2", 100.0),
    ];
    for ((unit, code, value), listed) in expected.into_iter().zip(KermaAreaUnit::ALL) {
        assert_eq!(unit, listed);
        assert_eq!(KermaAreaUnit::of_ucum(code), Some(unit));
        assert_eq!(serde_json::to_value(unit).unwrap(), code);
        assert!((GrayCm2(1.0).in_unit(unit) - value).abs() <= ONE_ROUNDING * value, "{code}");
    }
    assert_eq!(GrayCm2::of(1.0, KermaAreaUnit::GraySquareMetre), GrayCm2(10_000.0));
    assert_eq!(KermaAreaUnit::of_ucum("cGy.cm"), None);
}

/// [R-DOSE-1]
///
/// Source: SI prefixes.
#[test]
fn air_kerma_and_time_in_every_unit() {
    assert_eq!(Milligray::of(0.212, AirKermaUnit::Gray), Milligray(212.0));
    assert_eq!(Milligray::of(2.5, AirKermaUnit::Centigray), Milligray(25.0));
    assert_eq!(Milligray::of(1_500.0, AirKermaUnit::Microgray), Milligray(1.5));
    for unit in AirKermaUnit::ALL {
        let code = serde_json::to_value(unit).unwrap();
        assert_eq!(AirKermaUnit::of_ucum(code.as_str().unwrap()), Some(unit));
    }
    assert_eq!(Seconds::of_minutes(8.6), Seconds(516.0));
    assert_eq!(Seconds::of_min_s(7, 30.0), Some(Seconds(450.0)));
    assert_eq!(Seconds::of_min_s(7, 60.0), None);
    assert_eq!(Seconds::of_milliseconds(250.0), Seconds(0.25));
}

proptest! {
    /// [R-DOSE-1]
    #[test]
    fn a_figure_survives_every_unit_and_back(value in 0.0..1e6_f64) {
        for unit in KermaAreaUnit::ALL {
            let back = GrayCm2::of(value, unit).in_unit(unit);
            prop_assert!((back - value).abs() <= 2.0 * ONE_ROUNDING * value);
        }
        for unit in AirKermaUnit::ALL {
            let back = Milligray::of(value, unit).in_unit(unit);
            prop_assert!((back - value).abs() <= 2.0 * ONE_ROUNDING * value);
        }
    }
}

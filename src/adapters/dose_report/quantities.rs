//! Numbers with their UCUM unit become numbers in this program's unit.
//!
//! What it does not do: it takes no unit for granted. Source of the codes: UCUM; PS3.16 names one unit for each
//! attribute, and machines send others.

use super::codes::Pair;
use crate::units::{AirKermaUnit, GrayCm2, KermaAreaUnit, Milligray};

/// What a number measures, and the unit it is wanted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quantity {
    /// Gy·cm².
    KermaArea,
    /// mGy.
    AirKerma,
    /// Seconds.
    Duration,
    /// Milliseconds.
    ShortDuration,
    /// kV.
    Voltage,
    /// mA.
    Current,
    /// mm, zero or more.
    Length,
    /// Degrees, of either sign.
    Angle,
    /// cm².
    Area,
    /// Per second.
    Rate,
    /// A whole number.
    Count,
    /// A pure number.
    Factor,
    Percent,
}

impl Quantity {
    /// The value in the unit wanted; `None` if the unit is not one of this quantity.
    pub fn convert(self, value: f64, unit: &str) -> Option<f64> {
        let code = without_annotation(unit);
        let (times, per) = match self {
            // Editions of the standard before UCUM's point wrote "Gym2": from memory.
            Self::KermaArea if code == "Gym2" => return Some(GrayCm2::of(value, KermaAreaUnit::GraySquareMetre).0),
            Self::KermaArea => return KermaAreaUnit::of_ucum(&code).map(|unit| GrayCm2::of(value, unit).0),
            Self::AirKerma => return AirKermaUnit::of_ucum(&code).map(|unit| Milligray::of(value, unit).0),
            Self::Duration => duration(&code)?,
            Self::ShortDuration => {
                let (times, per) = duration(&code)?;
                if code == "ms" { (1.0, 1.0) } else { (times * 1_000.0, per) }
            }
            Self::Voltage => one_of(&code, &[("kV", 1.0, 1.0), ("V", 1.0, 1_000.0)])?,
            Self::Current => one_of(&code, &[("mA", 1.0, 1.0), ("A", 1_000.0, 1.0), ("uA", 1.0, 1_000.0)])?,
            Self::Length => one_of(&code, &[("mm", 1.0, 1.0), ("cm", 10.0, 1.0), ("m", 1_000.0, 1.0)])?,
            Self::Angle => one_of(&code, &[("deg", 1.0, 1.0)])?,
            Self::Area => one_of(&code, &[("m2", 10_000.0, 1.0), ("cm2", 1.0, 1.0), ("mm2", 1.0, 100.0)])?,
            Self::Rate => one_of(&code, &[("/s", 1.0, 1.0), ("1/s", 1.0, 1.0), ("Hz", 1.0, 1.0), ("/min", 1.0, 60.0)])?,
            Self::Count | Self::Factor => one_of(&code, &[("1", 1.0, 1.0), ("", 1.0, 1.0)])?,
            Self::Percent => one_of(&code, &[("%", 1.0, 1.0)])?,
        };
        Some(value * times / per)
    }

    /// Whether a value can be at all.
    pub fn can_be(self, value: f64) -> bool {
        // Whole numbers are exact in a double up to 2^53.
        let whole = self != Self::Count || (value.fract() == 0.0 && value < 9.0e15);
        value.is_finite() && whole && (self == Self::Angle || value >= 0.0)
    }
}

fn duration(code: &str) -> Option<(f64, f64)> {
    one_of(code, &[("s", 1.0, 1.0), ("ms", 1.0, 1_000.0), ("min", 60.0, 1.0), ("us", 1.0, 1_000_000.0)])
}

fn one_of(code: &str, known: &[(&str, f64, f64)]) -> Option<(f64, f64)> {
    known.iter().find(|(name, ..)| *name == code).map(|(_, times, per)| (*times, *per))
}

/// UCUM's annotations in braces carry no meaning: "{pulse}/s" is "/s".
fn without_annotation(unit: &str) -> String {
    let mut depth = 0_u32;
    unit.chars()
        .filter(|c| {
            depth += u32::from(*c == '{');
            let shown = depth == 0;
            depth -= u32::from(*c == '}' && depth > 0);
            shown
        })
        .collect()
}

/// The unit's code, if it is UCUM's.
pub(super) fn ucum(unit: Option<Pair<'_>>) -> Result<&str, String> {
    match unit {
        Some(("UCUM", code)) => Ok(code),
        Some((scheme, code)) => Err(format!("{code} ({scheme})")),
        None => Err(String::new()),
    }
}

/// A decimal text as a number, and half the step of its last digit.
pub(super) fn decimal(text: &str) -> Option<(f64, f64)> {
    // The value representation DS holds at most 16 characters (PS3.5, 6.2); longer ones occur.
    let plain = text.bytes().all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte));
    let value: f64 = (plain && text.len() <= 64).then(|| text.parse().ok())??;
    let (digits, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    let decimals = digits.split_once('.').map_or(0, |(_, after)| after.len());
    let exponent: i32 = exponent.parse().ok()?;
    let step = 10_f64.powi(exponent.saturating_sub(i32::try_from(decimals).ok()?));
    value.is_finite().then_some((value, step / 2.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_become_the_one_wanted_and_strangers_are_refused() {
        // Source: SI prefixes; 1 Gy·m² = 10⁴ Gy·cm².
        assert_eq!(Quantity::KermaArea.convert(1.0, "Gy.m2"), Some(10_000.0));
        assert_eq!(Quantity::KermaArea.convert(13_639.0, "mGy.cm2"), Some(13.639));
        assert_eq!(Quantity::AirKerma.convert(0.2, "Gy"), Some(200.0));
        assert_eq!(Quantity::Rate.convert(7.5, "{pulse}/s"), Some(7.5));
        assert_eq!(Quantity::Count.convert(3.0, "{frames}"), Some(3.0));
        assert_eq!(Quantity::ShortDuration.convert(0.25, "s"), Some(250.0));
        assert_eq!(Quantity::Duration.convert(1.5, "min"), Some(90.0));
        for stranger in ["", "mGy", "cGy.m2", "Gy*m2", "gy.m2", "1"] {
            assert_eq!(Quantity::KermaArea.convert(1.0, stranger), None, "{stranger}");
        }
        assert_eq!(Quantity::AirKerma.convert(1.0, "mSv"), None);
    }

    #[test]
    fn the_last_digit_tells_the_step() {
        assert_eq!(decimal("1.25"), Some((1.25, 0.005)));
        assert_eq!(decimal("3"), Some((3.0, 0.5)));
        assert_eq!(decimal("1.5e2").map(|(_, half)| half), Some(5.0));
        for no_number in ["", "abc", "inf", "NaN", "1e999", "1e", "1.2.3"] {
            assert_eq!(decimal(no_number), None, "{no_number}");
        }
    }

    #[test]
    fn what_cannot_be_is_told() {
        assert!(!Quantity::KermaArea.can_be(-0.1) && !Quantity::Count.can_be(1.5));
        assert!(Quantity::Angle.can_be(-30.0) && Quantity::AirKerma.can_be(0.0));
    }
}

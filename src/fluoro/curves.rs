//! Exponential and logarithm for whole rows of pixels.
//!
//! Straight-line arithmetic that a compiler spreads over lanes, where a library call takes one pixel at a time. What it
//! does not do: no exact rounding; the error is a few units in the last place of single precision.

use std::f32::consts::{LN_2, LOG2_E, SQRT_2};

/// e to the power of `x`, for -80 to 80; beyond, the value at the end of that range.
///
/// Source: e^x = 2^n · e^r with |r| at most ln 2 / 2, e^r by its Taylor series to the seventh power.
#[inline]
pub fn exp(x: f32) -> f32 {
    const SERIES: [f32; 6] = [1.0 / 5040.0, 1.0 / 720.0, 1.0 / 120.0, 1.0 / 24.0, 1.0 / 6.0, 0.5];
    /// Adding and taking away this number rounds to a whole one: 1.5 · 2²³.
    const ROUND: f32 = 12_582_912.0;
    let held = if x < -80.0 { -80.0 } else { x };
    let held = if held > 80.0 { 80.0 } else { held };
    let shifted = held * LOG2_E + ROUND;
    let whole = shifted - ROUND;
    let rest = held - whole * LN_2;
    let mut sum = SERIES[0];
    for term in &SERIES[1..] {
        sum = sum * rest + term;
    }
    let power = f32::from_bits((shifted.to_bits().wrapping_sub(ROUND.to_bits()).wrapping_add(127)) << 23);
    power * (sum * rest * rest + rest + 1.0)
}

/// Natural logarithm of a positive normal number.
///
/// Source: ln x = n·ln 2 + 2·artanh(s), s = (m − 1)/(m + 1), m from 1/√2 to √2, artanh by its series to the ninth power.
#[inline]
pub fn ln(x: f32) -> f32 {
    let bits = x.to_bits();
    let exponent = (bits >> 23) as i32 - 127;
    let mantissa = f32::from_bits(bits & 0x007f_ffff | 0x3f80_0000);
    let (mantissa, exponent) = if mantissa > SQRT_2 { (mantissa * 0.5, exponent + 1) } else { (mantissa, exponent) };
    let s = (mantissa - 1.0) / (mantissa + 1.0);
    let square = s * s;
    let series = 1.0 + square * (1.0 / 3.0 + square * (0.2 + square * (1.0 / 7.0 + square / 9.0)));
    exponent as f32 * LN_2 + 2.0 * s * series
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the standard library's double precision.
    #[test]
    fn curves_agree_with_the_library() {
        for step in -7900..=7900 {
            let x = step as f32 / 100.0;
            let wanted = f64::from(x).exp();
            assert!((f64::from(exp(x)) / wanted - 1.0).abs() < 1e-5, "exp {x}");
            let power = wanted as f32;
            assert!(
                (f64::from(ln(power)) - f64::from(power).ln()).abs() < 1e-6 * f64::from(x.abs()).max(1.0),
                "ln {power}"
            );
        }
        for step in 1..4000 {
            let x = step as f32 / 1000.0;
            assert!((f64::from(ln(x)) - f64::from(x).ln()).abs() < 1e-6, "ln {x}: {}", ln(x));
        }
    }
}

//! Chart of individual values with their moving range, for log dose.
//!
//! The limits come from the moving range, not from the standard deviation: a shift in the series would widen the
//! latter until the shift hides itself.

use super::limits::{D2, D4, Limits, SIGMAS, mean_moving_range};
use super::quantile::count;

/// Limits of a chart of individual values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Individuals {
    pub limits: Limits,
    pub mean_moving_range: f64,
    /// Upper limit of a moving range.
    pub range_upper: f64,
    /// Standard deviation from the moving range.
    pub sigma: f64,
}

/// Mean ± 3·MR/1.128; nothing below two values.
///
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2; the ratio 3/1.128 unrounded.
#[must_use]
pub fn individuals(values: &[f64]) -> Option<Individuals> {
    let mean_moving_range = mean_moving_range(values)?;
    let centre = values.iter().sum::<f64>() / count(values.len());
    let sigma = mean_moving_range / D2;
    let reach = SIGMAS * sigma;
    let limits = Limits { lower: centre - reach, centre, upper: centre + reach };
    Some(Individuals { limits, mean_moving_range, range_upper: D4 * mean_moving_range, sigma })
}

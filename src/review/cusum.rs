//! Tabular cumulative sums: a small shift that lasts adds up until it shows.
//!
//! A point on the limit is no signal. The chart says where a shift is likely to have begun, not why.

use super::limits::{Beyond, D2, mean_moving_range};
use super::quantile::{ascending, count, quantile};

/// One point of both sums.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sums {
    pub high: f64,
    pub low: f64,
    /// Points in a row since each sum last left 0.
    pub run_high: usize,
    pub run_low: usize,
}

/// A sum that exceeded its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shift {
    /// Position of the first point beyond the limit, from 0.
    pub seen_at: usize,
    /// Position of the first point of the shift, from 0: where the sum last left 0.
    pub begins_at: usize,
    pub direction: Beyond,
}

/// Both sums of a series, `slack` and the values in one unit.
///
/// S⁺ = max(0, S⁺ + x - target - k), S⁻ = max(0, S⁻ + target - k - x).
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.3.
#[must_use]
pub fn sums(values: &[f64], target: f64, slack: f64) -> Vec<Sums> {
    let mut last = Sums::default();
    let next = values.iter().map(|value| {
        let high = (last.high + value - target - slack).max(0.0);
        let low = (last.low + target - slack - value).max(0.0);
        let run = |sum: f64, run: usize| if sum > 0.0 { run + 1 } else { 0 };
        last = Sums { high, low, run_high: run(high, last.run_high), run_low: run(low, last.run_low) };
        last
    });
    next.collect()
}

/// The first point beyond the limit, if any.
#[must_use]
pub fn first_shift(sums: &[Sums], limit: f64) -> Option<Shift> {
    let beyond = |sum: &Sums| sum.high > limit || sum.low > limit;
    let seen_at = sums.iter().position(beyond)?;
    let at = &sums[seen_at];
    let (direction, run) =
        if at.high > limit { (Beyond::Above, at.run_high) } else { (Beyond::Below, at.run_low) };
    Some(Shift { seen_at, begins_at: seen_at + 1 - run, direction })
}

/// Half of the shift, in standard deviations, that the sums are meant to find.
///
/// Source: Montgomery, Introduction to Statistical Quality Control, section 9.1, from memory: half the shift of 1 σ.
pub const SLACK: f64 = 0.5;

/// The average number of points until one sum exceeds its limit by chance; limit and slack in standard deviations.
///
/// Source: Siegmund's approximation, in Montgomery, section 9.1.4, from memory; held against the published 465 for
/// both sums together at 0.5 and 5.
#[must_use]
pub fn run_length_by_chance(limit: f64, slack: f64) -> f64 {
    let b = limit + 1.166;
    ((2.0 * slack * b).exp() - 2.0 * slack * b - 1.0) / (2.0 * slack * slack)
}

/// The limit at which a series of `points`, looked at `series` times over both sums, exceeds it by chance with
/// probability `chance` at most; in standard deviations, at least 5.
#[must_use]
pub fn limit_for(points: usize, series: usize, chance: f64) -> f64 {
    let wanted = 2.0 * count(points) * count(series.max(1)) / chance;
    let steps = (0_u32..400).map(|step| 5.0 + 0.05 * f64::from(step));
    steps.into_iter().find(|limit| run_length_by_chance(*limit, SLACK) >= wanted).unwrap_or(25.0)
}

/// Values in standard deviations from the median of the first `base`, the deviation from the moving range of all.
/// Nothing if the values do not vary.
#[must_use]
pub fn standardised(values: &[f64], base: usize) -> Option<Vec<f64>> {
    let sigma = mean_moving_range(values)? / D2;
    let head = ascending(values[..base.min(values.len())].to_vec());
    let target = quantile(&head, 0.5, super::QuantileType::Seven)?;
    (sigma > 0.0).then(|| values.iter().map(|value| (value - target) / sigma).collect())
}

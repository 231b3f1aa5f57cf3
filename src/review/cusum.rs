//! Tabular cumulative sums: a small shift that lasts adds up until it shows.
//!
//! A point on the limit is no signal. The chart says where a shift is likely to have begun, not why.

use super::limits::Beyond;
use super::quantile::count;

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
    let (direction, run) = if at.high > limit { (Beyond::Above, at.run_high) } else { (Beyond::Below, at.run_low) };
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

/// One value in standard deviations counts for no more than this, so that a single case is no shift.
const ONE_VALUE_MAX: f64 = 3.0;

/// Each value in standard deviations from the mean of those before it, brought to a normal scale: the first cases
/// need not be many, and their chance is not taken for what is usual. The first `base`, at least 3, are 0.
///
/// Source: Hawkins, Self-starting cusum charts, The Statistician 1987;36:299; the normal scale by Wallace, Annals of
/// Mathematical Statistics 1959;30:1124; both from memory.
#[must_use]
pub fn self_starting(values: &[f64], base: usize) -> Vec<f64> {
    let (mut mean, mut squares) = (0.0, 0.0);
    let mut out = Vec::with_capacity(values.len());
    for (before, value) in values.iter().enumerate() {
        let n = count(before);
        let sigma = (squares / (n - 1.0)).sqrt();
        let scaled = if before < base.max(3) || sigma <= 0.0 {
            0.0
        } else {
            normal_of((value - mean) / sigma * (n / (n + 1.0)).sqrt(), n - 1.0)
        };
        out.push(scaled.clamp(-ONE_VALUE_MAX, ONE_VALUE_MAX));
        // Welford's recurrence.
        let off = value - mean;
        mean += off / (n + 1.0);
        squares += off * (value - mean);
    }
    out
}

/// The normal value as unlikely as one of Student's with that many degrees of freedom.
fn normal_of(t: f64, freedom: f64) -> f64 {
    (8.0 * freedom + 1.0) / (8.0 * freedom + 3.0) * (freedom * (t * t / freedom).ln_1p()).sqrt().copysign(t)
}

/// Where a series most likely changed, as the position of the first value after it: the split with the largest
/// difference of means for its sizes. At least 5 values stand on each side; nothing for fewer than 10.
///
/// Source: Samuel, Pignatiello and Calvin, Quality Engineering 1998;10:521, from memory.
#[must_use]
pub fn likeliest_change(values: &[f64]) -> Option<usize> {
    let total: f64 = values.iter().sum();
    let mut before: f64 = values.iter().take(5).sum();
    let mut best = None;
    for at in 5..=values.len().checked_sub(5)? {
        let (left, right) = (count(at), count(values.len() - at));
        let apart = before / left - (total - before) / right;
        let weight = left * right * apart * apart;
        if best.is_none_or(|(_, most)| weight > most) {
            best = Some((at, weight));
        }
        before += values.get(at).copied().unwrap_or(0.0);
    }
    best.map(|(at, _)| at)
}

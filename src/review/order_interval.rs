//! Confidence intervals of a quantile from two order statistics: no assumption on the distribution.
//!
//! The interval says how far the quantile of "cases like these" may lie from the sample's. It says nothing of
//! cases unlike these.

use super::binomial::{binomial, likely};

/// The confidence asked for throughout.
pub const LEVEL: f64 = 0.95;

/// Ranks, counted from 1, of the two order statistics that enclose a quantile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranks {
    pub low: usize,
    pub high: usize,
    /// P(low <= B <= high - 1), B binomial with n and p.
    pub coverage: f64,
}

/// The ranks whose order statistics enclose the quantile at `p` with at least [`LEVEL`], or nothing if the sample is
/// too small for any. Tails of 2.5 % each where the sample allows, else the pair that covers enough with the
/// smallest difference between the tails.
///
/// Source: David and Nagaraja, Order Statistics, section 7.1; equal tails as `quantile_test` of `SciPy`.
#[must_use]
pub fn ranks(n: usize, p: f64) -> Option<Ranks> {
    let (from, weights) = likely(n, p);
    equal_tails(n, from, &weights).or_else(|| any_tails(n, &binomial(n, p)))
}

/// P(low <= B <= high - 1): how often the interval between those ranks holds the quantile.
#[must_use]
pub fn coverage(n: usize, p: f64, low: usize, high: usize) -> f64 {
    binomial(n, p)[low..high].iter().sum()
}

/// `weights` are those from `from` successes on.
fn equal_tails(n: usize, from: usize, weights: &[f64]) -> Option<Ranks> {
    let tail = (1.0 - LEVEL) / 2.0;
    let low = from + first_above(weights.iter(), tail);
    let high = (from + weights.len()).checked_sub(first_above(weights.iter().rev(), tail))?;
    let held = |low: usize, high: usize| weights[low - from..high - from].iter().sum();
    (low >= 1 && high <= n).then(|| Ranks { low, high, coverage: held(low, high) })
}

/// How many weights are summed before the sum exceeds the tail.
fn first_above<'a>(weights: impl Iterator<Item = &'a f64>, tail: f64) -> usize {
    let mut sum = 0.0;
    weights.take_while(|weight| (sum += **weight, sum <= tail).1).count()
}

fn any_tails(n: usize, weights: &[f64]) -> Option<Ranks> {
    let pairs = (1..n).flat_map(|low| (low + 1..=n).map(move |high| (low, high)));
    let enough = pairs.map(|(low, high)| ranked(weights, low, high)).filter(|ranks| ranks.coverage >= LEVEL);
    enough.min_by(|a, b| (a.high - a.low).cmp(&(b.high - b.low)).then(b.coverage.total_cmp(&a.coverage)))
}

fn ranked(weights: &[f64], low: usize, high: usize) -> Ranks {
    Ranks { low, high, coverage: weights[low..high].iter().sum() }
}

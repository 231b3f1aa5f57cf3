//! The binomial distribution, exact to rounding, for the ranks of order statistics.
//!
//! No normal approximation at any size: the weights are built outward from the mode by their exact ratios.

use super::quantile::{count, floor};

/// Probabilities of 0 to `n` successes, each with probability `p` strictly between 0 and 1; they sum to 1.
///
/// P(k + 1) / P(k) = (n - k) / (k + 1) · p / (1 - p). Source: the definition of the distribution.
#[must_use]
pub fn binomial(n: usize, p: f64) -> Vec<f64> {
    let (from, middle) = likely(n, p);
    let mut weights = vec![0.0; n + 1];
    weights[from..from + middle.len()].copy_from_slice(&middle);
    weights
}

/// A weight below this part of the largest is left out: all of them together are less than rounding.
const NOTHING: f64 = 1e-40;

/// The same without what is too unlikely to matter: the number of successes it begins at, and the probabilities from
/// there on. A few hundred, however large `n` is.
pub(super) fn likely(n: usize, p: f64) -> (usize, Vec<f64>) {
    let mode = floor((count(n) + 1.0) * p).min(n);
    let odds = p / (1.0 - p);
    let down = std::iter::successors(Some((mode, 1.0)), |(k, weight)| {
        let k = k.checked_sub(1)?;
        Some((k, weight * count(k + 1) / count(n - k) / odds))
    });
    let up = std::iter::successors(Some((mode, 1.0)), |(k, weight)| {
        (*k < n).then(|| (k + 1, weight * count(n - k) / count(k + 1) * odds))
    });
    let matters = |(_, weight): &(usize, f64)| *weight >= NOTHING;
    let mut weights: Vec<f64> = down.take_while(matters).map(|(_, weight)| weight).collect();
    let from = mode + 1 - weights.len();
    weights.reverse();
    weights.extend(up.skip(1).take_while(matters).map(|(_, weight)| weight));
    let sum: f64 = weights.iter().sum();
    (from, weights.into_iter().map(|weight| weight / sum).collect())
}

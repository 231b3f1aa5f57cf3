//! The binomial distribution, exact to rounding, for the ranks of order statistics.
//!
//! No normal approximation at any size: the weights are built outward from the mode by their exact ratios.

use super::quantile::{count, floor};

/// Probabilities of 0 to `n` successes, each with probability `p` strictly between 0 and 1; they sum to 1.
///
/// P(k + 1) / P(k) = (n - k) / (k + 1) · p / (1 - p). Source: the definition of the distribution.
#[must_use]
pub fn binomial(n: usize, p: f64) -> Vec<f64> {
    let mode = floor((count(n) + 1.0) * p).min(n);
    let odds = p / (1.0 - p);
    let mut weights = vec![0.0; n + 1];
    weights[mode] = 1.0;
    for k in mode..n {
        weights[k + 1] = weights[k] * count(n - k) / count(k + 1) * odds;
    }
    for k in (0..mode).rev() {
        weights[k] = weights[k + 1] * count(k + 1) / count(n - k) / odds;
    }
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / sum).collect()
}

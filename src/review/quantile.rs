//! Quantiles of a sorted sample, with their type stated.
//!
//! Types 6 and 7 alone: what one hospital calls a quartile differs from another's by this choice, so every figure
//! names it. No other type is offered, and nothing is interpolated beyond the smallest and largest value.

use std::fmt;

/// How a quantile is interpolated between two order statistics.
///
/// Source: Hyndman and Fan, The American Statistician 1996;50:361, definitions 6 and 7.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum QuantileType {
    /// Position (n + 1)·p, as the NIST/SEMATECH handbook computes percentiles.
    Six,
    /// Position (n - 1)·p + 1, the default of R, `NumPy` and spreadsheets.
    #[default]
    Seven,
}

impl fmt::Display for QuantileType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Six => "type 6",
            Self::Seven => "type 7",
        })
    }
}

/// The quantile of an ascending sample at `p` from 0 to 1; nothing for an empty sample.
#[must_use]
pub fn quantile(ascending: &[f64], p: f64, kind: QuantileType) -> Option<f64> {
    let last = ascending.len().checked_sub(1)?;
    let n = count(ascending.len());
    let position = match kind {
        QuantileType::Six => (n + 1.0) * p - 1.0,
        QuantileType::Seven => (n - 1.0) * p,
    };
    let position = position.clamp(0.0, count(last));
    let below = floor(position);
    let (low, high) = (ascending[below], ascending[(below + 1).min(last)]);
    Some(low + (position - position.floor()) * (high - low))
}

/// Sorts a sample; what is no number goes last and is cut off.
#[must_use]
pub fn ascending(mut values: Vec<f64>) -> Vec<f64> {
    values.retain(|value| value.is_finite());
    values.sort_unstable_by(f64::total_cmp);
    values
}

/// A number of cases as a quantity to compute with.
#[allow(clippy::cast_precision_loss, reason = "a store holds fewer than 2^52 cases")]
pub(super) fn count(n: usize) -> f64 {
    n as f64
}

/// The whole part of a position within a sample.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0 and the sample's length")]
pub(super) fn floor(position: f64) -> usize {
    position.floor().max(0.0) as usize
}

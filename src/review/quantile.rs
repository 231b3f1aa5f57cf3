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
    quantile_of(ascending, p, kind)
}

/// The same of whole numbers as well.
pub(super) fn quantile_of<T: Copy + Into<f64>>(ascending: &[T], p: f64, kind: QuantileType) -> Option<f64> {
    let last = ascending.len().checked_sub(1)?;
    let n = count(ascending.len());
    let position = match kind {
        QuantileType::Six => (n + 1.0) * p - 1.0,
        QuantileType::Seven => (n - 1.0) * p,
    };
    let position = position.clamp(0.0, count(last));
    let below = floor(position);
    let (low, high): (f64, f64) = (ascending[below].into(), ascending[(below + 1).min(last)].into());
    Some(low + (position - position.floor()) * (high - low))
}

/// Sorts a sample; what is no number goes last and is cut off.
#[must_use]
pub fn ascending(mut values: Vec<f64>) -> Vec<f64> {
    values.retain(|value| value.is_finite());
    values.sort_unstable_by(f64::total_cmp);
    values
}

/// Sorts small numbers: counted where they are many for their size, since counting does not slow with their number.
pub(super) fn sort_small(values: &mut [u32]) {
    let most = values.iter().copied().max().unwrap_or(0) as usize;
    if most / 4 > values.len() {
        values.sort_unstable();
        return;
    }
    let mut counts = vec![0_usize; most + 1];
    for value in &*values {
        counts[*value as usize] += 1;
    }
    let mut from = 0;
    for (value, count) in (0..).zip(counts) {
        values[from..from + count].fill(value);
        from += count;
    }
}

/// The middle of a sample by selection: as [`quantile`] of type 7 at a half, without sorting all of it.
pub(super) fn median(values: &mut [f64]) -> Option<f64> {
    let middle = values.len() / 2;
    let odd = values.len() % 2 == 1;
    if values.is_empty() {
        return None;
    }
    let (below, high, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    let high = *high;
    if odd {
        return Some(high);
    }
    let low = below.iter().copied().max_by(f64::total_cmp)?;
    Some(low + 0.5 * (high - low))
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn counting_and_selecting_agree_with_sorting(small in prop::collection::vec(0..60_u32, 0..90), large in any::<u32>()) {
            for mut values in [small.clone(), [&small[..], &[large]].concat()] {
                let mut sorted = values.clone();
                sorted.sort_unstable();
                sort_small(&mut values);
                prop_assert_eq!(&values, &sorted);
                let mut unsorted: Vec<f64> = small.iter().map(|value| f64::from(*value)).collect();
                let expected = quantile(&ascending(unsorted.clone()), 0.5, QuantileType::Seven);
                prop_assert_eq!(median(&mut unsorted), expected);
            }
        }
    }
}

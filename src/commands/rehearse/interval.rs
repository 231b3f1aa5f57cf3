//! Intervals: exact for a share, by order statistics for a median and a tenth, by bootstrap for a mean and a ratio of
//! means; no normal approximation at any size.
//!
//! What it does not do: it says nothing of people unlike those drawn.

use crate::rehearse::Chance;
use crate::review::{QuantileType, ascending, binomial, quantile, ranks};
use serde_json::{Value, json};

/// A share with its exact 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    pub of: usize,
    pub among: usize,
    /// 0 to 1.
    pub low: f64,
    pub high: f64,
}

/// Half of what lies outside the interval, on each side.
const TAIL: f64 = 0.025;
/// Halvings of the interval that holds a bound: 2^-50 of it is left.
const HALVINGS: u32 = 50;

impl Share {
    /// `of` among `among`, which is 1 or more.
    ///
    /// Source: Clopper and Pearson, Biometrika 1934;26:404: the shares at which that many or more, and that many or
    /// fewer, have a chance of 2.5 %.
    #[must_use]
    pub fn exact(of: usize, among: usize) -> Self {
        let at_least = |p: f64| binomial(among, p)[of..].iter().sum::<f64>();
        let at_most = |p: f64| binomial(among, p)[..=of].iter().sum::<f64>();
        let low = if of == 0 { 0.0 } else { crossing(|p| at_least(p) < TAIL) };
        let high = if of == among { 1.0 } else { crossing(|p| at_most(p) > TAIL) };
        Self { of, among, low, high }
    }

    /// 0 to 1.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.of as f64 / self.among.max(1) as f64
    }

    pub fn json(&self) -> Value {
        json!({"of": self.of, "among": self.among, "share": self.value(), "low": self.low, "high": self.high})
    }
}

/// The share up to which `holds` holds.
fn crossing(holds: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if holds(middle) { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// A sample's mean, median, 10th and 90th percentile, with their 95 % intervals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    pub n: usize,
    pub mean: f64,
    pub mean_interval: [f64; 2],
    pub median: f64,
    /// Ends of the interval of the median; none for too few.
    pub interval: Option<[f64; 2]>,
    pub p10: f64,
    pub p10_interval: Option<[f64; 2]>,
    pub p90: f64,
}

impl Spread {
    /// Of a sample of one or more numbers; `None` for none.
    #[must_use]
    pub fn of(values: impl Iterator<Item = f64>) -> Option<Self> {
        let sorted = ascending(values.collect());
        let n = sorted.len();
        let at = |p: f64| quantile(&sorted, p, QuantileType::Seven);
        let (median, p10, p90) = (at(0.5)?, at(0.1)?, at(0.9)?);
        let around = |p: f64| ranks(n, p).map(|ranks| [sorted[ranks.low - 1], sorted[ranks.high - 1]]);
        let mean = Ratio::of(&sorted.iter().map(|value| (*value, 1.0)).collect::<Vec<_>>());
        Some(Self {
            n,
            mean: mean.value,
            mean_interval: [mean.low, mean.high],
            median,
            interval: around(0.5),
            p10,
            p10_interval: around(0.1),
            p90,
        })
    }

    pub fn json(&self) -> Value {
        json!({
            "n": self.n, "mean": self.mean, "mean_low": self.mean_interval[0], "mean_high": self.mean_interval[1],
            "median": self.median,
            "median_low": self.interval.map(|ends| ends[0]), "median_high": self.interval.map(|ends| ends[1]),
            "p10": self.p10, "p10_low": self.p10_interval.map(|ends| ends[0]),
            "p10_high": self.p10_interval.map(|ends| ends[1]), "p90": self.p90,
        })
    }
}

/// A ratio of two means over the same people, with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// Resamples of a bootstrap, and the stream of its draws.
const RESAMPLES: usize = 1000;
const STREAM: u64 = 41;

impl Ratio {
    /// Mean of the first over mean of the second of each pair; one or more pairs, the second of them positive.
    ///
    /// Source: percentile bootstrap over people, Efron and Tibshirani 1993, from memory.
    #[must_use]
    pub fn of(pairs: &[(f64, f64)]) -> Self {
        let ratio = |(one, other): (f64, f64)| one / other;
        let sum = |sums: (f64, f64), pair: &(f64, f64)| (sums.0 + pair.0, sums.1 + pair.1);
        let mut chance = Chance::of(pairs.len() as u64, STREAM);
        let mut resample = || {
            let drawn = (0..pairs.len()).map(|_| &pairs[chance.below(pairs.len())]);
            ratio(drawn.fold((0.0, 0.0), sum))
        };
        let sorted = ascending((0..RESAMPLES).map(|_| resample()).collect());
        let at = |p: f64| quantile(&sorted, p, QuantileType::Seven).expect("a thousand resamples");
        Self { value: ratio(pairs.iter().fold((0.0, 0.0), sum)), low: at(TAIL), high: at(1.0 - TAIL) }
    }

    pub fn json(&self) -> Value {
        json!({"ratio": self.value, "low": self.low, "high": self.high})
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: none and all of n in closed form, 1 - 0.025^(1/n) and 0.025^(1/n); 5 of 10 is 0.1871 to 0.8129, as
    /// `binomtest(5, 10).proportion_ci()` of `SciPy` has it.
    #[test]
    fn an_exact_interval_is_that_of_the_tables() {
        let none = Share::exact(0, 20);
        assert!((none.high - (1.0 - 0.025_f64.powf(1.0 / 20.0))).abs() < 1e-9 && none.low == 0.0);
        let half = Share::exact(5, 10);
        assert!((half.low - 0.1871).abs() < 5e-5 && (half.high - 0.8129).abs() < 5e-5, "{half:?}");
        let all = Share::exact(20, 20);
        assert!((all.low - 0.025_f64.powf(1.0 / 20.0)).abs() < 1e-9 && (all.high - 1.0).abs() < 1e-12);
    }

    /// Source: order-statistic interval of the median of 20, ranks 6 and 15.
    #[test]
    fn a_median_has_the_interval_of_its_ranks() {
        let spread = Spread::of((1..=20).map(f64::from)).expect("twenty numbers");
        assert_eq!(spread.interval, Some([6.0, 15.0]));
        assert!((spread.median - 10.5).abs() < 1e-12 && (spread.mean - 10.5).abs() < 1e-12);
        assert!(Spread::of(std::iter::empty()).is_none());
    }

    /// Source: of 1 to 200, `quantile_test(x, q=20, p=0.1).confidence_interval()` and `bootstrap(method="percentile")` of
    /// `SciPy` answer 12 to 30 and 92.45 to 108.58; the latter is itself drawn, and so are ours.
    #[test]
    fn a_tenth_and_a_mean_have_the_intervals_of_their_ranks_and_resamples() {
        let spread = Spread::of((1..=200).map(f64::from)).expect("two hundred numbers");
        assert_eq!(spread.p10_interval, Some([12.0, 30.0]));
        let [low, high] = spread.mean_interval;
        assert!((low - 92.45).abs() < 1.0 && (high - 108.58).abs() < 1.0, "{low} to {high}");
    }

    /// Source: a ratio that every pair has is that of every resample; otherwise the delta method gives the width: values of
    /// mean 2 and deviation 1 over 1, 400 pairs, leave 2 ± 1.96 / 20.
    #[test]
    fn a_ratio_has_the_interval_of_its_resamples() {
        let same = Ratio::of(&[(2.0, 4.0), (3.0, 6.0), (1.0, 2.0)]);
        assert_eq!((same.value, same.low, same.high), (0.5, 0.5, 0.5));
        let pairs: Vec<(f64, f64)> = (0..400).map(|at| (if at % 2 == 0 { 1.0 } else { 3.0 }, 1.0)).collect();
        let spread = Ratio::of(&pairs);
        assert!((spread.low - 1.902).abs() < 0.02 && (spread.high - 2.098).abs() < 0.02, "{spread:?}");
    }
}

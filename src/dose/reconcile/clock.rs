//! Offset and drift of the machine's clock, from matched shots.
//!
//! The offset is the median of machine minus tap at the middle of the matched shots, so it includes the median press
//! delay and leans on no shape of that delay. Its interval is that of a median by order statistics. The drift is a
//! robust slope, held back by how little a clock can drift.

use super::costs::DELAY_MEDIAN_S;

/// How far clocks drift, one standard deviation, seconds per second: within 100 ppm at any rate. Common practice for
/// uncompensated quartz, no source.
const DRIFT_SD: f64 = 60e-6;
/// No clock is believed to drift more.
const DRIFT_MAX: f64 = 200e-6;
/// Residuals beyond this count less in the slope, seconds.
const HUBER_S: f64 = 1.0;
/// Rounds of reweighting.
const ROUNDS: usize = 4;
/// Stated rate of the intervals.
pub const RATE: f64 = 0.95;
/// Two-sided 95 % point of the standard normal distribution.
const Z: f64 = 1.959_963_984_540_054;
/// Cutting times to whole seconds moves the median of a skewed delay by up to this, seconds.
///
/// Source: computed for the delay named in `costs`: median of delay plus uniform ±0.5 s is 0.045 s above the delay's.
const CUT_BIAS_S: f64 = 0.05;
/// What is not known of the median delay itself, one standard deviation, seconds. Common practice, no source.
const DELAY_SD_S: f64 = 0.3;

/// A machine's clock against the tablet's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clock {
    /// Machine minus tap at `at_s`, seconds.
    pub offset_s: f64,
    /// Seconds per second, positive if the machine's clock runs fast.
    pub drift: f64,
    /// Tablet time at which the offset holds, seconds since opening.
    pub at_s: f64,
    /// 95 %, if enough shots were matched to state one.
    pub offset_interval_s: Option<[f64; 2]>,
    /// One standard deviation of the drift.
    pub drift_sd: f64,
}

impl Clock {
    pub fn guessed(offset_s: f64, at_s: f64) -> Self {
        Self { offset_s, drift: 0.0, at_s, offset_interval_s: None, drift_sd: DRIFT_SD }
    }

    /// Tablet time at which the tap of an event is expected, the machine's clock reading `machine` seconds.
    pub fn expected_tap(&self, machine: f64) -> f64 {
        self.at_s + (machine - self.offset_s - self.at_s) / (1.0 + self.drift)
    }

    /// Tablet time of the event itself.
    pub fn event_time(&self, machine: f64) -> f64 {
        self.expected_tap(machine) - DELAY_MEDIAN_S
    }

    /// One standard deviation of [`Self::event_time`] at a tablet time, seconds.
    pub fn sd(&self, at: f64, resolution_s: f64) -> f64 {
        let of_offset = self.offset_interval_s.map_or(1.0, |[from, to]| (to - from) / (2.0 * Z));
        let of_drift = self.drift_sd * (at - self.at_s);
        let cut = resolution_s * resolution_s / 12.0;
        (of_offset * of_offset + of_drift * of_drift + cut + DELAY_SD_S * DELAY_SD_S).sqrt()
    }

    /// What this drift costs, as the logarithm of a normal density without its constant.
    pub fn cost(&self) -> f64 {
        0.5 * (self.drift / DRIFT_SD).powi(2)
    }

    /// Drift interval at the stated rate, ppm.
    pub fn drift_interval_ppm(&self) -> [f64; 2] {
        [(self.drift - Z * self.drift_sd) * 1e6, (self.drift + Z * self.drift_sd) * 1e6]
    }
}

/// Fits a clock to matched shots, each (tap, machine) in seconds; `None` without a pair.
pub fn fit(pairs: &[(f64, f64)], resolution_s: f64) -> Option<Clock> {
    if pairs.is_empty() {
        return None;
    }
    let at_s = pairs.iter().map(|(tap, _)| tap).sum::<f64>() / count(pairs.len());
    let (drift, drift_sd) = slope(pairs, at_s);
    let mut offsets: Vec<f64> = pairs.iter().map(|(tap, machine)| machine - tap - drift * (tap - at_s)).collect();
    offsets.sort_by(f64::total_cmp);
    let offset_s = median(&offsets);
    let slack = if resolution_s > 0.0 { CUT_BIAS_S * resolution_s } else { 0.0 };
    let offset_interval_s =
        ranks_of_median(offsets.len()).map(|(lower, upper)| [offsets[lower - 1] - slack, offsets[upper - 1] + slack]);
    Some(Clock { offset_s, drift, at_s, offset_interval_s, drift_sd })
}

/// Robust slope of machine minus tap over tap, and its standard deviation.
fn slope(pairs: &[(f64, f64)], at_s: f64) -> (f64, f64) {
    let points: Vec<(f64, f64)> = pairs.iter().map(|(tap, machine)| (tap - at_s, machine - tap)).collect();
    let mut ordered: Vec<f64> = points.iter().map(|(_, y)| *y).collect();
    ordered.sort_by(f64::total_cmp);
    let (mut level, mut drift, mut sd) = (median(&ordered), 0.0, DRIFT_SD);
    for _ in 0..ROUNDS {
        let (mut w, mut wx, mut wy, mut wxx, mut wxy, mut wrr) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for (x, y) in &points {
            let residual = y - level - drift * x;
            let weight = (HUBER_S / residual.abs()).min(1.0);
            w += weight;
            wx += weight * x;
            wy += weight * y;
            wxx += weight * x * x;
            wxy += weight * x * y;
            wrr += (weight * residual).powi(2);
        }
        // Not below what a delay varies at least, so that a handful of lucky taps claims no certainty.
        let noise = (wrr / w).max(0.1);
        let held = noise / (DRIFT_SD * DRIFT_SD);
        let spread = wxx - wx * wx / w + held;
        drift = ((wxy - wx * wy / w) / spread).clamp(-DRIFT_MAX, DRIFT_MAX);
        level = (wy - drift * wx) / w;
        sd = (noise / spread).sqrt();
    }
    (drift, sd)
}

fn median(ordered: &[f64]) -> f64 {
    let middle = ordered.len() / 2;
    if ordered.len() % 2 == 1 { ordered[middle] } else { f64::midpoint(ordered[middle - 1], ordered[middle]) }
}

/// Ranks, from 1, between which the median lies at [`RATE`] at least; `None` below six values.
///
/// Source: binomial distribution of the number of values below the median; six is the least number for 95 %.
pub fn ranks_of_median(n: usize) -> Option<(usize, usize)> {
    let total = count(n);
    // C(n, k + 1) / C(n, k) = (n - k) / (k + 1); as logarithms, since 2^-n is no number from a thousand values on.
    let mut log_share = -total * std::f64::consts::LN_2;
    let mut below = 0.0;
    let mut rank = 0;
    // The chance of fewer than `rank` values below the median stays within half of what the rate leaves.
    while rank < n {
        below += log_share.exp();
        if below > (1.0 - RATE) / 2.0 {
            break;
        }
        log_share += (count(n - rank) / count(rank + 1)).ln();
        rank += 1;
    }
    (rank > 0).then_some((rank, n + 1 - rank))
}

#[allow(clippy::cast_precision_loss, reason = "a number of shots")]
fn count(n: usize) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: published tables of order-statistic intervals of a median at 95 %: n = 10 ranks 2 and 9, n = 20 ranks 6
    /// and 15; below n = 6 there is none.
    #[test]
    fn ranks_of_a_median_are_those_of_the_tables() {
        assert_eq!(ranks_of_median(5), None);
        assert_eq!(ranks_of_median(6), Some((1, 6)));
        assert_eq!(ranks_of_median(10), Some((2, 9)));
        assert_eq!(ranks_of_median(20), Some((6, 15)));
        // Source: SciPy 1.17 `binom.ppf(0.025, 2000, 0.5)`, 956, the first count whose share passes 2.5 %.
        assert_eq!(ranks_of_median(2_000), Some((956, 2_001 - 956)));
    }

    /// Source: definition; 100 ppm over an hour is 0.36 s.
    #[test]
    fn offset_and_drift_of_a_clean_pair_of_clocks_are_found() {
        let pairs: Vec<(f64, f64)> =
            (0..400).map(|i| f64::from(i) * 30.0).map(|tap| (tap, tap * (1.0 + 100e-6) + 3_600.0)).collect();
        let clock = fit(&pairs, 0.0).unwrap();
        assert!((clock.drift - 100e-6).abs() < 10e-6, "{}", clock.drift);
        assert!((clock.offset_s - 3_600.0 - clock.at_s * 100e-6).abs() < 1e-3);
        assert!((clock.expected_tap(pairs[7].1) - pairs[7].0).abs() < 0.1);
    }

    #[test]
    fn one_wild_pair_moves_neither_offset_nor_drift() {
        let mut pairs: Vec<(f64, f64)> = (0..41).map(|i| f64::from(i) * 60.0).map(|tap| (tap, tap + 5.0)).collect();
        pairs[40].1 += 600.0;
        let clock = fit(&pairs, 1.0).unwrap();
        assert!((clock.offset_s - 5.0).abs() < 0.1 && clock.drift.abs() < 30e-6, "{clock:?}");
    }
}

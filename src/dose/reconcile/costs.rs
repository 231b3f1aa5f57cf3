//! What each way of explaining a shot costs: minus the logarithm of how likely it is.
//!
//! The press delay is taken as log-normal, with a share of presses that come at any time in a wider window. None of
//! its numbers has a published source; they are common practice of usability timing and shape the matching alone. The
//! offset itself is a median and does not lean on them.

/// Median time from an exposure to its tap, seconds. Common practice, no source.
pub const DELAY_MEDIAN_S: f64 = 1.0;
/// 95th percentile of the same, seconds. Common practice, no source.
const DELAY_P95_S: f64 = 3.0;
/// Standard normal 95th percentile.
const Z95: f64 = 1.644_853_626_951_472_2;

/// How far before its expected time a tap may lie, seconds: clock step and wrong offset by a moment.
pub const EARLY_S: f64 = 4.0;
/// How far behind, seconds.
pub const LATE_S: f64 = 25.0;
/// Share of presses that come at any time of the window. Common practice, no source.
const ANY_TIME: f64 = 0.03;
/// Share of shots that nobody taps. Common practice, no source.
const FORGOTTEN: f64 = 0.1;
/// Taps without a shot, per shot. Common practice, no source.
const EXTRA: f64 = 0.05;
/// Half the width over which the delay is smeared: the machine's whole seconds, and a fit still under way.
const SMEAR_S: f64 = 0.5;
/// Cells of the table per second.
const CELLS_PER_S: f64 = 20.0;
/// Cells from the earliest to the latest.
const CELLS: usize = 29 * 20;

/// Costs for one pair of sequences.
pub struct Costs {
    table: Vec<f64>,
    /// An event of the machine that nobody tapped.
    pub forgotten: f64,
    /// A tap without an event.
    pub extra: f64,
}

impl Costs {
    /// `events` of the machine over `seconds`.
    #[allow(clippy::cast_precision_loss, reason = "a number of events or cells")]
    pub fn new(events: usize, seconds: f64) -> Self {
        let cost = |cell: usize| {
            let e = cell as f64 / CELLS_PER_S - EARLY_S;
            -((1.0 - FORGOTTEN) * delay_density(e)).ln()
        };
        let rate = EXTRA * (events.max(1) as f64) / seconds.max(60.0);
        Self { table: (0..=CELLS).map(cost).collect(), forgotten: -FORGOTTEN.ln(), extra: -rate.ln() }
    }

    /// A tap `e` seconds behind its expected time; `None` outside the window.
    #[allow(clippy::cast_sign_loss, clippy::cast_possible_truncation, reason = "a cell below none is refused first")]
    pub fn of_match(&self, e: f64) -> Option<f64> {
        // The window to the moment, not to the cell: whoever looks through it decides by the same bounds.
        if !(-EARLY_S..=LATE_S).contains(&e) {
            return None;
        }
        let cell = (e + EARLY_S) * CELLS_PER_S + 0.5;
        self.table.get(cell as usize).copied()
    }
}

/// Density of a tap at `e` seconds behind the median delay, per second.
fn delay_density(e: f64) -> f64 {
    let at = e + DELAY_MEDIAN_S;
    let pressed = (delay_below(at + SMEAR_S) - delay_below(at - SMEAR_S)) / (2.0 * SMEAR_S);
    (1.0 - ANY_TIME) * pressed + ANY_TIME / (EARLY_S + LATE_S)
}

/// Share of delays below `seconds`.
fn delay_below(seconds: f64) -> f64 {
    if seconds <= 0.0 {
        return 0.0;
    }
    let sigma = (DELAY_P95_S / DELAY_MEDIAN_S).ln() / Z95;
    normal_below((seconds / DELAY_MEDIAN_S).ln() / sigma)
}

/// Standard normal distribution function.
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: definition of a density; P95 and median are those named above.
    #[test]
    fn the_delay_is_a_density_with_the_median_and_p95_it_states() {
        let step = 0.001;
        let total: f64 = (0..=29_000).map(|i| delay_density(f64::from(i) * step - EARLY_S) * step).sum();
        assert!((total - 1.0).abs() < 2e-3, "{total}");
        assert!((delay_below(DELAY_MEDIAN_S) - 0.5).abs() < 1e-12);
        assert!((delay_below(DELAY_P95_S) - 0.95).abs() < 1e-12);
    }

    #[test]
    fn a_tap_outside_the_window_matches_nothing() {
        let costs = Costs::new(40, 3_600.0);
        assert!(costs.of_match(-EARLY_S - 0.01).is_none() && costs.of_match(LATE_S + 0.01).is_none());
        assert!(costs.of_match(-EARLY_S).is_some() && costs.of_match(LATE_S).is_some());
        assert!(costs.of_match(0.0) < costs.of_match(3.0));
    }
}

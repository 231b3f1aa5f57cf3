//! Charts of counts over an area of opportunity: u, and u′ after Laney where cases vary more than chance.
//!
//! The spread factor comes from the moving range of the standardised counts and is never cut at 1: a factor below 1
//! is shown as it is.

use super::limits::{D2, Limits, SIGMAS, mean_moving_range};

/// A count and the area it was counted over, above 0; for shots the number of implants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    pub count: f64,
    pub area: f64,
}

/// A chart of counts.
#[derive(Debug, Clone, PartialEq)]
pub struct CountChart {
    /// All counts over all areas.
    pub mean: f64,
    /// Standard deviation of the standardised counts; 1 for the plain u chart.
    pub spread: f64,
    /// Limits of each count per area, in the order given; the lower never below 0.
    pub limits: Vec<Limits>,
}

/// `ū ± 3·sqrt(ū / n_i)`; a c chart where every area is 1. Nothing without counts.
///
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.3.1.
#[must_use]
pub fn u_chart(counts: &[Counted]) -> Option<CountChart> {
    let mean = mean(counts)?;
    Some(chart(counts, mean, 1.0))
}

/// `ū ± 3·σ_z·sqrt(ū / n_i)`, `σ_z` from the moving range of `z`. Nothing below two counts, or if nothing was counted.
///
/// Source: Laney, Quality Engineering 2002;14:531, from memory.
#[must_use]
pub fn laney_chart(counts: &[Counted]) -> Option<CountChart> {
    let mean = mean(counts).filter(|mean| *mean > 0.0)?;
    let z: Vec<f64> = counts.iter().map(|one| (one.count / one.area - mean) / (mean / one.area).sqrt()).collect();
    Some(chart(counts, mean, mean_moving_range(&z)? / D2))
}

fn mean(counts: &[Counted]) -> Option<f64> {
    let area: f64 = counts.iter().map(|one| one.area).sum();
    (area > 0.0).then(|| counts.iter().map(|one| one.count).sum::<f64>() / area)
}

fn chart(counts: &[Counted], mean: f64, spread: f64) -> CountChart {
    let limits = counts.iter().map(|one| {
        let reach = SIGMAS * spread * (mean / one.area).sqrt();
        Limits { lower: (mean - reach).max(0.0), centre: mean, upper: mean + reach }
    });
    CountChart { mean, spread, limits: limits.collect() }
}

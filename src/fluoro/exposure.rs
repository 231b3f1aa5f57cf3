//! From what passes the patient to what the detector holds: scatter, quanta, blur, saturation.
//!
//! What it does not do: no tracking of photons. Scatter is one smooth veil whose mean, over the field, is a given
//! multiple of the primary's mean.

use super::bands::in_bands;
use super::scene::Paths;
use super::smooth::{Coarse, gaussian};
use super::spectrum::Spectrum;
use rand_core::Rng;
use rand_distr::{Distribution, Poisson, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// How a picture is exposed and detected.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposure {
    pub spectrum: Spectrum,
    /// Mean of detected quanta for each pixel over the middle of the field, a disc of half its width, which the automatic
    /// control of the machine holds. Positive.
    pub quanta: f64,
    /// Mean scatter over mean primary at the detector, 0 or more. Behind a pelvis about 3 to 5 without a grid and 0.8 to
    /// 1.5 with one; common figures, no source.
    pub scatter_to_primary: f64,
    /// Standard deviation of the scatter's veil at the detector, mm.
    pub veil_mm: f64,
    /// Standard deviation of the detector's blur, mm.
    pub blur_mm: f64,
    /// Signal, as a multiple of that mean, beyond which the detector tells no more.
    pub saturation: f64,
}

impl Default for Exposure {
    /// A pulse with a grid; common practice, no source.
    fn default() -> Self {
        Self {
            spectrum: Spectrum::default(),
            quanta: 400.0,
            scatter_to_primary: 1.0,
            veil_mm: 40.0,
            blur_mm: 0.25,
            saturation: 4.0,
        }
    }
}

/// What the detector holds: multiples of the mean over the middle of the field, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Signal {
    pub columns: usize,
    pub rows: usize,
    pub values: Vec<f32>,
}

/// Fewest quanta for which a count is drawn from the normal law in place of Poisson's.
const NORMAL_FROM: f32 = 50.0;

/// Rows whose quanta come from one generator of their own, so that workers may share them.
const RUN_ROWS: usize = 32;

impl Exposure {
    /// Mean signal without noise, blur or saturation: primary and veil, as multiples of the middle's mean. `workers`:
    /// threads to share the rows, at least one is used; the signal does not depend on how many.
    #[must_use]
    pub fn expected(&self, paths: &Paths, workers: usize) -> Signal {
        let raster = *paths.raster();
        let mut values = paths.transmission(&self.spectrum, workers);
        if self.scatter_to_primary > 0.0 {
            add_veil(&mut values, raster.columns, self.veil_mm / raster.pitch_mm, self.scatter_to_primary, workers);
        }
        let mean = middle_mean(&values, raster.columns, raster.rows);
        let per_mean = if mean > 0.0 { (1.0 / mean) as f32 } else { 0.0 };
        in_bands(&mut values, raster.columns, workers, |_, band| {
            for value in band {
                *value *= per_mean;
            }
        });
        Signal { columns: raster.columns, rows: raster.rows, values }
    }

    /// One picture: quanta counted, then blurred, then cut at saturation. `workers`: threads to share the counting, at
    /// least one is used; the picture does not depend on how many.
    ///
    /// Source: counts of independent quanta follow Poisson's law, variance equal to the mean.
    #[must_use]
    pub fn expose(&self, paths: &Paths, random: &mut impl Rng, workers: usize) -> Signal {
        let mut signal = self.expected(paths, workers);
        self.count(&mut signal, random, workers.max(1));
        gaussian(&mut signal.values, signal.columns, self.blur_mm / paths.raster().pitch_mm, workers);
        let most = self.saturation as f32;
        in_bands(&mut signal.values, signal.columns, workers, |_, band| {
            for value in band {
                *value = if *value < most { *value } else { most };
            }
        });
        signal
    }

    fn count(&self, signal: &mut Signal, random: &mut impl Rng, workers: usize) {
        let quanta = self.quanta as f32;
        let mut shares: Vec<Vec<(Xoshiro256PlusPlus, &mut [f32])>> = (0..workers).map(|_| Vec::new()).collect();
        for (at, run) in signal.values.chunks_mut(RUN_ROWS * signal.columns.max(1)).enumerate() {
            shares[at % workers].push((Xoshiro256PlusPlus::seed_from_u64(random.next_u64()), run));
        }
        let count = |share: Vec<(Xoshiro256PlusPlus, &mut [f32])>| {
            for (mut random, run) in share {
                for value in run.iter_mut() {
                    *value = counted(*value * quanta, &mut random) / quanta;
                }
            }
        };
        let mine = shares.pop().unwrap_or_default();
        std::thread::scope(|scope| {
            for share in shares {
                scope.spawn(|| count(share));
            }
            count(mine);
        });
    }
}

/// A count of quanta whose mean is `mean`.
fn counted(mean: f32, random: &mut impl Rng) -> f32 {
    if mean >= NORMAL_FROM {
        let normal: f32 = StandardNormal.sample(random);
        return (mean + mean.sqrt() * normal).max(0.0);
    }
    Poisson::new(mean).map_or(0.0, |law| law.sample(random))
}

/// Mean over the disc in the middle of the field whose width is half the field's.
fn middle_mean(values: &[f32], columns: usize, rows: usize) -> f64 {
    let radius = columns.min(rows) as f64 / 4.0;
    let (mut sum, mut count) = (0.0, 0_u32);
    for (row, line) in values.chunks_exact(columns.max(1)).enumerate() {
        let down = row as f64 + 0.5 - rows as f64 / 2.0;
        let half = (radius * radius - down * down).max(0.0).sqrt();
        let from = (columns as f64 / 2.0 - half).ceil() as usize;
        let to = (columns as f64 / 2.0 + half).ceil() as usize;
        sum += line[from..to.min(columns)].iter().map(|value| f64::from(*value)).sum::<f64>();
        count += u32::try_from(to.min(columns) - from).unwrap_or(0);
    }
    sum / f64::from(count.max(1))
}

/// Adds the primary, smoothed to a veil, its mean `share` times the primary's.
fn add_veil(values: &mut [f32], columns: usize, sigma: f64, share: f64, workers: usize) {
    let veil = Coarse::smoothed(values, columns, sigma, workers);
    let (had, has) = (values.iter().map(|value| f64::from(*value)).sum::<f64>(), veil.sum());
    let weight = if has > 0.0 { (share * had / has) as f32 } else { 0.0 };
    in_bands(values, columns, workers, |first, band| {
        for (row, line) in (first..).zip(band.chunks_exact_mut(columns)) {
            veil.onto(row, line, |value, veil| *value += weight * veil);
        }
    });
}

//! How wrong a finding may be: by Jacobian for what is shown, by Monte Carlo to check that.
//!
//! Both evaluate the same scene with drawn errors. What it does not do: no randomness of its own; the generator is an
//! argument, and the same generator gives the same sample on any number of cores.

use super::evaluate::Scene;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use std::thread;

/// Step of the central differences, in standard deviations: wide enough to be no matter of rounding, and a tenth leaves
/// a hundredth of the third derivative's part.
const STEP: f64 = 0.1;
/// Draws of one portion. Portions are seeded one by one, so that who computes which does not matter.
const PORTION: usize = 500;
/// Threads of a Monte Carlo run.
const THREADS: usize = 4;

/// What is found, and its first-order covariance.
#[derive(Debug, Clone, PartialEq)]
pub struct Covariance {
    /// The finding itself, by place; see [`super::Outputs`].
    pub nominal: Vec<f64>,
    /// Row per error, column per output: change per standard deviation.
    rows: Vec<Vec<f64>>,
}

impl Covariance {
    /// Covariance of two outputs.
    #[must_use]
    pub fn between(&self, one: usize, other: usize) -> f64 {
        self.rows.iter().map(|row| row[one] * row[other]).sum()
    }

    /// One standard deviation of an output; NaN where there is none.
    #[must_use]
    pub fn sigma(&self, output: usize) -> f64 {
        self.between(output, output).sqrt()
    }
}

/// The finding and its covariance by central differences, one error at a time.
#[must_use]
pub fn propagate(scene: &Scene) -> Covariance {
    let (errors, outputs) = (scene.errors(), scene.outputs());
    let mut nominal = vec![f64::NAN; outputs];
    scene.evaluate(&[], &mut nominal);
    let mut normal = vec![0.0; errors];
    let (mut ahead, mut behind) = (nominal.clone(), nominal.clone());
    let mut rows = Vec::with_capacity(errors);
    for error in 0..errors {
        normal[error] = STEP;
        scene.evaluate(&normal, &mut ahead);
        normal[error] = -STEP;
        scene.evaluate(&normal, &mut behind);
        normal[error] = 0.0;
        rows.push(ahead.iter().zip(&behind).map(|(ahead, behind)| (ahead - behind) / (2.0 * STEP)).collect());
    }
    Covariance { nominal, rows }
}

/// Draws of a scene.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    outputs: usize,
    values: Vec<f64>,
}

impl Sample {
    /// Every draw, each a list by place as in [`super::Outputs`].
    pub fn draws(&self) -> impl Iterator<Item = &[f64]> {
        self.values.chunks_exact(self.outputs)
    }

    /// How many.
    #[must_use]
    pub fn len(&self) -> usize {
        self.values.len() / self.outputs
    }

    /// Whether nothing was drawn.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// Mean of an output.
    #[must_use]
    pub fn mean(&self, output: usize) -> f64 {
        self.draws().map(|draw| draw[output]).sum::<f64>() / self.len() as f64
    }

    /// Covariance of two outputs.
    #[must_use]
    pub fn between(&self, one: usize, other: usize) -> f64 {
        let (mean_one, mean_other) = (self.mean(one), self.mean(other));
        let sum: f64 = self.draws().map(|draw| (draw[one] - mean_one) * (draw[other] - mean_other)).sum();
        sum / (self.len() as f64 - 1.0)
    }

    /// One standard deviation of an output.
    #[must_use]
    pub fn sigma(&self, output: usize) -> f64 {
        self.between(output, output).sqrt()
    }
}

/// Draws the scene's errors `draws` times.
///
/// The portions are computed side by side; their generators come from `generator` one after the other.
#[must_use]
pub fn monte_carlo(scene: &Scene, draws: usize, generator: &mut Xoshiro256PlusPlus) -> Sample {
    let (errors, outputs) = (scene.errors(), scene.outputs());
    let mut values = vec![f64::NAN; draws * outputs];
    let mut portions: Vec<(Xoshiro256PlusPlus, &mut [f64])> = values
        .chunks_mut(PORTION * outputs)
        .map(|portion| (Xoshiro256PlusPlus::from_rng(generator), portion))
        .collect();
    let share = portions.len().div_ceil(THREADS).max(1);
    thread::scope(|scope| {
        for own in portions.chunks_mut(share) {
            scope.spawn(move || {
                let mut normal = vec![0.0; errors];
                for (generator, portion) in own {
                    for out in portion.chunks_exact_mut(outputs) {
                        normal.fill_with(|| StandardNormal.sample(generator));
                        scene.evaluate(&normal, out);
                    }
                }
            });
        }
    });
    Sample { outputs, values }
}

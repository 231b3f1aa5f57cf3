//! The learning curve: shots fall towards a plateau, y = a + b·exp(-c·(n - 1)), n the case's number from 1.
//!
//! Least squares on the counts themselves, each case alike. It describes one series; it promises nothing about the
//! next case, and no published curve for this operation is known to hold it against.

use super::fit::{Curve, Fit, fit};
use super::quantile::count;
use super::student::t_975;
use nalgebra::{SVector, Vector3};

/// Below this many cases no curve is fitted. Common practice, no source.
pub const CASES_MIN: usize = 12;

/// A fitted curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Learning {
    fit: Fit<3>,
    t: f64,
}

/// A value with its interval of 95 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Within {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// Where all cases are too many to search among, so many of the first and of the others tell where to begin.
const FIRST: usize = 200;
const SOME: usize = 800;

struct Exponential;

impl Curve<3> for Exponential {
    fn at(&self, p: &Vector3<f64>, x: f64) -> (f64, Vector3<f64>) {
        let decay = (-p[2] * x).exp();
        (p[0] + p[1] * decay, Vector3::new(1.0, decay, -p[1] * x * decay))
    }
}

/// Rates of learning the search starts from, per case.
const RATES: [f64; 5] = [0.02, 0.05, 0.1, 0.3, 1.0];

/// Fits the curve to values in the order of the cases. Nothing below [`CASES_MIN`] cases, if nothing fits, if the
/// values do not fall, or if the interval of the fall includes none at all: then there is no learning to be seen.
#[must_use]
pub fn learning(values: &[f64]) -> Option<Learning> {
    if values.len() < CASES_MIN {
        return None;
    }
    let points: Vec<(f64, f64)> = values.iter().enumerate().map(|(at, value)| (count(at), *value)).collect();
    let third = values.len() / 3;
    let mean = |part: &[f64]| part.iter().sum::<f64>() / count(part.len());
    let (first, last) = (mean(&values[..third]), mean(&values[values.len() - third..]));
    let start = |rate: f64| SVector::from([last, (first - last).max(0.1), rate]);
    let starts = RATES.map(start);
    let near = thinned(&points).and_then(|few| best_of(&few, &starts));
    let best =
        near.and_then(|near| fit(&Exponential, &points, near.parameters)).or_else(|| best_of(&points, &starts))?;
    let t = t_975(best.freedom);
    let (fall, rate) = (best.parameters[1], best.parameters[2]);
    let seen = fall - t * best.error(1) > 0.0 && rate > 0.0 && rate * count(values.len()) > 1.0;
    seen.then_some(Learning { fit: best, t })
}

/// The best of the fits from several starts.
fn best_of(points: &[(f64, f64)], starts: &[Vector3<f64>]) -> Option<Fit<3>> {
    let fits = starts.iter().filter_map(|start| fit(&Exponential, points, *start));
    fits.min_by(|a, b| a.squares.total_cmp(&b.squares))
}

/// All of the first cases and some of the others, to find where a fit of all of them starts; nothing where all are few.
fn thinned(points: &[(f64, f64)]) -> Option<Vec<(f64, f64)>> {
    let (first, others) = points.split_at_checked(FIRST)?;
    (others.len() > SOME).then(|| {
        let apart = others.len().div_ceil(SOME);
        first.iter().chain(others.iter().step_by(apart)).copied().collect()
    })
}

impl Learning {
    /// The plateau `a`.
    #[must_use]
    pub fn plateau(&self) -> Within {
        self.parameter(0)
    }

    /// The fall `b` from the first case to the plateau.
    #[must_use]
    pub fn fall(&self) -> Within {
        self.parameter(1)
    }

    /// Cases until half of the fall is done: ln 2 / c.
    #[must_use]
    pub fn half_after_cases(&self) -> f64 {
        std::f64::consts::LN_2 / self.fit.parameters[2]
    }

    /// The curve at the case with that number, from 1, with the interval of the mean there (delta method).
    #[must_use]
    pub fn at(&self, case: usize) -> Within {
        let (value, slope) = Exponential.at(&self.fit.parameters, count(case.saturating_sub(1)));
        let variance = (slope.transpose() * self.fit.covariance * slope)[(0, 0)];
        self.within(value, variance.max(0.0).sqrt())
    }

    fn parameter(&self, which: usize) -> Within {
        self.within(self.fit.parameters[which], self.fit.error(which))
    }

    fn within(&self, value: f64, error: f64) -> Within {
        Within { value, low: value - self.t * error, high: value + self.t * error }
    }
}

//! Least squares of a curve that is not linear in its parameters, by Levenberg and Marquardt's method.
//!
//! Few parameters, dense, in double precision; no bounds, no weights. It either says what fits or that nothing does.
//!
//! Source: Moré, The Levenberg-Marquardt algorithm, Lecture Notes in Mathematics 630 (1978); damping as Nielsen,
//! IMM-REP-1999-05, both from memory; held against data of the NIST Statistical Reference Datasets.

use super::quantile::count;
use nalgebra::{SMatrix, SVector};

/// A curve: its value at a point and the derivatives by each parameter.
pub trait Curve<const P: usize> {
    /// Value and gradient at `x`.
    fn at(&self, parameters: &SVector<f64, P>, x: f64) -> (f64, SVector<f64, P>);
}

/// What fits.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit<const P: usize> {
    pub parameters: SVector<f64, P>,
    /// Sum of the squared differences.
    pub squares: f64,
    /// Covariance of the parameters: s²·(JᵀJ)⁻¹.
    pub covariance: SMatrix<f64, P, P>,
    /// Points less parameters.
    pub freedom: usize,
}

impl<const P: usize> Fit<P> {
    /// Standard error of a parameter.
    #[must_use]
    pub fn error(&self, parameter: usize) -> f64 {
        self.covariance[(parameter, parameter)].max(0.0).sqrt()
    }
}

/// Steps before it gives up.
const STEPS_MAX: usize = 2_000;
/// A step below this part of the parameters ends the search.
const STEP_MIN: f64 = 1e-14;

/// Fits the curve from a starting point; nothing if there are too few points or the search ends nowhere.
#[must_use]
pub fn fit<const P: usize>(curve: &impl Curve<P>, points: &[(f64, f64)], start: SVector<f64, P>) -> Option<Fit<P>> {
    let freedom = points.len().checked_sub(P).filter(|freedom| *freedom > 0)?;
    let mut at = start;
    let (mut normal, mut gradient, mut squares) = system(curve, points, &at);
    let mut damping = 1e-3;
    let mut growth = 2.0;
    for _ in 0..STEPS_MAX {
        let mut damped = normal;
        (0..P).for_each(|i| damped[(i, i)] += damping * normal[(i, i)].max(f64::MIN_POSITIVE));
        let step = damped.cholesky()?.solve(&gradient);
        let next = at + step;
        let (next_normal, next_gradient, next_squares) = system(curve, points, &next);
        if next_squares.is_finite() && next_squares <= squares {
            let small = (0..P).all(|i| step[i].abs() <= STEP_MIN * (at[i].abs() + STEP_MIN));
            (at, normal, gradient, squares) = (next, next_normal, next_gradient, next_squares);
            (damping, growth) = (damping / 3.0, 2.0);
            if small {
                break;
            }
        } else {
            damping *= growth;
            growth *= 2.0;
            if damping > 1e30 {
                break;
            }
        }
    }
    let covariance = normal.try_inverse()? * (squares / count(freedom));
    let sound = at.iter().chain(covariance.iter()).all(|value| value.is_finite());
    sound.then_some(Fit { parameters: at, squares, covariance, freedom })
}

/// `JᵀJ`, `Jᵀr` and the sum of squares.
fn system<const P: usize>(
    curve: &impl Curve<P>,
    points: &[(f64, f64)],
    at: &SVector<f64, P>,
) -> (SMatrix<f64, P, P>, SVector<f64, P>, f64) {
    let mut normal = SMatrix::zeros();
    let mut gradient = SVector::zeros();
    let mut squares = 0.0;
    for (x, y) in points {
        let (value, slope) = curve.at(at, *x);
        let rest = y - value;
        normal += slope * slope.transpose();
        gradient += slope * rest;
        squares += rest * rest;
    }
    (normal, gradient, squares)
}

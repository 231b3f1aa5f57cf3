//! How a second view stands to the first, from landmarks touched on both: a bundle solve.
//!
//! Unknown are the second view's turn and shift against where angles and distances put it, and every landmark's place.
//! Known are the touches, the turn to within both views' angle errors, and the distance from each source to the patient
//! or, better, a length between two landmarks: touches alone never give a size. Each enters as a residual over its own
//! standard deviation; Levenberg and Marquardt find the least sum of squares, and the inverse of the normal matrix
//! there is the covariance. What it does not do: it names no landmark and throws none out.

use super::frame::moved;
use super::line::closest_approach;
use super::view::PinView;
use crate::carm::{ImagePoint, Point, Pose, Rotation, Vector};
use crate::units::Millimetres;
use nalgebra::{DMatrix, DVector, Matrix6};
use thiserror::Error;

/// Fewer landmarks than this leave the turn to the angles alone.
pub const LANDMARKS_MIN: usize = 3;
/// How far a column may have been wheeled between two views, mm, one standard deviation: says as good as nothing.
const WHEELED_MM: f64 = 200.0;
/// Steps of the solve; it takes about ten.
const STEPS_MAX: usize = 100;
/// Step of the numeric derivatives: mm, or radians times a metre.
const DERIVATIVE_STEP: f64 = 1e-3;

/// A landmark with its touches: the number of the view, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmark {
    pub touches: Vec<(usize, ImagePoint)>,
}

impl Landmark {
    fn on(&self, view: usize) -> Option<ImagePoint> {
        self.touches.iter().find(|(number, _)| *number == view).map(|(_, at)| *at)
    }
}

/// A length known between two landmarks, by their numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownLength {
    pub from: usize,
    pub to: usize,
    pub length: Millimetres,
    /// One standard deviation.
    pub sigma: Millimetres,
}

/// Why landmarks give no pose.
#[derive(Debug, Error, Clone, Copy, PartialEq, Eq)]
pub enum BundleError {
    #[error("{found} landmarks are touched on both views, {LANDMARKS_MIN} are needed")]
    TooFew { found: usize },
    #[error("the landmarks fit no pose of the second view")]
    NotSettled,
}

/// A solved second view.
#[derive(Debug, Clone, PartialEq)]
pub struct Bundle {
    /// Turn about the second view's isocentre, as axis times radians.
    pub turn: Vector,
    /// Shift after the turn, mm.
    pub shift: Vector,
    /// Lower triangle whose product with its transpose is the covariance of (turn, shift).
    pub root: Matrix6<f64>,
    /// Per landmark: its number, and the root mean square of its four residuals on the detectors, mm.
    pub residuals: Vec<(usize, f64)>,
    /// Sum of squared residuals over their standard deviations.
    pub chi_squared: f64,
    /// Residuals less unknowns.
    pub freedom: usize,
}

impl Bundle {
    /// Whether the residuals are no larger than the stated errors explain, 99 of 100.
    ///
    /// Source: Wilson and Hilferty, Proc Natl Acad Sci USA 1931;17:684, the cube root of chi squared is nearly normal;
    /// 2.326 is the normal 99th percentile.
    #[must_use]
    pub fn agrees(&self) -> bool {
        let freedom = self.freedom as f64;
        let spread = 2.0 / (9.0 * freedom);
        self.chi_squared <= freedom * (1.0 - spread + 2.326 * spread.sqrt()).powi(3)
    }

    /// The landmark that fits worst, and its residual, mm.
    #[must_use]
    pub fn worst(&self) -> Option<(usize, f64)> {
        self.residuals.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// What is held against each other.
struct Problem<'a> {
    views: [&'a PinView; 2],
    /// Numbers of the landmarks touched on both views.
    numbers: Vec<usize>,
    touches: Vec<[ImagePoint; 2]>,
    lengths: Vec<KnownLength>,
    depth: f64,
}

/// How view number `other` stands to view 0.
///
/// `depth`: one standard deviation, mm, of the landmarks' middle against the isocentre's depth on each view.
///
/// # Errors
/// [`BundleError`] if fewer than three landmarks are touched on both, or nothing settles.
pub fn solve(
    views: &[PinView],
    other: usize,
    landmarks: &[Landmark],
    lengths: &[KnownLength],
    depth: Millimetres,
) -> Result<Bundle, BundleError> {
    let both = |(number, landmark): (usize, &Landmark)| Some((number, [landmark.on(0)?, landmark.on(other)?]));
    let (numbers, touches): (Vec<_>, Vec<_>) = landmarks.iter().enumerate().filter_map(both).unzip();
    if numbers.len() < LANDMARKS_MIN {
        return Err(BundleError::TooFew { found: numbers.len() });
    }
    let place_of = |number: usize| numbers.iter().position(|known| *known == number);
    let known =
        |length: &KnownLength| Some(KnownLength { from: place_of(length.from)?, to: place_of(length.to)?, ..*length });
    let lengths = lengths.iter().filter_map(known).collect();
    Problem { views: [&views[0], &views[other]], numbers, touches, lengths, depth: depth.0 }.settle()
}

impl Problem<'_> {
    fn poses(&self, unknown: &DVector<f64>) -> [Pose; 2] {
        let [first, second] = self.views;
        let turn = Rotation::from_scaled_axis(Vector::new(unknown[0], unknown[1], unknown[2]) / TURN_ARM);
        let shift = Vector::new(unknown[3], unknown[4], unknown[5]);
        [first.pose, moved(&second.pose, &second.isocentre, &turn, &shift)]
    }

    fn start(&self) -> DVector<f64> {
        let mut unknown = DVector::zeros(6 + 3 * self.touches.len());
        let poses = self.poses(&unknown);
        for (number, touches) in self.touches.iter().enumerate() {
            let rays = [poses[0].ray(touches[0]), poses[1].ray(touches[1])];
            let place = closest_approach(&rays).map_or(self.views[0].isocentre, |found| found.point);
            unknown.fixed_rows_mut::<3>(6 + 3 * number).copy_from(&place.coords);
        }
        unknown
    }

    /// Residuals over their standard deviations; `None` if a landmark lies behind a source.
    fn residuals(&self, unknown: &DVector<f64>) -> Option<DVector<f64>> {
        let poses = self.poses(unknown);
        let count = self.touches.len();
        let place = |number: usize| Point::from(unknown.fixed_rows::<3>(6 + 3 * number).into_owned());
        let mut all = Vec::with_capacity(4 * count + 8 + self.lengths.len());
        let mut middle = Vector::zeros();
        for (number, touches) in self.touches.iter().enumerate() {
            let at = place(number);
            middle += at.coords / count as f64;
            for (pose, (view, touch)) in poses.iter().zip(self.views.iter().zip(touches)) {
                let seen = pose.project(&at)?;
                let sigma = view.errors.touch.0;
                all.push((seen.across_mm - touch.across_mm) / sigma);
                all.push((seen.down_mm - touch.down_mm) / sigma);
            }
        }
        let angle = self.views[0].errors.angle.radians().hypot(self.views[1].errors.angle.radians());
        all.extend((0..3).map(|axis| unknown[axis] / TURN_ARM / angle));
        all.extend((3..6).map(|axis| unknown[axis] / WHEELED_MM));
        for (pose, view) in poses.iter().zip(&self.views) {
            let expected = (view.isocentre - view.pose.source).dot(&view.pose.beam());
            all.push(((Point::from(middle) - pose.source).dot(&pose.beam()) - expected) / self.depth);
        }
        for known in &self.lengths {
            all.push(((place(known.from) - place(known.to)).norm() - known.length.0) / known.sigma.0);
        }
        Some(DVector::from_vec(all))
    }

    fn jacobian(&self, unknown: &DVector<f64>, rows: usize) -> Option<DMatrix<f64>> {
        let mut jacobian = DMatrix::zeros(rows, unknown.len());
        for column in 0..unknown.len() {
            let mut moved = unknown.clone();
            moved[column] += DERIVATIVE_STEP;
            let ahead = self.residuals(&moved)?;
            moved[column] -= 2.0 * DERIVATIVE_STEP;
            let behind = self.residuals(&moved)?;
            jacobian.set_column(column, &((ahead - behind) / (2.0 * DERIVATIVE_STEP)));
        }
        Some(jacobian)
    }

    fn settle(&self) -> Result<Bundle, BundleError> {
        let (unknown, residuals) = self.least_squares().ok_or(BundleError::NotSettled)?;
        let jacobian = self.jacobian(&unknown, residuals.len()).ok_or(BundleError::NotSettled)?;
        let normal = (jacobian.transpose() * jacobian).cholesky().ok_or(BundleError::NotSettled)?;
        let mut covariance = normal.inverse().fixed_view::<6, 6>(0, 0).into_owned();
        let arm = |index: usize| if index < 3 { TURN_ARM } else { 1.0 };
        covariance = Matrix6::from_fn(|row, column| covariance[(row, column)] / (arm(row) * arm(column)));
        let root = covariance.cholesky().ok_or(BundleError::NotSettled)?.l();
        let of_landmark = |place: usize| {
            let sigma = |k: usize| self.views[k / 2].errors.touch.0;
            let squares: f64 = (0..4).map(|k| (residuals[4 * place + k] * sigma(k)).powi(2)).sum();
            (self.numbers[place], (squares / 4.0).sqrt())
        };
        Ok(Bundle {
            turn: Vector::new(unknown[0], unknown[1], unknown[2]) / TURN_ARM,
            shift: Vector::new(unknown[3], unknown[4], unknown[5]),
            root,
            residuals: (0..self.numbers.len()).map(of_landmark).collect(),
            chi_squared: residuals.norm_squared(),
            freedom: residuals.len() - unknown.len(),
        })
    }

    /// Where the sum of squares is least, and the residuals there.
    fn least_squares(&self) -> Option<(DVector<f64>, DVector<f64>)> {
        let mut unknown = self.start();
        let mut residuals = self.residuals(&unknown)?;
        let mut damping = 1e-3;
        for _ in 0..STEPS_MAX {
            let jacobian = self.jacobian(&unknown, residuals.len())?;
            let normal = jacobian.transpose() * &jacobian;
            let downhill = jacobian.transpose() * &residuals;
            let (step, better) = loop {
                let mut damped = normal.clone();
                for k in 0..damped.nrows() {
                    damped[(k, k)] *= 1.0 + damping;
                }
                let step = damped.cholesky().map(|factor| -factor.solve(&downhill));
                let tried = step.and_then(|step| Some((self.residuals(&(&unknown + &step))?, step)));
                match tried {
                    Some((tried, step)) if tried.norm_squared() <= residuals.norm_squared() => break (step, tried),
                    // Nothing downhill is left but rounding: this is the lowest place.
                    _ if damping > 1e12 => return Some((unknown, residuals)),
                    _ => damping *= 8.0,
                }
            };
            unknown += &step;
            residuals = better;
            damping = (damping / 8.0).max(1e-12);
            if step.amax() < SETTLED {
                return Some((unknown, residuals));
            }
        }
        None
    }
}

/// Turns are carried in mm at this arm, so that all unknowns are of one size.
const TURN_ARM: f64 = 1000.0;
/// A step of less than this, mm, changes nothing.
const SETTLED: f64 = 1e-9;

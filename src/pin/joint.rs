//! The joint where the pin crosses it: a surface that twists along head and foot, or local normals from the plan.
//!
//! A sacroiliac joint is not a plane: on both sides of the reference specimen it turns from about 30° axial cranially to
//! 13° caudally, so one normal for all heights is wrong by up to 9°. Axial is positive where the front edge lies farther
//! lateral than the back edge; coronal where the cranial edge lies farther lateral. What it does not do: it knows no
//! patient; points and angles come from touches or the plan.

use super::evaluate::Draw;
use super::line::{PinLine, closest_approach, nearest_along};
use crate::carm::{Direction, ImagePoint, Point, Pose, Vector};
use crate::units::{Degrees, Millimetres, Side};
use nalgebra::{Matrix4, Vector4};
use thiserror::Error;

/// How the joint is known.
#[derive(Debug, Clone, PartialEq)]
pub enum Joint {
    /// Points of the joint, touched or planned: a plane through three to five, a twisted surface through six or more.
    Surface { points: Vec<JointPoint> },
    /// Angles of the joint at some heights, from the plan's images; between them they change evenly, beyond them not.
    Normals {
        /// In order of height, at least one.
        stations: Vec<Station>,
        /// One standard deviation of each angle.
        sigma: Degrees,
        /// One standard deviation of the height of the stations in the views' frame.
        height_sigma: Millimetres,
        crossing: Crossing,
    },
}

/// One point of the joint.
#[derive(Debug, Clone, PartialEq)]
pub enum JointPoint {
    /// Measured in the plan, in the views' frame. `sigma`: one standard deviation in each direction.
    Planned { at: Point, sigma: Millimetres },
    /// Touched on two or more views: the number of the view, and where.
    Touched { touches: Vec<(usize, ImagePoint)> },
}

/// The joint's angles at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// z of the patient frame.
    pub height: Millimetres,
    pub axial: Degrees,
    pub coronal: Degrees,
}

/// Where the pin crosses a joint of known angles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Crossing {
    /// The joint line was touched where the pin's shadow crosses it, on a view that profiles the joint.
    Touched { view: usize, at: ImagePoint },
    /// The joint passes through this point of the views' frame. `sigma`: one standard deviation along its normal.
    Through { at: Point, sigma: Millimetres },
    /// Not known: the angle holds for the middle height, and no length past the joint is given.
    Unknown,
}

/// Why points are no joint.
#[derive(Debug, Error, Clone, Copy, PartialEq, Eq)]
pub enum JointError {
    #[error("three points or more are needed, {found} are given")]
    TooFew { found: usize },
    #[error("the points lie on one line as seen from the side")]
    OnOneLine,
}

/// From how many points on a surface may twist.
pub const TWIST_POINTS_MIN: usize = 6;

/// +1 if the side's lateral direction is x of the patient frame, -1 if it is the opposite.
pub(super) fn lateral(side: Side) -> f64 {
    match side {
        Side::Left => 1.0,
        Side::Right => -1.0,
    }
}

/// The normal of a joint with these angles, toward the sacrum.
///
/// Lateral offset grows by tan(coronal) toward the head and by tan(axial) toward the front.
#[must_use]
pub fn medial_normal(side: Side, axial: f64, coronal: f64) -> Direction {
    Direction::new_normalize(-Vector::new(lateral(side), axial.tan(), -coronal.tan()))
}

/// A joint as lateral offset over height and depth: `a + b y + c z + d y z`, about the points' middle.
///
/// The last term is the twist: the axial slope changes by `d` per millimetre of height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    side: Side,
    middle: Point,
    terms: Vector4<f64>,
}

impl Surface {
    /// The surface that fits `points` best, measured along left and right.
    ///
    /// # Errors
    /// [`JointError`] for fewer than three points, or for points that leave a slope open.
    pub fn fit(side: Side, points: &[Point]) -> Result<Self, JointError> {
        if points.len() < 3 {
            return Err(JointError::TooFew { found: points.len() });
        }
        let sum: Vector = points.iter().map(|point| point.coords).sum();
        let middle = Point::from(sum / points.len() as f64);
        let twist = if points.len() >= TWIST_POINTS_MIN { 1.0 } else { 0.0 };
        let (mut normal, mut moment) = (Matrix4::zeros(), Vector4::zeros());
        for point in points {
            let apart = point - middle;
            let row = Vector4::new(1.0, apart.y, apart.z, twist * apart.y * apart.z / SPAN_MM);
            normal += row * row.transpose();
            moment += row * (lateral(side) * apart.x);
        }
        if twist == 0.0 {
            normal[(3, 3)] = 1.0;
        }
        // How well the least settled slope is settled, against the points' own spread.
        let spread = normal[(1, 1)] + normal[(2, 2)];
        let slopes = normal[(1, 1)] * normal[(2, 2)] - normal[(1, 2)].powi(2);
        if slopes.is_nan() || slopes <= ON_ONE_LINE * spread * spread {
            return Err(JointError::OnOneLine);
        }
        let mut terms = normal.cholesky().ok_or(JointError::OnOneLine)?.solve(&moment);
        terms[3] /= SPAN_MM;
        Ok(Self { side, middle, terms })
    }

    /// The normal toward the sacrum, at the surface beside `at`.
    #[must_use]
    pub fn medial_normal(&self, at: &Point) -> Direction {
        let apart = at - self.middle;
        let along_y = self.terms[1] + self.terms[3] * apart.z;
        let along_z = self.terms[2] + self.terms[3] * apart.y;
        Direction::new_normalize(-Vector::new(lateral(self.side), -along_y, -along_z))
    }

    /// How far along `line`, from its tip, it crosses the surface; the crossing nearest to the tip.
    #[must_use]
    pub fn crossing(&self, line: &PinLine) -> Option<f64> {
        let (apart, axis) = (line.tip - self.middle, line.axis);
        let [a, b, c, d] = self.terms.into();
        let offset = lateral(self.side) * apart.x - (a + b * apart.y + c * apart.z + d * apart.y * apart.z);
        let slope = lateral(self.side) * axis.x - (b * axis.y + c * axis.z + d * (apart.y * axis.z + apart.z * axis.y));
        let bend = -d * axis.y * axis.z;
        // The root that stays finite as the bend vanishes.
        let root = slope * slope - 4.0 * bend * offset;
        let along = -2.0 * offset / (slope + slope.signum() * root.sqrt());
        along.is_finite().then_some(along)
    }
}

/// The scale of height and depth in the twist term, so that all four terms are of one size.
const SPAN_MM: f64 = 20.0;
/// Points spread this little across their line, relative, are on it.
const ON_ONE_LINE: f64 = 1e-4;

/// What the joint says of a pin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Met {
    /// Toward the sacrum, where the pin crosses or as near to that as is known.
    pub normal: Direction,
    /// From where the pin crosses to its tip, positive with the tip in the sacrum.
    pub past: Option<f64>,
}

impl Joint {
    /// The joint where `line` crosses it; without a line, at its middle height.
    pub(super) fn meet(&self, side: Side, poses: &[Pose], line: Option<&PinLine>, draw: &mut Draw<'_>) -> Option<Met> {
        match self {
            Self::Surface { points } => {
                let places: Vec<Point> = points.iter().filter_map(|point| point.place(poses, draw)).collect();
                let surface = Surface::fit(side, &places).ok()?;
                let along = line.and_then(|line| surface.crossing(line));
                let at = line.zip(along).map_or(surface.middle, |(line, along)| line.at(along));
                Some(Met { normal: surface.medial_normal(&at), past: along.map(|along| -along) })
            }
            Self::Normals { stations, sigma, height_sigma, crossing } => {
                let off = [draw.next(sigma.radians()), draw.next(sigma.radians()), draw.next(height_sigma.0)];
                let normal_at = |height: f64| {
                    let (axial, coronal) = angles_at(stations, height + off[2]);
                    medial_normal(side, axial + off[0], coronal + off[1])
                };
                let along = match crossing {
                    Crossing::Touched { view, at } => {
                        let ray = poses[*view].ray(draw.touch_on(*view, *at));
                        line.and_then(|line| nearest_along(line, &ray))
                    }
                    Crossing::Through { at, sigma } => {
                        let lift = draw.next(sigma.0);
                        line.and_then(|line| through(line, at, lift, &normal_at))
                    }
                    Crossing::Unknown => None,
                };
                let height = line.zip(along).map_or_else(|| middle(stations), |(line, along)| line.at(along).z);
                Some(Met { normal: normal_at(height), past: along.map(|along| -along) })
            }
        }
    }

    /// The largest difference, degrees, between the pin's angle at any height of the joint and that at `normal`.
    pub(super) fn spread(&self, side: Side, axis: &Direction, normal: &Direction) -> f64 {
        let degrees = |normal: &Direction| axis.angle(normal).to_degrees();
        let here = degrees(normal);
        let there: Vec<f64> = match self {
            Self::Normals { stations, .. } => {
                stations.iter().map(|s| degrees(&medial_normal(side, s.axial.radians(), s.coronal.radians()))).collect()
            }
            Self::Surface { points } => {
                let places: Vec<Point> = points.iter().filter_map(JointPoint::planned).collect();
                let surface = Surface::fit(side, &places).ok();
                surface.iter().flat_map(|s| places.iter().map(|at| degrees(&s.medial_normal(at)))).collect()
            }
        };
        there.into_iter().map(|angle| (angle - here).abs()).fold(0.0, f64::max)
    }
}

impl JointPoint {
    /// Where the plan puts it, if the plan does.
    pub(super) fn planned(&self) -> Option<Point> {
        match self {
            Self::Planned { at, .. } => Some(*at),
            Self::Touched { .. } => None,
        }
    }

    fn place(&self, poses: &[Pose], draw: &mut Draw<'_>) -> Option<Point> {
        match self {
            Self::Planned { at, sigma } => {
                Some(at + Vector::new(draw.next(sigma.0), draw.next(sigma.0), draw.next(sigma.0)))
            }
            Self::Touched { touches } => {
                let rays: Vec<_> =
                    touches.iter().map(|(view, at)| poses[*view].ray(draw.touch_on(*view, *at))).collect();
                closest_approach(&rays).map(|found| found.point)
            }
        }
    }
}

/// Axial and coronal angle at a height, radians: straight between stations, constant beyond the outermost.
fn angles_at(stations: &[Station], height: f64) -> (f64, f64) {
    let both = |station: &Station| (station.axial.radians(), station.coronal.radians());
    let above = stations.iter().position(|station| station.height.0 >= height);
    match above {
        None => stations.last().map_or((0.0, 0.0), both),
        Some(0) => both(&stations[0]),
        Some(above) => {
            let (lower, upper) = (&stations[above - 1], &stations[above]);
            let share = (height - lower.height.0) / (upper.height.0 - lower.height.0);
            let mix = |from: Degrees, to: Degrees| from.radians() + share * (to.radians() - from.radians());
            (mix(lower.axial, upper.axial), mix(lower.coronal, upper.coronal))
        }
    }
}

fn middle(stations: &[Station]) -> f64 {
    let ends = stations.first().zip(stations.last());
    ends.map_or(0.0, |(first, last)| f64::midpoint(first.height.0, last.height.0))
}

/// Where `line` crosses the sheet through `at` whose normal changes with height: the local plane, four times over.
fn through(line: &PinLine, at: &Point, lift: f64, normal_at: &dyn Fn(f64) -> Direction) -> Option<f64> {
    let mut along = 0.0;
    let mut height = at.z;
    for _ in 0..4 {
        let normal = normal_at(height);
        along = ((at - line.tip).dot(&normal) + lift) / line.axis.dot(&normal);
        height = line.at(along).z;
    }
    along.is_finite().then_some(along)
}

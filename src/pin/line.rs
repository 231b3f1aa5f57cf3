//! Lines from shadows: the plane of a pin and its shadow, the axis where planes meet, the tip where rays pass closest.
//!
//! What it does not do: no uncertainty and no judgement; whatever is degenerate is `None`.

use crate::carm::{Direction, ImagePoint, Point, Pose, Ray, Vector};
use nalgebra::Matrix3;

/// A pin: its tip and the way it points, from shank to tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PinLine {
    pub tip: Point,
    pub axis: Direction,
}

impl PinLine {
    /// The place on the pin `further` mm beyond its tip; negative lies toward the shank.
    #[must_use]
    pub fn at(&self, further: f64) -> Point {
        self.tip + self.axis.into_inner() * further
    }
}

/// What the shadow of a pin on one picture says: the plane through the source that holds shadow and pin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shadow {
    /// Of the plane; its sign follows from shank to tip.
    pub normal: Direction,
    /// From the source to the middle of the touches.
    pub toward: Direction,
}

/// Shorter than this on the detector, mm, a shadow has no direction.
const SHADOW_MIN_MM: f64 = 1.0;

impl Shadow {
    /// The plane of the line that fits tip and shank best on the picture (least squares across the line).
    ///
    /// `None` without a shank touch, or if the touches coincide.
    #[must_use]
    pub fn of(pose: &Pose, tip: ImagePoint, shank: &[ImagePoint]) -> Option<Self> {
        let count = shank.len() as f64;
        if shank.is_empty() {
            return None;
        }
        let shank_sum = shank.iter().fold((0.0, 0.0), |sum, at| (sum.0 + at.across_mm, sum.1 + at.down_mm));
        let ahead = (tip.across_mm - shank_sum.0 / count, tip.down_mm - shank_sum.1 / count);
        if ahead.0.hypot(ahead.1) < SHADOW_MIN_MM {
            return None;
        }
        let middle = ((shank_sum.0 + tip.across_mm) / (count + 1.0), (shank_sum.1 + tip.down_mm) / (count + 1.0));
        let (mut square, mut mixed) = (0.0, 0.0);
        for at in shank.iter().chain([&tip]) {
            let (across, down) = (at.across_mm - middle.0, at.down_mm - middle.1);
            square += across * across - down * down;
            mixed += 2.0 * across * down;
        }
        let (sin, cos) = (0.5 * mixed.atan2(square)).sin_cos();
        let sign = (ahead.0 * cos + ahead.1 * sin).signum();
        let along = pose.across.into_inner() * (cos * sign) + pose.down.into_inner() * (sin * sign);
        let toward = pose.point_of(ImagePoint { across_mm: middle.0, down_mm: middle.1 }) - pose.source;
        let normal = Direction::try_new(toward.cross(&along), f64::MIN_POSITIVE)?;
        Some(Self { normal, toward: Direction::new_normalize(toward) })
    }

    /// Positive if `axis` runs from shank to tip on this picture.
    #[must_use]
    pub fn agreement(&self, axis: &Direction) -> f64 {
        self.toward.cross(axis).dot(&self.normal)
    }
}

/// The direction in which the planes of all shadows meet, pointing as the first shadow runs.
///
/// Two planes meet exactly; more are fitted by least squares over their normals. `None` if the planes are parallel.
#[must_use]
pub fn axis(shadows: &[Shadow]) -> Option<Direction> {
    let (first, rest) = shadows.split_first()?;
    let along = match rest {
        [] => return None,
        [second] => first.normal.cross(&second.normal),
        _ => {
            let scatter: Matrix3<f64> = shadows.iter().map(|s| s.normal.into_inner() * s.normal.transpose()).sum();
            let eigen = scatter.symmetric_eigen();
            eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned()
        }
    };
    let along = Direction::try_new(along, 1e-12)?;
    Some(if first.agreement(&along) < 0.0 { -along } else { along })
}

/// Where rays pass closest to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// The point with the least sum of squared distances to the rays; for two rays the middle of the gap.
    pub point: Point,
}

/// The point closest to all rays. `None` for fewer than two rays, or if all are parallel.
#[must_use]
pub fn closest_approach(rays: &[Ray]) -> Option<Approach> {
    if rays.len() < 2 {
        return None;
    }
    // From the first source, so that the sum loses nothing to far-away origins.
    let origin = rays[0].origin;
    let (mut normal, mut moment) = (Matrix3::zeros(), Vector::zeros());
    for ray in rays {
        let across = Matrix3::identity() - ray.direction.into_inner() * ray.direction.transpose();
        normal += across;
        moment += across * (ray.origin - origin);
    }
    let point = origin + normal.try_inverse()? * moment;
    point.iter().all(|value| value.is_finite()).then_some(Approach { point })
}

/// The gap between two rays, mm, signed so that small errors move it linearly; `None` if they are parallel.
#[must_use]
pub fn gap(first: &Ray, second: &Ray) -> Option<f64> {
    let across = Direction::try_new(first.direction.cross(&second.direction), 1e-9)?;
    Some((second.origin - first.origin).dot(&across))
}

/// How far along `line`, from its tip, it passes closest to `ray`; `None` if they are parallel.
#[must_use]
pub fn nearest_along(line: &PinLine, ray: &Ray) -> Option<f64> {
    let apart = line.tip - ray.origin;
    let cosine = line.axis.dot(&ray.direction);
    let sine_squared = 1.0 - cosine * cosine;
    if sine_squared < 1e-9 {
        return None;
    }
    Some((cosine * ray.direction.dot(&apart) - line.axis.dot(&apart)) / sine_squared)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ray(origin: [f64; 3], direction: [f64; 3]) -> Ray {
        Ray { origin: Point::from(origin), direction: Direction::new_normalize(Vector::from(direction)) }
    }

    #[test]
    fn two_rays_pass_closest_in_the_middle_of_their_gap() {
        let (first, second) = (ray([-5.0, 0.0, 0.0], [1.0, 0.0, 0.0]), ray([0.0, -7.0, 0.8], [0.0, 1.0, 0.0]));
        let found = closest_approach(&[first, second]).expect("not parallel");
        assert!((found.point - Point::new(0.0, 0.0, 0.4)).norm() < 1e-12);
        assert!((gap(&first, &second).expect("not parallel") - 0.8).abs() < 1e-12);
    }

    #[test]
    fn parallel_rays_have_no_closest_point() {
        let rays = [ray([0.0, 0.0, 0.0], [1.0, 0.0, 0.0]), ray([0.0, 1.0, 0.0], [1.0, 0.0, 0.0])];
        assert_eq!(closest_approach(&rays), None);
        assert_eq!(gap(&rays[0], &rays[1]), None);
    }

    #[test]
    fn a_line_passes_closest_to_a_ray_where_their_common_perpendicular_stands() {
        let line = PinLine { tip: Point::new(10.0, 0.0, 0.0), axis: Vector::x_axis() };
        let along = nearest_along(&line, &ray([4.0, -50.0, 3.0], [0.0, 1.0, 0.0])).expect("not parallel");
        assert!((along + 6.0).abs() < 1e-12, "{along}");
    }
}

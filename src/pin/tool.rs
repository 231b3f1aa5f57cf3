//! How close a tool's surface comes to an edge touched on a picture.
//!
//! The tool is a cylinder along the pin, flat at the pin's tip. A touched edge is a sheet: between two neighbouring
//! touches the plane through the source and both, and at each touch its ray, because a view that profiles a surface runs
//! along it there. What it does not do: it says nothing of bone that nobody touched.

use super::line::{PinLine, nearest_along};
use crate::carm::{Direction, Point, Ray, Vector};
use crate::units::Millimetres;

/// The largest tool planned along the pin, from the pin's tip outward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tool {
    pub diameter: Millimetres,
    pub length: Millimetres,
}

/// Golden section steps across one diameter: 0.618 to the 32nd of 20 mm is 4e-6 mm.
const SECTIONS: usize = 32;

/// From the tool's surface to the sheet that `source` casts over `first` and `second` (two places of one picture), mm.
///
/// Positive where the whole tool lies on the side of its outer end; negative by how far it reaches through. `None` where
/// the nearest place of the plane lies beyond the two rays, or the sheet has no width.
#[must_use]
pub fn margin_to_sheet(line: &PinLine, tool: &Tool, source: &Point, first: &Point, second: &Point) -> Option<f64> {
    let (u, v) = (first - source, second - source);
    let plane = Direction::try_new(u.cross(&v), f64::EPSILON)?;
    let outer = line.at(-tool.length.0);
    let (from_outer, from_tip) = (plane.dot(&(outer - source)), plane.dot(&(line.tip - source)));
    let side = if from_outer == 0.0 { from_tip.signum() } else { from_outer.signum() };
    let (from_outer, from_tip) = (from_outer * side, from_tip * side);
    // Toward the plane, across the tool.
    let toward = plane.into_inner() * -side;
    let across = toward - line.axis.into_inner() * toward.dot(&line.axis);
    let reach = across.norm() * tool.diameter.0 / 2.0;
    let foot = if from_tip < 0.0 {
        outer + (line.tip - outer) * (from_outer / (from_outer - from_tip))
    } else {
        let end = if from_tip <= from_outer { line.tip } else { outer };
        let surface = end + across.try_normalize(f64::EPSILON).unwrap_or_else(Vector::zeros) * (tool.diameter.0 / 2.0);
        surface + toward * plane.dot(&(surface - source)).abs()
    };
    within(&(foot - source), &u, &v).then_some(from_tip.min(from_outer) - reach)
}

/// Whether `foot` lies in the sector that `u` and `v` span.
fn within(foot: &Vector, u: &Vector, v: &Vector) -> bool {
    let (uu, uv, vv) = (u.dot(u), u.dot(v), v.dot(v));
    let (fu, fv) = (foot.dot(u), foot.dot(v));
    // Both shares of the basis (u, v), times the determinant, which is positive.
    fu * vv - fv * uv >= 0.0 && fv * uu - fu * uv >= 0.0
}

/// From the tool's surface to a ray, mm; negative by how far the ray runs inside the tool.
///
/// `None` where the ray runs along the pin, or where it can come no nearer than `known`, a margin found already.
#[must_use]
pub fn margin_to_ray(line: &PinLine, tool: &Tool, ray: &Ray, known: f64) -> Option<f64> {
    let along = nearest_along(line, ray)?;
    let radius = tool.diameter.0 / 2.0;
    if (-tool.length.0..=0.0).contains(&along) {
        return Some(distance(&line.at(along), ray) - radius);
    }
    let end = if along > 0.0 { line.tip } else { line.at(-tool.length.0) };
    // Every place of the end's disc lies within a radius of its middle.
    if distance(&end, ray) - radius >= known {
        return None;
    }
    // The place of the ray nearest to the end's disc lies no farther than a radius from that nearest to its middle.
    let middle = ray.direction.dot(&(end - ray.origin));
    let of = |place: f64| {
        let apart = ray.origin + ray.direction.into_inner() * place - end;
        let axial = apart.dot(&line.axis) * along.signum();
        let radial = (apart.norm_squared() - axial * axial).max(0.0).sqrt();
        (radial, axial)
    };
    let outside = |place: f64| {
        let (radial, axial) = of(place);
        let (beside, ahead) = ((radial - radius).max(0.0), axial.max(0.0));
        // Not hypot: millimetres neither overflow nor vanish when squared, and this is asked most.
        (beside * beside + ahead * ahead).sqrt()
    };
    let nearest = least(middle - radius, middle + radius, &outside);
    if nearest > 0.0 {
        return Some(nearest);
    }
    // The ray enters the tool through its end.
    let slope = ray.direction.dot(&line.axis) * along.signum();
    let (_, axial) = of(middle);
    Some((of(middle - axial / slope).0 - radius).min(0.0))
}

fn distance(point: &Point, ray: &Ray) -> f64 {
    (point - ray.origin).cross(&ray.direction).norm()
}

/// The least value of a convex function between two places, by golden section.
fn least(mut from: f64, mut to: f64, of: &dyn Fn(f64) -> f64) -> f64 {
    let golden = 0.618_033_988_749_895;
    let (mut left, mut right) = (to - golden * (to - from), from + golden * (to - from));
    let (mut at_left, mut at_right) = (of(left), of(right));
    for _ in 0..SECTIONS {
        if at_left <= at_right {
            (to, right, at_right) = (right, left, at_left);
            left = to - golden * (to - from);
            at_left = of(left);
        } else {
            (from, left, at_left) = (left, right, at_right);
            right = from + golden * (to - from);
            at_right = of(right);
        }
    }
    at_left.min(at_right)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROUNDING_MM: f64 = 1e-9;
    /// What golden section leaves of a radius of 6 mm.
    const SECTION_MM: f64 = 1e-4;

    fn tool() -> Tool {
        Tool { diameter: Millimetres(12.0), length: Millimetres(60.0) }
    }

    /// A pin along x with its tip at the origin; a source far above it, looking down along -z.
    fn line() -> PinLine {
        PinLine { tip: Point::origin(), axis: Vector::x_axis() }
    }

    fn source() -> Point {
        Point::new(0.0, 0.0, 1e9)
    }

    fn sheet(first: [f64; 2], second: [f64; 2]) -> Option<f64> {
        let place = |[x, y]: [f64; 2]| Point::new(x, y, -400.0);
        margin_to_sheet(&line(), &tool(), &source(), &place(first), &place(second))
    }

    #[test]
    fn an_edge_beside_the_tool_is_its_distance_less_the_radius() {
        let found = sheet([-40.0, 16.0], [10.0, 16.0]).expect("beside");
        assert!((found - 10.0).abs() < 1e-5, "{found}");
    }

    #[test]
    fn an_edge_ahead_of_the_tool_is_its_distance_from_the_flat_end() {
        let found = sheet([9.0, -20.0], [9.0, 20.0]).expect("ahead");
        assert!((found - 9.0).abs() < 1e-5, "{found}");
    }

    #[test]
    fn an_edge_at_45_degrees_ahead_is_nearest_to_the_corner_of_the_tool() {
        // The line x + y = 14 stands 14/sqrt(2) from the tip; the corner (0, 6) stands 8/sqrt(2).
        let found = sheet([24.0, -10.0], [-6.0, 20.0]).expect("ahead");
        assert!((found - 8.0 / 2.0_f64.sqrt()).abs() < 1e-5, "{found}");
    }

    #[test]
    fn a_tool_through_an_edge_has_a_margin_below_zero_that_grows_steadily() {
        let found = sheet([-9.0, -20.0], [-9.0, 20.0]).expect("through");
        assert!((found + 9.0).abs() < 1e-5, "{found}");
    }

    #[test]
    fn a_sheet_whose_nearest_place_lies_beyond_its_touches_gives_way_to_their_rays() {
        assert_eq!(sheet([20.0, 16.0], [40.0, 16.0]), None);
    }

    fn down_at(x: f64, y: f64) -> Ray {
        Ray { origin: Point::new(x, y, 650.0), direction: -Vector::z_axis() }
    }

    #[test]
    fn a_ray_beside_ahead_of_and_inside_the_tool() {
        let margin = |x, y| margin_to_ray(&line(), &tool(), &down_at(x, y), f64::INFINITY).expect("not along the pin");
        assert!((margin(-20.0, 16.0) - 10.0).abs() < ROUNDING_MM);
        assert!((margin(9.0, 2.0) - 9.0).abs() < SECTION_MM);
        assert!((margin(3.0, 10.0) - 5.0).abs() < SECTION_MM, "{}", margin(3.0, 10.0));
        assert!((margin(-20.0, 1.0) + 5.0).abs() < ROUNDING_MM);
    }

    #[test]
    fn a_ray_is_passed_over_only_where_it_is_no_nearer_than_what_is_known() {
        let margin = |x, y, known| margin_to_ray(&line(), &tool(), &down_at(x, y), known);
        let found = margin(9.0, 2.0, f64::INFINITY).expect("not along the pin");
        assert_eq!(margin(9.0, 2.0, found + 1e-6), Some(found));
        assert_eq!(margin(9.0, 2.0, 2.0), None);
        // Ahead and beside, the bound lies below what is found, so nothing nearer is passed over.
        let found = margin(3.0, 10.0, f64::INFINITY).expect("not along the pin");
        assert_eq!(margin(3.0, 10.0, found + 1e-6), Some(found));
    }

    #[test]
    fn an_oblique_ray_ahead_is_measured_to_the_nearest_place_of_the_end() {
        let direction = Direction::new_normalize(Vector::new(1.0, 0.0, -1.0));
        let ray = Ray { origin: Point::new(8.0, 0.0, 0.0), direction };
        let found = margin_to_ray(&line(), &tool(), &ray, f64::INFINITY).expect("not along the pin");
        // By trying places: the ray sinks below the end's rim toward the source's side, so a fine search is the judge.
        let tried = (-200_000..200_000).map(|step| {
            let at = ray.origin + direction.into_inner() * (f64::from(step) * 1e-3);
            let radial = at.y.hypot(at.z);
            if at.x > 0.0 { (radial - 6.0).max(0.0).hypot(at.x) } else { radial - 6.0 }
        });
        let tried = tried.fold(f64::INFINITY, f64::min);
        assert!((found - tried).abs() < 2e-3, "{found} against {tried}");
    }
}

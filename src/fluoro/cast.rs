//! Path lengths through closed surfaces by signed depth.
//!
//! A ray enters a closed surface as often as it leaves it, so the way inside is the sum of the depths at which it
//! leaves less those at which it enters; no sorting is needed, and surfaces may overlap. Each triangle adds its depth,
//! signed, to the pixels whose centre it covers. Two triangles compute the place of the edge between them from the
//! same two corners in the same order and so get the same number: no pixel is counted twice or left out. Depth is kept
//! as the share of the way from source to detector, whose reciprocal is linear over the picture: exact perspective for
//! one division a pixel. Source: projective geometry of a plane; derivation beside [`Facet`].
//!
//! What it does not do: no material and no rounding of an edge within a pixel (each pixel is one ray).

use super::raster::Raster;
use crate::carm::{Point, Pose, Vector};
use crate::pelvis::Mesh;

/// Rows that one worker takes at a time: small enough to share the busy middle of a picture.
const BAND_ROWS: usize = 32;

/// The nearest a corner may come to the source, as a share of the way to the detector.
const NEAREST_SHARE: f64 = 1e-3;

/// Why a picture cannot be cast.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CastError {
    #[error("surface {surface} reaches the source or lies behind it")]
    AtSource { surface: usize },
    #[error("surface {surface} reaches through the detector")]
    ThroughDetector { surface: usize },
    #[error("the raster has no pixel or the pose no distance between source and detector")]
    NoPicture,
}

/// Path length in mm inside each group of closed surfaces along the ray to each pixel's centre, row by row.
///
/// `groups`: surfaces whose lengths are added up. `workers`: threads to share the rows, at least one is used.
/// The frame of surfaces and pose is the patient's, mm.
///
/// # Errors
/// [`CastError`]; `surface` counts through the groups in order.
pub fn cast(pose: &Pose, raster: &Raster, groups: &[&[&Mesh]], workers: usize) -> Result<Vec<Vec<f32>>, CastError> {
    let view = View::new(pose, raster).ok_or(CastError::NoPicture)?;
    let mut surface = 0;
    let mut seen = Vec::with_capacity(groups.len());
    for group in groups {
        let mut facing = Vec::with_capacity(group.len());
        for mesh in *group {
            facing.push((*mesh, view.corners(mesh, surface)?));
            surface += 1;
        }
        seen.push(facing);
    }
    let mut pictures: Vec<Vec<f32>> = groups.iter().map(|_| vec![0.0; raster.pixels()]).collect();
    let mut shares: Vec<Vec<Band>> = (0..workers.max(1)).map(|_| Vec::new()).collect();
    for (picture, surfaces) in pictures.iter_mut().zip(&seen) {
        for (at, pixels) in picture.chunks_mut(BAND_ROWS * raster.columns).enumerate() {
            let worker = at % shares.len();
            shares[worker].push(Band { first_row: at * BAND_ROWS, pixels, surfaces });
        }
    }
    let mine = shares.pop().unwrap_or_default();
    std::thread::scope(|scope| {
        for share in shares {
            let view = &view;
            scope.spawn(move || share.into_iter().for_each(|band| band.fill(view)));
        }
        mine.into_iter().for_each(|band| band.fill(&view));
    });
    Ok(pictures)
}

/// A surface with its corners as the view sees them.
type Seen<'a> = (&'a Mesh, Vec<Corner>);

/// Some rows of one picture, and what casts into them.
struct Band<'a> {
    first_row: usize,
    pixels: &'a mut [f32],
    surfaces: &'a [Seen<'a>],
}

impl Band<'_> {
    fn fill(self, view: &View) {
        let Band { first_row, pixels, surfaces } = self;
        for (mesh, corners) in surfaces {
            for triangle in &mesh.triangles {
                let facet = triangle.map(|corner| &corners[corner as usize]);
                view.add(facet, first_row, pixels);
            }
        }
        view.lengths(first_row, pixels);
    }
}

/// A corner as the view sees it.
#[derive(Clone, Copy)]
struct Corner {
    /// Place on the picture, pixels.
    column: f64,
    row: f64,
    /// From the source, along `across`, `down` and the plane's normal, mm.
    at: Vector,
    /// Share of the way to the plane of the detector.
    share: f64,
}

/// The view in coordinates of its own: across, down and normal, from the source.
struct View {
    axes: [Vector; 3],
    source: Point,
    /// The detector's centre in these coordinates, mm.
    centre: Vector,
    raster: Raster,
    /// Taken off every share, which a closed surface does not notice and rounding does.
    base: f32,
}

impl View {
    fn new(pose: &Pose, raster: &Raster) -> Option<Self> {
        let (across, down) = (pose.across.into_inner(), pose.down.into_inner());
        let axes = [across, down, across.cross(&down)];
        let way = pose.detector_centre - pose.source;
        let centre = Vector::new(way.dot(&axes[0]), way.dot(&axes[1]), way.dot(&axes[2]));
        let possible = raster.pixels() > 0 && raster.pitch_mm > 0.0 && centre.z.abs() > f64::EPSILON;
        possible.then_some(Self { axes, source: pose.source, centre, raster: *raster, base: 0.65 })
    }

    fn corners(&self, mesh: &Mesh, surface: usize) -> Result<Vec<Corner>, CastError> {
        let corner = |point: &Point| {
            let way = point - self.source;
            let at = Vector::new(way.dot(&self.axes[0]), way.dot(&self.axes[1]), way.dot(&self.axes[2]));
            let share = at.z / self.centre.z;
            if share.is_nan() || share < NEAREST_SHARE {
                return Err(CastError::AtSource { surface });
            }
            if share > 1.0 {
                return Err(CastError::ThroughDetector { surface });
            }
            let (column, row) = self.raster.place_of(at.x / share - self.centre.x, at.y / share - self.centre.y);
            Ok(Corner { column, row, at, share })
        };
        mesh.vertices.iter().map(corner).collect()
    }

    /// Adds the signed share of one triangle to the rows of a band.
    fn add(&self, triangle: [&Corner; 3], first_row: usize, pixels: &mut [f32]) {
        let columns = self.raster.columns;
        let (upper, middle, lower, even) = from_above(triangle);
        let band_rows = pixels.len() / columns;
        let last = first_at(lower.row, first_row + band_rows);
        let mut row = first_at(upper.row, last).max(first_row);
        if row >= last {
            return;
        }
        let facet = Facet::new(triangle, self);
        let (long, head, tail) = (Edge::new(upper, lower), Edge::new(upper, middle), Edge::new(middle, lower));
        while row < last {
            let height = row as f64 + 0.5;
            let short = if height < middle.row { &head } else { &tail };
            let (one, other) = (first_at(long.at(height), columns), first_at(short.at(height), columns));
            // An even order with the middle corner on the right runs clockwise on the picture.
            let leaves = (even == (one <= other)) == (self.centre.z > 0.0);
            let (from, to) = (one.min(other), one.max(other));
            let start = (row - first_row) * columns;
            facet.add(&mut pixels[start + from..start + to], from, row, if leaves { 1.0 } else { -1.0 }, self.base);
            row += 1;
        }
    }

    /// Turns summed shares into lengths: the share of a ray times the ray's length to the detector, mm.
    fn lengths(&self, first_row: usize, pixels: &mut [f32]) {
        for (at, row) in pixels.chunks_mut(self.raster.columns).enumerate() {
            let (across, down) = self.raster.centre_of(0, first_row + at);
            let level = (self.centre.y + down).powi(2) + self.centre.z.powi(2);
            let (start, pitch) = ((self.centre.x + across) as f32, self.raster.pitch_mm as f32);
            let level = level as f32;
            for (column, cell) in (0_i32..).zip(row) {
                let across = start + pitch * column as f32;
                *cell *= (across * across + level).sqrt();
            }
        }
    }
}

/// Corners from the top of the picture down, and whether that took an even number of swaps.
fn from_above<'a>([a, b, c]: [&'a Corner; 3]) -> (&'a Corner, &'a Corner, &'a Corner, bool) {
    let (mut order, mut even) = ([a, b, c], true);
    for (one, other) in [(0, 1), (1, 2), (0, 1)] {
        if order[other].row < order[one].row {
            order.swap(one, other);
            even = !even;
        }
    }
    (order[0], order[1], order[2], even)
}

/// First pixel whose centre does not lie before `place`, at most `end`.
fn first_at(place: f64, end: usize) -> usize {
    // A cast holds negative and far values at the ends of the type's range, as wanted here.
    ((place - 0.5).ceil() as usize).min(end)
}

/// An edge from its upper corner to its lower one.
struct Edge {
    column: f64,
    row: f64,
    slope: f64,
}

impl Edge {
    fn new(upper: &Corner, lower: &Corner) -> Self {
        let slope = (lower.column - upper.column) / (lower.row - upper.row);
        Self { column: upper.column, row: upper.row, slope }
    }

    fn at(&self, height: f64) -> f64 {
        self.column + (height - self.row) * self.slope
    }
}

/// The plane of a triangle over the picture.
///
/// With n the normal, k = n·a for a corner a, and r the way from source to a pixel, the ray meets the plane at the
/// share k / n·r. n·r is linear in column and row, and so is the reciprocal of the share: `start`, plus `per_column`
/// and `per_row` times the pixel.
struct Facet {
    start: f64,
    per_column: f64,
    per_row: f64,
    /// Shares of the corners: between them lies every share of the triangle, also where its plane is seen edge on.
    least: f32,
    most: f32,
}

impl Facet {
    fn new([a, b, c]: [&Corner; 3], view: &View) -> Self {
        let normal = (b.at - a.at).cross(&(c.at - a.at));
        let by = normal / normal.dot(&a.at);
        let (across, down) = view.raster.centre_of(0, 0);
        let first = view.centre + Vector::new(across, down, 0.0);
        let (start, pitch) = (by.dot(&first), view.raster.pitch_mm);
        let (least, most) = (a.share.min(b.share).min(c.share), a.share.max(b.share).max(c.share));
        let bounds = (least as f32, most as f32);
        if start.is_finite() && by.x.is_finite() && by.y.is_finite() {
            return Self { start, per_column: by.x * pitch, per_row: by.y * pitch, least: bounds.0, most: bounds.1 };
        }
        // Seen edge on to the last bit: it covers nothing but by rounding, and any share of it will do.
        Self { start: 1.0 / least, per_column: 0.0, per_row: 0.0, least: bounds.0, most: bounds.1 }
    }

    fn add(&self, cells: &mut [f32], column: usize, row: usize, sign: f32, base: f32) {
        let start = (self.start + self.per_column * column as f64 + self.per_row * row as f64) as f32;
        let step = self.per_column as f32;
        for (at, cell) in (0_i32..).zip(cells) {
            let share = (start + step * at as f32).recip();
            let held = if share < self.least { self.least } else { share };
            let held = if held > self.most { self.most } else { held };
            *cell += sign * (held - base);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::PositionerAngles;
    use crate::pelvis::shapes::ball;
    use crate::units::{Degrees, Millimetres};

    const ROUNDING_PIXELS: f64 = 1e-9;

    #[test]
    fn a_corner_falls_where_the_pose_projects_it() {
        let raster = Raster::square(512, 300.0);
        for (primary, secondary, roll) in [(0.0, 25.0, 0.0), (180.0, 43.0, 12.0), (90.0, 0.0, -70.0)] {
            let angles = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) };
            let (near, far) = (Millimetres(650.0), Millimetres(1000.0));
            let pose = Pose::looking(angles.beam(), Point::new(3.0, 2.0, 1.0), near, far, Degrees(roll));
            let view = View::new(&pose, &raster).expect("a picture");
            let mesh = ball(Point::new(-20.0, 10.0, 30.0), 25.0, 6, 7);
            for (corner, point) in view.corners(&mesh, 0).expect("in front").iter().zip(&mesh.vertices) {
                let place = pose.project(point).expect("in front");
                let (column, row) = raster.place_of(place.across_mm, place.down_mm);
                assert!((corner.column - column).abs() < ROUNDING_PIXELS && (corner.row - row).abs() < ROUNDING_PIXELS);
            }
        }
    }
}

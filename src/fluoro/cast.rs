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
/// `groups`: surfaces whose lengths are added up. `workers`: threads to share the rows, at least one is used; the result
/// does not depend on how many. The frame of surfaces and pose is the patient's, mm.
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
    let mut shares = share_rows(&mut pictures, &seen, raster, workers.max(1));
    let mine = shares.pop().unwrap_or_default();
    std::thread::scope(|scope| {
        for share in shares {
            let view = &view;
            scope.spawn(move || share.into_iter().for_each(|band| band.fill(view)));
        }
        for band in mine {
            band.fill(&view);
        }
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

/// What a row costs beside the corners that fall on it, as a number of corners: the lengths of its pixels.
const ROW_CORNERS: usize = 40;

/// The rows of all pictures in as many runs as there are workers, each with about as many corners.
fn share_rows<'a>(
    pictures: &'a mut [Vec<f32>],
    seen: &'a [Vec<Seen<'a>>],
    raster: &Raster,
    workers: usize,
) -> Vec<Vec<Band<'a>>> {
    let mut load = vec![ROW_CORNERS; raster.rows];
    for corner in seen.iter().flatten().flat_map(|(_, corners)| corners) {
        load[first_at(corner.row, raster.rows - 1)] += 1;
    }
    let whole: usize = load.iter().sum();
    let (mut ends, mut so_far) = (Vec::with_capacity(workers), 0);
    for (row, load) in load.iter().enumerate() {
        so_far += load;
        while so_far * workers >= whole * (ends.len() + 1) {
            ends.push(row + 1);
        }
    }
    let mut shares: Vec<Vec<Band>> = (0..workers).map(|_| Vec::new()).collect();
    for (picture, surfaces) in pictures.iter_mut().zip(seen) {
        let (mut rest, mut first_row) = (picture.as_mut_slice(), 0);
        for (share, end) in shares.iter_mut().zip(&ends) {
            let (pixels, after) = rest.split_at_mut((end - first_row) * raster.columns);
            share.push(Band { first_row, pixels, surfaces });
            (rest, first_row) = (after, *end);
        }
    }
    shares
}

impl Band<'_> {
    fn fill(self, view: &View) {
        let columns = view.raster.columns;
        let rows = self.pixels.len() / columns;
        let stride = columns + LANES;
        let mut cells = Cells { first_row: self.first_row, rows, stride, sums: vec![0.0; rows * stride] };
        // A triangle between the centres of two rows or columns, or outside this band, covers none of its pixels.
        let (above, below) = (self.first_row as f64 + 0.5, (self.first_row + rows) as f64 - 0.5);
        let far_right = columns as f64 - 0.5;
        for (mesh, corners) in self.surfaces {
            for triangle in &mesh.triangles {
                let [a, b, c] = triangle.map(|corner| &corners[corner as usize]);
                let (upper, lower) = (least([a.row, b.row, c.row]), most([a.row, b.row, c.row]));
                let (left, right) = (least([a.column, b.column, c.column]), most([a.column, b.column, c.column]));
                if upper <= below && lower >= above && left <= far_right && right >= 0.5 {
                    cells.add([a, b, c], view);
                }
            }
        }
        view.lengths(&cells, self.pixels);
    }
}

/// Pixels that are worked on at a time, as wide as the processor's registers or twice that.
const LANES: usize = 4;
/// Their numbers.
const LANE: [f32; LANES] = [0.0, 1.0, 2.0, 3.0];

/// Sums of signed shares for some rows, each with room for one set of lanes beyond its end.
struct Cells {
    first_row: usize,
    rows: usize,
    stride: usize,
    sums: Vec<f32>,
}

impl Cells {
    /// Adds the signed share of one triangle.
    fn add(&mut self, triangle: [&Corner; 3], view: &View) {
        let columns = view.raster.columns;
        let (upper, middle, lower, even) = from_above(triangle);
        let row_at = |row: f64| first_at(row - self.first_row as f64, self.rows);
        let (first, turn, last) = (row_at(upper.row), row_at(middle.row), row_at(lower.row));
        if first == last {
            return;
        }
        let facet = Facet::new(triangle);
        let long = Edge::new(upper, lower);
        for (from, to, short) in [(first, turn, Edge::new(upper, middle)), (turn, last, Edge::new(middle, lower))] {
            for row in from..to {
                let height = (self.first_row + row) as f64;
                let (one, other) =
                    (first_at(long.at(height + 0.5), columns), first_at(short.at(height + 0.5), columns));
                // An even order with the middle corner on the right runs clockwise on the picture.
                let leaves = (even == (one <= other)) == view.upright;
                let (start, end) = (one.min(other), one.max(other));
                let line = row * self.stride + start;
                let cells = &mut self.sums[line..line + (end - start).next_multiple_of(LANES)];
                facet.add(cells, end - start, start as f64, height, if leaves { 1.0 } else { -1.0 });
            }
        }
    }
}

/// A corner as the view sees it.
#[derive(Clone, Copy)]
struct Corner {
    /// Place on the picture, pixels.
    column: f64,
    row: f64,
    /// Share of the way to the plane of the detector, and one over it.
    share: f32,
    reciprocal: f64,
}

/// Taken off every share, which a closed surface does not notice and rounding does.
const BASE: f32 = 0.65;

/// The view in coordinates of its own: across, down and normal, from the source.
struct View {
    axes: [Vector; 3],
    source: Point,
    /// The detector's centre in these coordinates, mm.
    centre: Vector,
    raster: Raster,
    /// The normal points away from the source.
    upright: bool,
}

impl View {
    fn new(pose: &Pose, raster: &Raster) -> Option<Self> {
        let (across, down) = (pose.across.into_inner(), pose.down.into_inner());
        let axes = [across, down, across.cross(&down)];
        let way = pose.detector_centre - pose.source;
        let centre = Vector::new(way.dot(&axes[0]), way.dot(&axes[1]), way.dot(&axes[2]));
        let possible = raster.pixels() > 0 && raster.pitch_mm > 0.0 && centre.z.abs() > f64::EPSILON;
        possible.then_some(Self { axes, source: pose.source, centre, raster: *raster, upright: centre.z > 0.0 })
    }

    fn corners(&self, mesh: &Mesh, surface: usize) -> Result<Vec<Corner>, CastError> {
        let [across, down, normal] = self.axes;
        let (per_pixel, per_depth) = (self.raster.pitch_mm.recip(), self.centre.z.recip());
        let (left, top) = self.raster.place_of(-self.centre.x, -self.centre.y);
        let corner = |point: &Point| {
            let way = point - self.source;
            let share = way.dot(&normal) * per_depth;
            if share.is_nan() || share < NEAREST_SHARE {
                return Err(CastError::AtSource { surface });
            }
            if share > 1.0 {
                return Err(CastError::ThroughDetector { surface });
            }
            let reciprocal = share.recip();
            let scale = reciprocal * per_pixel;
            let (column, row) = (way.dot(&across) * scale + left, way.dot(&down) * scale + top);
            Ok(Corner { column, row, share: share as f32, reciprocal })
        };
        mesh.vertices.iter().map(corner).collect()
    }

    /// Turns summed shares into lengths: the share of a ray times the ray's length to the detector, mm.
    fn lengths(&self, cells: &Cells, pixels: &mut [f32]) {
        let columns = self.raster.columns;
        for (at, (line, sums)) in
            pixels.chunks_exact_mut(columns).zip(cells.sums.chunks_exact(cells.stride)).enumerate()
        {
            let (across, down) = self.raster.centre_of(0, cells.first_row + at);
            let level = ((self.centre.y + down).powi(2) + self.centre.z.powi(2)) as f32;
            let (start, pitch) = ((self.centre.x + across) as f32, self.raster.pitch_mm as f32);
            for (column, (pixel, sum)) in (0_i32..).zip(line.iter_mut().zip(sums)) {
                let across = start + pitch * column as f32;
                *pixel = sum * (across * across + level).sqrt();
            }
        }
    }
}

/// Corners from the top of the picture down, and whether that took an even number of swaps.
fn from_above([a, b, c]: [&Corner; 3]) -> (&Corner, &Corner, &Corner, bool) {
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
    // Rounding up by a cast: on the common processors `ceil` is a call. What is not a number counts as 0.
    let (from_centre, end) = (place - 0.5, end as f64);
    let from_centre = if from_centre > 0.0 { from_centre } else { 0.0 };
    let from_centre = if from_centre < end { from_centre } else { end };
    let whole = from_centre as u32;
    whole as usize + usize::from(f64::from(whole) < from_centre)
}

/// The least of three numbers, none of which is the odd one that has no order: one instruction each.
fn least<T: PartialOrd>([a, b, c]: [T; 3]) -> T {
    let ab = if a < b { a } else { b };
    if ab < c { ab } else { c }
}

fn most<T: PartialOrd>([a, b, c]: [T; 3]) -> T {
    let ab = if a > b { a } else { b };
    if ab > c { ab } else { c }
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
/// and `per_row` times the pixel. Three corners with their reciprocals fix it.
struct Facet {
    start: f64,
    per_column: f64,
    per_row: f64,
    /// Shares of the corners: between them lies every share of the triangle, also where its plane is seen edge on.
    least: f32,
    most: f32,
}

impl Facet {
    fn new([a, b, c]: [&Corner; 3]) -> Self {
        let (least, most) = (least([a.share, b.share, c.share]), most([a.share, b.share, c.share]));
        let (across, across_far) = (b.column - a.column, c.column - a.column);
        let (down, down_far) = (b.row - a.row, c.row - a.row);
        let (rise, rise_far) = (b.reciprocal - a.reciprocal, c.reciprocal - a.reciprocal);
        let per_area = (across * down_far - across_far * down).recip();
        let per_column = (rise * down_far - rise_far * down) * per_area;
        let per_row = (across * rise_far - across_far * rise) * per_area;
        // From the corners to the centre of the first pixel.
        let start = a.reciprocal - per_column * (a.column - 0.5) - per_row * (a.row - 0.5);
        if start.is_finite() {
            return Self { start, per_column, per_row, least, most };
        }
        // Seen edge on to the last bit: it covers nothing but by rounding, and any share of it will do.
        Self { start: a.reciprocal, per_column: 0.0, per_row: 0.0, least, most }
    }

    /// Adds to the first `covered` cells from `column` of `row`; the others, up to whole sets of lanes, stay.
    fn add(&self, cells: &mut [f32], covered: usize, column: f64, row: f64, sign: f32) {
        let start = (self.start + self.per_column * column + self.per_row * row) as f32;
        let (step, covered) = (self.per_column as f32, covered as f32);
        let mut first = 0.0_f32;
        for lanes in cells.chunks_exact_mut(LANES) {
            for (cell, lane) in lanes.iter_mut().zip(LANE) {
                let at = first + lane;
                let share = (start + step * at).recip();
                let held = if share < self.least { self.least } else { share };
                let held = if held > self.most { self.most } else { held };
                let here = if at < covered { sign } else { 0.0 };
                *cell += here * (held - BASE);
            }
            first += LANES as f32;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::PositionerAngles;
    use crate::pelvis::shapes::ball;
    use crate::pelvis::{Pelvis, Shape};
    use crate::units::{Degrees, Millimetres};

    const ROUNDING_PIXELS: f64 = 1e-9;

    /// Every place that a person's landmarks name.
    fn landmarks() -> Vec<Point> {
        let marks = Pelvis::of(&Shape::average()).landmarks;
        let pairs =
            [marks.hip_centres, marks.asis, marks.psis, marks.ischial_spines, marks.notch_apex, marks.joint_foot];
        let lines = marks.iliac_cortical_density.into_iter().chain(marks.fifth_lumbar_roots);
        let lines = lines.chain(marks.first_sacral_roots).chain([marks.front_profile]);
        let balls = marks.foramina.into_iter().flatten().chain([marks.canal]).flatten().map(|ball| ball.centre);
        let faces = marks.joint.into_iter().chain(marks.alar_front).flatten().map(|point| point.place);
        let single = [marks.endplate_centre, marks.promontory, marks.tip, marks.symphysis_top];
        single.into_iter().chain(pairs.into_iter().flatten()).chain(lines.flatten()).chain(balls).chain(faces).collect()
    }

    /// [R-FLUORO-1] A pixel's side is half a millimetre here: a millionth of one is far below 1e-6 mm.
    #[test]
    fn a_corner_falls_where_the_pose_projects_it() {
        let (raster, landmarks) = (Raster::square(512, 300.0), landmarks());
        for (primary, secondary, roll) in [(0.0, 25.0, 0.0), (180.0, 43.0, 12.0), (90.0, 0.0, -70.0)] {
            let angles = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) };
            let (near, far) = (Millimetres(650.0), Millimetres(1000.0));
            let pose = Pose::looking(angles.beam(), Point::new(3.0, 2.0, 1.0), near, far, Degrees(roll));
            let view = View::new(&pose, &raster).expect("a picture");
            let mut mesh = ball(Point::new(-20.0, 10.0, 30.0), 25.0, 6, 7);
            mesh.vertices.extend(&landmarks);
            for (corner, point) in view.corners(&mesh, 0).expect("in front").iter().zip(&mesh.vertices) {
                let place = pose.project(point).expect("in front");
                let (column, row) = raster.place_of(place.across_mm, place.down_mm);
                assert!((corner.column - column).abs() < ROUNDING_PIXELS && (corner.row - row).abs() < ROUNDING_PIXELS);
            }
        }
    }
}

//! Fewer triangles for a closed surface, where they change next to nothing.
//!
//! Edges collapse in the order of the error they bring: the sum of squared distances from the planes of the triangles
//! that met there. A collapse that would fold the surface, stretch it into slivers or break its being a surface is left
//! out. Source: quadric error metrics of Garland and Heckbert, SIGGRAPH 1997. What it does not do: no crossing of far
//! parts is looked for; the error allowed is far below the distance of any two of them.

use super::mesh::Mesh;
use crate::carm::{Point, Vector};
use nalgebra::{Matrix3, Matrix4, Vector4};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Cosine below which a triangle counts as turned over by a collapse.
const TURNED: f64 = 0.8;
/// Least share of an equilateral triangle's area, for its longest side, that a collapse may leave.
const SLIVER: f64 = 0.04;

/// The surface with edges collapsed, each at an error of at most `error_mm2`, none longer than `edge_mm` made.
#[must_use]
pub fn simplified(mesh: &Mesh, error_mm2: f64, edge_mm: f64) -> Mesh {
    let mut work = Work::of(mesh, error_mm2, edge_mm);
    work.run();
    work.into_mesh()
}

/// An edge with the state of its ends when its error was computed; old entries are passed over.
type Entry = Reverse<(u64, u32, u32, u32, u32)>;

struct Work {
    places: Vec<Point>,
    quadrics: Vec<Matrix4<f64>>,
    /// Triangles at each vertex.
    around: Vec<Vec<u32>>,
    triangles: Vec<Option<[u32; 3]>>,
    /// How often each vertex has changed.
    stamps: Vec<u32>,
    queue: BinaryHeap<Entry>,
    error_mm2: f64,
    edge_mm: f64,
}

impl Work {
    fn of(mesh: &Mesh, error_mm2: f64, edge_mm: f64) -> Self {
        let mut work = Self {
            places: mesh.vertices.clone(),
            quadrics: vec![Matrix4::zeros(); mesh.vertices.len()],
            around: vec![Vec::with_capacity(8); mesh.vertices.len()],
            triangles: mesh.triangles.iter().copied().map(Some).collect(),
            stamps: vec![0; mesh.vertices.len()],
            queue: BinaryHeap::with_capacity(mesh.triangles.len() * 2),
            error_mm2,
            edge_mm,
        };
        for (at, triangle) in (0_u32..).zip(&mesh.triangles) {
            let quadric = plane(mesh.corners(*triangle));
            for corner in triangle {
                work.around[*corner as usize].push(at);
                work.quadrics[*corner as usize] += quadric;
            }
        }
        for [a, b, c] in mesh.triangles.iter().copied() {
            for (one, other) in [(a, b), (b, c), (c, a)] {
                if one < other {
                    work.offer(one, other);
                }
            }
        }
        work
    }

    fn run(&mut self) {
        while let Some(Reverse((_, one, other, stamp, other_stamp))) = self.queue.pop() {
            let fresh = self.stamps[one as usize] == stamp && self.stamps[other as usize] == other_stamp;
            if fresh && self.stays_a_surface(one, other) {
                let (place, _) = self.best(one, other);
                if self.stays_in_shape(one, other, &place) {
                    self.collapse(one, other, place);
                }
            }
        }
    }

    /// Queues an edge whose collapse is within the error.
    fn offer(&mut self, one: u32, other: u32) {
        let (one, other) = (one.min(other), one.max(other));
        let (_, error) = self.best(one, other);
        if error <= self.error_mm2 {
            // The bits of a number that is not negative are in the order of the numbers.
            let entry = (error.to_bits(), one, other, self.stamps[one as usize], self.stamps[other as usize]);
            self.queue.push(Reverse(entry));
        }
    }

    /// Where an edge is best drawn together, and the error there.
    fn best(&self, one: u32, other: u32) -> (Point, f64) {
        let quadric = self.quadrics[one as usize] + self.quadrics[other as usize];
        let error = |place: &Point| {
            let at = Vector4::new(place.x, place.y, place.z, 1.0);
            at.dot(&(quadric * at)).max(0.0)
        };
        let (start, end) = (self.places[one as usize], self.places[other as usize]);
        let middle = nalgebra::center(&start, &end);
        // Held to the middle where the planes leave a direction open.
        let open = 1e-3 * quadric.fixed_view::<3, 3>(0, 0).trace();
        let rows: Matrix3<f64> = quadric.fixed_view::<3, 3>(0, 0) + Matrix3::identity() * open;
        let right: Vector = middle.coords * open - quadric.fixed_view::<3, 1>(0, 3);
        let solved = rows.cholesky().map(|factors| Point::from(factors.solve(&right)));
        let near = solved.filter(|place| (place - middle).norm() <= (end - start).norm());
        let place = near.unwrap_or(middle);
        (place, error(&place))
    }

    /// The edge has two triangles, and no vertex beside theirs is joined to both ends.
    fn stays_a_surface(&self, one: u32, other: u32) -> bool {
        let (mine, theirs) = (self.neighbours(one), self.neighbours(other));
        let common = mine.iter().filter(|vertex| theirs.contains(vertex)).count();
        let triangles = self.around[one as usize].iter().filter(|at| self.has(**at, other)).count();
        let sound = |vertex: u32, beside: &[u32]| beside.len() == self.around[vertex as usize].len();
        triangles == 2 && common == 2 && sound(one, &mine) && sound(other, &theirs) && mine.len() + theirs.len() > 8
    }

    fn has(&self, triangle: u32, vertex: u32) -> bool {
        self.triangles[triangle as usize].is_some_and(|corners| corners.contains(&vertex))
    }

    fn neighbours(&self, vertex: u32) -> Vec<u32> {
        let mut found = Vec::with_capacity(16);
        for corner in self.around[vertex as usize].iter().filter_map(|at| self.triangles[*at as usize]).flatten() {
            if corner != vertex && !found.contains(&corner) {
                found.push(corner);
            }
        }
        found
    }

    /// No triangle turns over, becomes a sliver or grows too long.
    fn stays_in_shape(&self, one: u32, other: u32, place: &Point) -> bool {
        let kept = |at: &u32, beside: u32| !self.has(*at, beside);
        let mine = self.around[one as usize].iter().filter(|at| kept(at, other));
        let theirs = self.around[other as usize].iter().filter(|at| kept(at, one));
        mine.chain(theirs).filter_map(|at| self.triangles[*at as usize]).all(|corners| {
            let before = corners.map(|corner| self.places[corner as usize]);
            let after = corners
                .map(|corner| if corner == one || corner == other { *place } else { self.places[corner as usize] });
            let (was, is) = (normal(before), normal(after));
            let longest = longest(after);
            let area = is.norm();
            was.dot(&is) > TURNED * was.norm() * area && area > SLIVER * longest * longest && longest <= self.edge_mm
        })
    }

    fn collapse(&mut self, one: u32, other: u32, place: Point) {
        for at in std::mem::take(&mut self.around[other as usize]) {
            let Some(corners) = self.triangles[at as usize] else { continue };
            if corners.contains(&one) {
                self.triangles[at as usize] = None;
                for corner in corners {
                    self.around[corner as usize].retain(|here| *here != at);
                }
            } else {
                self.triangles[at as usize] = Some(corners.map(|corner| if corner == other { one } else { corner }));
                self.around[one as usize].push(at);
            }
        }
        self.places[one as usize] = place;
        let quadric = self.quadrics[other as usize];
        self.quadrics[one as usize] += quadric;
        self.stamps[one as usize] += 1;
        self.stamps[other as usize] += 1;
        for neighbour in self.neighbours(one) {
            self.offer(one, neighbour);
        }
    }

    fn into_mesh(self) -> Mesh {
        let mut names = vec![u32::MAX; self.places.len()];
        let mut mesh = Mesh::default();
        for corners in self.triangles.into_iter().flatten() {
            mesh.triangles.push(corners.map(|corner| {
                let name = &mut names[corner as usize];
                if *name == u32::MAX {
                    *name = u32::try_from(mesh.vertices.len()).expect("no more vertices than before");
                    mesh.vertices.push(self.places[corner as usize]);
                }
                *name
            }));
        }
        mesh
    }
}

/// Squared distance from a triangle's plane, as a form on places; nothing for a triangle without area.
fn plane(corners: [Point; 3]) -> Matrix4<f64> {
    let Some(unit) = normal(corners).try_normalize(f64::EPSILON) else { return Matrix4::zeros() };
    let form = Vector4::new(unit.x, unit.y, unit.z, -unit.dot(&corners[0].coords));
    form * form.transpose()
}

fn normal([a, b, c]: [Point; 3]) -> Vector {
    (b - a).cross(&(c - a))
}

fn longest([a, b, c]: [Point; 3]) -> f64 {
    (b - a).norm().max((c - b).norm()).max((a - c).norm())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pelvis::shapes::{ball, block};

    /// Source: volume and radius of a ball.
    #[test]
    fn a_fine_ball_loses_most_triangles_and_keeps_its_shape() {
        let fine = ball(Point::new(3.0, 4.0, 5.0), 30.0, 60, 90);
        let coarse = simplified(&fine, 0.05, 20.0);
        coarse.closed().expect("closed");
        assert!(coarse.triangles.len() * 4 < fine.triangles.len(), "{}", coarse.triangles.len());
        assert!((coarse.volume() / fine.volume() - 1.0).abs() < 0.01);
        for vertex in &coarse.vertices {
            assert!(((vertex - Point::new(3.0, 4.0, 5.0)).norm() - 30.0).abs() < 0.3, "{vertex}");
        }
    }

    #[test]
    fn a_box_stays_as_it_is() {
        let block = block(Point::new(0.0, 0.0, 0.0), Point::new(10.0, 20.0, 30.0));
        let same = simplified(&block, 0.05, 100.0);
        same.closed().expect("closed");
        assert!((same.volume() - block.volume()).abs() < 1e-9, "{}", same.volume());
    }
}

//! Whether surfaces cut one another, and whether a place lies inside: checked triangle by triangle.

use brimline::carm::{Point, Vector};
use brimline::pelvis::Mesh;
use std::collections::{HashMap, HashSet};
use std::f64::consts::TAU;

/// Side of the cubes by which near triangles are found, mm.
const CUBE_MM: f64 = 6.0;

type Cubes = HashMap<[i32; 3], Vec<usize>>;

fn cubes(mesh: &Mesh) -> Cubes {
    let mut cubes = Cubes::new();
    for (at, triangle) in mesh.triangles.iter().enumerate() {
        for cube in cubes_of(mesh.corners(*triangle)) {
            cubes.entry(cube).or_default().push(at);
        }
    }
    cubes
}

fn cubes_of([a, b, c]: [Point; 3]) -> Vec<[i32; 3]> {
    let cube = |point: Point| (point.coords / CUBE_MM).map(|part| part.floor() as i32);
    let (low, high) = (cube(a.inf(&b).inf(&c)), cube(a.sup(&b).sup(&c)));
    let mut found = Vec::new();
    for x in low.x..=high.x {
        for y in low.y..=high.y {
            found.extend((low.z..=high.z).map(|z| [x, y, z]));
        }
    }
    found
}

/// Two triangles that cut each other, as indices: of one surface with itself, or of two.
pub fn crossing(one: &Mesh, other: &Mesh) -> Option<(usize, usize)> {
    let itself = std::ptr::eq(one, other);
    let cubes = cubes(other);
    for (at, triangle) in one.triangles.iter().enumerate() {
        let corners = one.corners(*triangle);
        let mut near = HashSet::new();
        for cube in cubes_of(corners) {
            near.extend(cubes.get(&cube).into_iter().flatten().copied());
        }
        for there in near {
            if itself && there <= at {
                continue;
            }
            let theirs = other.triangles[there];
            let shared = triangle.map(|corner| itself && theirs.contains(&corner));
            if shared.iter().filter(|shared| **shared).count() < 2
                && cut(corners, *triangle, other.corners(theirs), theirs, itself)
            {
                return Some((at, there));
            }
        }
    }
    None
}

/// An edge of one passes through the other; edges that end at a shared corner only touch it there.
fn cut(one: [Point; 3], names: [u32; 3], other: [Point; 3], others: [u32; 3], itself: bool) -> bool {
    let passes = |from: [Point; 3], names: [u32; 3], through: [Point; 3], theirs: [u32; 3]| {
        [(0, 1), (1, 2), (2, 0)].iter().any(|&(a, b)| {
            let touches = itself && (theirs.contains(&names[a]) || theirs.contains(&names[b]));
            !touches && pierces(from[a], from[b], through)
        })
    };
    passes(one, names, other, others) || passes(other, others, one, names)
}

/// Six times the volume below which places count as lying in one plane, mm³: rounding, not a cut.
const FLAT_MM3: f64 = 1e-7;

/// Source: signs of the volumes of tetrahedra.
fn pierces(from: Point, to: Point, [a, b, c]: [Point; 3]) -> bool {
    let volume = |p: Point, q: Point, r: Point, s: Point| (q - p).cross(&(r - p)).dot(&(s - p));
    let ends = [volume(a, b, c, from), volume(a, b, c, to)];
    let sides = [(a, b), (b, c), (c, a)].map(|(p, q)| volume(from, to, p, q));
    let above = |volume: &f64| *volume > FLAT_MM3;
    let below = |volume: &f64| *volume < -FLAT_MM3;
    ends.iter().any(above) && ends.iter().any(below) && (sides.iter().all(above) || sides.iter().all(below))
}

/// How often the surface winds about a place: 1 inside, 0 outside.
///
/// Source: solid angle of a triangle, Van Oosterom and Strackee, IEEE Trans Biomed Eng 1983;30:125.
pub fn winding(mesh: &Mesh, place: Point) -> f64 {
    let angle = |triangle: &[u32; 3]| {
        let [a, b, c] = mesh.corners(*triangle).map(|corner| corner - place);
        let long = [a.norm(), b.norm(), c.norm()];
        let below = long.iter().product::<f64>() + a.dot(&b) * long[2] + b.dot(&c) * long[0] + c.dot(&a) * long[1];
        a.dot(&b.cross(&c)).atan2(below)
    };
    mesh.triangles.iter().map(angle).sum::<f64>() / TAU
}

/// Least distance of a place from the corners of a surface, mm.
pub fn nearest(mesh: &Mesh, place: Point) -> f64 {
    mesh.vertices.iter().map(|vertex| (vertex - place).norm()).fold(f64::INFINITY, f64::min)
}

/// The tests of the tests: what cuts is found, what only touches is not.
#[test]
fn a_surface_that_cuts_itself_is_caught() {
    use brimline::pelvis::shapes::{ball, block};
    let (one, mut both) = (ball(Point::origin(), 20.0, 12, 16), ball(Point::origin(), 20.0, 12, 16));
    assert_eq!(crossing(&one, &one), None);
    let block = block(Point::new(10.0, 0.0, 0.0), Point::new(30.0, 5.0, 5.0));
    assert!(crossing(&one, &block).is_some());
    let first = u32::try_from(both.vertices.len()).unwrap();
    both.vertices.extend(&block.vertices);
    both.triangles.extend(block.triangles.iter().map(|triangle| triangle.map(|corner| corner + first)));
    assert!(crossing(&both, &both).is_some());
    let (inside, outside) = (Point::new(3.0, 2.0, 1.0), Point::origin() + Vector::x() * 25.0);
    assert!((winding(&one, inside) - 1.0).abs() < 1e-9 && winding(&one, outside).abs() < 1e-9);
}

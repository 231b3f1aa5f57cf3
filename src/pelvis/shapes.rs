//! Plain closed shapes: balls, boxes, and rods for pins, drills and implants.
//!
//! Frame: patient (LPS), mm. A curved shape is the polyhedron inscribed in it.

use super::mesh::Mesh;
use crate::carm::{Direction, Point, Vector};
use std::f64::consts::TAU;

/// A ball of `rings` bands from pole to pole (2 or more) and `sectors` around (3 or more).
#[must_use]
pub fn ball(centre: Point, radius_mm: f64, rings: u32, sectors: u32) -> Mesh {
    let (rings, sectors) = (rings.max(2), sectors.max(3));
    let mut mesh = Mesh { vertices: vec![centre + Vector::z() * radius_mm], triangles: Vec::new() };
    for ring in 1..rings {
        let (sine, cosine) = (TAU / 2.0 * f64::from(ring) / f64::from(rings)).sin_cos();
        for sector in 0..sectors {
            let (y, x) = (TAU * f64::from(sector) / f64::from(sectors)).sin_cos();
            mesh.vertices.push(centre + Vector::new(x * sine, y * sine, cosine) * radius_mm);
        }
    }
    mesh.vertices.push(centre - Vector::z() * radius_mm);
    let last = (rings - 1) * sectors + 1;
    for sector in 0..sectors {
        let next = (sector + 1) % sectors;
        mesh.triangles.push([0, 1 + sector, 1 + next]);
        for ring in 0..rings - 2 {
            let (upper, lower) = (1 + ring * sectors, 1 + (ring + 1) * sectors);
            mesh.triangles.push([upper + sector, lower + sector, lower + next]);
            mesh.triangles.push([upper + sector, lower + next, upper + next]);
        }
        let ring = 1 + (rings - 2) * sectors;
        mesh.triangles.push([ring + sector, last, ring + next]);
    }
    mesh
}

/// A box with sides along the axes of the frame.
#[must_use]
pub fn block(low: Point, high: Point) -> Mesh {
    let corner = |at: u32| {
        let pick = |bit: u32, axis: usize| if at >> bit & 1 == 1 { high[axis] } else { low[axis] };
        Point::new(pick(0, 0), pick(1, 1), pick(2, 2))
    };
    let faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles = faces.iter().flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]]).collect();
    Mesh { vertices: (0..8).map(corner).collect(), triangles }
}

/// A round rod from `start` to `end` with `sectors` flats (3 or more); a rod without length has no surface.
#[must_use]
pub fn rod(start: Point, end: Point, radius_mm: f64, sectors: u32) -> Mesh {
    let Some(along) = Direction::try_new(end - start, f64::EPSILON) else { return Mesh::default() };
    let sectors = sectors.max(3);
    let aside = if along.x.abs() < 0.9 { Vector::x() } else { Vector::y() };
    let one = Direction::new_normalize(along.cross(&aside));
    let other = along.cross(&one);
    let mut mesh = Mesh { vertices: vec![start, end], triangles: Vec::new() };
    for sector in 0..sectors {
        let (sine, cosine) = (TAU * f64::from(sector) / f64::from(sectors)).sin_cos();
        let out = (one.into_inner() * cosine + other * sine) * radius_mm;
        mesh.vertices.extend([start + out, end + out]);
    }
    for sector in 0..sectors {
        let (here, next) = (2 + 2 * sector, 2 + 2 * ((sector + 1) % sectors));
        mesh.triangles.extend([
            [0, next, here],
            [1, here + 1, next + 1],
            [here, next, next + 1],
            [here, next + 1, here + 1],
        ]);
    }
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: volumes of box, cylinder with n flats and inscribed ball, from their definitions.
    #[test]
    fn shapes_are_closed_face_outward_and_hold_their_volume() {
        let block = block(Point::new(-1.0, -2.0, -3.0), Point::new(1.0, 2.0, 3.0));
        let rod = rod(Point::new(1.0, 2.0, 3.0), Point::new(4.0, -2.0, 8.0), 1.6, 24);
        let ball = ball(Point::new(5.0, 0.0, 0.0), 10.0, 200, 400);
        let flats = 24.0 / 2.0 * 1.6 * 1.6 * (TAU / 24.0).sin() * 50.0_f64.sqrt();
        for (mesh, volume, within) in
            [(&block, 48.0, 1e-12), (&rod, flats, 1e-12), (&ball, 2.0 / 3.0 * TAU * 1000.0, 5e-4)]
        {
            mesh.closed().expect("closed");
            assert!((mesh.volume() / volume - 1.0).abs() < within, "{} {volume}", mesh.volume());
        }
    }
}

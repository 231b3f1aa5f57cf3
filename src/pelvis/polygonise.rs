//! The surface on which a field has a given level, as a closed mesh.
//!
//! Cell by cell: each face of a cell joins the crossings of its edges by segments that keep inside corners apart where
//! that is a choice; both cells of a face choose alike, so the surface has no hole. The segments of a cell close to
//! loops, and each loop is filled. Source: the marching-cubes idea of Lorensen and Cline, 1987,
//! with a rule for faces in place of a table.

use super::field::Field;
use super::mesh::Mesh;
use crate::carm::Vector;

/// A crossing keeps this share of an edge from its ends, so that no triangle shrinks to nothing.
const FROM_ENDS: f32 = 0.02;

/// Corners of a cell's faces, anticlockwise as seen from outside; bit 0 of a corner is x, bit 1 y, bit 2 z.
const FACES: [[usize; 4]; 6] = [[0, 4, 6, 2], [1, 3, 7, 5], [0, 1, 5, 4], [2, 6, 7, 3], [0, 2, 3, 1], [4, 5, 7, 6]];

/// Most corners of a loop that is filled from its first one.
const LONGEST_FLAT: usize = 4;

const NO_VERTEX: u32 = u32::MAX;

/// The surface where the field equals `level`, facing away from lower values. The field must be above the level all
/// around the edge of its grid; a body that touches the edge leaves an open surface.
#[must_use]
pub fn polygonise(field: &Field, level: f32) -> Mesh {
    let mut work = Work { field, level, mesh: Mesh::default(), crossings: vec![NO_VERTEX; 3 * field.grid.nodes()] };
    let [columns, rows, layers] = field.grid.counts;
    for z in 0..layers.saturating_sub(1) {
        for y in 0..rows.saturating_sub(1) {
            for x in 0..columns.saturating_sub(1) {
                work.cell([x, y, z]);
            }
        }
    }
    work.mesh
}

struct Work<'a> {
    field: &'a Field,
    level: f32,
    mesh: Mesh,
    /// The vertex on the edge that leaves each node along each axis.
    crossings: Vec<u32>,
}

impl Work<'_> {
    fn cell(&mut self, cell: [usize; 3]) {
        let node = |corner: usize| self.field.grid.index([0, 1, 2].map(|axis| cell[axis] + (corner >> axis & 1)));
        let nodes: [usize; 8] = std::array::from_fn(node);
        let inside: [bool; 8] = nodes.map(|node| self.field.values[node] < self.level);
        if inside.iter().all(|one| *one == inside[0]) {
            return;
        }
        let mut segments = Vec::with_capacity(12);
        for face in FACES {
            segments_of(face, inside, &mut segments);
        }
        while let Some((start, mut end)) = segments.pop() {
            let mut ring = vec![self.vertex(cell, nodes, start)];
            while end != start {
                ring.push(self.vertex(cell, nodes, end));
                let Some(next) = segments.iter().position(|(from, _)| *from == end) else { break };
                end = segments.swap_remove(next).1;
            }
            self.fill(&ring);
        }
    }

    /// Fills a loop: from its first corner, or about its middle if it is long. A long loop may come back to a face that
    /// it has left, and a triangle across that face could lie in it and touch one of the next cell.
    fn fill(&mut self, ring: &[u32]) {
        if ring.len() <= LONGEST_FLAT {
            for pair in ring[1..].windows(2) {
                self.mesh.triangles.push([ring[0], pair[1], pair[0]]);
            }
            return;
        }
        let sum: Vector = ring.iter().map(|corner| self.mesh.vertices[*corner as usize].coords).sum();
        let middle = name_of(self.mesh.vertices.len());
        self.mesh.vertices.push((sum / ring.len() as f64).into());
        for (at, corner) in ring.iter().enumerate() {
            self.mesh.triangles.push([middle, ring[(at + 1) % ring.len()], *corner]);
        }
    }

    /// The vertex on an edge of a cell, made at first use.
    fn vertex(&mut self, cell: [usize; 3], nodes: [usize; 8], (one, other): (usize, usize)) -> u32 {
        let (low, high) = (one.min(other), one.max(other));
        let axis = (low ^ high).trailing_zeros() as usize;
        let at = 3 * nodes[low] + axis;
        if self.crossings[at] == NO_VERTEX {
            let (start, end) = (self.field.values[nodes[low]], self.field.values[nodes[high]]);
            let part = ((self.level - start) / (end - start)).clamp(FROM_ENDS, 1.0 - FROM_ENDS);
            let mut place = Vector::from_fn(|axis, _| (cell[axis] + (low >> axis & 1)) as f64);
            place[axis] += f64::from(part);
            self.crossings[at] = name_of(self.mesh.vertices.len());
            self.mesh.vertices.push(self.field.grid.low + place * self.field.grid.cell_mm);
        }
        self.crossings[at]
    }
}

fn name_of(vertex: usize) -> u32 {
    u32::try_from(vertex).expect("a grid has fewer edges than a u32 counts")
}

type CellEdge = (usize, usize);

/// Each run of inside corners around a face gives a segment, from the edge by which the run is left to the edge by
/// which it is entered. An edge is its corners in order.
fn segments_of(face: [usize; 4], inside: [bool; 8], segments: &mut Vec<(CellEdge, CellEdge)>) {
    let edge = |at: usize| {
        let (one, other) = (face[at % 4], face[(at + 1) % 4]);
        (one.min(other), one.max(other))
    };
    for start in 0..4 {
        if inside[face[start]] || !inside[face[(start + 1) % 4]] {
            continue;
        }
        let run = (1..4).take_while(|ahead| inside[face[(start + ahead) % 4]]).count();
        segments.push((edge(start + run), edge(start)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::Point;
    use crate::pelvis::field::Grid;
    use crate::pelvis::skeleton::Ball;
    use std::f64::consts::PI;

    /// Source: volume of a ball.
    #[test]
    fn the_surface_of_a_ball_is_closed_and_holds_its_volume() {
        let balls = [Ball { centre: Point::new(3.0, -4.0, 5.0), radius: 20.0 }];
        let field = Field::of(&balls, Grid::around(&balls, 2.0));
        for (level, radius) in [(0.0_f32, 20.0_f64), (-2.0, 18.0), (3.0, 23.0)] {
            let mesh = polygonise(&field, level);
            mesh.closed().expect("closed");
            let volume = 4.0 / 3.0 * PI * radius.powi(3);
            // Flat cells of 2 mm cut a hundredth off a ball of this size.
            assert!((mesh.volume() / volume - 1.0).abs() < 0.01, "{} {volume}", mesh.volume());
        }
    }

    #[test]
    fn whatever_the_corners_the_surface_is_closed() {
        // Every pattern of a cell's corners occurs in a field of chance values, held outside at the edge.
        let grid = Grid { low: Point::origin(), cell_mm: 1.0, counts: [24, 24, 24] };
        let mut field = Field { grid, values: vec![1.0; grid.nodes()] };
        let mut state = 1_u32;
        for z in 1..23 {
            for y in 1..23 {
                for x in 1..23 {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    field.values[grid.index([x, y, z])] = (state >> 8) as f32 / (1 << 23) as f32 - 1.0;
                }
            }
        }
        let mesh = polygonise(&field, 0.0);
        assert!(mesh.triangles.len() > 10_000);
        mesh.closed().expect("closed");
    }
}

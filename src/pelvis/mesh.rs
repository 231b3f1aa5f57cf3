//! A closed surface of triangles, the form in which solids reach the projector.
//!
//! Frame: patient (LPS), mm. A triangle's corners run anticlockwise as seen from outside. What it does not do: no
//! material and no motion.

use crate::carm::{Point, Vector};
use std::collections::HashMap;

/// Triangles over shared vertices. Frame: patient (LPS), mm.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mesh {
    pub vertices: Vec<Point>,
    /// Indices into `vertices`, anticlockwise as seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

/// Why triangles are no closed, oriented surface.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeshError {
    #[error("triangle {triangle} names vertex {vertex}, and there are {vertices}")]
    NoSuchVertex { triangle: usize, vertex: u32, vertices: usize },
    #[error("vertex {vertex} is no finite point")]
    NotFinite { vertex: usize },
    #[error("triangle {triangle} uses one vertex twice")]
    Degenerate { triangle: usize },
    #[error("the edge from vertex {from} to {to} has {forward} triangle(s) on one side and {backward} on the other")]
    OpenEdge { from: u32, to: u32, forward: u32, backward: u32 },
}

impl Mesh {
    /// Checks that every edge has as many triangles running one way as the other: the surface is closed and
    /// oriented, and every ray leaves it as often as it enters.
    ///
    /// # Errors
    /// [`MeshError`], with the first fault found.
    pub fn closed(&self) -> Result<(), MeshError> {
        if let Some(vertex) = self.vertices.iter().position(|point| !point.coords.iter().all(|part| part.is_finite())) {
            return Err(MeshError::NotFinite { vertex });
        }
        let mut edges: HashMap<(u32, u32), (u32, u32)> = HashMap::with_capacity(self.triangles.len() * 2);
        for (triangle, corners) in self.triangles.iter().enumerate() {
            self.check_corners(triangle, corners)?;
            for (from, to) in edges_of(*corners) {
                let sides = edges.entry((from.min(to), from.max(to))).or_default();
                if from < to { sides.0 += 1 } else { sides.1 += 1 }
            }
        }
        let open = edges.into_iter().filter(|(_, (forward, backward))| forward != backward).min();
        open.map_or(Ok(()), |((from, to), (forward, backward))| {
            Err(MeshError::OpenEdge { from, to, forward, backward })
        })
    }

    fn check_corners(&self, triangle: usize, corners: &[u32; 3]) -> Result<(), MeshError> {
        if let Some(vertex) = corners.iter().copied().find(|corner| *corner as usize >= self.vertices.len()) {
            return Err(MeshError::NoSuchVertex { triangle, vertex, vertices: self.vertices.len() });
        }
        let [a, b, c] = *corners;
        if a == b || b == c || c == a { Err(MeshError::Degenerate { triangle }) } else { Ok(()) }
    }

    /// Corners of a triangle, mm.
    #[must_use]
    pub fn corners(&self, triangle: [u32; 3]) -> [Point; 3] {
        triangle.map(|corner| self.vertices[corner as usize])
    }

    /// Enclosed volume, mm³, positive when the triangles face outward.
    ///
    /// Source: divergence theorem, the sum of signed tetrahedra to the first vertex.
    #[must_use]
    pub fn volume(&self) -> f64 {
        let Some(origin) = self.vertices.first().copied() else { return 0.0 };
        let tetrahedron = |triangle: &[u32; 3]| {
            let [a, b, c] = self.corners(*triangle).map(|corner| corner - origin);
            a.dot(&b.cross(&c)) / 6.0
        };
        self.triangles.iter().map(tetrahedron).sum()
    }

    /// Least and greatest coordinates, mm; `None` without vertices.
    #[must_use]
    pub fn bounds(&self) -> Option<(Point, Point)> {
        let first = *self.vertices.first()?;
        Some(self.vertices.iter().fold((first, first), |(low, high), point| (low.inf(point), high.sup(point))))
    }

    /// The same surface with every vertex moved by `motion`, which must keep the handedness of space.
    #[must_use]
    pub fn moved(&self, motion: impl Fn(&Point) -> Point) -> Self {
        Self { vertices: self.vertices.iter().map(motion).collect(), triangles: self.triangles.clone() }
    }

    /// Outward normal of a triangle times twice its area, mm².
    #[must_use]
    pub fn normal(&self, triangle: [u32; 3]) -> Vector {
        let [a, b, c] = self.corners(triangle);
        (b - a).cross(&(c - a))
    }
}

fn edges_of([a, b, c]: [u32; 3]) -> [(u32, u32); 3] {
    [(a, b), (b, c), (c, a)]
}

//! A field over a grid, negative inside a body: what lies between balls and surface.
//!
//! The value at a node is the least of distance to a ball's centre less its radius: the true distance outside, and
//! inside a lower bound of the depth. Far from the body it is held at [`REACH_MM`].

use super::skeleton::Ball;
use crate::carm::Point;

/// How far from a body the field still tells distances, mm.
pub const REACH_MM: f64 = 6.0;

/// Nodes of a field: `counts` along x, y and z, `cell_mm` apart, from `low`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    pub low: Point,
    pub cell_mm: f64,
    pub counts: [usize; 3],
}

/// A field over a grid, x running fastest.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    pub grid: Grid,
    pub values: Vec<f32>,
}

impl Grid {
    /// The grid around balls, with room for the field to tell outside. Nodes lie at whole multiples of the cell, so that
    /// grids of one cell share their nodes.
    #[must_use]
    pub fn around(balls: &[Ball], cell_mm: f64) -> Self {
        let room = |ball: &Ball| nalgebra::Vector3::repeat(ball.radius + REACH_MM);
        let start = balls.first().map_or(Point::origin(), |ball| ball.centre);
        let (low, high) = balls.iter().fold((start, start), |(low, high), ball| {
            (low.inf(&(ball.centre - room(ball))), high.sup(&(ball.centre + room(ball))))
        });
        let first = (low / cell_mm).map(f64::floor);
        let last = (high / cell_mm).map(f64::ceil);
        let counts = [0, 1, 2].map(|axis| (last[axis] - first[axis]) as usize + 1);
        Self { low: first * cell_mm, cell_mm, counts }
    }

    #[must_use]
    pub fn nodes(&self) -> usize {
        self.counts.iter().product()
    }

    #[must_use]
    pub fn index(&self, [x, y, z]: [usize; 3]) -> usize {
        (z * self.counts[1] + y) * self.counts[0] + x
    }

    /// Nodes along an axis that lie within `from` to `to`, mm.
    fn span(&self, axis: usize, from: f64, to: f64) -> std::ops::Range<usize> {
        let node = |mm: f64| (mm - self.low[axis]) / self.cell_mm;
        // A cast holds what lies before the grid at 0.
        (node(from).ceil() as usize).min(self.counts[axis])..(node(to).floor() as usize + 1).min(self.counts[axis])
    }
}

impl Field {
    /// The union of balls.
    #[must_use]
    pub fn of(balls: &[Ball], grid: Grid) -> Self {
        let mut field = Self { grid, values: vec![REACH_MM as f32; grid.nodes()] };
        for ball in balls {
            field.join(ball);
        }
        field
    }

    fn join(&mut self, ball: &Ball) {
        let (grid, reach) = (self.grid, ball.radius + REACH_MM);
        let [x, y, z] = [0, 1, 2].map(|axis| grid.span(axis, ball.centre[axis] - reach, ball.centre[axis] + reach));
        let from = |axis: usize, node: usize| (grid.low[axis] + node as f64 * grid.cell_mm - ball.centre[axis]) as f32;
        let (start, cell, radius) = (from(0, x.start), grid.cell_mm as f32, ball.radius as f32);
        if x.is_empty() {
            return;
        }
        for z in z {
            for y in y.clone() {
                let aside = from(1, y).powi(2) + from(2, z).powi(2);
                let row = grid.index([x.start, y, z]);
                for (at, value) in (0_i32..).zip(&mut self.values[row..row + x.len()]) {
                    let along = start + cell * at as f32;
                    let depth = (along * along + aside).sqrt() - radius;
                    *value = if depth < *value { depth } else { *value };
                }
            }
        }
    }

    /// Takes another body, and `margin_mm` around it, out of this one. The other field may lie on another grid of the
    /// same cell; beyond it there is nothing to take out.
    pub fn carve(&mut self, other: &Self, margin_mm: f64) {
        let shift =
            [0, 1, 2].map(|axis| ((self.grid.low[axis] - other.grid.low[axis]) / self.grid.cell_mm).round() as i64);
        for z in 0..self.grid.counts[2] {
            for y in 0..self.grid.counts[1] {
                for x in 0..self.grid.counts[0] {
                    let place = [x as i64 + shift[0], y as i64 + shift[1], z as i64 + shift[2]];
                    if (0..3).all(|axis| place[axis] >= 0 && (place[axis] as usize) < other.grid.counts[axis]) {
                        let there = other.values[other.grid.index(place.map(|part| part as usize))];
                        let value = &mut self.values[self.grid.index([x, y, z])];
                        *value = value.max(margin_mm as f32 - there);
                    }
                }
            }
        }
    }

    /// Takes away what lies less than `from` along x times `toward`, mm.
    pub fn keep_beyond(&mut self, toward: f64, from: f64) {
        let columns = self.grid.counts[0];
        let over: Vec<f32> =
            (0..columns).map(|x| (from - toward * (self.grid.low.x + x as f64 * self.grid.cell_mm)) as f32).collect();
        for row in self.values.chunks_exact_mut(columns) {
            row.iter_mut().zip(&over).for_each(|(value, over)| *value = value.max(*over));
        }
    }

    /// Rounds what the balls leave uneven: each node mixed with its neighbours along each axis, by the binomial weights
    /// 1, 6, 1 (a standard deviation of half a cell).
    pub fn smooth(&mut self) {
        let [columns, rows, _] = self.grid.counts;
        for stride in [1, columns, columns * rows] {
            let before = self.values.clone();
            let last = before.len() - stride;
            for at in stride..last {
                self.values[at] = (before[at - stride] + 6.0 * before[at] + before[at + stride]) / 8.0;
            }
        }
    }

    /// The field at a place, between its nodes; outside the grid [`REACH_MM`].
    #[must_use]
    pub fn at(&self, place: &Point) -> f64 {
        let node = (place - self.grid.low) / self.grid.cell_mm;
        let first = node.map(f64::floor);
        let inside = (0..3).all(|axis| first[axis] >= 0.0 && (first[axis] as usize) + 1 < self.grid.counts[axis]);
        if !inside {
            return REACH_MM;
        }
        let part = node - first;
        (0..8_usize)
            .map(|corner| {
                let take = |axis: usize| corner >> axis & 1;
                let share: f64 =
                    (0..3).map(|axis| if take(axis) == 1 { part[axis] } else { 1.0 - part[axis] }).product();
                let index = self.grid.index([0, 1, 2].map(|axis| first[axis] as usize + take(axis)));
                share * f64::from(self.values[index])
            })
            .sum()
    }
}

//! Outlines for line drawings: the border of the union of discs, walked over a grid.
//!
//! What it does not do: no picture and no measure; a drawing is as coarse as its grid.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "places become nodes of a grid, held at its ends before the cast"
)]

use std::fmt::Write as _;

/// Cells of the grid each way over the field.
const CELLS: usize = 96;
/// A side of the field that the commands are written for.
pub(super) const FIELD: f64 = 1000.0;

/// A square part of a plane, mm: to the right and up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    pub left: f64,
    pub top: f64,
    pub side: f64,
}

impl Frame {
    /// Where a place of the plane stands on the field, across and down.
    pub fn place(&self, [right, up]: [f64; 2]) -> [f64; 2] {
        [(right - self.left) / self.side * FIELD, (self.top - up) / self.side * FIELD]
    }

    /// The part of a line between two places that lies on the field; `None` if none does.
    pub fn clipped(&self, from: [f64; 2], to: [f64; 2]) -> Option<[[f64; 2]; 2]> {
        let (from, to) = (self.place(from), self.place(to));
        let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
        for axis in [0, 1] {
            let along = to[axis] - from[axis];
            let [low, high] = [(0.0 - from[axis]) / along, (FIELD - from[axis]) / along];
            if along.abs() < 1e-9 {
                if !(0.0..=FIELD).contains(&from[axis]) {
                    return None;
                }
                continue;
            }
            (enters, leaves) = (enters.max(low.min(high)), leaves.min(low.max(high)));
        }
        let at = |share: f64| [0, 1].map(|axis| from[axis] + (to[axis] - from[axis]) * share);
        (enters < leaves).then(|| [at(enters), at(leaves)])
    }
}

/// A line as commands of a path.
pub(super) fn line([from, to]: [[f64; 2]; 2]) -> String {
    format!("M{:.1} {:.1} L{:.1} {:.1} ", from[0], from[1], to[0], to[1])
}

/// The border of the union of discs as commands of a path.
pub(super) fn outline(frame: &Frame, discs: &[([f64; 2], f64)]) -> String {
    let depth = depths(frame, discs);
    let mut commands = String::new();
    for row in 0..CELLS {
        for column in 0..CELLS {
            cell(&depth, column, row, &mut commands);
        }
    }
    commands
}

/// At each node of the grid how far it lies outside the nearest disc, in cells; far ones count as one cell or more.
fn depths(frame: &Frame, discs: &[([f64; 2], f64)]) -> Vec<f64> {
    let cell = FIELD / CELLS as f64;
    let mut depth = vec![2.0_f64; (CELLS + 1) * (CELLS + 1)];
    for (centre, radius) in discs {
        let [x, y] = frame.place(*centre).map(|part| part / cell);
        let radius = radius / frame.side * CELLS as f64;
        let span = |middle: f64| {
            let node = |at: f64| at.clamp(0.0, CELLS as f64) as usize;
            node((middle - radius - 1.0).ceil())..=node((middle + radius + 1.0).floor())
        };
        for row in span(y) {
            for column in span(x) {
                let outside = (column as f64 - x).hypot(row as f64 - y) - radius;
                let at = row * (CELLS + 1) + column;
                depth[at] = depth[at].min(outside);
            }
        }
    }
    depth
}

/// The border through one cell: between the edges on which inside meets outside.
fn cell(depth: &[f64], column: usize, row: usize, commands: &mut String) {
    let cell = FIELD / CELLS as f64;
    let corners = [[0, 0], [1, 0], [1, 1], [0, 1]].map(|[x, y]| [column + x, row + y]);
    let values = corners.map(|[x, y]| depth[y * (CELLS + 1) + x]);
    let mut crossings = Vec::with_capacity(4);
    for at in 0..4 {
        let (one, other) = (at, (at + 1) % 4);
        if (values[one] < 0.0) == (values[other] < 0.0) {
            continue;
        }
        let share = values[one] / (values[one] - values[other]);
        crossings.push([0, 1].map(|axis| {
            let (from, to) = (corners[one][axis] as f64, corners[other][axis] as f64);
            (from + (to - from) * share) * cell
        }));
    }
    for pair in crossings.chunks_exact(2) {
        let _ = write!(commands, "{}", line([pair[0], pair[1]]));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Frame = Frame { left: -100.0, top: 100.0, side: 200.0 };

    /// Source: the perimeter of a circle.
    #[test]
    fn a_disc_has_its_perimeter_and_a_disc_inside_another_no_border() {
        let length = |commands: &str| {
            let numbers: Vec<f64> = commands.split(['M', 'L', ' ']).filter_map(|part| part.parse().ok()).collect();
            numbers.chunks_exact(4).map(|part| (part[2] - part[0]).hypot(part[3] - part[1])).sum::<f64>()
        };
        let disc = ([10.0, -5.0], 50.0);
        let wanted = std::f64::consts::TAU * 50.0 / 200.0 * FIELD;
        let alone = length(&outline(&FRAME, &[disc]));
        assert!((alone / wanted - 1.0).abs() < 0.01, "{alone} for {wanted}");
        let both = length(&outline(&FRAME, &[disc, ([12.0, 0.0], 20.0)]));
        assert!((both - alone).abs() < 1.0, "{both} for {alone}");
    }

    #[test]
    fn a_line_is_cut_at_the_border_of_the_field() {
        let cut = FRAME.clipped([-300.0, 0.0], [300.0, 0.0]).expect("it crosses");
        assert!((cut[0][0]).abs() < 1e-6 && (cut[1][0] - FIELD).abs() < 1e-6 && (cut[0][1] - 500.0).abs() < 1e-6);
        assert_eq!(FRAME.clipped([-300.0, 300.0], [300.0, 300.0]), None);
    }
}

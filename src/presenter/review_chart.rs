//! A scene as the screen draws it: outlines and words, the third back end beside SVG and PDF.
//!
//! The screen says title and note in words of its own, so the scene's head is left out and the rest moved up. What it
//! does not do: no figure is computed here; every place of a point comes from the scene.

use super::case_view::model;
use super::review_rows::local;
use crate::review::{Anchor, Element, Ink, Scene, Table, TableCell, Weight};
use brimline_ui::{ChartDrawn, ChartInk, ChartMark, ChartWord, TableDrawn, TableRow, WordHold};
use slint::{Model, ModelRc, ModelTracker, SharedString};
use std::fmt::Write;

/// Height of a line of words over the size of its letters, and the part of it above the baseline.
///
/// Source: ascender 984, descender -316 of 1000 in the `hhea` table of the screens' own font.
const LINE: f64 = 1.3;
const RISE: f64 = 0.984;
/// Width of the box that a word is held in; wider than any.
const WORD_BOX: f64 = 900.0;
/// A dash and the gap behind it, in units of the scene.
const DASH: f64 = 8.0;
const GAP: f64 = 6.0;
/// How far the two middle points of a curve lie from the ends of a quarter circle.
///
/// Source: 4/3·(√2 - 1), the usual approximation of a circle by four cubic curves.
const QUARTER: f64 = 0.552_284_749_8;

/// The scene without its head, numbers with the decimal sign given.
pub(super) fn drawn(scene: &Scene, sign: char) -> ChartDrawn {
    let up = scene.head.height;
    let mut marks: Vec<Mark> = Vec::new();
    let mut words = Vec::new();
    for element in scene.elements.iter().skip(scene.head.elements) {
        match element {
            Element::Words { at, text, size, ink, anchor, weight } => {
                words.push(word((at.0, at.1 - up), &local(text, sign), *size, *ink, *anchor, *weight));
            }
            other => {
                let mark = mark(other, up);
                match marks.last_mut().filter(|last| last.like(&mark)) {
                    Some(last) => last.outline.push_str(&mark.outline),
                    None => marks.push(mark),
                }
            }
        }
    }
    ChartDrawn {
        across: narrow(scene.width),
        down: narrow(scene.height - up),
        marks: model(marks.into_iter().map(Mark::shown).collect()),
        words: model(words),
    }
}

/// One outline, or several of one kind.
struct Mark {
    outline: String,
    ink: Ink,
    /// Width of the stroke; nothing: filled.
    stroke: Option<f64>,
}

impl Mark {
    /// Whether both can be drawn as one.
    fn like(&self, other: &Self) -> bool {
        self.ink == other.ink && self.stroke == other.stroke
    }

    fn shown(self) -> ChartMark {
        ChartMark {
            outline: self.outline.into(),
            ink: ink_of(self.ink),
            filled: self.stroke.is_none(),
            stroke: narrow(self.stroke.unwrap_or(0.0)),
        }
    }
}

fn mark(element: &Element, up: f64) -> Mark {
    let moved = |points: &[(f64, f64)]| points.iter().map(|(x, y)| (*x, y - up)).collect::<Vec<_>>();
    match element {
        Element::Path { points, ink, width, dashed } => {
            let points = moved(points);
            let outline = if *dashed { dashes(&points) } else { through(&points) };
            Mark { outline, ink: *ink, stroke: Some(*width) }
        }
        Element::Area { points, ink } => Mark { outline: closed(&moved(points)), ink: *ink, stroke: None },
        Element::Dot { at, radius, ink } => {
            Mark { outline: circle((at.0, at.1 - up), *radius), ink: *ink, stroke: None }
        }
        Element::Square { at, half, ink } => Mark {
            outline: rectangle((at.0 - half, at.1 - half - up), 2.0 * half, 2.0 * half),
            ink: *ink,
            stroke: Some(3.0),
        },
        Element::Bar { at, width, height, ink } => {
            Mark { outline: rectangle((at.0, at.1 - up), *width, *height), ink: *ink, stroke: None }
        }
        Element::Words { .. } => Mark { outline: String::new(), ink: Ink::Text, stroke: None },
    }
}

const FITS: &str = "a string takes everything";

fn through(points: &[(f64, f64)]) -> String {
    let mut out = String::new();
    for (at, (x, y)) in points.iter().enumerate() {
        write!(out, "{}{x:.2} {y:.2} ", if at == 0 { "M" } else { "L" }).expect(FITS);
    }
    out
}

fn closed(points: &[(f64, f64)]) -> String {
    through(points) + "Z "
}

fn rectangle((x, y): (f64, f64), width: f64, height: f64) -> String {
    closed(&[(x, y), (x + width, y), (x + width, y + height), (x, y + height)])
}

fn circle((x, y): (f64, f64), r: f64) -> String {
    let k = QUARTER * r;
    let mut out = format!("M{:.2} {y:.2} ", x + r);
    for (ax, ay, bx, by, cx, cy) in
        [(r, k, k, r, 0.0, r), (-k, r, -r, k, -r, 0.0), (-r, -k, -k, -r, 0.0, -r), (k, -r, r, -k, r, 0.0)]
    {
        write!(out, "C{:.2} {:.2} {:.2} {:.2} {:.2} {:.2} ", x + ax, y + ay, x + bx, y + by, x + cx, y + cy)
            .expect(FITS);
    }
    out + "Z "
}

/// The line in dashes, carried on over its corners.
fn dashes(points: &[(f64, f64)]) -> String {
    let mut out = String::new();
    let (mut left, mut drawing) = (DASH, true);
    for pair in points.windows(2) {
        let ((mut x, mut y), (to_x, to_y)) = (pair[0], pair[1]);
        loop {
            let rest = (to_x - x).hypot(to_y - y);
            if rest <= f64::EPSILON {
                break;
            }
            let step = left.min(rest);
            let (next_x, next_y) = (x + (to_x - x) * step / rest, y + (to_y - y) * step / rest);
            if drawing {
                write!(out, "M{x:.2} {y:.2} L{next_x:.2} {next_y:.2} ").expect(FITS);
            }
            (x, y, left) = (next_x, next_y, left - step);
            if left <= f64::EPSILON {
                drawing = !drawing;
                left = if drawing { DASH } else { GAP };
            }
            if step >= rest {
                break;
            }
        }
    }
    out
}

fn word(at: (f64, f64), text: &str, size: f64, ink: Ink, anchor: Anchor, weight: Weight) -> ChartWord {
    let (left, hold) = match anchor {
        Anchor::Start => (at.0, WordHold::Start),
        Anchor::Middle => (at.0 - WORD_BOX / 2.0, WordHold::Middle),
        Anchor::End => (at.0 - WORD_BOX, WordHold::End),
    };
    ChartWord {
        text: text.into(),
        left: narrow(left),
        top: narrow(at.1 - RISE * size),
        room: narrow(WORD_BOX),
        line: narrow(LINE * size),
        size: narrow(size),
        hold,
        ink: ink_of(ink),
        strong: weight == Weight::Bold,
    }
}

fn ink_of(ink: Ink) -> ChartInk {
    match ink {
        Ink::Text => ChartInk::Text,
        Ink::Quiet => ChartInk::Quiet,
        Ink::Frame => ChartInk::Frame,
        Ink::Data => ChartInk::Data,
        Ink::Soft => ChartInk::Soft,
        Ink::Second => ChartInk::Second,
        Ink::Limit => ChartInk::Limit,
        Ink::Signal => ChartInk::Signal,
    }
}

#[allow(clippy::cast_possible_truncation, reason = "a scene's units are far below the precision of f32")]
fn narrow(value: f64) -> f32 {
    value as f32
}

/// Letters a column has room for at least.
const LETTERS_MIN: usize = 5;

/// Rows that the widths of the columns are taken from at most.
const MEASURED_MAX: usize = 400;

/// A table as the screen draws it, the width of each column by its longest cell. Rows become text when they are shown:
/// behind a chart of many cases stand many more than a screen ever does.
pub(super) fn table(table: Table, sign: char) -> TableDrawn {
    let apart = table.len().div_ceil(MEASURED_MAX).max(1);
    let measured: Vec<Vec<usize>> = table.rows().step_by(apart).map(lengths).collect();
    let letters = |at: usize| {
        // A head may go on in a second line: its longest word is what it needs.
        let head = table.columns[at].split(' ').map(|word| word.chars().count()).max().unwrap_or(0);
        measured.iter().filter_map(|row| row.get(at)).fold(head, |most, length| most.max(*length)).max(LETTERS_MIN) + 2
    };
    let widths: Vec<usize> = (0..table.columns.len()).map(letters).collect();
    let all = count(widths.iter().sum::<usize>().max(1));
    TableDrawn {
        columns: model(table.columns.iter().map(SharedString::from).collect()),
        parts: model(widths.into_iter().map(|width| count(width) / all).collect()),
        rows: ModelRc::new(Rows { table, sign }),
    }
}

fn lengths(row: &[TableCell]) -> Vec<usize> {
    row.iter().map(|cell| cell.to_string().chars().count()).collect()
}

/// The rows of a table, each written when it is asked for.
struct Rows {
    table: Table,
    sign: char,
}

impl Model for Rows {
    type Data = TableRow;

    fn row_count(&self) -> usize {
        self.table.len()
    }

    fn row_data(&self, row: usize) -> Option<TableRow> {
        let cells = self.table.rows().nth(row)?.iter().enumerate();
        // The first column names things; a point in a name stays.
        let shown =
            cells.map(|(at, cell)| if at == 0 { cell.to_string() } else { local(&cell.to_string(), self.sign) });
        Some(TableRow { cells: model(shown.map(SharedString::from).collect()) })
    }

    fn model_tracker(&self) -> &dyn ModelTracker {
        // A table never changes; another takes its place.
        &()
    }
}

#[allow(clippy::cast_precision_loss, reason = "a table has far fewer letters than 2^23 in a row")]
fn count(n: usize) -> f32 {
    n as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lengths of the pieces of an outline of straight pieces.
    fn pieces(outline: &str) -> Vec<f64> {
        let numbers: Vec<f64> = outline.split(['M', 'L', ' ']).filter_map(|number| number.parse().ok()).collect();
        numbers.chunks(4).map(|p| (p[2] - p[0]).hypot(p[3] - p[1])).collect()
    }

    #[test]
    fn dashes_go_on_over_corners_and_keep_their_length() {
        let outline = dashes(&[(0.0, 0.0), (10.0, 0.0), (10.0, 100.0)]);
        let drawn: f64 = pieces(&outline).iter().sum();
        // 110 units: seven whole dashes of 8 with gaps of 6, and the eighth begun at 98.
        assert!((drawn - 64.0).abs() < 0.1, "{drawn}");
        assert!(pieces(&outline).iter().all(|piece| *piece <= DASH + 0.01));
    }

    #[test]
    fn a_circle_passes_through_its_four_ends() {
        let outline = circle((10.0, 20.0), 4.0);
        for end in ["M14.00 20.00", "10.00 24.00 ", "6.00 20.00 ", "10.00 16.00 ", "14.00 20.00 Z"] {
            assert!(outline.contains(end), "{end} in {outline}");
        }
    }

    #[test]
    fn marks_of_one_kind_in_a_row_are_one_and_the_head_is_left_out() {
        use crate::review::Head;
        let dot = |x: f64| Element::Dot { at: (x, 50.0), radius: 3.0, ink: Ink::Data };
        let elements = vec![
            Element::Words {
                at: (5.0, 10.0),
                text: "title".to_owned(),
                size: 10.0,
                ink: Ink::Text,
                anchor: Anchor::Start,
                weight: Weight::Bold,
            },
            dot(1.0),
            dot(2.0),
            Element::Square { at: (3.0, 50.0), half: 2.0, ink: Ink::Signal },
        ];
        let scene = Scene { width: 100.0, height: 80.0, elements, head: Head { elements: 1, height: 30.0 } };
        let shown = drawn(&scene, '.');
        assert_eq!((shown.across, shown.down), (100.0, 50.0));
        assert_eq!(slint::Model::row_count(&shown.words), 0);
        let marks: Vec<ChartMark> = slint::Model::iter(&shown.marks).collect();
        assert_eq!(marks.len(), 2);
        assert_eq!(marks[0].outline.matches('Z').count(), 2);
        assert!(marks[1].outline.starts_with("M1.00 18.00"), "{}", marks[1].outline);
    }
}

//! What leaves the house: figures and, on request, one line per case; Safe Harbor by default.
//!
//! No date but the year, ages over 89 as one, no name, place, machine, team, thumbprint, digest or label; signatures
//! were verified at import and are not part of any row. Cells of few cases are hidden. There is no column that could
//! hold free text.

use super::cache::{Cache, NO_AGE};
use super::figure::{Figure, PERCENTILE_MIN};
use super::quantile::count;
use super::select::{Filter, Group, outcome, sacrum};
use super::summary::{Line, Summary};
use super::suppress::{CELL_MIN, age, hidden};
use std::collections::BTreeMap;

/// One cell of an export.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    Text(String),
    Integer(i64),
    Number(f64),
    /// Not known, or hidden.
    Empty,
}

/// A table to export, typed by column.
#[derive(Debug, Clone, PartialEq)]
pub struct Exported {
    pub columns: Vec<&'static str>,
    pub rows: Vec<Vec<Cell>>,
}

/// Columns of exported figures.
pub(super) const SUMMARY_COLUMNS: [&str; 17] = [
    "stream",
    "group",
    "value",
    "machine",
    "size",
    "quantity",
    "quantile_type",
    "n",
    "smallest",
    "lower_quartile",
    "median",
    "upper_quartile",
    "largest",
    "median_from",
    "median_to",
    "upper_quartile_from",
    "upper_quartile_to",
];

/// Columns of exported cases.
pub(super) const CASE_COLUMNS: [&str; 14] = [
    "stream",
    "outcome",
    "year",
    "pathway",
    "age",
    "size",
    "sides",
    "sacrum",
    "implants",
    "shots",
    "operation_min",
    "kerma_area_product_gy_cm2",
    "reference_air_kerma_mgy",
    "fluoroscopy_s",
];

/// Groups that may leave: places, machines, teams and months may not.
fn may_leave(group: Group) -> bool {
    !matches!(group, Group::Site | Group::Machine | Group::Team | Group::Period)
}

/// The figures. With `identified` as a site may keep them for itself; else Safe Harbor: machines become numbers in the
/// order of the export, groups that name a place, a machine, a team or a month are left out, and small cells hidden.
#[must_use]
pub fn export_summary(summary: &Summary, identified: bool) -> Exported {
    let lines: Vec<&Line> = summary.lines.iter().filter(|line| identified || may_leave(line.group)).collect();
    let mut machines: BTreeMap<String, usize> = BTreeMap::new();
    let mut rows = Vec::new();
    for (line, hide) in lines.iter().zip(hidden_lines(&lines)) {
        let stratum = line.stratum.as_ref().map(|(machine, size)| {
            let next = machines.len() + 1;
            let number = *machines.entry(machine.clone()).or_insert(next);
            (if identified { machine.clone() } else { format!("machine {number}") }, size.clone())
        });
        rows.push(summary_row(summary, line, stratum, hide && !identified));
    }
    Exported { columns: SUMMARY_COLUMNS.to_vec(), rows }
}

/// Hidden cells of each breakdown: the lines of one group, quantity.
fn hidden_lines(lines: &[&Line]) -> Vec<bool> {
    let mut parts: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (at, line) in lines.iter().enumerate() {
        parts.entry((line.group as usize, line.quantity as usize)).or_default().push(at);
    }
    let mut all = vec![false; lines.len()];
    for part in parts.into_values() {
        let cells: Vec<usize> = part.iter().map(|at| lines[*at].figure.n).collect();
        part.iter().zip(hidden(&cells)).for_each(|(at, hide)| all[*at] = hide);
    }
    all
}

fn summary_row(summary: &Summary, line: &Line, stratum: Option<(String, String)>, hide: bool) -> Vec<Cell> {
    let text = |text: &str| Cell::Text(text.to_owned());
    let (machine, size) = stratum.map_or((Cell::Empty, Cell::Empty), |(a, b)| (Cell::Text(a), Cell::Text(b)));
    let mut row = vec![
        text(&summary.stream.to_string()),
        text(line.group.word()),
        text(&line.of),
        machine,
        size,
        text(line.quantity.word()),
        text(&summary.quantile.to_string()),
    ];
    row.extend(if hide { vec![Cell::Empty; 10] } else { figure_cells(&line.figure) });
    row
}

fn figure_cells(figure: &Figure) -> Vec<Cell> {
    let number = |value: Option<f64>| value.map_or(Cell::Empty, Cell::Number);
    let middle = figure.middle;
    let median = middle.and_then(|middle| middle.median_within);
    let upper = middle.and_then(|middle| middle.upper_quartile_within);
    // The smallest and the largest of a few cases are those cases.
    let ends = figure.n >= PERCENTILE_MIN;
    vec![
        Cell::Integer(i64::try_from(figure.n).unwrap_or(i64::MAX)),
        number(ends.then_some(figure.smallest)),
        number(middle.map(|middle| middle.lower_quartile)),
        number(middle.map(|middle| middle.median)),
        number(middle.map(|middle| middle.upper_quartile)),
        number(ends.then_some(figure.largest)),
        number(median.map(|within| within.0)),
        number(median.map(|within| within.1)),
        number(upper.map(|within| within.0)),
        number(upper.map(|within| within.1)),
    ]
}

/// One line per filtered case, in an order that says nothing of when it was. Values of a column that fewer than
/// [`CELL_MIN`] of the exported cases share are left empty; so is the age where fewer share its ten years.
#[must_use]
pub fn export_cases(cache: &Cache, filter: &Filter) -> Exported {
    let mut cases = filter.cases(cache);
    // A digest is random with respect to time; it orders the lines and does not leave.
    cases.sort_by(|a, b| cache.digests[*a].cmp(&cache.digests[*b]));
    let mut rows: Vec<Vec<Cell>> = cases.iter().map(|case| case_row(cache, *case)).collect();
    (0..9).for_each(|column| hide_rare(&mut rows, column));
    Exported { columns: CASE_COLUMNS.to_vec(), rows }
}

fn case_row(cache: &Cache, case: usize) -> Vec<Cell> {
    let text = |text: &str| Cell::Text(text.to_owned());
    let number = |value: f64| if value.is_nan() { Cell::Empty } else { Cell::Number(value) };
    let years = cache.age[case];
    vec![
        text(&cache.stream[case].to_string()),
        text(outcome(cache.outcome[case])),
        cache.month[case].map_or(Cell::Empty, |at| Cell::Integer(i64::from(at.year))),
        text(cache.pathways.name(cache.pathway[case])),
        if years == NO_AGE { Cell::Empty } else { Cell::Text(age(years)) },
        text(&Group::Size.label(cache, case)),
        text(&Group::Side.label(cache, case)),
        text(sacrum(cache.sacrum[case])),
        Cell::Integer(i64::from(cache.implants[case])),
        Cell::Integer(i64::from(cache.shots[case])),
        number((cache.operation_s[case] / 6.0).round() / 10.0),
        number(cache.product[case]),
        number(cache.kerma[case]),
        number(cache.fluoroscopy_s[case]),
    ]
}

fn hide_rare(rows: &mut [Vec<Cell>], column: usize) {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for row in rows.iter() {
        *counts.entry(key(&row[column])).or_default() += 1;
    }
    let hidden_of: BTreeMap<String, bool> =
        counts.keys().cloned().zip(hidden(&counts.values().copied().collect::<Vec<_>>())).collect();
    for row in rows {
        if hidden_of[&key(&row[column])] {
            row[column] = Cell::Empty;
        }
    }
}

fn key(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => text.clone(),
        Cell::Integer(value) => value.to_string(),
        Cell::Number(value) => value.to_string(),
        Cell::Empty => String::new(),
    }
}

impl Exported {
    /// RFC 4180, with a line of column names, lines ending in CR LF.
    #[must_use]
    pub fn to_csv(&self) -> String {
        let quoted = |text: &str| {
            if text.contains([',', '"', '\n', '\r']) {
                format!("\"{}\"", text.replace('"', "\"\""))
            } else {
                text.to_owned()
            }
        };
        let cell = |cell: &Cell| match cell {
            Cell::Text(text) => quoted(text),
            Cell::Integer(value) => value.to_string(),
            Cell::Number(value) => value.to_string(),
            Cell::Empty => String::new(),
        };
        let rows = self.rows.iter().map(|row| row.iter().map(cell).collect::<Vec<_>>().join(","));
        std::iter::once(self.columns.join(",")).chain(rows).map(|line| line + "\r\n").collect()
    }

    /// The share of cells that are empty, from 0 to 1.
    #[must_use]
    pub fn empty_share(&self) -> f64 {
        let cells = self.rows.iter().flatten().count();
        let empty = self.rows.iter().flatten().filter(|cell| **cell == Cell::Empty).count();
        if cells == 0 { 0.0 } else { count(empty) / count(cells) }
    }
}

const _: () = assert!(CELL_MIN >= PERCENTILE_MIN, "what is hidden has no percentile either");

//! The table behind a chart: everything the picture shows, as words and numbers.
//!
//! Cells keep what they hold and become text when somebody reads them: a table behind a hundred thousand cases is made
//! with every chart and seldom read as a whole.

use std::fmt;
use std::sync::Arc;

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum TableCell {
    Words(Arc<str>),
    Fixed(&'static str),
    /// Shown as [`number`] has it.
    Number(f64),
    Whole(u64),
    /// A change as a factor, and whether it is a large one.
    Factor(f64, bool),
}

impl fmt::Display for TableCell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Words(words) => f.pad(words),
            Self::Fixed(words) => f.pad(words),
            Self::Number(value) => f.pad(&number(*value)),
            Self::Whole(value) => f.pad(&value.to_string()),
            Self::Factor(value, large) => f.pad(&format!("×{}{}", number(*value), if *large { ", large" } else { "" })),
        }
    }
}

impl From<String> for TableCell {
    fn from(words: String) -> Self {
        Self::Words(words.into())
    }
}

impl From<&Arc<str>> for TableCell {
    fn from(words: &Arc<str>) -> Self {
        Self::Words(words.clone())
    }
}

impl From<&'static str> for TableCell {
    fn from(words: &'static str) -> Self {
        Self::Fixed(words)
    }
}

impl From<f64> for TableCell {
    fn from(value: f64) -> Self {
        Self::Number(value)
    }
}

impl From<u32> for TableCell {
    fn from(value: u32) -> Self {
        Self::Whole(value.into())
    }
}

impl From<usize> for TableCell {
    fn from(value: usize) -> Self {
        Self::Whole(value as u64)
    }
}

/// Columns with their rows, each as long as the columns.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    pub columns: Vec<String>,
    /// The rows behind one another.
    cells: Vec<TableCell>,
}

impl Table {
    /// A table without rows yet.
    #[must_use]
    pub fn of(columns: &[&str]) -> Self {
        Self { columns: columns.iter().map(|&column| column.to_owned()).collect(), cells: Vec::new() }
    }

    /// The same with room for so many rows.
    #[must_use]
    pub fn with_room(columns: &[&str], rows: usize) -> Self {
        let mut table = Self::of(columns);
        table.cells.reserve(rows * columns.len());
        table
    }

    /// Adds a row, one cell to each column.
    pub fn row<C: Into<TableCell>>(&mut self, cells: impl IntoIterator<Item = C>) {
        self.cells.extend(cells.into_iter().map(Into::into));
        debug_assert_eq!(self.cells.len() % self.columns.len().max(1), 0, "a cell to each column");
    }

    /// The rows, in order.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &[TableCell]> {
        self.cells.chunks(self.columns.len().max(1))
    }

    /// How many rows there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows().len()
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }

    /// The table as aligned text, the first column to the left and the others to the right.
    #[must_use]
    pub fn text(&self) -> String {
        let written = |row: &[TableCell]| row.iter().map(TableCell::to_string).collect::<Vec<_>>();
        let lines: Vec<Vec<String>> = std::iter::once(self.columns.clone()).chain(self.rows().map(written)).collect();
        let wide = |at: usize| lines.iter().filter_map(|row| row.get(at)).map(|cell| cell.chars().count()).max();
        let widths: Vec<usize> = (0..self.columns.len()).map(|at| wide(at).unwrap_or(0)).collect();
        let line = |cells: &[String]| {
            let padded =
                cells.iter().zip(&widths).enumerate().map(|(at, (cell, width))| {
                    if at == 0 { format!("{cell:<width$}") } else { format!("{cell:>width$}") }
                });
            padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
        };
        lines.iter().map(|row| line(row)).collect::<Vec<_>>().join("\n")
    }
}

/// A number as a reader wants it: three significant digits, no needless ones, a dash for what is not known.
#[must_use]
pub fn number(value: f64) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let places = match value.abs() {
        at if at >= 100.0 => 0,
        at if at >= 10.0 => 1,
        _ => 2,
    };
    let text = format!("{value:.places$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

//! The table behind a chart: everything the picture shows, as words and numbers.

/// Columns with their rows, each as long as the columns.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    pub columns: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// A table without rows yet.
    #[must_use]
    pub fn of(columns: &[&str]) -> Self {
        Self { columns: columns.iter().map(|&column| column.to_owned()).collect(), rows: Vec::new() }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// The table as aligned text, the first column to the left and the others to the right.
    #[must_use]
    pub fn text(&self) -> String {
        let wide = |at: usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(at)).chain(self.columns.get(at));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..self.columns.len()).map(wide).collect();
        let line = |cells: &[String]| {
            let padded =
                cells.iter().zip(&widths).enumerate().map(|(at, (cell, width))| {
                    if at == 0 { format!("{cell:<width$}") } else { format!("{cell:>width$}") }
                });
            padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
        };
        let rows = std::iter::once(line(&self.columns)).chain(self.rows.iter().map(|row| line(row)));
        rows.collect::<Vec<_>>().join("\n")
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

//! What leaves the house: years instead of dates, ages over 89 as one, small cells hidden.
//!
//! Source: the Safe Harbor method, 45 CFR 164.514(b)(2)(i): (B) places, (C) dates but the year and ages over 89,
//! (M) device serials, (R) any other unique number. Suppression of small cells is more than it asks: common practice,
//! no source. A random shift of dates is not Safe Harbor and is not offered.

/// Fewer cases than this are not counted out. Common practice, no source.
pub const CELL_MIN: usize = 5;
/// The highest age that is told apart. Source: 45 CFR 164.514(b)(2)(i)(C).
pub const AGE_MAX: u8 = 89;

/// An age as it may leave: "61", or "90+" for any above 89.
#[must_use]
pub fn age(years: u8) -> String {
    if years > AGE_MAX { format!("{}+", AGE_MAX + 1) } else { years.to_string() }
}

/// Which cells of one breakdown are hidden: those below [`CELL_MIN`] that are not empty, and, where hiding them would
/// leave their sum to be had by subtraction from the total, the smallest of the others too.
#[must_use]
pub fn hidden(cells: &[usize]) -> Vec<bool> {
    let mut hidden: Vec<bool> = cells.iter().map(|n| (1..CELL_MIN).contains(n)).collect();
    let sum = |hidden: &[bool]| cells.iter().zip(hidden).filter(|(_, hide)| **hide).map(|(n, _)| n).sum::<usize>();
    let count = |hidden: &[bool]| hidden.iter().filter(|hide| **hide).count();
    while count(&hidden) > 0 && (count(&hidden) == 1 || sum(&hidden) < CELL_MIN) {
        let shown = (0..cells.len()).filter(|at| !hidden[*at] && cells[*at] > 0);
        let Some(smallest) = shown.min_by_key(|at| cells[*at]) else { break };
        hidden[smallest] = true;
    }
    hidden
}

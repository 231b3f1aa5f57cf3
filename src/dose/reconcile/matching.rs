//! Two sequences matched in order at least total cost: dynamic programming within a band.
//!
//! Row `i` holds the least cost after `i` events for each number `j` of taps that may lie behind or within reach of
//! them; taps that are out of every later event's reach have to be dealt with before. The band follows both
//! sequences, so the work grows with the shots that are close to each other and not with the product.

use super::costs::{Costs, EARLY_S, LATE_S};

/// Most taps in reach of one event that are looked at: far more than fingers can tap in the window, and a bound on the
/// work for a sequence nobody tapped.
const WIDTH_MAX: usize = 256;

/// Matched pairs (position of the event, position of the tap), ascending, and the total cost.
#[derive(Debug, Clone, PartialEq)]
pub struct Matching {
    pub pairs: Vec<(usize, usize)>,
    pub cost: f64,
}

/// One row of the table.
struct Row {
    /// First number of taps in it.
    first: usize,
    cost: Vec<f64>,
    /// The event of this row was matched with the last tap.
    matched: Vec<bool>,
    /// The last tap was left over.
    left_over: Vec<bool>,
}

impl Row {
    fn cost(&self, taps: usize) -> f64 {
        taps.checked_sub(self.first).and_then(|at| self.cost.get(at)).copied().unwrap_or(f64::INFINITY)
    }

    /// Lets taps be left over, up to `last` of them in all.
    fn leave_over(&mut self, last: usize, extra: f64) {
        let length = (last + 1).saturating_sub(self.first).max(self.cost.len());
        self.cost.resize(length, f64::INFINITY);
        self.matched.resize(length, false);
        self.left_over.resize(length, false);
        for at in 1..length {
            let over = self.cost[at - 1] + extra;
            if over < self.cost[at] {
                self.cost[at] = over;
                self.left_over[at] = true;
            }
        }
    }
}

/// Matches events with taps. `expected`: when each event's tap is expected, ascending; `taps`: ascending; seconds.
pub fn match_in_order(expected: &[f64], taps: &[f64], costs: &Costs) -> Matching {
    let mut rows = Vec::with_capacity(expected.len() + 1);
    rows.push(Row { first: 0, cost: vec![0.0], matched: vec![false], left_over: vec![false] });
    let (mut from, mut to) = (0, 0);
    for time in expected {
        while from < taps.len() && taps[from] - time < -EARLY_S {
            from += 1;
        }
        while to < taps.len() && taps[to] - time <= LATE_S {
            to += 1;
        }
        to = to.min(from + WIDTH_MAX).max(from);
        let before = rows.last_mut().expect("the first row is there");
        before.leave_over(to, costs.extra);
        let row = next_row(before, *time, taps, from..=to, costs);
        rows.push(row);
    }
    rows.last_mut().expect("the first row is there").leave_over(taps.len(), costs.extra);
    trace(&rows, taps.len())
}

fn next_row(before: &Row, time: f64, taps: &[f64], reach: std::ops::RangeInclusive<usize>, costs: &Costs) -> Row {
    let first = *reach.start();
    let mut row = Row { first, cost: Vec::new(), matched: Vec::new(), left_over: Vec::new() };
    for count in reach {
        let forgotten = before.cost(count) + costs.forgotten;
        let matched = count.checked_sub(1).and_then(|tap| {
            let cost = costs.of_match(taps[tap] - time)?;
            Some(before.cost(tap) + cost)
        });
        let matched = matched.unwrap_or(f64::INFINITY);
        row.cost.push(forgotten.min(matched));
        row.matched.push(matched < forgotten);
        row.left_over.push(false);
    }
    row
}

fn trace(rows: &[Row], taps: usize) -> Matching {
    let mut pairs = Vec::new();
    let mut count = taps;
    for (number, row) in rows.iter().enumerate().rev() {
        while row.left_over[count - row.first] {
            count -= 1;
        }
        if row.matched[count - row.first] {
            count -= 1;
            pairs.push((number - 1, count));
        }
    }
    pairs.reverse();
    Matching { pairs, cost: rows.last().expect("the first row is there").cost(taps) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Least cost over every matching in order, by trying all.
    fn by_trying_all(expected: &[f64], taps: &[f64], costs: &Costs) -> f64 {
        let Some((time, later)) = expected.split_first() else { return costs.extra * taps.len() as f64 };
        let mut best = costs.forgotten + by_trying_all(later, taps, costs);
        for (at, tap) in taps.iter().enumerate() {
            let Some(cost) = costs.of_match(tap - time) else { continue };
            let over = costs.extra * at as f64;
            best = best.min(over + cost + by_trying_all(later, &taps[at + 1..], costs));
        }
        best
    }

    proptest! {
        #[test]
        fn no_other_matching_in_order_costs_less(
            mut expected in prop::collection::vec(0.0..90.0_f64, 0..6),
            mut taps in prop::collection::vec(0.0..90.0_f64, 0..6),
        ) {
            expected.sort_by(f64::total_cmp);
            taps.sort_by(f64::total_cmp);
            let costs = Costs::new(5, 90.0);
            let found = match_in_order(&expected, &taps, &costs);
            prop_assert!((found.cost - by_trying_all(&expected, &taps, &costs)).abs() < 1e-9);
            prop_assert!(found.pairs.windows(2).all(|two| two[0].0 < two[1].0 && two[0].1 < two[1].1));
        }
    }
}

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

/// How the least cost of a cell came about: the event of its row was matched with the last tap.
const MATCHED: u8 = 1;
/// The last tap was left over.
const LEFT_OVER: u8 = 2;

/// The cells of all rows behind one another, so that a row asks for no memory of its own. Costs are kept of one row
/// alone; what came of each cell, of every row, for the way back.
struct Cells {
    /// Least cost by number of taps, from `first` on, of the row being filled.
    cost: Vec<f64>,
    came: Vec<u8>,
    /// Of each row: the first number of taps in it, and where its cells begin in `came`.
    rows: Vec<(usize, usize)>,
}

impl Cells {
    fn first(&self) -> usize {
        self.rows.last().map_or(0, |(first, _)| *first)
    }

    /// Lets taps be left over in the last row, up to `last` of them in all.
    fn leave_over(&mut self, last: usize, extra: f64) {
        let begin = self.rows.last().map_or(0, |(_, begin)| *begin);
        let length = (last + 1).saturating_sub(self.first()).max(self.cost.len());
        self.cost.resize(length, f64::INFINITY);
        self.came.resize(begin + length, 0);
        let mut before = self.cost[0];
        for (cost, came) in self.cost.iter_mut().zip(&mut self.came[begin..]).skip(1) {
            let over = before + extra;
            if over < *cost {
                *cost = over;
                *came |= LEFT_OVER;
            }
            before = *cost;
        }
    }

    /// The row of an event at `time`, with `from` to `to` taps behind it or in its reach; `before` is the row before.
    fn event(&mut self, time: f64, taps: &[f64], (from, to): (usize, usize), before: &mut Vec<f64>, costs: &Costs) {
        let first_before = self.first();
        std::mem::swap(&mut self.cost, before);
        self.cost.clear();
        let cost_before = |count: usize| {
            count.checked_sub(first_before).and_then(|at| before.get(at)).copied().unwrap_or(f64::INFINITY)
        };
        self.rows.push((from, self.came.len()));
        for count in from..=to {
            let forgotten = cost_before(count) + costs.forgotten;
            let tap = count.checked_sub(1);
            let matched = tap.and_then(|tap| Some(cost_before(tap) + costs.of_match(taps[tap] - time)?));
            let matched = matched.unwrap_or(f64::INFINITY);
            self.cost.push(forgotten.min(matched));
            self.came.push(if matched < forgotten { MATCHED } else { 0 });
        }
    }

    fn trace(&self, taps: usize) -> Matching {
        let mut pairs = Vec::new();
        let mut count = taps;
        for (number, (first, begin)) in self.rows.iter().enumerate().rev() {
            let came = |count: usize| self.came[begin + count - first];
            while came(count) & LEFT_OVER != 0 {
                count -= 1;
            }
            if came(count) & MATCHED != 0 {
                count -= 1;
                pairs.push((number - 1, count));
            }
        }
        pairs.reverse();
        let cost = taps.checked_sub(self.first()).and_then(|at| self.cost.get(at)).copied();
        Matching { pairs, cost: cost.unwrap_or(f64::INFINITY) }
    }
}

/// Matches events with taps. `expected`: when each event's tap is expected, ascending; `taps`: ascending; seconds.
pub fn match_in_order(expected: &[f64], taps: &[f64], costs: &Costs) -> Matching {
    let mut cells = Cells { cost: vec![0.0], came: vec![0], rows: vec![(0, 0)] };
    let mut before = Vec::new();
    let (mut from, mut to) = (0, 0);
    for time in expected {
        while from < taps.len() && taps[from] - time < -EARLY_S {
            from += 1;
        }
        while to < taps.len() && taps[to] - time <= LATE_S {
            to += 1;
        }
        to = to.min(from + WIDTH_MAX).max(from);
        cells.leave_over(to, costs.extra);
        cells.event(*time, taps, (from, to), &mut before, costs);
    }
    cells.leave_over(taps.len(), costs.extra);
    cells.trace(taps.len())
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

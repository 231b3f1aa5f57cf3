//! Cases divided into parts: small numbers in place of codes, so that a value finds its part without a search.

use super::cache::Cache;
use super::select::Group;

/// Which part each of some cases stands in.
pub(super) struct Parts {
    /// Of each case, by its position: the number of its part; parts are numbered in the order of their codes.
    pub(super) of: Vec<u32>,
    /// Of each part: the position of its first case.
    pub(super) first: Vec<usize>,
}

impl Parts {
    /// The cases by a group.
    pub(super) fn by(group: Group, cache: &Cache, cases: &[usize]) -> Self {
        Self::of(&cases.iter().map(|case| group.code(cache, *case)).collect::<Vec<_>>())
    }

    /// The same cases divided by both.
    pub(super) fn crossed(&self, other: &Self) -> Self {
        let wide = i64::try_from(other.first.len()).unwrap_or(i64::MAX);
        let both = self.of.iter().zip(&other.of).map(|(this, that)| i64::from(*this) * wide + i64::from(*that));
        Self::of(&both.collect::<Vec<_>>())
    }

    fn of(codes: &[i64]) -> Self {
        let mut known: Vec<i64> = Vec::new();
        let lowest = codes.iter().copied().min().unwrap_or(0);
        let highest = codes.iter().copied().max().unwrap_or(0);
        // Codes number names, sizes or months, so that they lie close together; others are sorted.
        let table =
            usize::try_from(highest.saturating_sub(lowest)).ok().filter(|wide| wide / 64 <= codes.len() + 1_024);
        let number: Box<dyn Fn(i64) -> usize> = if let Some(wide) = table {
            let at = move |code: i64| usize::try_from(code - lowest).expect("not below the lowest");
            let mut there = vec![0_usize; wide + 1];
            for code in codes {
                there[at(*code)] = 1;
            }
            let mut next = 0;
            for number in &mut there {
                let is = *number;
                *number = next;
                next += is;
            }
            Box::new(move |code| there[at(code)])
        } else {
            known.extend_from_slice(codes);
            known.sort_unstable();
            known.dedup();
            Box::new(move |code| known.partition_point(|other| *other < code))
        };
        let mut first = Vec::new();
        let mut of = Vec::with_capacity(codes.len());
        for (at, code) in codes.iter().enumerate() {
            let part = number(*code);
            if part >= first.len() {
                first.resize(part + 1, usize::MAX);
            }
            first[part] = first[part].min(at);
            of.push(u32::try_from(part).expect("fewer parts than cases, and a store holds fewer than 2^32"));
        }
        Self { of, first }
    }

    /// Ascending values with the positions of their cases, handed out: of each part its values, ascending, behind
    /// one another, and where each part ends.
    pub(super) fn handed_out(&self, ascending: &[(f64, u32)]) -> (Vec<f64>, Vec<usize>) {
        let mut ends = vec![0; self.first.len()];
        for (_, at) in ascending {
            ends[self.of[*at as usize] as usize] += 1;
        }
        let mut from = 0;
        for end in &mut ends {
            from += std::mem::replace(end, from);
        }
        let mut values = vec![0.0; ascending.len()];
        for (value, at) in ascending {
            let next = &mut ends[self.of[*at as usize] as usize];
            values[*next] = *value;
            *next += 1;
        }
        (values, ends)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    proptest! {
        #[test]
        fn each_part_gets_its_own_values_in_order(
            cases in prop::collection::vec((-3..40_i64, 0.0..9.0_f64), 0..60), far in any::<i64>(),
        ) {
            for codes in [cases.iter().map(|(code, _)| *code).collect::<Vec<_>>(),
                          cases.iter().map(|(code, _)| code.wrapping_mul(far)).collect()] {
                let parts = Parts::of(&codes);
                let mut ranked: Vec<(f64, u32)> = cases.iter().map(|(_, value)| *value).zip(0..).collect();
                ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
                let (values, ends) = parts.handed_out(&ranked);
                let mut expected: BTreeMap<i64, (usize, Vec<f64>)> = BTreeMap::new();
                for (at, (code, (_, value))) in codes.iter().zip(&cases).enumerate() {
                    expected.entry(*code).or_insert((at, Vec::new())).1.push(*value);
                }
                prop_assert_eq!(ends.len(), expected.len());
                let mut from = 0;
                for ((first, mut wanted), (end, own)) in expected.into_values().zip(ends.into_iter().zip(&parts.first)) {
                    wanted.sort_by(f64::total_cmp);
                    prop_assert_eq!(&values[from..end], &wanted[..]);
                    prop_assert_eq!(*own, first);
                    from = end;
                }
            }
        }
    }
}

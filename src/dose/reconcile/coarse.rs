//! Offsets at which the two sequences could lie on each other, from the differences of all pairs of times.
//!
//! At the right offset one pair per tapped shot falls into the same few seconds; at a wrong one the pairs scatter.

use super::sequences::{seconds, whole_seconds};

/// Offsets up to this far from none are tried, seconds: a wrong day counts as a clock, a wrong year does not.
const REACH_S: i64 = 26 * 3_600;
/// Candidates handed on.
const CANDIDATES: usize = 12;
/// What holds fewer pairs than the best by this factor is not looked at.
const WORTH_A_LOOK: u32 = 4;
/// Candidates closer than this are one, seconds.
const APART_S: i64 = 2;
/// Pairs looked at; beyond, only some of the taps are paired, each with every event.
const PAIRS_MAX: usize = 4_000_000;

/// Candidate offsets, machine minus tap, seconds, the most promising first.
pub fn candidates(taps: &[f64], machine: &[f64]) -> Vec<f64> {
    let near = around(taps, machine, 0);
    if near.is_empty() { around(taps, machine, between_medians(taps, machine)) } else { near }
}

/// Offset of the middles of both sequences, whole seconds: for a clock that is off by days or years.
fn between_medians(taps: &[f64], machine: &[f64]) -> i64 {
    let middle = |times: &[f64]| times.get(times.len() / 2).copied().unwrap_or(0.0);
    whole_seconds(middle(machine) - middle(taps))
}

fn around(taps: &[f64], machine: &[f64], centre: i64) -> Vec<f64> {
    let (bins, touched) = histogram(taps, machine, centre);
    let count = |bin: usize| bins.get(bin).copied().unwrap_or(0);
    // The window reaches from two bins below to one above: most taps come early, a few late.
    let window = |bin: usize| count(bin.wrapping_sub(2)) + count(bin.wrapping_sub(1)) + count(bin) + count(bin + 1);
    let mut scored: Vec<(u32, u32, usize)> = touched.into_iter().map(|bin| (window(bin), bins[bin], bin)).collect();
    let best = scored.iter().map(|(count, _, _)| *count).max().unwrap_or(0);
    scored.retain(|(count, _, _)| count * WORTH_A_LOOK >= best);
    scored.sort_unstable_by(|a, b| b.cmp(a));
    let mut chosen: Vec<i64> = Vec::with_capacity(CANDIDATES);
    for (_, _, bin) in scored {
        let offset = i64::try_from(bin).expect("a bin is a small number") - REACH_S + centre;
        if chosen.iter().all(|other| (other - offset).abs() >= APART_S) {
            chosen.push(offset);
        }
        if chosen.len() == CANDIDATES {
            break;
        }
    }
    chosen.into_iter().map(|offset| seconds(offset * 1_000)).collect()
}

/// Differences counted in bins of one second, and the bins that are not empty.
fn histogram(taps: &[f64], machine: &[f64], centre: i64) -> (Vec<u32>, Vec<usize>) {
    let length = usize::try_from(2 * REACH_S + 1).expect("a positive constant");
    let mut bins = vec![0_u32; length];
    let mut touched = Vec::new();
    let stride = (taps.len() * machine.len()).div_ceil(PAIRS_MAX).max(1);
    for tap in taps.iter().step_by(stride) {
        for event in machine {
            let bin = whole_seconds(event - tap) - centre + REACH_S;
            let Some(count) = usize::try_from(bin).ok().and_then(|bin| bins.get_mut(bin)) else { continue };
            if *count == 0 {
                touched.push(usize::try_from(bin).expect("found above"));
            }
            *count += 1;
        }
    }
    (bins, touched)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_right_offset_is_the_first_candidate() {
        let taps = [10.0, 25.0, 31.0, 70.0, 120.0];
        let machine: Vec<f64> = taps.iter().map(|tap| tap + 3_599.5).collect();
        assert!((candidates(&taps, &machine)[0] - 3_599.0).abs() <= 1.0);
    }

    #[test]
    fn a_clock_in_another_year_is_found() {
        let year = 365.0 * 86_400.0;
        let taps = [10.0, 25.0, 31.0, 70.0, 120.0];
        let machine: Vec<f64> = taps.iter().map(|tap| tap + year).collect();
        assert!((candidates(&taps, &machine)[0] - year).abs() <= 1.0);
    }

    #[test]
    fn nothing_to_compare_gives_no_candidate() {
        assert!(candidates(&[], &[1.0]).is_empty() && candidates(&[1.0], &[]).is_empty());
    }
}

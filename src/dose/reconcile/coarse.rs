//! Offsets at which the two sequences could lie on each other, from the differences of all pairs of times.
//!
//! At the right offset one pair per tapped shot falls into the same few seconds; at a wrong one the pairs scatter.

use super::sequences::{milliseconds, seconds, whole_seconds};

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

/// Candidate offsets, machine minus tap, seconds, the most promising first. Both sequences ascend.
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
    let bins = histogram(taps, machine, centre);
    // The window reaches from two bins below to one above: most taps come early, a few late.
    let window = |bin: usize| bins[bin.saturating_sub(2)..(bin + 2).min(bins.len())].iter().sum::<u32>();
    let mut scored: Vec<(u32, u32, usize)> = Vec::new();
    let mut best = 0;
    for (bin, count) in bins.iter().enumerate().filter(|(_, count)| **count > 0) {
        let score = window(bin);
        best = best.max(score);
        // The best may still grow; what falls short of it by then is dropped below.
        if score * WORTH_A_LOOK >= best {
            scored.push((score, *count, bin));
        }
    }
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

/// Differences counted in bins of one second.
///
/// Times are whole milliseconds, so that a difference is one subtraction and one division of integers; the events in
/// reach of a tap stand in a row.
fn histogram(taps: &[f64], machine: &[f64], centre: i64) -> Vec<u32> {
    let length = 2 * REACH_S + 1;
    let mut bins = vec![0_u32; usize::try_from(length).expect("a positive constant")];
    let stride = (taps.len() * machine.len()).div_ceil(PAIRS_MAX).max(1);
    let events: Vec<i64> = machine.iter().map(|event| milliseconds(*event)).collect();
    for tap in taps.iter().step_by(stride) {
        let lowest = milliseconds(*tap).saturating_add((centre - REACH_S).saturating_mul(1_000));
        let from = events.partition_point(|event| *event < lowest);
        let to = events.partition_point(|event| *event < lowest.saturating_add(length * 1_000));
        for event in &events[from..to] {
            // Between nothing and the length of the bins, by the two bounds above.
            let Ok(past) = u32::try_from(event - lowest) else { continue };
            bins[(past / 1_000) as usize] += 1;
        }
    }
    bins
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

//! The explanations of a pair of sequences: clocks under which they lie on each other, best first.

use super::clock::{Clock, fit};
use super::coarse;
use super::costs::Costs;
use super::matching::{Matching, match_in_order};
use super::sequences::{ClockHint, MachineSequence, TeamSequence, seconds_since_opening};

/// Candidates that are fitted further after one look.
const SHORT_LIST: usize = 4;
/// Rounds of matching and fitting.
const ROUNDS: usize = 3;
/// Fits closer than this are one explanation, seconds.
const SAME_S: f64 = 0.75;
/// An explanation this much less likely than the best one is not kept, in logarithms (one in a thousand).
const KEPT: f64 = 6.9;
/// How much better than chance an explanation must be, in logarithms: as many offsets as a day and more has seconds
/// are tried, and one in twenty reports of another case may look right by chance at most.
const OVER_CHANCE: f64 = 12.1 + 3.0;
/// Share of the shorter sequence that an explanation has to match: at the right offset nearly all of it is, whatever the
/// other lacks, and at a wrong one shots in bursts match a half at most. Common practice, no source; simulated reports of
/// other cases hold it.
const MATCHED_MIN: f64 = 0.7;
/// Without any tap a machine's clock is taken to be right within this, one standard deviation. Common practice, no
/// source.
const ASSUMED_SD_S: f64 = 60.0;

/// One explanation.
#[derive(Debug, Clone)]
pub struct Explained {
    pub clock: Clock,
    /// Positions in the machine's events and in the team's taps.
    pub pairs: Vec<(usize, usize)>,
    /// Share of the probability among the explanations.
    pub weight: f64,
    cost: f64,
}

/// What the sequences allow.
pub enum Found {
    /// At least one, best first.
    Clocks(Vec<Explained>),
    /// No shot was tapped, or the taps fit this report at no offset.
    Assumed(ClockHint),
}

/// Finds the explanations. `actuations`: positions of the machine's events that count as one actuation each.
pub fn explain(team: &TeamSequence, machine: &MachineSequence, actuations: &[usize]) -> Found {
    let taps: Vec<f64> = team.taps.iter().map(|tap| seconds_since_opening(tap.at_ms)).collect();
    let events: Vec<f64> = actuations.iter().map(|at| machine.seconds(*at)).collect();
    let work = Work {
        taps: &taps,
        events: &events,
        costs: costs(&taps, &events),
        resolution_s: f64::from(machine.resolution_ms) / 1_000.0,
    };
    let clocks = work.explanations();
    if clocks.is_empty() {
        return Found::Assumed(team.hint.unwrap_or(ClockHint { offset_s: 0.0, sd_s: ASSUMED_SD_S }));
    }
    let back = |one: Explained| Explained {
        pairs: one.pairs.iter().map(|(event, tap)| (actuations[*event], *tap)).collect(),
        ..one
    };
    Found::Clocks(clocks.into_iter().map(back).collect())
}

fn costs(taps: &[f64], events: &[f64]) -> Costs {
    let length = |times: &[f64]| times.last().zip(times.first()).map_or(0.0, |(last, first)| last - first);
    Costs::new(events.len(), length(taps).max(length(events)))
}

/// Sequences in seconds and what their explanations cost.
struct Work<'a> {
    taps: &'a [f64],
    events: &'a [f64],
    costs: Costs,
    resolution_s: f64,
}

impl Work<'_> {
    fn explanations(&self) -> Vec<Explained> {
        let middle = self.taps.get(self.taps.len() / 2).copied().unwrap_or(0.0);
        let offsets = coarse::candidates(self.taps, self.events);
        let mut looked: Vec<Explained> =
            offsets.iter().filter_map(|offset| self.fitted(Clock::guessed(*offset, middle))).collect();
        looked.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        looked.truncate(SHORT_LIST);
        let mut fits: Vec<Explained> = looked.into_iter().map(|one| self.refined(one)).collect();
        fits.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let mut kept: Vec<Explained> = Vec::new();
        for one in fits {
            let new = kept.iter().all(|other| (other.clock.offset_s - one.clock.offset_s).abs() > SAME_S);
            if new && self.is_better_than_chance(&one) && kept.first().is_none_or(|best| one.cost - best.cost < KEPT) {
                kept.push(one);
            }
        }
        weigh(&mut kept);
        kept
    }

    #[allow(clippy::cast_precision_loss, reason = "a number of shots")]
    fn is_better_than_chance(&self, one: &Explained) -> bool {
        let shorter = self.taps.len().min(self.events.len());
        one.cost <= self.at_chance() - OVER_CHANCE && one.pairs.len() as f64 >= MATCHED_MIN * shorter as f64
    }

    /// What it costs to match nothing.
    #[allow(clippy::cast_precision_loss, reason = "a number of shots")]
    fn at_chance(&self) -> f64 {
        self.costs.forgotten * self.events.len() as f64 + self.costs.extra * self.taps.len() as f64
    }

    fn matched(&self, clock: &Clock) -> Matching {
        let expected: Vec<f64> = self.events.iter().map(|event| clock.expected_tap(*event)).collect();
        match_in_order(&expected, self.taps, &self.costs)
    }

    /// Matches under a clock and fits it again.
    fn fitted(&self, clock: Clock) -> Option<Explained> {
        let Matching { pairs, cost } = self.matched(&clock);
        let times: Vec<(f64, f64)> = pairs.iter().map(|(event, tap)| (self.taps[*tap], self.events[*event])).collect();
        let clock = fit(&times, self.resolution_s)?;
        Some(Explained { clock, pairs, weight: 0.0, cost: cost + clock.cost() })
    }

    fn refined(&self, mut one: Explained) -> Explained {
        for _ in 0..ROUNDS {
            match self.fitted(one.clock) {
                Some(next) if next.pairs != one.pairs => one = next,
                // Fitted to the same pairs: the clock stays, its cost is that of the clock before.
                Some(next) => return Explained { cost: next.cost.min(one.cost), ..next },
                None => return one,
            }
        }
        one
    }
}

fn weigh(kept: &mut [Explained]) {
    let Some(best) = kept.first().map(|one| one.cost) else { return };
    let total: f64 = kept.iter().map(|one| (best - one.cost).exp()).sum();
    for one in kept {
        one.weight = (best - one.cost).exp() / total;
    }
}

//! A case that more than one machine served: each report is judged on its own machine's part of it.
//!
//! The report does not say which machine of the room it is from, and the machines' clocks say nothing of each other. So
//! every part between two swaps is compared with it, and the whole case too, since a machine may come back; the part
//! whose taps and the report's events answer each other most completely is the report's own. What does not fit there at
//! all is compared with the whole case, as if nothing had been swapped.

use super::outcome::{Method, Reconciliation};
use super::sequences::{MachineSequence, Span, TeamSequence};
use super::whole;

/// Matches the machine's events with its own part of the team's sequence.
pub(super) fn reconcile(team: &TeamSequence, machine: &MachineSequence) -> Reconciliation {
    let of_all = whole(team, machine);
    if team.swaps_ms.is_empty() {
        return of_all;
    }
    let others = parts(team).into_iter().map(|part| (answered(&part, machine, &whole(&part, machine)), part));
    let best = others.filter_map(|(share, part)| Some((share?, part))).max_by(|a, b| a.0.total_cmp(&b.0));
    match (best, answered(team, machine, &of_all)) {
        (Some((share, part)), all) if all.is_none_or(|all| share > all) => whole(&part, machine),
        _ => of_all,
    }
}

/// Shots matched, of the taps and events there are; nothing where the taps told nothing.
#[allow(clippy::cast_precision_loss, reason = "a number of shots")]
fn answered(team: &TeamSequence, machine: &MachineSequence, found: &Reconciliation) -> Option<f64> {
    let best = found.explanations.first().filter(|_| found.method == Method::TappedShots)?;
    let there = team.taps.len() + machine.actuations().len();
    (there > 0).then(|| 2.0 * best.matched as f64 / there as f64)
}

/// The sequence between two swaps, for each pair of neighbours; its tags keep their numbers.
fn parts(team: &TeamSequence) -> Vec<TeamSequence> {
    let ends = team.swaps_ms.iter().copied().chain([u64::MAX]);
    let begins = [0].into_iter().chain(team.swaps_ms.iter().copied());
    begins.zip(ends).map(|(from, to)| part(team, from, to)).collect()
}

fn part(team: &TeamSequence, from: u64, to: u64) -> TeamSequence {
    let within = |span: &Span| span.to_ms > from && span.from_ms < to;
    let cut = |span: &Span| Span { from_ms: span.from_ms.max(from), to_ms: span.to_ms.min(to), ..*span };
    let spans: Vec<Span> = team.spans.iter().filter(|span| within(span)).map(cut).collect();
    let taps: Vec<_> = team.taps.iter().filter(|tap| (from..to).contains(&tap.at_ms)).copied().collect();
    // A correction has no time of its own: it stands where shots of its tag were counted.
    let here = |tag: usize| taps.iter().any(|tap| tap.tag == tag);
    let corrections = team.corrections.iter().filter(|(tag, _)| here(*tag)).copied().collect();
    TeamSequence { tags: team.tags.clone(), spans, taps, corrections, hint: team.hint, swaps_ms: Vec::new() }
}

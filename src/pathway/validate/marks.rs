//! The moments that other times are counted from: incision and closure.

use super::index::{Index, Standing};
use super::report::Report;
use crate::pathway::{Check, Flaw, Mark, Pathway};

/// Says the moments that no phase marks.
pub(super) fn missing(report: &mut Report, pathway: &Pathway) {
    for mark in [Mark::Incision, Mark::Closure] {
        let mut checks = pathway.steps().flat_map(|(_, step)| &step.checks);
        if !checks.any(|check| check.marks == Some(mark)) {
            report.say("phases", Flaw::NoMark(mark));
        }
    }
}

/// Judges the mark of one check. The incision is marked behind a gate, so that nobody is cut before a pause.
pub(super) fn judge(
    report: &mut Report,
    at: &str,
    check: &Check,
    standing: Standing,
    pathway: &Pathway,
    index: &Index<'_>,
) {
    let Some(mark) = check.marks else { return };
    if standing.stop.is_some() {
        if mark == Mark::Incision {
            report.say(at, Flaw::IncisionInStopList);
        }
        return;
    }
    let marked =
        |mark| index.all().filter(move |known| known.check.marks == Some(mark) && known.standing.stop.is_none());
    if let Some(first) = marked(mark).find(|known| known.standing.is_before(&standing)) {
        report.say(at, Flaw::MarkedTwice { mark, first: format!("{}.marks", first.at) });
    }
    let conditional = index.check(&check.id).is_some_and(|known| known.conditions().next().is_some());
    if conditional {
        report.say(at, Flaw::MarkUnderCondition(mark));
    }
    let gate_before = pathway.steps().take(standing.step).any(|(_, step)| step.gate.is_some());
    if mark == Mark::Incision && !gate_before {
        report.say(at, Flaw::IncisionBeforeGate);
    }
    let uncut = marked(Mark::Incision).any(|known| standing.is_before(&known.standing));
    if mark == Mark::Closure && uncut {
        report.say(at, Flaw::ClosureBeforeIncision);
    }
}

//! Applying what concerns checks and gates: answers, their marks, and gates that close again.

use super::{Answer, AnswerState, Case, Closed, Did, Elapsed, EntryFlags, Event, Override, RangeVerdict, State};
use crate::pathway::{CheckId, CheckKind, Mark, Place};

/// The answer that a closing event gives its check.
fn closing(did: &Did) -> Option<(&Place, &CheckId, Closed)> {
    match did {
        Did::CheckAnswered { place, check, answer, done_at } => {
            Some((place, check, Closed::Answered { answer: answer.clone(), done_at: *done_at }))
        }
        Did::CheckNotDone { place, check, reason } => Some((place, check, Closed::NotDone { reason: reason.clone() })),
        _ => None,
    }
}

pub(super) fn apply(state: &mut State, event: &Event, now: Elapsed, flags: EntryFlags, mark: Option<Mark>) {
    if let Some((place, check, outcome)) = closing(&event.did) {
        let (by, logged_by) = (event.by.clone(), event.logged_by.clone());
        let shots_at_answer = state.shots_at(place);
        let entry = state.checks.entry((place.clone(), check.clone())).or_default();
        entry.answer = Some(AnswerState { seq: event.seq, at: now, by, logged_by, outcome, flags });
        entry.shots_at_answer = shots_at_answer;
        remember(state, place, check, now, flags);
        set_mark(state, mark, now);
    }
    match &event.did {
        Did::CheckReopened { place, check, .. } => {
            let entry = state.checks.entry((place.clone(), check.clone())).or_default();
            entry.answer = None;
            entry.reopened += 1;
            super::radiation::reopened(state, event.seq, place, check);
        }
        Did::ViewRejected { place, check, .. } | Did::PinRejected { place, check, .. } => {
            state.checks.entry((place.clone(), check.clone())).or_default().rejected += 1;
        }
        Did::GateReleased { place, role } => {
            let gate = state.gates.entry(place.clone()).or_default();
            gate.released.push((*role, event.by.clone(), now));
        }
        Did::GateOverridden { place, reason } => {
            let (by, logged_by) = (event.by.clone(), event.logged_by.clone());
            let passed = Override { seq: event.seq, at: now, by, logged_by, reason: reason.clone() };
            state.gates.entry(place.clone()).or_default().overridden = Some(passed);
        }
        _ => {}
    }
}

fn set_mark(state: &mut State, mark: Option<Mark>, now: Elapsed) {
    match mark {
        Some(Mark::Incision) => state.incision = state.incision.or(Some(now)),
        Some(Mark::Closure) => state.closure = Some(now),
        None => {}
    }
}

/// Keeps the answers of the last moments, and marks them all once they are a burst.
fn remember(state: &mut State, place: &Place, check: &CheckId, now: Elapsed, flags: EntryFlags) {
    let burst_ms = state.configured().burst_ms;
    state.recent_answers.retain(|(_, _, at)| now.ms.saturating_sub(at.ms) <= burst_ms);
    state.recent_answers.push((place.clone(), check.clone(), now));
    if !flags.burst {
        return;
    }
    for (place, check, _) in &state.recent_answers {
        let entry = state.checks.get_mut(&(place.clone(), check.clone()));
        if let Some(answer) = entry.and_then(|entry| entry.answer.as_mut()) {
            answer.flags.burst = true;
        }
    }
}

/// The marks an entry earns, seen before it is applied.
pub(super) fn flags(case: &Case, event: &Event) -> EntryFlags {
    let state = case.state();
    let Some((place, check, outcome)) = closing(&event.did) else { return EntryFlags::default() };
    let now = state.timeline.at(&event.stamp);
    let limits = state.configured();
    let recent = state.recent_answers.iter().filter(|(_, _, at)| now.ms.saturating_sub(at.ms) <= limits.burst_ms);
    let burst = recent.count() + 1 >= limits.burst_answers as usize;
    let left_long_ago = *place != state.here
        && state.left.get(place).is_some_and(|left| now.ms.saturating_sub(left.ms) > limits.late_ms);
    let (entered_late, unusual) = match &outcome {
        Closed::Answered { answer, done_at } => (done_at.is_some(), is_unusual(case, place, check, answer)),
        Closed::NotDone { .. } => (false, false),
    };
    EntryFlags { burst, late: entered_late || left_long_ago, unusual }
}

fn is_unusual(case: &Case, place: &Place, check: &CheckId, answer: &Answer) -> bool {
    match answer {
        Answer::Measured { range, .. } => *range == RangeVerdict::Unusual,
        Answer::Chosen { option } => {
            let kind = case.check_at(place, check).map(|check| &check.ask);
            matches!(kind, Some(CheckKind::Choice { options }) if options.iter().any(|o| o.id == *option && o.heed))
        }
        Answer::Counted { numbers, .. } => case.earlier_count(place, check).is_some_and(|earlier| earlier != numbers),
        _ => false,
    }
}

/// The moment that an answer marks.
pub(super) fn mark(case: &Case, did: &Did) -> Option<Mark> {
    let Did::CheckAnswered { place, check, .. } = did else { return None };
    case.check_at(place, check)?.marks
}

/// The gate that guards a check that is being reopened: it closes again.
pub(super) fn gate_guarding(case: &Case, did: &Did) -> Option<Place> {
    let Did::CheckReopened { place, .. } = did else { return None };
    let order = case.step_at(place)?.order;
    let mut after = case.places().into_iter().filter(|at| at.step.order >= order && at.place.concerns(place));
    after.find(|at| at.step.gate.is_some()).map(|at| at.place)
}

pub(super) fn close_again(state: &mut State, gate: &Place) {
    if let Some(gate) = state.gates.get_mut(gate).filter(|gate| !gate.released.is_empty() || gate.overridden.is_some())
    {
        gate.released.clear();
        if let Some(passed) = gate.overridden.take() {
            gate.earlier_overrides.push(passed);
        }
        gate.closed_again += 1;
    }
}

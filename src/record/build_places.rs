//! The places of a record: every one that applied at the end, and every one that anything happened at.

use super::claim::Claim;
use super::payload::Who;
use super::place::{CheckEntry, Entered, GateEntry, OverrideEntry, PlaceEntry, RecordedAnswer, Release};
use crate::case::{Answer, AnswerState, Case, CheckState, Closed, Override, PlaceLayout};
use crate::pathway::{Check, Place};
use chrono::{DateTime, FixedOffset};
use std::collections::BTreeSet;

pub(super) fn places(case: &Case) -> Vec<PlaceEntry> {
    layouts(case).iter().map(|at| place(case, at)).collect()
}

/// In the order of the pathway; a condition that no longer holds takes no entry out of the record.
fn layouts(case: &Case) -> Vec<PlaceLayout<'_>> {
    let state = case.state();
    let mut layouts = case.places();
    let known: BTreeSet<Place> = layouts.iter().map(|at| at.place.clone()).collect();
    let ended = state.outcome().and_then(|outcome| case.list_of(outcome)).map(|list| list.place);
    let touched = state.checks.keys().map(|(place, _)| place);
    let touched = touched.chain(state.shots_here.keys()).chain(state.gates.keys()).chain(state.entered.keys());
    let missing: BTreeSet<Place> = touched.cloned().chain(ended).filter(|place| !known.contains(place)).collect();
    for place in missing {
        if let Some(step) = case.step_at(&place) {
            layouts.push(PlaceLayout { place, step });
        }
    }
    layouts.sort_by_key(|at| (at.step.order, at.place.side, at.place.implant));
    layouts
}

fn place(case: &Case, at: &PlaceLayout<'_>) -> PlaceEntry {
    let state = case.state();
    let applying: BTreeSet<&str> = case.checks_at(at).into_iter().map(|check| check.id.as_str()).collect();
    let entry = |check: &Check| {
        let held = state.checks.get(&(at.place.clone(), check.id.clone()));
        (held.is_some() || applying.contains(check.id.as_str())).then(|| check_entry(case, check, held))
    };
    PlaceEntry {
        place: at.place.clone(),
        title: at.step.title.to_owned(),
        entered: state.entered.get(&at.place).copied().map(Into::into),
        stay_ms: state.stay_ms.get(&at.place).copied().unwrap_or(0),
        shots: state.shots_at(&at.place),
        checks: at.step.checks.iter().filter_map(entry).collect(),
        gate: gate(case, at),
    }
}

fn check_entry(case: &Case, check: &Check, held: Option<&CheckState>) -> CheckEntry {
    let answer = held.and_then(|held| held.answer.as_ref());
    let (words, reason) = answer.map_or((None, None), |answer| free_words(&answer.outcome));
    CheckEntry {
        id: check.id.clone(),
        text: check.text.clone(),
        done: answer.map(|answer| entered(case, answer)),
        reopened: held.map_or(0, |held| held.reopened),
        rejected: held.map_or(0, |held| held.rejected),
        shots: held.map_or(0, |held| held.shots_at_answer),
        words: Claim::of(words),
        reason: Claim::of(reason),
    }
}

fn free_words(outcome: &Closed) -> (Option<String>, Option<String>) {
    match outcome {
        Closed::NotDone { reason } => (None, Some(reason.clone())),
        Closed::Answered { answer: Answer::Scanned { text } | Answer::Noted { text }, .. } => {
            (Some(text.clone()), None)
        }
        Closed::Answered { answer: Answer::ViewAccepted { floor_mark, .. }, .. } => (floor_mark.clone(), None),
        Closed::Answered { .. } => (None, None),
    }
}

fn entered(case: &Case, answer: &AnswerState) -> Entered {
    let done_at = match &answer.outcome {
        Closed::Answered { done_at, .. } => *done_at,
        Closed::NotDone { .. } => None,
    };
    let since = |at: DateTime<FixedOffset>| {
        case.state().opened_at.and_then(|opened| u64::try_from((at - opened).num_milliseconds()).ok())
    };
    Entered {
        seq: answer.seq,
        at: answer.at.into(),
        by: Who::from(&answer.by),
        logged_by: Who::from(&answer.logged_by),
        answer: recorded(&answer.outcome),
        done_ms: done_at.and_then(since),
        burst: answer.flags.burst,
        late: answer.flags.late,
        unusual: answer.flags.unusual,
    }
}

fn recorded(outcome: &Closed) -> RecordedAnswer {
    let answer = match outcome {
        Closed::NotDone { .. } => return RecordedAnswer::NotDone,
        Closed::Answered { answer, .. } => answer,
    };
    match answer {
        Answer::Confirmed => RecordedAnswer::Confirmed,
        Answer::Chosen { option } => RecordedAnswer::Chosen { option: option.clone() },
        Answer::Measured { value, unit, range } => {
            RecordedAnswer::Measured { value: *value, unit: *unit, range: *range }
        }
        Answer::Counted { numbers, second } => {
            RecordedAnswer::Counted { numbers: numbers.clone(), second: Who::from(second) }
        }
        Answer::ViewAccepted { scale_deg, .. } => RecordedAnswer::ViewAccepted { scale_deg: *scale_deg },
        Answer::PinAccepted => RecordedAnswer::PinAccepted,
        Answer::TimerStarted { ago_min } => RecordedAnswer::TimerStarted { ago_min: *ago_min },
        Answer::Scanned { .. } => RecordedAnswer::Scanned,
        Answer::Noted { .. } => RecordedAnswer::Noted,
    }
}

fn gate(case: &Case, at: &PlaceLayout<'_>) -> Option<GateEntry> {
    let gate = at.step.gate?;
    let held = case.state().gates.get(&at.place);
    let releases = held.map(|held| held.released.as_slice()).unwrap_or_default();
    let release =
        |(role, by, at): &(_, _, crate::case::Elapsed)| Release { role: *role, by: Who::from(by), at: (*at).into() };
    Some(GateEntry {
        title: gate.title.clone(),
        wanted: gate.release.clone(),
        released: releases.iter().map(release).collect(),
        overridden: held.is_some_and(|held| held.overridden.is_some()),
        closed_again: held.map_or(0, |held| held.closed_again),
    })
}

/// Every gate passed by spoken word, also those closed again afterwards, in the order it happened.
pub(super) fn overrides(case: &Case) -> Vec<OverrideEntry> {
    let mut all = Vec::new();
    for (place, gate) in &case.state().gates {
        let title = case.step_at(place).and_then(|step| step.gate).map(|gate| gate.title.clone()).unwrap_or_default();
        let entry = |by_word: &Override, earlier| OverrideEntry {
            seq: by_word.seq,
            at: by_word.at.into(),
            place: place.clone(),
            gate: title.clone(),
            by: Who::from(&by_word.by),
            logged_by: Who::from(&by_word.logged_by),
            earlier,
            reason: Claim::of(Some(by_word.reason.clone())),
        };
        all.extend(gate.earlier_overrides.iter().map(|by_word| entry(by_word, true)));
        all.extend(gate.overridden.iter().map(|by_word| entry(by_word, false)));
    }
    all.sort_by_key(|entry| entry.seq);
    all
}

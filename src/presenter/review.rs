//! What a team looks at once more before it signs: spoken words first, then not done, marked, counts, labels.

use super::case_view::title;
use super::{clocks, phrases};
use crate::case::{Answer, AnswerState, Case, Closed, PlaceLayout, Timeline};
use crate::open_case::OpenCase;
use crate::pathway::{Check, CheckKind};
use crate::people::{PersonId, Role};
use crate::units::Unit;
use brimline_ui::{ReviewLine, RowState, TotalLine};
use std::collections::BTreeSet;

/// Sequence numbers of the spoken words that the surgeon confirmed.
pub(super) type Said = BTreeSet<u64>;

/// Spoken words that the surgeon has not confirmed yet.
pub(super) fn unsaid(case: &Case, said: &Said) -> usize {
    case.state().overrides().filter(|(_, passed)| !said.contains(&passed.seq)).count()
}

/// All entries to look at. `names` gives the name of a person.
pub(super) fn lines(case: &Case, said: &Said, names: &dyn Fn(&PersonId) -> String) -> Vec<ReviewLine> {
    let (mut not_done, mut marked, mut counts, mut labels, mut open) = (vec![], vec![], vec![], vec![], 0_u64);
    for at in places(case) {
        for check in case.checks_at(&at) {
            let Some(answer) = case.state().answer(&at.place, &check.id) else {
                open += 1;
                continue;
            };
            match &answer.outcome {
                Closed::NotDone { reason } => not_done.push(not_done_line(case, &at, check, answer, reason)),
                Closed::Answered { answer: given, .. } => {
                    marked.extend(marks(case, &at, check, answer, names));
                    counts.extend(counted(case, &at, check, answer, given, names));
                    labels.extend(label(case, &at, check, answer, given));
                }
            }
        }
    }
    let mut lines = spoken(case, said, names);
    lines.append(&mut not_done);
    if open > 0 {
        let text = format!("{} left open when the case ended", phrases::several(open, "check"));
        lines.push(line("open", "Left open", &text, "", RowState::Blocked));
    }
    lines.append(&mut marked);
    lines.append(&mut remarks(case));
    lines.append(&mut counts);
    lines.append(&mut labels);
    lines
}

/// The places of the case and the short list it ended with.
fn places(case: &Case) -> Vec<PlaceLayout<'_>> {
    let list = case.state().outcome().and_then(|outcome| case.list_of(outcome));
    case.places().into_iter().chain(list).collect()
}

fn line(id: &str, tag: &str, text: &str, detail: &str, state: RowState) -> ReviewLine {
    ReviewLine { id: id.into(), tag: tag.into(), text: text.into(), detail: detail.into(), state, spoken: false }
}

fn spoken(case: &Case, said: &Said, names: &dyn Fn(&PersonId) -> String) -> Vec<ReviewLine> {
    let signed = case.state().signed.contains_key(&Role::Surgeon);
    let words = case.state().overrides().map(|(place, passed)| {
        let gate = case.gate_at(place).map_or_else(|| place.to_string(), |gate| gate.title.clone());
        let by = names(&passed.logged_by.person);
        let detail = format!("{} · {} · logged by {by}", passed.reason, clocks::wall(case, passed.at));
        let heard = signed || said.contains(&passed.seq);
        let state = if heard { RowState::Confirmed } else { RowState::Open };
        let text = format!("{gate}, {}: gate passed by the surgeon's word", title(case, place));
        ReviewLine { spoken: true, ..line(&passed.seq.to_string(), "Spoken word", &text, &detail, state) }
    });
    words.collect()
}

fn not_done_line(case: &Case, at: &PlaceLayout<'_>, check: &Check, answer: &AnswerState, reason: &str) -> ReviewLine {
    let detail = format!("{reason} · {} · {}", title(case, &at.place), clocks::wall(case, answer.at));
    line(&answer.seq.to_string(), "Not done", &check.text, &detail, RowState::NotDone)
}

fn marks(
    case: &Case,
    at: &PlaceLayout<'_>,
    check: &Check,
    answer: &AnswerState,
    names: &dyn Fn(&PersonId) -> String,
) -> Option<ReviewLine> {
    let flags = answer.flags;
    let tags = [(flags.unusual, "Unusual"), (flags.burst, "In a burst"), (flags.late, "Late")];
    let tags: Vec<&str> = tags.into_iter().filter(|(on, _)| *on).map(|(_, tag)| tag).collect();
    if tags.is_empty() {
        return None;
    }
    let given = answer.answer().map(|answer| given(check, answer)).filter(|words| !words.is_empty());
    let text = given.map_or_else(|| check.text.clone(), |given| format!("{}: {given}", check.text));
    let (place, at) = (title(case, &at.place), clocks::wall(case, answer.at));
    let detail = format!("{place} · {at} · {}", names(&answer.by.person));
    Some(line(&answer.seq.to_string(), &tags.join(", "), &text, &detail, RowState::Unusual))
}

/// An answer in words, empty where the check itself says all.
fn given(check: &Check, answer: &Answer) -> String {
    match answer {
        Answer::Chosen { option } => match &check.ask {
            CheckKind::Choice { options } => {
                let chosen = options.iter().find(|known| known.id == *option);
                chosen.map_or_else(|| option.clone(), |option| option.text.clone())
            }
            _ => option.clone(),
        },
        Answer::Measured { value, unit, .. } => format!("{value} {}", unit.symbol()),
        Answer::TimerStarted { ago_min } => format!("begun {ago_min} min before"),
        Answer::Scanned { text } | Answer::Noted { text } => text.clone(),
        Answer::Confirmed | Answer::Counted { .. } | Answer::ViewAccepted { .. } | Answer::PinAccepted => String::new(),
    }
}

fn counted(
    case: &Case,
    at: &PlaceLayout<'_>,
    check: &Check,
    answer: &AnswerState,
    given: &Answer,
    names: &dyn Fn(&PersonId) -> String,
) -> Option<ReviewLine> {
    let (Answer::Counted { numbers, second }, CheckKind::Count { items, .. }) = (given, &check.ask) else {
        return None;
    };
    let pairs = items.iter().zip(numbers).map(|(item, number)| format!("{item} {number}"));
    let text = format!("{}: {}", title(case, &at.place), pairs.collect::<Vec<_>>().join(", "));
    let (first, second) = (names(&answer.by.person), names(&second.person));
    let detail = format!("{first}, {second} · {}", clocks::wall(case, answer.at));
    Some(line(&answer.seq.to_string(), "Count", &text, &detail, RowState::Confirmed))
}

/// Labels read at an implant's own steps; others are the machine's and the graft's.
fn label(case: &Case, at: &PlaceLayout<'_>, check: &Check, answer: &AnswerState, given: &Answer) -> Option<ReviewLine> {
    let (Answer::Scanned { text }, CheckKind::Scan { what }) = (given, &check.ask) else { return None };
    let tag = if at.place.implant.is_some() { "Implant" } else { "Label" };
    let detail = format!("{what} · {} · {}", title(case, &at.place), clocks::wall(case, answer.at));
    Some(line(&answer.seq.to_string(), tag, text, &detail, RowState::Confirmed))
}

/// Deviations, corrected shots, clock jumps and notes.
fn remarks(case: &Case) -> Vec<ReviewLine> {
    let state = case.state();
    let remarks = state.remarks.iter().map(|remark| {
        let detail = format!("{} · {}", title(case, &remark.place), clocks::wall(case, remark.at));
        let (tag, row) =
            if remark.deviation { ("Deviation", RowState::Unusual) } else { ("Note", RowState::Confirmed) };
        line(&remark.seq.to_string(), tag, &remark.text, &detail, row)
    });
    let corrections = state.corrections.iter().map(|correction| {
        let text = format!("{}: {} to {} shots", title(case, &correction.place), correction.from, correction.to);
        let detail = format!("{} · {}", correction.reason, clocks::wall(case, correction.at));
        line(&correction.seq.to_string(), "Corrected", &text, &detail, RowState::Unusual)
    });
    let moved = state.shots_moved.iter().map(|(other, shots)| {
        let other: String = other.chars().take(8).collect();
        line("moved", "Moved", &phrases::moved(*shots), &format!("case {other}"), RowState::Unusual)
    });
    let jumps = state.clock_jumps_ms.len();
    let jumped = (jumps > 0).then(|| {
        let text = format!("The wall clock jumped {}", phrases::several(jumps as u64, "time"));
        line("jumps", "Clock", &text, "times are of the other clock", RowState::Unusual)
    });
    remarks.chain(corrections).chain(moved).chain(jumped).collect()
}

/// Milliseconds from the opening to the event that closed the case; signatures come after it.
pub(super) fn closed_ms(open: &OpenCase) -> u64 {
    let last = open.case().state().closed_seq.unwrap_or(u64::MAX);
    let mut timeline = Timeline::default();
    for event in open.journal().events().iter().take_while(|event| event.seq <= last) {
        timeline.advance(&event.stamp);
    }
    timeline.elapsed().ms
}

/// Time, shots, fluoroscopy and the last readings of dose.
pub(super) fn totals(case: &Case, closed_ms: u64, decimal_sign: char) -> Vec<TotalLine> {
    let state = case.state();
    let total = |label: &str, value: String, detail: String, radiation| TotalLine {
        label: label.into(),
        value: value.into(),
        detail: detail.into(),
        radiation,
    };
    let operated = state.incision.zip(state.closure);
    let operated = operated.map(|(from, to)| clocks::long(to.ms.saturating_sub(from.ms)));
    let operated = operated.map(|span| format!("incision to closure {span}")).unwrap_or_default();
    let runs = state.shots.iter().filter(|shot| shot.seconds.is_some()).count() as u64;
    let corrected = state.corrections.len() as u64;
    let corrected = (corrected > 0).then(|| phrases::several(corrected, "correction"));
    let moved = state.shots_kept() != state.shots_total();
    let moved = moved.then(|| format!("{} counted in this case", state.shots_total()));
    let detail = corrected.into_iter().chain(moved).collect::<Vec<_>>().join(", ");
    let mut totals = vec![
        total("Time", clocks::long(closed_ms), operated, false),
        total("Shots", state.shots_kept().to_string(), detail, true),
        total("Runs", clocks::short(state.run_seconds), phrases::several(runs, "run"), true),
    ];
    let area = [Unit::GraySquareCentimetre, Unit::CentigraySquareCentimetre, Unit::MicrograySquareMetre];
    for (label, units) in [("Dose area", &area[..]), ("Air kerma", &[Unit::Milligray][..])] {
        let Some((value, unit, answer)) = last_reading(case, units) else { continue };
        let detail = format!("{}, read at {}", unit.symbol(), clocks::wall(case, answer.at));
        totals.push(total(label, phrases::number(value, decimal_sign), detail, true));
    }
    totals
}

/// The last measure in one of these units.
fn last_reading<'a>(case: &'a Case, units: &[Unit]) -> Option<(f64, Unit, &'a AnswerState)> {
    let answers = case.state().checks.values().filter_map(|check| check.answer.as_ref());
    let readings = answers.filter_map(|answer| match answer.answer()? {
        Answer::Measured { value, unit, .. } if units.contains(unit) => Some((*value, *unit, answer)),
        _ => None,
    });
    readings.max_by_key(|(_, _, answer)| answer.seq)
}

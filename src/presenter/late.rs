//! Late entry: a check of any step the team has been at, and when it was done.
//!
//! The step is chosen first, then the check, then what was found where the check asks it, then the time of day. A count
//! is made by two people now and is not entered late.

use super::app::{Shared, act, close_overlay};
use super::asked::Asked;
use super::numbers::{self, Number};
use super::{case_view, phrases, reasons, say};
use crate::case::{Answer, Case, Command, PlaceLayout, RangeVerdict};
use crate::pathway::{Check, CheckId, CheckKind, Place};
use brimline_ui::PickRow;
use chrono::{DateTime, FixedOffset, NaiveTime, TimeDelta, Timelike};

/// What is entered late.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Late {
    pub place: Place,
    pub check: CheckId,
    /// Nothing for a timer: its time is the answer.
    pub answer: Option<Answer>,
}

/// Steps the team has been at, with what is open there.
fn passed(case: &Case) -> Vec<(Place, Vec<&Check>)> {
    let state = case.state();
    let places = case.places();
    let here = places.iter().position(|at| at.place == state.here);
    let been = |index: usize, at: &PlaceLayout<'_>| {
        here.is_some_and(|here| index <= here) || state.entered.contains_key(&at.place)
    };
    let open = places.iter().enumerate().filter(|(index, at)| been(*index, at));
    let open = open.map(|(_, at)| (at.place.clone(), case.open_checks(at)));
    open.filter(|(_, checks)| !checks.is_empty()).collect()
}

/// Asks which step.
pub(super) fn ask(app: &Shared) {
    let (rows, places) = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let passed = passed(case);
        let row = |(index, (place, checks)): (usize, &(Place, Vec<&Check>))| {
            let open = format!("{} open", checks.len());
            let phase = super::app::App::phase_title(case, place);
            let detail = [phase, open].join(" · ");
            let here = *place == case.state().here;
            PickRow { chosen: here, ..reasons::row(&index.to_string(), &case_view::title(case, place), &detail) }
        };
        let rows: Vec<PickRow> = passed.iter().enumerate().map(row).collect();
        (rows, passed.into_iter().map(|(place, _)| place).collect::<Vec<_>>())
    };
    match places.as_slice() {
        [] => say::refused(app, "nothing is open in any step the team has been at"),
        [only] => ask_check(app, only.clone()),
        _ => {
            let columns = if rows.len() > 4 { 2 } else { 1 };
            let hint = "In which step was it done";
            reasons::pick(app, Asked::LateStep { places }, "Late entry", hint, columns, rows);
        }
    }
}

/// A step was touched.
pub(super) fn step_picked(app: &Shared, places: &[Place], id: &str) {
    let place = id.parse::<usize>().ok().and_then(|index| places.get(index));
    if let Some(place) = place {
        ask_check(app, place.clone());
    }
}

fn ask_check(app: &Shared, place: Place) {
    let (rows, title) = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let open = passed(case).into_iter().find(|(at, _)| *at == place).map(|(_, checks)| checks);
        let row = |check: &&Check| {
            let barred = matches!(check.ask, CheckKind::Count { .. });
            let detail = if barred { "is counted now by two people, in its own step" } else { "" };
            PickRow { barred, ..reasons::row(&check.id, &check.text, detail) }
        };
        (open.iter().flatten().map(row).collect(), case_view::title(case, &place))
    };
    let hint = format!("{title}: what was done earlier");
    reasons::pick(app, Asked::LateCheck { place }, "Late entry", &hint, 1, rows);
}

fn found(app: &Shared, place: &Place, check: &str) -> Option<Check> {
    app.borrow().case().and_then(|case| case.check_at(place, check).cloned())
}

/// A check was touched.
pub(super) fn check_picked(app: &Shared, place: Place, id: &str) {
    let Some(check) = found(app, &place, id) else { return };
    let late = |answer: Option<Answer>| Late { place: place.clone(), check: check.id.clone(), answer };
    match &check.ask {
        CheckKind::Confirm => ask_time(app, late(Some(Answer::Confirmed)), ""),
        CheckKind::Pin { .. } => ask_time(app, late(Some(Answer::PinAccepted)), ""),
        CheckKind::View { .. } => {
            ask_time(app, late(Some(Answer::ViewAccepted { scale_deg: None, floor_mark: None })), "");
        }
        CheckKind::Timer { .. } => ask_time(app, late(None), ""),
        CheckKind::Choice { options } => {
            let rows = options
                .iter()
                .map(|option| PickRow { heed: option.heed, ..reasons::row(&option.id, &option.text, "") });
            let rows = rows.collect();
            reasons::pick(app, Asked::LateOption(late(None)), "Late entry", &check.text, 1, rows);
        }
        CheckKind::Measure { .. } => numbers::ask_late_measure(app, late(None), &check),
        CheckKind::Scan { .. } | CheckKind::Note => {
            numbers::ask_text(app, Asked::LateWords(late(None)), "Late entry", &check.text, false);
        }
        CheckKind::Count { .. } => {}
    }
}

/// An option was touched.
pub(super) fn option_picked(app: &Shared, late: Late, id: &str) {
    ask_time(app, Late { answer: Some(Answer::Chosen { option: id.to_owned() }), ..late }, "");
}

/// Words were typed.
pub(super) fn words_typed(app: &Shared, late: Late, text: String) {
    let label = found(app, &late.place, &late.check).is_some_and(|check| matches!(check.ask, CheckKind::Scan { .. }));
    let answer = if label { Answer::Scanned { text } } else { Answer::Noted { text } };
    ask_time(app, Late { answer: Some(answer), ..late }, "");
}

/// A measure was typed; what lies outside its limits is refused.
pub(super) fn measured(app: &Shared, late: Late, value: f64) {
    let check = found(app, &late.place, &late.check);
    let Some(Check { ask: CheckKind::Measure { unit, expected, limits }, .. }) = check else {
        return close_overlay(app);
    };
    if !limits.contains(value) {
        let words = format!("Only {} is accepted", app.borrow().interval(limits, unit));
        return numbers::refuse(app, &words);
    }
    let remark = (!expected.contains(value)).then(|| {
        let app = app.borrow();
        format!("{} {} lies outside what is expected and is marked. ", app.decimal(value), unit.symbol())
    });
    // The case computes the verdict itself; what stands here is replaced.
    let answer = Some(Answer::Measured { value, unit, range: RangeVerdict::Expected });
    ask_time(app, Late { answer, ..late }, &remark.unwrap_or_default());
}

fn ask_time(app: &Shared, late: Late, remark: &str) {
    let text = found(app, &late.place, &late.check).map(|check| check.text).unwrap_or_default();
    let Some((from, to)) = bounds(app) else { return };
    let number = Number {
        title: "Done at",
        hint: &text,
        unit: "",
        range: format!("{remark}Hours, then minutes: from {} to {}", from.format("%H:%M"), to.format("%H:%M")),
        fractions: false,
        negatives: false,
        clock: true,
    };
    numbers::ask(app, Asked::LateTime(late), &number);
}

/// When the case was opened, and now.
fn bounds(app: &Shared) -> Option<(DateTime<FixedOffset>, DateTime<FixedOffset>)> {
    let app = app.borrow();
    let now = app.world.clock.now().at;
    Some((app.case()?.opened_at()?.with_timezone(now.offset()), now))
}

/// A time of day was typed.
pub(super) fn time_typed(app: &Shared, late: Late, digits: &str) {
    let Some((opened, now)) = bounds(app) else { return close_overlay(app) };
    let Some(done_at) = time_of(digits).and_then(|time| latest(time, opened, now)) else {
        let words = format!("Between {} and {}, hours and minutes", opened.format("%H:%M"), now.format("%H:%M"));
        return numbers::refuse(app, &words);
    };
    close_overlay(app);
    let Late { place, check, answer } = late;
    let ago_min = u32::try_from((now - done_at).num_minutes().max(0)).unwrap_or(u32::MAX);
    let answer = answer.unwrap_or(Answer::TimerStarted { ago_min });
    let roles = found(app, &place, &check).map(|check| check.by).unwrap_or_default();
    let role = app.borrow().answerer(&roles);
    match role {
        Some(role) => {
            act(app, role, Command::AnswerLate { place, check, answer, done_at });
        }
        None => say::refused(app, &format!("nobody who may answer that holds a role: {}", phrases::roles(&roles))),
    }
}

/// Three or four digits: hours, then minutes.
fn time_of(digits: &str) -> Option<NaiveTime> {
    let number: u32 = digits.parse().ok().filter(|_| (3..=4).contains(&digits.len()))?;
    NaiveTime::from_hms_opt(number / 100, number % 100, 0)
}

/// The last such time of day that is not after now, within the case; the minute of the opening begins with it.
fn latest(time: NaiveTime, opened: DateTime<FixedOffset>, now: DateTime<FixedOffset>) -> Option<DateTime<FixedOffset>> {
    let today = now.with_time(time).single()?;
    let at = if today > now { today - TimeDelta::days(1) } else { today };
    let minute = opened.with_second(0).and_then(|opened| opened.with_nanosecond(0))?;
    (at >= minute).then(|| at.max(opened))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<FixedOffset> {
        DateTime::parse_from_rfc3339(text).unwrap()
    }

    #[test]
    fn a_time_of_day_is_the_last_one_within_the_case() {
        let (opened, now) = (at("2026-03-10T22:58:30+01:00"), at("2026-03-11T00:42:10+01:00"));
        let found = |digits: &str| time_of(digits).and_then(|time| latest(time, opened, now));
        assert_eq!(found("2330"), Some(at("2026-03-10T23:30:00+01:00")), "yesterday evening");
        assert_eq!(found("030"), Some(at("2026-03-11T00:30:00+01:00")));
        assert_eq!(found("2258"), Some(opened), "the minute of the opening begins with it");
        assert_eq!(found("2257"), None, "before the case");
        assert_eq!(found("0043"), None, "after now, and a day earlier there was no case");
        assert_eq!(found("2460"), None);
        assert_eq!(found("12"), None);
    }
}

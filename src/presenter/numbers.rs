//! Numbers and words asked of the team: measures, minutes, scales, seconds, corrections, labels.

use super::app::{Shared, close_overlay, window};
use super::asked::Asked;
use super::late::{self, Late};
use super::operate_touch::{give, here};
use super::{reasons, say};
use crate::case::{Answer, RangeVerdict};
use crate::pathway::{Check, CheckKind, Place};
use brimline_ui::{NumberAsked, Over, Shell, TextAsked};
use slint::ComponentHandle;

/// Most characters typed on the on-screen keyboard.
const CHARACTERS_MAX: i32 = 200;

/// A number to be typed.
pub(super) struct Number<'a> {
    pub title: &'a str,
    pub hint: &'a str,
    pub unit: &'a str,
    pub range: String,
    pub fractions: bool,
    pub negatives: bool,
    /// A time of day, hours before minutes.
    pub clock: bool,
}

/// Asks for a number.
pub(super) fn ask(app: &Shared, asked: Asked, number: &Number<'_>) {
    let Some(window) = window(app) else { return };
    app.borrow_mut().asked = asked;
    let shown = window.global::<NumberAsked>();
    shown.set_title(number.title.into());
    shown.set_hint(number.hint.into());
    shown.set_unit(number.unit.into());
    shown.set_range(number.range.as_str().into());
    shown.set_refusal("".into());
    shown.set_fractions(number.fractions);
    shown.set_negatives(number.negatives);
    shown.set_secret(false);
    shown.set_clock(number.clock);
    shown.set_other("".into());
    shown.set_typed("".into());
    window.global::<Shell>().set_over(Over::Number);
}

/// Asks a measure.
pub(super) fn ask_measure(app: &Shared, place: Place, check: &Check) {
    let CheckKind::Measure { unit, expected, limits } = &check.ask else { return };
    let range = {
        let app = app.borrow();
        format!("expected {}, accepted {}", app.interval(*expected, *unit), app.interval(*limits, *unit))
    };
    let (fractions, negatives) = (true, limits.from < 0.0);
    let hint = check.detail.as_deref().unwrap_or_default();
    let number = Number { title: &check.text, hint, unit: unit.symbol(), range, fractions, negatives, clock: false };
    ask(app, Asked::Measure { place, check: check.id.clone() }, &number);
    if let (Some(_), Some(window)) = (check.reads, window(app)) {
        window.global::<NumberAsked>().set_other("Other unit or figure".into());
    }
}

/// A reading of the console is entered with its units and other figures instead.
pub(super) fn other_asked(app: &Shared) {
    let Asked::Measure { place, check } = app.borrow().asked.clone() else { return };
    let moment = app.borrow().case().and_then(|case| case.check_at(&place, &check)?.reads);
    close_overlay(app);
    if let Some(moment) = moment {
        super::dose::enter(app, moment);
    }
}

/// Asks how many minutes ago a time began.
pub(super) fn ask_timer(app: &Shared, _place: Place, check: &Check) {
    let hint = "0 if it begins now";
    let range = "0 to 600 minutes ago".to_owned();
    let number =
        Number { title: &check.text, hint, unit: "min", range, fractions: false, negatives: false, clock: false };
    ask(app, Asked::Timer { check: check.id.clone() }, &number);
}

/// Asks what the machine's own scale shows.
pub(super) fn ask_scale(app: &Shared, id: &str) {
    let Some((_, check)) = here(app, id) else { return };
    let range = "-180 to 180 °".to_owned();
    let hint = "As the machine shows it, read aloud";
    let number =
        Number { title: "Machine scale", hint, unit: "°", range, fractions: true, negatives: true, clock: false };
    ask(app, Asked::Scale { check: check.id }, &number);
}

/// Asks the seconds of a run.
pub(super) fn ask_run(app: &Shared) {
    let hint = "One actuation that lasted: counts as one shot";
    let range = "1 to 3600 s".to_owned();
    let number = Number { title: "Run", hint, unit: "s", range, fractions: true, negatives: false, clock: false };
    ask(app, Asked::Run, &number);
}

/// Asks the right number of shots of the present step.
pub(super) fn ask_correction(app: &Shared) {
    let Some((place, now)) = app.borrow().case().map(|case| {
        let here = case.state().here.clone();
        let now = case.state().shots_at(&here);
        (here, now)
    }) else {
        return;
    };
    let title = "Shots in this step";
    let hint = format!("Counted here: {now}. Both numbers are kept");
    let range = "0 to 10000".to_owned();
    let number = Number { title, hint: &hint, unit: "", range, fractions: false, negatives: false, clock: false };
    ask(app, Asked::Correction { place }, &number);
}

/// Asks a measure that is entered late.
pub(super) fn ask_late_measure(app: &Shared, late: Late, check: &Check) {
    let CheckKind::Measure { unit, expected, limits } = &check.ask else { return };
    let range = {
        let app = app.borrow();
        format!("expected {}, accepted {}", app.interval(*expected, *unit), app.interval(*limits, *unit))
    };
    let negatives = limits.from < 0.0;
    let number = Number {
        title: "Late entry",
        hint: &check.text,
        unit: unit.symbol(),
        range,
        fractions: true,
        negatives,
        clock: false,
    };
    ask(app, Asked::LateMeasure(late), &number);
}

/// Asks for words.
pub(super) fn ask_text(app: &Shared, asked: Asked, title: &str, hint: &str, may_be_empty: bool) {
    let Some(window) = window(app) else { return };
    app.borrow_mut().asked = asked;
    let shown = window.global::<TextAsked>();
    shown.set_title(title.into());
    shown.set_hint(hint.into());
    shown.set_may_be_empty(may_be_empty);
    shown.set_characters_max(CHARACTERS_MAX);
    shown.set_typed("".into());
    window.global::<Shell>().set_over(Over::Text);
}

/// A number was typed and accepted.
pub(super) fn accepted(app: &Shared, text: &str) {
    let asked = app.borrow().asked.clone();
    let Some(value) = parse(app, text) else { return refuse(app, "That is not a number") };
    let within = |from: f64, to: f64| (from..=to).contains(&value);
    match asked {
        Asked::Measure { place, check } => measured(app, &place, &check, value),
        Asked::Timer { check } => match whole(value).filter(|_| within(0.0, 600.0)) {
            Some(ago_min) => {
                close_overlay(app);
                give(app, &check, Answer::TimerStarted { ago_min });
            }
            None => refuse(app, "Between 0 and 600 minutes, in whole minutes"),
        },
        Asked::Scale { check } if within(-180.0, 180.0) => {
            let title = "Floor mark";
            ask_text(app, Asked::FloorMark { check, scale_deg: value }, title, "Leave it empty if there is none", true);
        }
        Asked::Scale { .. } => refuse(app, "Between -180 and 180 degrees"),
        Asked::Run if within(0.1, 3_600.0) => {
            close_overlay(app);
            super::operate_touch::log_run(app, value);
        }
        Asked::Run => refuse(app, "Between 0.1 and 3600 seconds"),
        Asked::Correction { place } => match whole(value).filter(|_| within(0.0, 10_000.0)) {
            Some(to) => {
                reasons::ask(app, Asked::CorrectShots { place, to }, "Correct the count: why", "", reasons::CORRECT);
            }
            None => refuse(app, "A whole number up to 10000"),
        },
        Asked::LateMeasure(late) => late::measured(app, late, value),
        Asked::LateTime(late) => late::time_typed(app, late, text),
        _ => close_overlay(app),
    }
}

pub(super) fn parse(app: &Shared, text: &str) -> Option<f64> {
    let sign = app.borrow().settings.decimal_sign.character();
    let value: f64 = text.replace(sign, ".").parse().ok()?;
    value.is_finite().then_some(value)
}

fn whole(value: f64) -> Option<u32> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "judged in the line before")]
    (value >= 0.0 && value.fract() == 0.0 && value <= f64::from(u32::MAX)).then_some(value as u32)
}

/// Says why the number was not taken.
pub(super) fn refuse(app: &Shared, why: &str) {
    if let Some(window) = window(app) {
        window.global::<NumberAsked>().set_refusal(why.into());
    }
}

fn measured(app: &Shared, place: &Place, id: &str, value: f64) {
    let found = app.borrow().case().and_then(|case| case.check_at(place, id).cloned());
    let Some(Check { ask: CheckKind::Measure { unit, expected, limits }, .. }) = found else {
        return close_overlay(app);
    };
    if !limits.contains(value) {
        let words = format!("Only {} is accepted", app.borrow().interval(limits, unit));
        return refuse(app, &words);
    }
    if expected.contains(value) {
        close_overlay(app);
        return give_measure(app, id, value);
    }
    let (value_words, expected_words) = {
        let app = app.borrow();
        (app.decimal(value), app.interval(expected, unit))
    };
    let text = format!("{value_words} {} lies outside what is expected, {expected_words}. Is it right?", unit.symbol());
    let shown = say::Message {
        title: "Outside what is expected",
        text: &text,
        safe: "It is kept as it was read, and marked in the record.",
        advice: "",
        accept: "It is right",
        held: true,
        decline: "Read again",
        heed: true,
    };
    say::message(app, Asked::MeasureAgain { check: id.to_owned(), value }, &shown);
}

/// Answers a measure of the present place.
pub(super) fn give_measure(app: &Shared, id: &str, value: f64) {
    let Some((_, Check { ask: CheckKind::Measure { unit, .. }, .. })) = here(app, id) else { return };
    // The case computes the verdict itself; what stands here is replaced.
    give(app, id, Answer::Measured { value, unit, range: RangeVerdict::Expected });
}

//! What each kind of check must bring along.

use super::index::{Index, Standing};
use super::report::Report;
use super::texts;
use crate::dose::Shown;
use crate::pathway::{Check, CheckId, CheckKind, ChoiceOption, Condition, Flaw, Interval, Mark, Scope, TimerBound};

/// Fewest and most options of a choice.
const OPTIONS: (usize, usize) = (2, 6);
/// Most criteria of a view or a pin position, and most items of a count.
const LIST_MAX: usize = 9;
/// Most views a pin position is judged on.
const VIEWS_MAX: usize = 4;
/// Most minutes of a timer: one day.
const MINUTES_MAX: u32 = 1_440;

/// Judges how a check is answered.
pub(super) fn judge(report: &mut Report, at: &str, ask: &CheckKind, standing: Standing, index: &Index<'_>) {
    match ask {
        CheckKind::Confirm | CheckKind::Note => {}
        CheckKind::Choice { options } => choice(report, &format!("{at}.options"), options),
        CheckKind::Measure { expected, limits, .. } => measure(report, at, *expected, *limits),
        CheckKind::Count { items, same_as } => {
            lines(report, &format!("{at}.items"), items, texts::SHORT_MAX);
            if let Some(earlier) = same_as {
                same_count(report, &format!("{at}.same_as"), earlier, items, standing, index);
            }
        }
        CheckKind::View { criteria, .. } => lines(report, &format!("{at}.criteria"), criteria, texts::LINE_MAX),
        CheckKind::Pin { views, criteria } => {
            let views_at = format!("{at}.views");
            report.length(&views_at, views.len(), 1, VIEWS_MAX);
            report.twice(&views_at, views.iter().map(|view| view.word()));
            lines(report, &format!("{at}.criteria"), criteria, texts::LINE_MAX);
        }
        CheckKind::Timer { bounds } => timer(report, &format!("{at}.bounds"), bounds, standing, index),
        CheckKind::Scan { what } => texts::line(report, &format!("{at}.what"), what, texts::SHORT_MAX),
    }
}

/// A check that reads the console asks for a number that consoles show.
pub(super) fn reads(report: &mut Report, at: &str, check: &Check) {
    let shown = |unit| Shown::of(0.0, unit).is_some();
    let fits = matches!(check.ask, CheckKind::Measure { unit, .. } if shown(unit));
    if check.reads.is_some() && !fits {
        report.say(at, Flaw::ReadsNoConsole);
    }
}

/// The conditions inside a kind, each with its place. `at`: place of the check.
pub(super) fn conditions<'a>(at: &str, ask: &'a CheckKind) -> Vec<(String, &'a Condition)> {
    let CheckKind::Timer { bounds } = ask else { return Vec::new() };
    let place = |number: usize| format!("{at}.ask.bounds[{number}].when");
    let whens = bounds.iter().enumerate();
    whens.filter_map(|(number, bound)| Some((place(number), bound.when.as_ref()?))).collect()
}

fn choice(report: &mut Report, at: &str, options: &[ChoiceOption]) {
    report.length(at, options.len(), OPTIONS.0, OPTIONS.1);
    for (number, option) in options.iter().enumerate() {
        let at = format!("{at}[{number}]");
        texts::id(report, &format!("{at}.id"), &option.id);
        texts::line(report, &format!("{at}.text"), &option.text, texts::SHORT_MAX);
    }
    report.twice(at, options.iter().map(|option| option.id.as_str()));
}

fn measure(report: &mut Report, at: &str, expected: Interval, limits: Interval) {
    let sound = |report: &mut Report, member: &str, interval: Interval| {
        let sound = interval.from.is_finite() && interval.to.is_finite() && interval.from < interval.to;
        if !sound {
            report.say(format!("{at}.{member}"), Flaw::BadInterval { from: interval.from, to: interval.to });
        }
        sound
    };
    let both = [sound(report, "expected", expected), sound(report, "limits", limits)] == [true, true];
    if both && !(limits.contains(expected.from) && limits.contains(expected.to)) {
        let Interval { from, to } = expected;
        let what = Flaw::LimitsExclude { from, to, limits_from: limits.from, limits_to: limits.to };
        report.say(format!("{at}.limits"), what);
    }
}

fn same_count(report: &mut Report, at: &str, id: &CheckId, items: &[String], standing: Standing, index: &Index<'_>) {
    let Some((earlier, its_items)) = index.count_items(id) else {
        return report.say(at, Flaw::UnknownCount(id.clone()));
    };
    if !earlier.standing.is_before(&standing) {
        report.say(at, Flaw::CountNotEarlier(id.clone()));
    } else if earlier.standing.stop.is_some() && earlier.standing.stop != standing.stop {
        report.say(at, Flaw::OtherOutcome(id.clone()));
    }
    if its_items != items {
        report.say(at, Flaw::OtherItems(id.clone()));
    }
    if often(earlier.standing.scope) > often(standing.scope) {
        report.say(at, Flaw::ManyCounts(id.clone()));
    }
}

/// A rank of how often a step is done.
pub(super) fn often(scope: Scope) -> u8 {
    match scope {
        Scope::Case => 0,
        Scope::Side => 1,
        Scope::Implant => 2,
    }
}

fn lines(report: &mut Report, at: &str, lines: &[String], max: usize) {
    report.length(at, lines.len(), 1, LIST_MAX);
    for (number, line) in lines.iter().enumerate() {
        texts::line(report, &format!("{at}[{number}]"), line, max);
    }
    report.twice(at, lines.iter().map(String::as_str));
}

fn timer(report: &mut Report, at: &str, bounds: &[TimerBound], standing: Standing, index: &Index<'_>) {
    report.length(at, bounds.len(), 1, LIST_MAX);
    let last = bounds.len().saturating_sub(1);
    let open = bounds.iter().position(|bound| bound.when.is_none());
    for (number, bound) in bounds.iter().enumerate() {
        let at = format!("{at}[{number}]");
        if bound.minutes == 0 || bound.minutes > MINUTES_MAX {
            let what = Flaw::Minutes { minutes: bound.minutes, max: MINUTES_MAX };
            report.say(format!("{at}.minutes"), what);
        }
        if is_behind(bound.until, standing, index) {
            report.say(format!("{at}.until"), Flaw::TimerBehindMark(bound.until));
        }
        if open.is_some_and(|open| open < number) {
            report.say(at.as_str(), Flaw::DeadBound);
        }
        if number == last && open.is_none() {
            report.say(at, Flaw::NoLastBound);
        }
    }
}

/// Whether the moment is marked before this place. A moment nobody marks is said elsewhere.
fn is_behind(mark: Mark, standing: Standing, index: &Index<'_>) -> bool {
    let marked = index.all().filter(|known| known.check.marks == Some(mark) && known.standing.stop.is_none());
    marked.map(|known| known.standing).any(|at| at.is_before(&standing))
}

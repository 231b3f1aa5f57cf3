//! Cumulative sums: has something shifted for good, when, and in which step?
//!
//! The limit is chosen so that all steps together exceed it by chance in one audit of twenty, by Siegmund's
//! approximation: with a dozen steps looked at, the usual limit of 5 would raise several false alarms a year.

use super::super::Sums;
use super::super::cache::Cache;
use super::super::cusum::{SLACK, Shift, first_shift, likeliest_change, limit_for, self_starting, sums};
use super::super::limits::Beyond;
use super::super::quantile::{count, median};
use super::super::scene::{Anchor, Ink, Scene};
use super::super::share::share;
use super::super::signal::{Signal, shift_words};
use super::super::steps::shots_of_step;
use super::super::table::{Table, TableCell, number};
use super::plot::{Plot, SMALL, above, nothing, titled};
use super::shots::without_date;
use super::{Asked, Chart, SHOWN_MAX, none_or_several};

const TITLE: &str = "A shift that lasts";
/// Fewer cases than this show no shift. Common practice, no source.
const CASES_MIN: usize = 30;
/// How often an audit may see a shift where there is none.
const CHANCE: f64 = 0.05;

/// A shift in one series.
#[derive(Debug, Clone, PartialEq)]
pub(in super::super) struct StepShift {
    /// The step's title; nothing for the whole case.
    pub(in super::super) step: Option<String>,
    /// The case it begins with, and the case it is seen at.
    pub(in super::super) begins: usize,
    pub(in super::super) seen: usize,
    pub(in super::super) direction: Beyond,
    /// Median shots before it began, and from then on.
    pub(in super::super) before: f64,
    pub(in super::super) after: f64,
    /// How far the sum goes beyond its limit at its height: the clearest shift has the most.
    pub(in super::super) height: f64,
}

/// Shots of each case or place, made alike in spread by a root.
///
/// Source: Anscombe, Biometrika 1948;35:246, from memory: 2·sqrt(x + 3/8) has about unit variance for counts.
fn levelled(shots: f64) -> f64 {
    2.0 * (shots + 0.375).sqrt()
}

/// Every series that shifts, the clearest first: the whole case and each step.
pub(in super::super) fn step_shifts(cache: &Cache, asked: &Asked) -> Vec<StepShift> {
    let order = asked.filter.in_order(cache);
    if order.len() < CASES_MIN || asked.filter.is_of_somebody() {
        return Vec::new();
    }
    let limit = limit_for(order.len(), cache.steps.len(), CHANCE);
    // 0 stands for the whole case, since no step has it.
    let all: Vec<u16> = (0..u16::try_from(cache.steps.len()).unwrap_or(u16::MAX)).collect();
    let sought = share(order.len(), &all, |step| {
        let series = series_of(cache, &order, *step);
        let title = (*step > 0).then(|| cache.steps.title(u32::from(*step)).to_owned());
        shift_of(series, title, asked.base, limit)
    });
    let mut shifts: Vec<StepShift> = sought.into_iter().flatten().collect();
    shifts.sort_by(|a, b| b.height.total_cmp(&a.height));
    shifts
}

/// Shots of each case at a step, where it has that step; with 0 those of the whole case, per implant.
fn series_of(cache: &Cache, order: &[usize], step: u16) -> Vec<(usize, f64)> {
    let shots = |case: usize| match step {
        0 => Some(per_implant(cache, case)),
        step => shots_of_step(cache, case, step),
    };
    order.iter().filter_map(|case| Some((*case, shots(*case)?))).collect()
}

fn per_implant(cache: &Cache, case: usize) -> f64 {
    f64::from(cache.shots[case]) / f64::from(cache.implants[case].max(1))
}

fn shift_of(series: Vec<(usize, f64)>, step: Option<String>, base: usize, limit: f64) -> Option<StepShift> {
    if series.len() < CASES_MIN {
        return None;
    }
    let values: Vec<f64> = series.iter().map(|(_, shots)| levelled(*shots)).collect();
    let sums = sums(&self_starting(&values, base), 0.0, SLACK);
    let Shift { seen_at, direction, .. } = first_shift(&sums, limit)?;
    let begins_at = likeliest_change(&values)?;
    let side = |sum: &Sums| if direction == Beyond::Above { sum.high } else { sum.low };
    let median = |part: &[(usize, f64)]| {
        median(&mut part.iter().map(|(_, shots)| *shots).collect::<Vec<_>>()).unwrap_or(f64::NAN)
    };
    Some(StepShift {
        step,
        begins: series[begins_at].0,
        seen: series[seen_at].0,
        direction,
        before: median(&series[..begins_at]),
        after: median(&series[begins_at..]),
        height: sums.iter().map(side).fold(0.0, f64::max) / limit,
    })
}

/// The series that the picture shows: that of the clearest shift, else the whole case.
fn shown_series(cache: &Cache, order: &[usize], shifts: &[StepShift]) -> (String, Vec<(usize, f64)>) {
    let step = shifts.first().and_then(|shift| shift.step.as_ref());
    let code = step.and_then(|title| {
        (1..cache.steps.len()).find(|at| cache.steps.title(u32::try_from(*at).unwrap_or(0)) == title)
    });
    match (step, code.and_then(|code| u16::try_from(code).ok())) {
        (Some(title), Some(code)) => {
            (format!("shots in \"{title}\", where it is clearest"), series_of(cache, order, code))
        }
        _ => ("shots per implant".to_owned(), series_of(cache, order, 0)),
    }
}

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let order = asked.filter.in_order(cache);
    if order.len() < CASES_MIN {
        return nothing(TITLE, asked, &format!("fewer than {CASES_MIN} cases with a date"));
    }
    let shifts = step_shifts(cache, asked);
    let signals: Vec<Signal> = shifts.iter().map(|shift| shift_words(cache, shift)).collect();
    let (what, series) = shown_series(cache, &order, &shifts);
    let values: Vec<f64> = series.iter().map(|(_, shots)| levelled(*shots)).collect();
    let limit = limit_for(order.len(), cache.steps.len(), CHANCE);
    let sums = sums(&self_starting(&values, asked.base), 0.0, SLACK);
    let left_out = asked.filter.cases(cache).len() - order.len();
    let note = format!(
        "{}. Cumulative sums of {what}, in standard deviations from the cases before each; slack {SLACK}, limit {}: beyond \
         it by chance in one audit of twenty, all steps looked at. {}{}",
        asked.title(),
        number(limit),
        none_or_several(signals.len(), "shift"),
        without_date(left_out)
    );
    let mut scene = titled(TITLE, &note);
    lines(&mut scene, &sums, limit);
    let mut table = Table::with_room(&["case", "shots", "sum upward", "sum downward"], series.len());
    for ((case, shots), sum) in series.iter().zip(&sums) {
        table.row([TableCell::from(cache.named(*case)), (*shots).into(), sum.high.into(), sum.low.into()]);
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals }
}

/// Both sums between their limits, and the point where the first was exceeded.
fn lines(scene: &mut Scene, sums: &[Sums], limit: f64) {
    let from = sums.len().saturating_sub(SHOWN_MAX);
    let shown = &sums[from..];
    let high = above(shown.iter().flat_map(|sum| [sum.high, sum.low]).chain([limit]));
    let plot = Plot::whole((count(from + 1), count(sums.len())), (-high, high));
    plot.axes(scene, "case, in the order they were opened", |value| number(value.abs()));
    for y in [limit, -limit] {
        scene.dashes(vec![plot.at(plot.x.0, y), plot.at(plot.x.1, y)], Ink::Limit);
        plot.level(scene, y, &number(limit));
    }
    scene.line(plot.at(plot.x.0, 0.0), plot.at(plot.x.1, 0.0), Ink::Frame);
    let along = |of: fn(&Sums) -> f64| {
        let point = |(at, sum): (usize, &Sums)| plot.at(count(from + at + 1), of(sum));
        shown.iter().enumerate().map(point).collect::<Vec<_>>()
    };
    scene.path(along(|sum| sum.high), Ink::Data, 2.5);
    scene.path(along(|sum| -sum.low), Ink::Second, 2.5);
    let (more, fewer) = (plot.at(plot.x.0, limit).1 + 22.0, plot.at(plot.x.0, -limit).1 - 12.0);
    scene.words((plot.left + 10.0, more), "upward: more shots", SMALL, Ink::Data, Anchor::Start);
    scene.words((plot.left + 10.0, fewer), "downward: fewer shots", SMALL, Ink::Second, Anchor::Start);
    if let Some(shift) = first_shift(sums, limit).filter(|shift| shift.seen_at >= from) {
        let sum = &sums[shift.seen_at];
        let y = if shift.direction == Beyond::Above { sum.high } else { -sum.low };
        scene.square(plot.at(count(shift.seen_at + 1), y), Ink::Signal);
    }
}

//! Cumulative sums: has something shifted for good, when, and in which step?
//!
//! The limit is chosen so that all steps together exceed it by chance in one audit of twenty, by Siegmund's
//! approximation: with a dozen steps looked at, the usual limit of 5 would raise several false alarms a year.

use super::super::cache::Cache;
use super::super::cusum::{SLACK, Shift, first_shift, likeliest_change, limit_for, self_starting, sums};
use super::super::limits::Beyond;
use super::super::quantile::{ascending, count, quantile};
use super::super::scene::{Anchor, Ink};
use super::super::signal::{Signal, shift_words};
use super::super::steps::shots_of_step;
use super::super::table::{Table, number};
use super::super::{QuantileType, Sums};
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
    if order.len() < CASES_MIN {
        return Vec::new();
    }
    let steps = cache.steps.len();
    let limit = limit_for(order.len(), steps, CHANCE);
    let whole = order.iter().map(|case| (*case, per_implant(cache, *case))).collect();
    let mut shifts: Vec<StepShift> = shift_of(whole, None, asked.base, limit).into_iter().collect();
    for step in 1..u16::try_from(steps).unwrap_or(u16::MAX) {
        let series: Vec<_> =
            order.iter().filter_map(|case| Some((*case, shots_of_step(cache, *case, step)?))).collect();
        let title = cache.steps.title(u32::from(step)).to_owned();
        shifts.extend(shift_of(series, Some(title), asked.base, limit));
    }
    shifts.sort_by(|a, b| b.height.total_cmp(&a.height));
    shifts
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
        let shots = ascending(part.iter().map(|(_, shots)| *shots).collect());
        quantile(&shots, 0.5, QuantileType::Seven).unwrap_or(f64::NAN)
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

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let order = asked.filter.in_order(cache);
    let values: Vec<f64> = order.iter().map(|case| levelled(per_implant(cache, *case))).collect();
    if order.len() < CASES_MIN {
        return nothing(TITLE, asked, &format!("fewer than {CASES_MIN} cases with a date"));
    }
    let standard = self_starting(&values, asked.base);
    let limit = limit_for(order.len(), cache.steps.len(), CHANCE);
    let sums = sums(&standard, 0.0, SLACK);
    let signals: Vec<Signal> = step_shifts(cache, asked).iter().map(|shift| shift_words(cache, shift)).collect();
    let left_out = asked.filter.cases(cache).len() - order.len();
    let note = format!(
        "{}. Cumulative sums of shots per implant, in standard deviations from the cases before each; slack {SLACK}, \
         limit {}: beyond it by chance in one audit of twenty, all steps looked at. {}{}",
        asked.title(),
        number(limit),
        none_or_several(signals.len(), "shift"),
        without_date(left_out)
    );
    let mut scene = titled(TITLE, &note);
    let from = sums.len().saturating_sub(SHOWN_MAX);
    let shown = &sums[from..];
    let high = above(shown.iter().flat_map(|sum| [sum.high, sum.low]).chain([limit]));
    let plot = Plot::whole((count(from + 1), count(sums.len())), (-high, high));
    plot.axes(&mut scene, "case, in the order they were opened", |value| number(value.abs()));
    for y in [limit, -limit] {
        scene.dashes(vec![plot.at(plot.x.0, y), plot.at(plot.x.1, y)], Ink::Limit);
        plot.level(&mut scene, y, &number(limit));
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
    if let Some(shift) = first_shift(&sums, limit).filter(|shift| shift.seen_at >= from) {
        let sum = &sums[shift.seen_at];
        let y = if shift.direction == Beyond::Above { sum.high } else { -sum.low };
        scene.square(plot.at(count(shift.seen_at + 1), y), Ink::Signal);
    }
    let mut table = Table::of(&["case", "shots per implant", "sum upward", "sum downward"]);
    for (case, sum) in order.iter().zip(&sums) {
        let shots = per_implant(cache, *case);
        table.row(vec![cache.name(*case).to_owned(), number(shots), number(sum.high), number(sum.low)]);
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals }
}

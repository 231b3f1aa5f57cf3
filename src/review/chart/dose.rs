//! Kerma-area product in order, as individual values on a logarithmic scale with their moving range, each machine and
//! size by itself.
//!
//! A moving range beyond its limit is marked and stands in no list of signals: nearly one in a hundred is there by
//! chance alone.

use super::super::cache::Cache;
use super::super::limits::Limits;
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::signal::dose_signals;
use super::super::table::{Table, TableCell, number};
use super::plot::{HEIGHT, Plot, SMALL, WIDTH, nothing, titled};
use super::trend::{DoseTrend, LIMITS_MIN, dose_trends};
use super::{Asked, Chart, SHOWN_MAX, none_or_several, several};
use std::sync::Arc;

const TITLE: &str = "Dose in order, by machine and patient size";
/// Panels shown at most; the table holds all.
const PANELS_MAX: usize = 4;

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let trends = dose_trends(cache, &asked.filter);
    if trends.is_empty() {
        return nothing(TITLE, asked, "no dose of a known machine and patient size");
    }
    let signals = dose_signals(cache, asked, &trends);
    let hidden = trends.len().saturating_sub(PANELS_MAX);
    let more = if hidden == 0 { String::new() } else { format!(" {} more in the table.", several(hidden, "group")) };
    let note = format!(
        "{}. Kerma-area product, Gy·cm², logarithmic; limits of individual values by the moving range (3/1.128) from \
         {LIMITS_MIN} cases on; below, the change from case to case as a factor, large ones with a dot. {}. A displayed \
         dose is within ±35 %: never compare machines.{more}",
        asked.title(),
        none_or_several(signals.len(), "signal"),
    );
    let mut scene = titled(TITLE, &note);
    let shown: Vec<&DoseTrend> = trends.iter().take(PANELS_MAX).collect();
    for (at, trend) in shown.iter().enumerate() {
        panel(&mut scene, trend, at, shown.len());
    }
    Chart { title: TITLE.to_owned(), note, scene, table: table(cache, &trends), signals }
}

/// The panel's own part of the scene: one, two side by side, or four.
fn part(at: usize, of: usize) -> (f64, f64, f64, f64) {
    let (columns, rows) = (if of > 1 { 2 } else { 1 }, if of > 2 { 2 } else { 1 });
    let (wide, high) = ((WIDTH - 40.0) / count(columns), (HEIGHT - 118.0) / count(rows));
    let (left, top) = (20.0 + wide * count(at % columns), 112.0 + high * count(at / columns));
    (left + 62.0, top + 26.0, left + wide - 52.0, top + high - 40.0)
}

/// Logarithms of 1, 2, 5, 10 and so on within a range of logarithms.
fn log_ticks((from, to): (f64, f64)) -> Vec<f64> {
    let powers = (-6..6).flat_map(|power| [1.0_f64, 2.0, 5.0].map(|part| part.log10() + f64::from(power)));
    powers.filter(|log| (from..=to).contains(log)).collect()
}

/// The part of a panel that the moving ranges take, below the values.
const RANGES_PART: f64 = 0.24;
/// Between the two.
const GAP: f64 = 10.0;

/// What a panel shows: the last cases, counted from the first.
struct Shown<'a> {
    trend: &'a DoseTrend,
    from: usize,
    x: (f64, f64),
}

impl Shown<'_> {
    fn logs(&self) -> &[f64] {
        &self.trend.logs[self.from..]
    }

    /// Each change from the case before, as a difference of logarithms; the first case of all has none.
    fn ranges(&self) -> Vec<(f64, f64)> {
        let logs = &self.trend.logs;
        (self.from.max(1)..logs.len()).map(|at| (count(at + 1), (logs[at] - logs[at - 1]).abs())).collect()
    }
}

fn panel(scene: &mut Scene, trend: &DoseTrend, at: usize, of: usize) {
    let from = trend.logs.len().saturating_sub(SHOWN_MAX);
    let shown = Shown { trend, from, x: (count(from + 1), count(trend.logs.len().max(from + 2))) };
    let (left, top, right, bottom) = part(at, of);
    let middle = bottom - (bottom - top) * RANGES_PART;
    let name = format!("{}, {}, n = {}", trend.machine, trend.size, trend.logs.len());
    scene.bold((left, top - 8.0), &name, SMALL, Ink::Text, Anchor::Start);
    values(scene, &shown, (left, top, right, middle - GAP));
    ranges(scene, &shown, (left, middle, right, bottom));
}

fn values(scene: &mut Scene, shown: &Shown<'_>, (left, top, right, bottom): (f64, f64, f64, f64)) {
    let (logs, limits, x) = (shown.logs(), shown.trend.limits(), shown.x);
    let ends = limits.into_iter().flat_map(|limits| [limits.lower, limits.upper]).chain(logs.iter().copied());
    let (low, high) = ends.fold((f64::MAX, f64::MIN), |(low, high), at| (low.min(at), high.max(at)));
    let room = (high - low).max(0.2) * 0.06;
    let plot = Plot { left, top, right, bottom, x, y: (low - room, high + room) };
    plot.upward(scene, &log_ticks(plot.y), |log| number(10_f64.powf(log)));
    if let Some(limits) = limits {
        let level = |y: f64| vec![plot.at(x.0, y), plot.at(x.1, y)];
        scene.dashes(level(limits.upper), Ink::Limit);
        scene.dashes(level(limits.lower), Ink::Limit);
        scene.path(level(limits.centre), Ink::Frame, 1.5);
        for y in [limits.lower, limits.centre, limits.upper] {
            plot.level(scene, y, &number(10_f64.powf(y)));
        }
    }
    let points: Vec<_> = logs.iter().enumerate().map(|(at, log)| plot.at(x.0 + count(at), *log)).collect();
    scene.path(points.clone(), Ink::Data, 1.5);
    for (log, point) in logs.iter().zip(points) {
        scene.dot(point, 3.0, Ink::Data);
        if limits.is_some_and(|limits| limits.beyond(*log).is_some()) {
            scene.square(point, Ink::Signal);
        }
    }
}

/// Changes from case to case, as factors.
fn ranges(scene: &mut Scene, shown: &Shown<'_>, (left, top, right, bottom): (f64, f64, f64, f64)) {
    let changes = shown.ranges();
    let upper = shown.trend.chart.map(|chart| chart.range_upper);
    let high = changes.iter().map(|(_, range)| *range).chain(upper).fold(0.1, f64::max) * 1.1;
    let plot = Plot { left, top, right, bottom, x: shown.x, y: (0.0, high) };
    plot.upward(scene, &[], number);
    plot.across(scene, "");
    if let Some(upper) = upper {
        scene.dashes(vec![plot.at(plot.x.0, upper), plot.at(plot.x.1, upper)], Ink::Limit);
        plot.level(scene, upper, &format!("×{}", number(10_f64.powf(upper))));
    }
    let points: Vec<_> = changes.iter().map(|(x, range)| plot.at(*x, *range)).collect();
    scene.path(points.clone(), Ink::Quiet, 1.5);
    for ((_, range), point) in changes.iter().zip(points) {
        if upper.is_some_and(|upper| above_limit(*range, upper)) {
            scene.dot(point, 4.0, Ink::Text);
        }
    }
}

/// A change on its limit is within.
fn above_limit(range: f64, upper: f64) -> bool {
    Limits { lower: 0.0, centre: 0.0, upper }.beyond(range).is_some()
}

fn table(cache: &Cache, trends: &[DoseTrend]) -> Table {
    let titles = ["case", "machine", "size", "Gy·cm²", "lower limit", "upper limit", "change", "signal"];
    let mut table = Table::with_room(&titles, trends.iter().map(|trend| trend.cases.len()).sum());
    for trend in trends {
        let limits = trend.limits();
        let upper = trend.chart.map_or(f64::INFINITY, |chart| chart.range_upper);
        let mut before = None;
        let limit = |of: fn(Limits) -> f64| TableCell::Number(limits.map_or(f64::NAN, |at| 10_f64.powf(of(at))));
        let names: [Arc<str>; 2] = [Arc::from(trend.machine.as_str()), Arc::from(trend.size.as_str())];
        let ends = [limit(|limits| limits.lower), limit(|limits| limits.upper)];
        for (case, log) in trend.cases.iter().zip(&trend.logs) {
            let beyond = limits.is_some_and(|limits| limits.beyond(*log).is_some());
            let range = before.replace(*log).map(|before: f64| (log - before).abs());
            let change = |range| TableCell::Factor(10_f64.powf(range), above_limit(range, upper));
            table.row([
                TableCell::from(cache.named(*case)),
                (&names[0]).into(),
                (&names[1]).into(),
                cache.product[*case].into(),
                ends[0].clone(),
                ends[1].clone(),
                range.map_or("–".into(), change),
                if beyond { "beyond" } else { "" }.into(),
            ]);
        }
    }
    table
}

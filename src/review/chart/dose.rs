//! Kerma-area product in order, as individual values on a logarithmic scale, each machine and size by itself.

use super::super::cache::Cache;
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::signal::dose_signals;
use super::super::table::{Table, number};
use super::plot::{HEIGHT, Plot, SMALL, WIDTH, nothing, titled};
use super::trend::{DoseTrend, LIMITS_MIN, dose_trends};
use super::{Asked, Chart, SHOWN_MAX, none_or_several, several};

const TITLE: &str = "Dose in order, by machine and patient size";
/// Panels shown at most; the table holds all.
const PANELS_MAX: usize = 4;

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let trends = dose_trends(cache, &asked.filter);
    if trends.is_empty() {
        return nothing(TITLE, asked, "no dose of a known machine and patient size");
    }
    let signals = dose_signals(cache, asked);
    let hidden = trends.len().saturating_sub(PANELS_MAX);
    let more = if hidden == 0 { String::new() } else { format!(" {} more in the table.", several(hidden, "group")) };
    let note = format!(
        "{}. Kerma-area product, Gy·cm², logarithmic; limits of individual values by the moving range (3/1.128) from \
         {LIMITS_MIN} cases on. {}. A displayed dose is within ±35 %: never compare machines.{more}",
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

fn panel(scene: &mut Scene, trend: &DoseTrend, at: usize, of: usize) {
    let from = trend.logs.len().saturating_sub(SHOWN_MAX);
    let logs = &trend.logs[from..];
    let limits = trend.limits();
    let ends = limits.into_iter().flat_map(|limits| [limits.lower, limits.upper]).chain(logs.iter().copied());
    let (low, high) = ends.fold((f64::MAX, f64::MIN), |(low, high), at| (low.min(at), high.max(at)));
    let room = (high - low).max(0.2) * 0.06;
    let (left, top, right, bottom) = part(at, of);
    let x = (count(from + 1), count(trend.logs.len().max(from + 2)));
    let plot = Plot { left, top, right, bottom, x, y: (low - room, high + room) };
    plot.axes_with(scene, "", &log_ticks(plot.y), |log| number(10_f64.powf(log)));
    let name = format!("{}, {}, n = {}", trend.machine, trend.size, trend.logs.len());
    scene.bold((left, top - 8.0), &name, SMALL, Ink::Text, Anchor::Start);
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

fn table(cache: &Cache, trends: &[DoseTrend]) -> Table {
    let mut table = Table::of(&["case", "machine", "size", "Gy·cm²", "lower limit", "upper limit", "signal"]);
    for trend in trends {
        let limits = trend.limits();
        let limit = |of: fn(super::super::Limits) -> f64| number(limits.map_or(f64::NAN, |at| 10_f64.powf(of(at))));
        for (case, log) in trend.cases.iter().zip(&trend.logs) {
            let beyond = limits.is_some_and(|limits| limits.beyond(*log).is_some());
            table.row(vec![
                cache.name(*case).to_owned(),
                trend.machine.clone(),
                trend.size.clone(),
                number(cache.product[*case]),
                limit(|limits| limits.lower),
                limit(|limits| limits.upper),
                if beyond { "beyond" } else { "" }.to_owned(),
            ]);
        }
    }
    table
}

//! Shots per implant in the order of the cases, with Laney's limits.

use super::super::cache::Cache;
use super::super::limits::Limits;
use super::super::quantile::count;
use super::super::scene::Ink;
use super::super::signal::shot_signals;
use super::super::table::{Table, TableCell, number};
use super::plot::{Plot, above, nothing, titled};
use super::trend::{LIMITS_MIN, ShotTrend, dose_trends, shot_trend};
use super::{Asked, Chart, SHOWN_MAX, none_or_several, several};
use std::ops::Range;

const TITLE: &str = "Shots per implant, in order";

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let Some(trend) = shot_trend(cache, &asked.filter) else {
        return nothing(TITLE, asked, &format!("fewer than {LIMITS_MIN} cases with a date, or no shots"));
    };
    let signals = shot_signals(cache, asked, &trend, &dose_trends(cache, &asked.filter));
    let left_out = asked.filter.cases(cache).len() - trend.cases.len();
    let note = format!(
        "{}. u' chart after Laney: mean {}, limits at 3 standard deviations by the moving range, spread {} times that of chance. {}{}",
        asked.title(),
        number(trend.chart.mean),
        number(trend.chart.spread),
        none_or_several(signals.len(), "signal"),
        without_date(left_out)
    );
    let mut scene = titled(TITLE, &note);
    let from = trend.cases.len().saturating_sub(SHOWN_MAX);
    let shown = from..trend.cases.len();
    let ends = (count(from + 1), count(trend.cases.len()));
    let high = above(shown.clone().flat_map(|at| [trend.rate(at), trend.chart.limits[at].upper]));
    let plot = Plot::whole(ends, (0.0, high));
    plot.axes(&mut scene, "case, in the order they were opened", number);
    let x = |at: usize| count(at + 1);
    let along = |of: &dyn Fn(usize) -> f64| shown.clone().map(|at| plot.at(x(at), of(at))).collect::<Vec<_>>();
    let bounds: [fn(&Limits) -> f64; 2] = [|limits| limits.upper, |limits| limits.lower];
    for bound in bounds {
        for run in runs(&trend, shown.clone(), bound) {
            let (from, to, y) = (x(run.start) - 0.5, x(run.end - 1) + 0.5, bound(&trend.chart.limits[run.start]));
            scene.dashes([from, to].map(|x| plot.at(x.clamp(ends.0, ends.1), y)).to_vec(), Ink::Limit);
        }
    }
    scene.path(along(&|_| trend.chart.mean), Ink::Frame, 1.5);
    let points = along(&|at| trend.rate(at));
    scene.path(points.clone(), Ink::Data, 2.0);
    for (at, point) in shown.zip(points) {
        scene.dot(point, 4.0, Ink::Data);
        if trend.beyond(at).is_some() {
            scene.square(point, Ink::Signal);
        }
    }
    let last = trend.chart.limits[trend.cases.len() - 1];
    for level in [last.lower, last.centre, last.upper] {
        plot.level(&mut scene, level, &number(level));
    }
    Chart { title: TITLE.to_owned(), note, scene, table: table(cache, &trend), signals }
}

/// Cases in a row that share a limit: each case has its own, by its implants, and a stair of them would hide the data.
fn runs(trend: &ShotTrend, shown: Range<usize>, bound: fn(&Limits) -> f64) -> Vec<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    for at in shown {
        let limit = |at: usize| bound(&trend.chart.limits[at]);
        match runs.last_mut().filter(|run| (limit(run.start) - limit(at)).abs() <= f64::EPSILON * limit(at)) {
            Some(run) => run.end = at + 1,
            None => runs.push(at..at + 1),
        }
    }
    runs
}

/// What is said of cases that cannot be put in order.
pub(super) fn without_date(n: usize) -> String {
    if n == 0 { String::new() } else { format!(". {} left out, whose date is not disclosed", several(n, "case")) }
}

fn table(cache: &Cache, trend: &ShotTrend) -> Table {
    let titles = ["case", "shots", "implants", "shots per implant", "lower limit", "upper limit", "signal"];
    let mut table = Table::with_room(&titles, trend.cases.len());
    for (at, case) in trend.cases.iter().enumerate() {
        let limits = trend.chart.limits[at];
        table.row([
            TableCell::from(cache.named(*case)),
            trend.counts[at].count.into(),
            trend.counts[at].area.into(),
            trend.rate(at).into(),
            limits.lower.into(),
            limits.upper.into(),
            trend.beyond(at).map_or("", |_| "beyond").into(),
        ]);
    }
    table
}

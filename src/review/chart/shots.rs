//! Shots per implant in the order of the cases, with Laney's limits.

use super::super::cache::Cache;
use super::super::limits::Limits;
use super::super::quantile::count;
use super::super::scene::Ink;
use super::super::signal::shot_signals;
use super::super::table::{Table, number};
use super::plot::{Plot, above, nothing, titled};
use super::trend::{LIMITS_MIN, ShotTrend, shot_trend};
use super::{Asked, Chart, SHOWN_MAX, none_or_several, several};

const TITLE: &str = "Shots per implant, in order";

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let Some(trend) = shot_trend(cache, &asked.filter) else {
        return nothing(TITLE, asked, &format!("fewer than {LIMITS_MIN} cases with a date, or no shots"));
    };
    let signals = shot_signals(cache, asked);
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
    // Each case has limits of its own, by its implants: a stair, half a case to both sides.
    let stair = |of: fn(&Limits) -> f64| {
        let sides =
            |at: usize| [-0.5, 0.5].map(|half| ((x(at) + half).clamp(ends.0, ends.1), of(&trend.chart.limits[at])));
        shown.clone().flat_map(sides).map(|(x, y)| plot.at(x, y)).collect::<Vec<_>>()
    };
    scene.dashes(stair(|limits| limits.upper), Ink::Limit);
    scene.dashes(stair(|limits| limits.lower), Ink::Limit);
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

/// What is said of cases that cannot be put in order.
pub(super) fn without_date(n: usize) -> String {
    if n == 0 { String::new() } else { format!(". {} left out, whose date is not disclosed", several(n, "case")) }
}

fn table(cache: &Cache, trend: &ShotTrend) -> Table {
    let mut table =
        Table::of(&["case", "shots", "implants", "shots per implant", "lower limit", "upper limit", "signal"]);
    for (at, case) in trend.cases.iter().enumerate() {
        let limits = trend.chart.limits[at];
        table.row(vec![
            cache.name(*case).to_owned(),
            number(trend.counts[at].count),
            number(trend.counts[at].area),
            number(trend.rate(at)),
            number(limits.lower),
            number(limits.upper),
            trend.beyond(at).map_or("", |_| "beyond").to_owned(),
        ]);
    }
    table
}

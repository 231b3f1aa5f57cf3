//! One trainee: rehearsals beside live cases, on one scale and never in one series.

use super::super::cache::Cache;
use super::super::quantile::{ascending, count, quantile};
use super::super::scene::{Anchor, Ink, Scene};
use super::super::select::{Filter, Stream};
use super::super::table::{Table, TableCell, number};
use super::plot::{BODY, HEIGHT, Plot, WIDTH, above, nothing, titled};
use super::{Asked, Chart, SHOWN_MAX};

const TITLE: &str = "Rehearsal beside live";

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let Some(person) = asked.person.clone().or_else(|| most_rehearsals(cache)) else {
        return nothing(TITLE, asked, "no rehearsal");
    };
    let series = |stream: Stream| {
        let filter = Filter { surgeon: Some(person.clone()), ..asked.filter.in_stream(stream) };
        filter.in_order(cache)
    };
    let (rehearsed, live) = (series(Stream::REHEARSAL), series(Stream::LIVE));
    let name: String = person.chars().take(8).collect();
    let note = format!(
        "One person, key {name}: {} rehearsals and {} live cases with a date, each in its own order. Shots of the whole \
         case. A rehearsal's shots cost no dose; the two are shown side by side and never pooled.",
        rehearsed.len(),
        live.len()
    );
    let mut scene = titled(TITLE, &note);
    let shots = |cases: &[usize]| cases.iter().map(|case| f64::from(cache.shots[*case])).collect::<Vec<_>>();
    let (left, right) = (shots(&rehearsed), shots(&live));
    let high = above(left.iter().chain(&right).copied());
    panel(&mut scene, "Rehearsals", &left, (80.0, WIDTH / 2.0 - 50.0), high, Ink::Second);
    panel(&mut scene, "Live cases", &right, (WIDTH / 2.0 + 50.0, WIDTH - 70.0), high, Ink::Data);
    let mut table = Table::with_room(&["case", "kind", "number", "shots"], rehearsed.len() + live.len());
    for (kind, cases) in [("rehearsal", &rehearsed), ("live", &live)] {
        for (at, case) in cases.iter().enumerate() {
            table.row([TableCell::from(cache.named(*case)), kind.into(), (at + 1).into(), cache.shots[*case].into()]);
        }
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals: Vec::new() }
}

fn most_rehearsals(cache: &Cache) -> Option<String> {
    let mut counts = vec![0_usize; cache.people.len()];
    for case in Filter::of(Stream::REHEARSAL).in_order(cache) {
        counts[cache.surgeon[case] as usize] += 1;
    }
    let (code, n) = counts.into_iter().enumerate().skip(1).max_by_key(|(code, n)| (*n, std::cmp::Reverse(*code)))?;
    (n > 0).then(|| cache.people.name(u32::try_from(code).unwrap_or(0)).to_owned())
}

fn panel(scene: &mut Scene, title: &str, shots: &[f64], (left, right): (f64, f64), high: f64, ink: Ink) {
    let from = shots.len().saturating_sub(SHOWN_MAX);
    let x = (count(from + 1), count(shots.len().max(from + 2)));
    let plot = Plot { left, top: 138.0, right, bottom: HEIGHT - 64.0, x, y: (0.0, high) };
    plot.axes(scene, "in order", number);
    scene.bold((left, 126.0), &format!("{title}, n = {}", shots.len()), BODY, Ink::Text, Anchor::Start);
    let points: Vec<_> = shots[from..].iter().enumerate().map(|(at, y)| plot.at(x.0 + count(at), *y)).collect();
    scene.path(points.clone(), ink, 2.0);
    for point in points {
        scene.dot(point, 4.0, ink);
    }
    let sorted = ascending(shots.to_vec());
    if let Some(median) = quantile(&sorted, 0.5, super::super::QuantileType::Seven).filter(|_| shots.len() >= 5) {
        scene.dashes(vec![plot.at(x.0, median), plot.at(x.1, median)], Ink::Limit);
        plot.level(scene, median, &number(median));
    }
}

//! Shots beside dose: two stories, since halved shots may leave the dose where it was.

use super::super::cache::Cache;
use super::super::figure::figure;
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::select::Group;
use super::super::summary::stratified;
use super::super::table::{Table, number};
use super::plot::{HEIGHT, Plot, SMALL, WIDTH, above, nothing, titled};
use super::{Asked, Chart};
use std::collections::BTreeMap;

const TITLE: &str = "Shots beside dose";
/// Machines and sizes shown at most; the table holds all.
const SHOWN: usize = 8;

/// One machine and size with both stories.
struct Pair {
    name: String,
    shots: Option<super::super::Figure>,
    dose: super::super::Figure,
}

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let mut pairs = pairs(cache, asked);
    if pairs.is_empty() {
        return nothing(TITLE, asked, "no dose of a known machine and patient size");
    }
    pairs.sort_by_key(|pair| std::cmp::Reverse(pair.dose.n));
    let note = format!(
        "{}. Median, middle half and range of the same cases, by machine and patient size; {} quantiles, none below 5. \
         Fewer shots need not mean less dose.",
        asked.title(),
        asked.quantile
    );
    let mut scene = titled(TITLE, &note);
    let shown = &pairs[..pairs.len().min(SHOWN)];
    let middle = f64::midpoint(250.0, WIDTH);
    half(&mut scene, shown, "Shots", (250.0, middle - 30.0), |pair| pair.shots, true);
    half(&mut scene, shown, "Kerma-area product, Gy·cm²", (middle + 20.0, WIDTH - 30.0), |pair| Some(pair.dose), false);
    let mut table =
        Table::of(&["machine and size", "n", "median shots", "upper quartile", "median Gy·cm²", "upper quartile"]);
    for pair in &pairs {
        let part = |of: Option<super::super::Figure>, upper: bool| {
            let middle = of.and_then(|figure| figure.middle);
            number(middle.map_or(f64::NAN, |at| if upper { at.upper_quartile } else { at.median }))
        };
        table.row(vec![
            pair.name.clone(),
            pair.dose.n.to_string(),
            part(pair.shots, false),
            part(pair.shots, true),
            part(Some(pair.dose), false),
            part(Some(pair.dose), true),
        ]);
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals: Vec::new() }
}

/// One of its cases, and the shots and doses of all of them.
type Stratum = (usize, Vec<f64>, Vec<f64>);

/// Shots and dose of exactly the same cases.
fn pairs(cache: &Cache, asked: &Asked) -> Vec<Pair> {
    let mut strata: BTreeMap<(i64, i64), Stratum> = BTreeMap::new();
    for case in asked.filter.cases(cache) {
        let dose = cache.product[case];
        if dose.is_nan() || !stratified(cache, case) {
            continue;
        }
        let key = (Group::Machine.code(cache, case), Group::Size.code(cache, case));
        let (_, shots, doses) = strata.entry(key).or_insert_with(|| (case, Vec::new(), Vec::new()));
        shots.push(f64::from(cache.shots[case]));
        doses.push(dose);
    }
    let pair = |(case, shots, doses)| {
        let name = format!("{}, {}", Group::Machine.label(cache, case), Group::Size.label(cache, case));
        Some(Pair { name, shots: figure(shots, asked.quantile), dose: figure(doses, asked.quantile)? })
    };
    strata.into_values().filter_map(pair).collect()
}

fn half(
    scene: &mut Scene,
    pairs: &[Pair],
    title: &str,
    (left, right): (f64, f64),
    of: impl Fn(&Pair) -> Option<super::super::Figure>,
    names: bool,
) {
    let figures: Vec<_> = pairs.iter().map(of).collect();
    let high = above(figures.iter().flatten().map(|figure| figure.largest));
    let plot = Plot { left, top: 134.0, right, bottom: HEIGHT - 40.0, x: (0.0, high), y: (0.0, 1.0) };
    scene.bold((left, 122.0), title, SMALL, Ink::Text, Anchor::Start);
    let step = (plot.bottom - plot.top) / count(pairs.len());
    let across = |value: f64| plot.at(value, 0.0).0;
    for (at, (pair, figure)) in pairs.iter().zip(&figures).enumerate() {
        let y = plot.top + step * (count(at) + 0.5);
        if names {
            let name = format!("{} (n = {})", pair.name, pair.dose.n);
            scene.words((left - 14.0, y + 5.0), &name, SMALL, Ink::Text, Anchor::End);
        }
        let Some(figure) = figure else { continue };
        scene.line((across(figure.smallest), y), (across(figure.largest), y), Ink::Frame);
        let Some(middle) = figure.middle else { continue };
        let (low, high) = (across(middle.lower_quartile), across(middle.upper_quartile));
        scene.bar((low, y - 11.0), (high - low).max(1.0), 22.0, Ink::Soft);
        scene.bar((across(middle.median) - 2.0, y - 15.0), 4.0, 30.0, Ink::Data);
        scene.bold((across(middle.median), y - 20.0), &number(middle.median), SMALL, Ink::Text, Anchor::Middle);
    }
    scene.line((plot.left, plot.bottom), (plot.right, plot.bottom), Ink::Frame);
    for tick in super::plot::ticks(plot.x) {
        scene.words((across(tick), plot.bottom + 20.0), &number(tick), SMALL, Ink::Quiet, Anchor::Middle);
    }
}

//! What a step or a view costs: shots beside dose of the same cases, of the machine and size that most were reported of.

use super::super::Figure;
use super::super::cache::Cache;
use super::super::costs::{CostBy, CostFigures, cost_figures};
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::table::{Table, TableCell, number};
use super::plot::{BODY, HEIGHT, Plot, SMALL, WIDTH, above, nothing, ticks, titled, weightiest};
use super::{Asked, Chart};

fn words(by: CostBy) -> (&'static str, &'static str) {
    match by {
        CostBy::Step => ("What each step costs", "step"),
        CostBy::View => ("What each view costs", "view"),
    }
}

pub(super) fn draw(cache: &Cache, asked: &Asked, by: CostBy) -> Chart {
    let (title, what) = words(by);
    let all = cost_figures(cache, &asked.filter.cases(cache), by, asked.quantile);
    let Some(first) = all.first() else {
        return nothing(title, asked, "no dose report was laid on a case of a known machine and patient size");
    };
    let same: Vec<&CostFigures> =
        all.iter().filter(|one| one.machine == first.machine && one.size == first.size).collect();
    let dose = |one: &CostFigures| one.kerma_area_product.map_or(one.shots.largest, |figure| figure.largest);
    let (shown, more) = weightiest(&same.iter().map(|one| dose(one)).collect::<Vec<_>>(), what);
    let shown: Vec<&CostFigures> = shown.into_iter().map(|at| same[at]).collect();
    let others = if same.len() < all.len() { " Other machines and sizes in the table." } else { "" };
    let note = format!(
        "{}, {}, {}. As the machine's report was laid on each case: its irradiation events and their kerma-area product. \
         Median, middle half and range; {} quantiles, none below 5.{more}{others}",
        asked.title(),
        first.machine,
        first.size,
        asked.quantile
    );
    let mut scene = titled(title, &note);
    let middle = f64::midpoint(NAMES, WIDTH);
    panel(&mut scene, &shown, "Shots", (NAMES, middle - 104.0), |one| Some(one.shots));
    panel(&mut scene, &shown, "Kerma-area product, Gy·cm²", (middle + 16.0, WIDTH - MEDIAN - 14.0), |one| {
        one.kerma_area_product
    });
    names(&mut scene, &shown);
    Chart { title: title.to_owned(), note, scene, table: table(&all, what), signals: Vec::new() }
}

/// Where the names of the rows end.
const NAMES: f64 = 300.0;
const TOP: f64 = 132.0;
/// How far behind a panel its medians end.
const MEDIAN: f64 = 78.0;
const BOTTOM: f64 = HEIGHT - 40.0;

fn row_at(at: usize, of: usize) -> f64 {
    TOP + (BOTTOM - TOP) / count(of) * (count(at) + 0.5)
}

fn names(scene: &mut Scene, rows: &[&CostFigures]) {
    for (at, row) in rows.iter().enumerate() {
        scene.words((NAMES - 14.0, row_at(at, rows.len()) + 6.0), &row.title, BODY, Ink::Text, Anchor::End);
    }
}

fn panel(
    scene: &mut Scene,
    rows: &[&CostFigures],
    title: &str,
    (left, right): (f64, f64),
    of: impl Fn(&CostFigures) -> Option<Figure>,
) {
    let figures: Vec<Option<Figure>> = rows.iter().map(|row| of(row)).collect();
    let most = figures.iter().flatten().map(|figure| figure.largest).fold(0.0, f64::max);
    // Dose of a step lies far below 1: the axis ends where the values do.
    let high = if most > 0.0 { above([most]).min(most * 1.08) } else { 1.0 };
    let plot = Plot { left, top: TOP, right, bottom: BOTTOM, x: (0.0, high), y: (0.0, 1.0) };
    let across = |value: f64| plot.at(value, 0.0).0;
    scene.bold((left, TOP - 10.0), title, SMALL, Ink::Text, Anchor::Start);
    let half = ((BOTTOM - TOP) / count(rows.len()) * 0.3).min(12.0);
    for (at, figure) in figures.iter().enumerate() {
        let y = row_at(at, rows.len());
        let Some(figure) = figure else {
            scene.words((right + MEDIAN, y + 6.0), "not stated", SMALL, Ink::Quiet, Anchor::End);
            continue;
        };
        scene.line((across(figure.smallest), y), (across(figure.largest), y), Ink::Frame);
        let shown = figure.middle.map_or_else(|| format!("n = {}", figure.n), |middle| number(middle.median));
        scene.bold((right + MEDIAN, y + 6.0), &shown, BODY, Ink::Text, Anchor::End);
        let Some(middle) = figure.middle else { continue };
        let (from, to) = (across(middle.lower_quartile), across(middle.upper_quartile));
        scene.bar((from, y - half), (to - from).max(1.0), 2.0 * half, Ink::Soft);
        scene.bar((across(middle.median) - 2.0, y - half - 4.0), 4.0, 2.0 * half + 8.0, Ink::Data);
    }
    scene.line((left, BOTTOM), (right, BOTTOM), Ink::Frame);
    for tick in ticks(plot.x) {
        scene.words((across(tick), BOTTOM + 20.0), &number(tick), SMALL, Ink::Quiet, Anchor::Middle);
    }
    scene.words((right + MEDIAN, BOTTOM + 20.0), "median", SMALL, Ink::Quiet, Anchor::End);
}

fn table(all: &[CostFigures], what: &str) -> Table {
    let titles = [what, "machine", "size", "n", "median shots", "Q3 shots", "median Gy·cm²", "Q3 Gy·cm²", "median mGy"];
    let mut table = Table::with_room(&titles, all.len());
    for one in all {
        let median = |of: Option<Figure>| of.and_then(|of| of.middle).map_or(f64::NAN, |middle| middle.median);
        let upper = |of: Option<Figure>| of.and_then(|of| of.middle).map_or(f64::NAN, |middle| middle.upper_quartile);
        table.row([
            TableCell::from(one.title.clone()),
            one.machine.clone().into(),
            one.size.clone().into(),
            one.shots.n.into(),
            median(Some(one.shots)).into(),
            upper(Some(one.shots)).into(),
            median(one.kerma_area_product).into(),
            upper(one.kerma_area_product).into(),
            median(one.air_kerma).into(),
        ]);
    }
    table
}

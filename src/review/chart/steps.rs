//! Where the shots go: the middle half and the median of each step.

use super::super::cache::Cache;
use super::super::figure::{Figure, Middle};
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::steps::{StepFigures, step_figures};
use super::super::table::{Table, number};
use super::plot::{BODY, HEIGHT, Plot, SMALL, WIDTH, above, nothing, ticks, titled, weightiest};
use super::{Asked, Chart};

const TITLE: &str = "Where the shots go";
/// Where the names of the rows end.
pub(super) const NAMES: f64 = 330.0;

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let cases = asked.filter.cases(cache);
    let steps: Vec<StepFigures> = step_figures(cache, &cases, asked.quantile);
    if steps.is_empty() {
        return nothing(TITLE, asked, "none");
    }
    let (shown, more) = weightiest(&steps.iter().map(|step| step.shots.largest).collect::<Vec<_>>(), "step");
    let note = format!(
        "{}. Shots per step, once for each side or implant as the pathway has it: median, middle half and range; \
         {} quantiles, none below 5.{more}",
        asked.filter.stream.counted(cases.len()),
        asked.quantile
    );
    let mut scene = titled(TITLE, &note);
    let row = |at: &usize| (steps[*at].title.as_str(), &steps[*at].shots);
    let rows: Vec<(&str, &Figure)> = shown.iter().map(row).collect();
    boxes(&mut scene, &rows, "shots");
    Chart { title: TITLE.to_owned(), note, scene, table: table(&steps), signals: Vec::new() }
}

/// One row per name: range as a line, middle half as a bar, median as a stroke, the median's number at the end.
pub(super) fn boxes(scene: &mut Scene, rows: &[(&str, &Figure)], unit: &str) {
    let plot = across_of(above(rows.iter().map(|(_, figure)| figure.largest)), 100.0);
    let step = (plot.bottom - plot.top) / count(rows.len());
    let across = |value: f64| plot.at(value, 0.0).0;
    for (at, (name, figure)) in rows.iter().enumerate() {
        let y = plot.top + step * (count(at) + 0.5);
        scene.words((NAMES - 16.0, y + 6.0), name, BODY, Ink::Text, Anchor::End);
        scene.line((across(figure.smallest), y), (across(figure.largest), y), Ink::Frame);
        let shown = if let Some(middle) = figure.middle {
            middle_half(scene, &plot, middle, y, step);
            number(middle.median)
        } else {
            format!("n = {}", figure.n)
        };
        scene.bold((WIDTH - 28.0, y + 6.0), &shown, BODY, Ink::Text, Anchor::End);
    }
    ground(scene, &plot, unit);
    scene.words((WIDTH - 28.0, plot.bottom + 20.0), "median", SMALL, Ink::Quiet, Anchor::End);
}

/// Rows across the scene from nought to `high`, with `right` left free for what stands behind them.
pub(super) fn across_of(high: f64, right: f64) -> Plot {
    Plot { left: NAMES, top: 108.0, right: WIDTH - right, bottom: HEIGHT - 52.0, x: (0.0, high), y: (0.0, 1.0) }
}

/// Middle half and median at the height `y` of a row `high` units high.
pub(super) fn middle_half(scene: &mut Scene, plot: &Plot, middle: Middle, y: f64, high: f64) {
    let half = (high * 0.3).min(13.0);
    let across = |value: f64| plot.at(value, 0.0).0;
    let (from, to) = (across(middle.lower_quartile), across(middle.upper_quartile));
    scene.bar((from, y - half), (to - from).max(1.0), 2.0 * half, Ink::Soft);
    scene.bar((across(middle.median) - 2.0, y - half - 4.0), 4.0, 2.0 * half + 8.0, Ink::Data);
}

/// The axis below rows, with ticks and the unit.
pub(super) fn ground(scene: &mut Scene, plot: &Plot, unit: &str) {
    scene.line((plot.left, plot.bottom), (plot.right, plot.bottom), Ink::Frame);
    for tick in ticks(plot.x) {
        scene.words((plot.at(tick, 0.0).0, plot.bottom + 20.0), &number(tick), SMALL, Ink::Quiet, Anchor::Middle);
    }
    let middle = f64::midpoint(plot.left, plot.right);
    scene.words((middle, plot.bottom + 42.0), unit, SMALL, Ink::Quiet, Anchor::Middle);
}

fn table(steps: &[StepFigures]) -> Table {
    let mut table = Table::of(&[
        "step",
        "n",
        "smallest",
        "lower quartile",
        "median",
        "upper quartile",
        "largest",
        "median stay, s",
    ]);
    for step in steps {
        let middle = step.shots.middle;
        let part = |of: fn(Middle) -> f64| middle.map_or(f64::NAN, of);
        table.row(vec![
            step.title.clone(),
            step.shots.n.to_string(),
            number(step.shots.smallest),
            number(part(|middle| middle.lower_quartile)),
            number(part(|middle| middle.median)),
            number(part(|middle| middle.upper_quartile)),
            number(step.shots.largest),
            number(step.stay_s.middle.map_or(f64::NAN, |middle| middle.median)),
        ]);
    }
    table
}

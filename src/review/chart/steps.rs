//! Where the shots go: the middle half and the median of each step.

use super::super::cache::Cache;
use super::super::figure::Figure;
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::steps::{StepFigures, step_figures};
use super::super::table::{Table, number};
use super::plot::{BODY, HEIGHT, Plot, SMALL, WIDTH, above, nothing, ticks, titled};
use super::{Asked, Chart, several};

const TITLE: &str = "Where the shots go";
/// Where the names of the rows end.
const NAMES: f64 = 330.0;

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let cases = asked.filter.cases(cache);
    let steps: Vec<StepFigures> = step_figures(cache, &cases, asked.quantile);
    if steps.is_empty() {
        return nothing(TITLE, asked, "none");
    }
    let of = several(cases.len(), "case");
    let note = format!(
        "{}, {of}. Shots per step, once for each side or implant as the pathway has it: median, middle half and range; \
         {} quantiles, none below 5.",
        asked.title(),
        asked.quantile
    );
    let mut scene = titled(TITLE, &note);
    let rows: Vec<(&str, &Figure)> = steps.iter().map(|step| (step.title.as_str(), &step.shots)).collect();
    boxes(&mut scene, &rows, "shots");
    Chart { title: TITLE.to_owned(), note, scene, table: table(&steps), signals: Vec::new() }
}

/// One row per name: range as a line, middle half as a bar, median as a stroke, the median's number at the end.
pub(super) fn boxes(scene: &mut Scene, rows: &[(&str, &Figure)], unit: &str) {
    let high = above(rows.iter().map(|(_, figure)| figure.largest));
    let plot =
        Plot { left: NAMES, top: 108.0, right: WIDTH - 100.0, bottom: HEIGHT - 52.0, x: (0.0, high), y: (0.0, 1.0) };
    let step = (plot.bottom - plot.top) / count(rows.len());
    let across = |value: f64| plot.at(value, 0.0).0;
    for (at, (name, figure)) in rows.iter().enumerate() {
        let y = plot.top + step * (count(at) + 0.5);
        scene.words((NAMES - 16.0, y + 6.0), name, BODY, Ink::Text, Anchor::End);
        scene.line((across(figure.smallest), y), (across(figure.largest), y), Ink::Frame);
        let shown = if let Some(middle) = figure.middle {
            let half = (step * 0.3).min(13.0);
            let (low, high) = (across(middle.lower_quartile), across(middle.upper_quartile));
            scene.bar((low, y - half), (high - low).max(1.0), 2.0 * half, Ink::Soft);
            scene.bar((across(middle.median) - 2.0, y - half - 4.0), 4.0, 2.0 * half + 8.0, Ink::Data);
            number(middle.median)
        } else {
            format!("n = {}", figure.n)
        };
        scene.bold((WIDTH - 28.0, y + 6.0), &shown, BODY, Ink::Text, Anchor::End);
    }
    scene.line((plot.left, plot.bottom), (plot.right, plot.bottom), Ink::Frame);
    for tick in ticks(plot.x) {
        scene.words((across(tick), plot.bottom + 20.0), &number(tick), SMALL, Ink::Quiet, Anchor::Middle);
    }
    let middle = f64::midpoint(plot.left, plot.right);
    scene.words((middle, plot.bottom + 42.0), unit, SMALL, Ink::Quiet, Anchor::Middle);
    scene.words((WIDTH - 28.0, plot.bottom + 20.0), "median", SMALL, Ink::Quiet, Anchor::End);
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
        let part = |of: fn(super::super::figure::Middle) -> f64| middle.map_or(f64::NAN, of);
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

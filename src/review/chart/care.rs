//! What was passed over or entered in haste, by step: a question to the pathway, never to a person.

use super::super::cache::Cache;
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink};
use super::super::steps::step_figures;
use super::super::table::Table;
use super::plot::{BODY, HEIGHT, SMALL, WIDTH, nothing, titled};
use super::{Asked, Chart, several};

const TITLE: &str = "Gates passed by word, checks not done, late and burst entries";

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let cases = asked.filter.cases(cache);
    let steps = step_figures(cache, &cases, asked.quantile);
    if steps.is_empty() {
        return nothing(TITLE, asked, "none");
    }
    let note = format!(
        "{}, {}. Counted by step, never by person or team: many at one step say that the step does not fit the work.",
        asked.title(),
        several(cases.len(), "case")
    );
    let columns = ["gates by word", "not done", "late", "burst", "of checks"];
    let mut scene = titled(TITLE, &note);
    let mut table = Table::of(&["step", columns[0], columns[1], columns[2], columns[3], columns[4]]);
    let (left, top) = (330.0, 128.0);
    let wide = (WIDTH - 30.0 - left) / count(columns.len());
    let step_high = (HEIGHT - 24.0 - top) / count(steps.len());
    for (at, column) in columns.iter().enumerate() {
        let x = left + wide * (count(at) + 1.0) - 12.0;
        scene.words((x, top - 10.0), column, SMALL, Ink::Quiet, Anchor::End);
    }
    let cells = |step: &super::super::steps::StepFigures| {
        let care = step.care;
        [care.gates_overridden, care.not_done, care.late, care.burst, care.checks]
    };
    let most = steps.iter().flat_map(|step| cells(step)[..4].to_vec()).max().unwrap_or(0).max(1);
    for (row, step) in steps.iter().enumerate() {
        let y = top + step_high * (count(row) + 0.5);
        scene.line((24.0, y - step_high / 2.0), (WIDTH - 24.0, y - step_high / 2.0), Ink::Frame);
        scene.words((left - 16.0, y + 6.0), &step.title, BODY, Ink::Text, Anchor::End);
        for (at, n) in cells(step).into_iter().enumerate() {
            let x = left + wide * (count(at) + 1.0) - 12.0;
            if at < 4 && n > 0 {
                let part = (wide - 70.0) * count(n) / count(most);
                scene.bar((x - 48.0 - part, y - 8.0), part.max(2.0), 16.0, Ink::Soft);
            }
            let ink = if at < 4 && n > 0 { Ink::Text } else { Ink::Quiet };
            scene.words((x, y + 6.0), &n.to_string(), BODY, ink, Anchor::End);
        }
        let texts = cells(step).map(|n| n.to_string());
        table.row(std::iter::once(step.title.clone()).chain(texts).collect());
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals: Vec::new() }
}

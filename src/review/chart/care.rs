//! What was passed over or entered in haste, by step: a question to the pathway, never to a person.

use super::super::cache::Cache;
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::steps::{Care, step_care};
use super::super::table::Table;
use super::plot::{BODY, HEIGHT, SMALL, WIDTH, nothing, titled, weightiest};
use super::{Asked, Chart};

const TITLE: &str = "Gates passed by word, checks not done, late and burst entries";

/// Where the names of the steps end, and the first row begins.
const LEFT: f64 = 330.0;
const TOP: f64 = 128.0;
const COLUMNS: [&str; 5] = ["gates by word", "not done", "late", "burst", "of checks"];

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    if asked.filter.is_of_somebody() {
        return nothing(TITLE, asked, "counted by step over everybody, never for one person or team");
    }
    let cases = asked.filter.cases(cache);
    let steps = step_care(cache, &cases);
    if steps.is_empty() {
        return nothing(TITLE, asked, "none");
    }
    let marked = |step: &Step| cells(step)[..4].iter().sum::<usize>();
    let (shown, more) = weightiest(&steps.iter().map(|step| count(marked(step))).collect::<Vec<_>>(), "step");
    let note = format!(
        "{}. Counted by step, never by person or team: many at one step say that the step does not fit the work.{more}",
        asked.filter.stream.counted(cases.len())
    );
    let mut scene = titled(TITLE, &note);
    rows(&mut scene, &shown.iter().map(|at| &steps[*at]).collect::<Vec<_>>());
    let mut table = Table::of(&["step", COLUMNS[0], COLUMNS[1], COLUMNS[2], COLUMNS[3], COLUMNS[4]]);
    for step in &steps {
        let texts = cells(step).map(|n| n.to_string());
        table.row(std::iter::once(step.0.clone()).chain(texts));
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals: Vec::new() }
}

/// A step's title and what was passed over there.
type Step = (String, Care);

fn cells((_, care): &Step) -> [usize; 5] {
    [care.gates_overridden, care.not_done, care.late, care.burst, care.checks]
}

fn rows(scene: &mut Scene, steps: &[&Step]) {
    let wide = (WIDTH - 30.0 - LEFT) / count(COLUMNS.len());
    let high = (HEIGHT - 24.0 - TOP) / count(steps.len());
    let right = |column: usize| LEFT + wide * (count(column) + 1.0) - 12.0;
    for (at, column) in COLUMNS.iter().enumerate() {
        scene.words((right(at), TOP - 10.0), column, SMALL, Ink::Quiet, Anchor::End);
    }
    // Each column by itself: one kind of entry may be many times as common as another.
    let most = |column: usize| steps.iter().map(|step| cells(step)[column]).max().unwrap_or(0).max(1);
    for (row, step) in steps.iter().enumerate() {
        let y = TOP + high * (count(row) + 0.5);
        scene.line((24.0, y - high / 2.0), (WIDTH - 24.0, y - high / 2.0), Ink::Frame);
        scene.words((LEFT - 16.0, y + 6.0), &step.0, BODY, Ink::Text, Anchor::End);
        for (at, n) in cells(step).into_iter().enumerate() {
            let counts = at < 4 && n > 0;
            if counts {
                let part = (wide - 70.0) * count(n) / count(most(at));
                scene.bar((right(at) - 48.0 - part, y - 8.0), part.max(2.0), 16.0, Ink::Second);
            }
            let ink = if counts { Ink::Text } else { Ink::Quiet };
            scene.words((right(at), y + 6.0), &n.to_string(), BODY, ink, Anchor::End);
        }
    }
}

//! Cancelled, abandoned and converted cases, apart from all others, with their shots and their dose.

use super::super::cache::Cache;
use super::super::scene::{Anchor, Ink};
use super::super::select::{Stream, outcome};
use super::super::table::{Table, number};
use super::plot::{BODY, SMALL, titled};
use super::{Asked, Chart, several};

const TITLE: &str = "Cancelled, abandoned and converted cases";
/// Rows that the picture holds; the table holds all.
const SHOWN_ROWS: usize = 15;
/// Where the columns stand.
const COLUMNS: [f64; 5] = [24.0, 200.0, 430.0, 560.0, 740.0];

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let filter = asked.filter.in_stream(Stream::STOPPED);
    let cases = filter.cases(cache);
    let of = |wanted: &str| cases.iter().filter(|case| outcome(cache.outcome[**case]) == wanted).count();
    let note = format!(
        "{}: {} cancelled before incision, {} abandoned, {} converted. Their shots and dose stand in no other figure.",
        several(cases.len(), "case"),
        of("cancelled"),
        of("abandoned"),
        of("converted")
    );
    let mut scene = titled(TITLE, &note);
    let titles = ["case", "outcome", "shots", "Gy·cm²", "most shots in"];
    let mut table = Table::of(&titles);
    for (x, title) in COLUMNS.into_iter().zip(titles) {
        scene.words((x, 116.0), title, SMALL, Ink::Quiet, Anchor::Start);
    }
    for (at, case) in cases.iter().enumerate() {
        let row = vec![
            cache.name(*case).to_owned(),
            outcome(cache.outcome[*case]).to_owned(),
            cache.shots[*case].to_string(),
            number(cache.product[*case]),
            busiest(cache, *case),
        ];
        if at < SHOWN_ROWS {
            let y = 144.0 + 26.0 * super::super::quantile::count(at);
            row.iter().zip(COLUMNS).for_each(|(cell, x)| scene.words((x, y), cell, BODY, Ink::Text, Anchor::Start));
        }
        table.row(row);
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals: Vec::new() }
}

fn busiest(cache: &Cache, case: usize) -> String {
    let most = cache.places(case).max_by_key(|place| cache.place_shots[*place]);
    let most = most.filter(|place| cache.place_shots[*place] > 0);
    most.map_or_else(String::new, |place| cache.steps.title(u32::from(cache.place_step[place])).to_owned())
}

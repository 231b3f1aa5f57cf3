//! Shots per view, and how often a view was right at first.

use super::super::cache::Cache;
use super::super::figure::{Figure, PERCENTILE_MIN};
use super::super::quantile::count;
use super::super::steps::{ViewFigures, view_figures};
use super::super::table::{Table, number};
use super::plot::{nothing, titled};
use super::steps::boxes;
use super::{Asked, Chart, several};

const TITLE: &str = "Views";

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let cases = asked.filter.cases(cache);
    let views = view_figures(cache, &cases, asked.quantile);
    if views.is_empty() {
        return nothing(TITLE, asked, "no view was accepted");
    }
    let note = format!(
        "{}, {}. Shots from the answer before it until a view was accepted; in brackets how often it was right at first. \
         Median, middle half and range; {} quantiles.",
        asked.title(),
        several(cases.len(), "case"),
        asked.quantile
    );
    let mut scene = titled(TITLE, &note);
    let names: Vec<String> = views.iter().map(|view| format!("{} ({})", short(&view.title), at_first(view))).collect();
    let rows: Vec<(&str, &Figure)> =
        names.iter().map(String::as_str).zip(views.iter().map(|view| &view.shots)).collect();
    boxes(&mut scene, &rows, "shots");
    let mut table = Table::of(&["view", "accepted", "right at first", "share", "median shots", "most shots"]);
    for view in &views {
        table.row(vec![
            view.title.clone(),
            view.accepted.to_string(),
            view.first_time.to_string(),
            at_first(view),
            number(view.shots.middle.map_or(f64::NAN, |middle| middle.median)),
            number(view.shots.largest),
        ]);
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals: Vec::new() }
}

/// A share, from [`PERCENTILE_MIN`] views on; below, the bare numbers.
fn at_first(view: &ViewFigures) -> String {
    if view.accepted < PERCENTILE_MIN {
        return format!("{} of {}", view.first_time, view.accepted);
    }
    format!("{:.0} %", 100.0 * count(view.first_time) / count(view.accepted))
}

/// What fits beside its row.
fn short(title: &str) -> String {
    let end = title.char_indices().nth(30);
    end.map_or_else(|| title.to_owned(), |(at, _)| format!("{}…", title[..at].trim_end()))
}

//! One case of many: its shots along the time, its steps beside what is usual, and what its record says.

use super::case_view::model;
use super::review::Shown;
use super::review_rows::fill_chart;
use super::{record, ribbon, summary};
use crate::record::VerifiedRecord;
use crate::review::{draw_case, outcome};
use brimline_ui::{ReviewShows, ReviewView};

/// The case on screen.
pub(super) struct OneCase {
    record: VerifiedRecord,
    digest: String,
    /// What its record says, instead of the picture.
    pub facts: bool,
    pub table: bool,
}

impl OneCase {
    /// A case that was opened, its picture first.
    pub(super) fn of(record: VerifiedRecord, digest: String) -> Self {
        Self { record, digest, facts: false, table: false }
    }
}

/// Fills the screen with it.
pub(super) fn fill(view: &ReviewView<'_>, shown: &Shown, one: &OneCase, sign: char) {
    let document = one.record.document();
    if let Some(chart) = draw_case(&shown.cache, &shown.asked, &one.digest) {
        let title = chart.title.clone();
        fill_chart(view, chart, sign);
        let day = record::opened_day(document).map(|day| format!(" · {day}")).unwrap_or_default();
        view.set_heading(format!("{title} · {}{day}", outcome(document.outcome)).into());
    }
    let strip = ribbon::of_record(document);
    view.set_ribbon(model(strip.segments));
    view.set_folds(model(strip.folds));
    view.set_ticks(model(strip.ticks));
    view.set_facts(model(summary::lines(document, sign)));
    view.set_shows(match (one.table, one.facts) {
        (true, _) => ReviewShows::Table,
        (false, true) => ReviewShows::Facts,
        (false, false) => ReviewShows::OneCase,
    });
}

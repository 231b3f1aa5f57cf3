//! The pages of Review: which tab holds which chart, and the words, tiles and tables of each.

use super::app::{App, Shared};
use super::case_view::model;
use super::review::{self, Shown, Stage};
use super::worker::{self, Work};
use super::{around, phrases, review_case, review_chart, review_filter};
use crate::review::{
    Chart, ChartName, Figure, Group, Line, PERCENTILE_MIN, Quantity, Stream, Summary, Table, draw, number, summary,
};
use brimline_ui::{AppWindow, FigureTile, PickRow, ReviewKey, ReviewShows, ReviewView};
use slint::ComponentHandle;
use std::path::{Path, PathBuf};

/// The tabs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tab {
    Overview,
    Steps,
    Trend,
    Views,
    Training,
    Flagged,
}

impl Tab {
    const ALL: [Self; 6] = [Self::Overview, Self::Steps, Self::Trend, Self::Views, Self::Training, Self::Flagged];

    pub(super) fn of(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|tab| tab.words() == id)
    }

    /// Its name and its words.
    fn words(self) -> &'static str {
        match self {
            Self::Overview => "Overview",
            Self::Steps => "Steps",
            Self::Trend => "Trend",
            Self::Views => "Views",
            Self::Training => "Training",
            Self::Flagged => "Flagged",
        }
    }

    /// Its charts, the first shown first; nothing stands for a page of words.
    pub(super) fn charts(self) -> &'static [Option<ChartName>] {
        match self {
            Self::Overview => &[None, Some(ChartName::Beside), Some(ChartName::Ended)],
            Self::Steps => &[Some(ChartName::Steps), Some(ChartName::StepCost), Some(ChartName::Care)],
            Self::Trend => &[Some(ChartName::Shots), Some(ChartName::Dose), Some(ChartName::Shift)],
            Self::Views => &[Some(ChartName::Views), Some(ChartName::ViewCost)],
            Self::Training => &[Some(ChartName::Training), Some(ChartName::Learning)],
            Self::Flagged => &[None],
        }
    }
}

/// The word of a chart on its key.
fn chart_words(chart: Option<ChartName>) -> (&'static str, &'static str) {
    match chart {
        None => ("Typical values", ""),
        Some(ChartName::Beside) => ("Shots and dose", "side by side"),
        Some(ChartName::Ended) => ("Stopped cases", ""),
        Some(ChartName::Steps) => ("Where shots go", ""),
        Some(ChartName::StepCost) => ("Step dose", "by reports"),
        Some(ChartName::ViewCost) => ("View dose", "by reports"),
        Some(ChartName::Care) => ("Passed over", "by step"),
        Some(ChartName::Shots) => ("Shots", "in order"),
        Some(ChartName::Dose) => ("Dose", "in order"),
        Some(ChartName::Shift) => ("Lasting shift", ""),
        Some(ChartName::Views) => ("View shots", ""),
        Some(ChartName::Training) => ("Rehearsed, live", ""),
        Some(ChartName::Learning) => ("Learning curve", ""),
    }
}

/// Fills the screen from what is shown.
pub(super) fn fill(window: &AppWindow, app: &Shared) {
    let busy = worker::busy_with(app, Work::OfReview);
    let around = around::of(app);
    let shown = around.review.borrow();
    let app = app.borrow();
    let view = window.global::<ReviewView>();
    view.set_state(review::state(&shown.stage));
    instead(&view, &shown);
    view.set_remark(shown.remark.as_str().into());
    view.set_tabs(model(tabs(&shown)));
    view.set_keys(model(keys(&shown, &app)));
    view.set_signal(shown.signal().map(|signal| signal.title.clone()).unwrap_or_default().into());
    view.set_signal_detail(signal_detail(&shown).into());
    heads(&view, &shown);
    main(&view, &shown, !busy.is_empty());
    if shown.stage == Stage::Ready {
        page(&view, &shown, &app);
    }
}

/// What is said besides the signal; without one, why there is none where none would ever be raised.
fn signal_detail(shown: &Shown) -> String {
    match shown.signal() {
        Some(signal) => signal.detail.clone(),
        None if shown.asked.filter.is_of_somebody() => {
            "None is ever raised about one person or one team. Take that narrowing back to see signals.".to_owned()
        }
        None => String::new(),
    }
}

/// Only what changes while records are read.
pub(super) fn fill_progress(window: &AppWindow, app: &Shared) {
    let around = around::of(app);
    let (shown, view) = (around.review.borrow(), window.global::<ReviewView>());
    instead(&view, &shown);
    heads(&view, &shown);
}

/// What stands in the place of figures.
fn instead(view: &ReviewView<'_>, shown: &Shown) {
    let progress = shown.importing().unwrap_or_default();
    let (words, detail) = match &shown.stage {
        Stage::Reading if progress.is_empty() => ("Reading the records", "A moment".to_owned()),
        Stage::Reading => ("Reading the records", format!("Each is verified before it counts · {progress}")),
        Stage::Empty => (
            "No signed record yet",
            "Cases that were signed on this tablet appear here. Nothing is counted before it is signed.".to_owned(),
        ),
        Stage::Failed(why) => (
            "The records could not be read",
            format!("{}. What was signed before still stands where it is.", super::say::capitalised(why)),
        ),
        Stage::Ready => ("", String::new()),
    };
    view.set_words(words.into());
    view.set_words_detail(detail.into());
}

/// Which cases are looked at.
fn heads(view: &ReviewView<'_>, shown: &Shown) {
    let filter = &shown.asked.filter;
    let pathway = filter.pathway.as_deref().map(super::set_up::pathway_title);
    view.set_title(pathway.unwrap_or_else(|| "Every pathway".to_owned()).into());
    let mut parts = vec![];
    if shown.stage == Stage::Ready {
        parts.push(filter.stream.counted(filter.cases(&shown.cache).len()));
        parts.extend(review_filter::words(filter));
        parts.extend(apart(shown));
    }
    parts.extend(shown.importing());
    view.set_detail(parts.join(" · ").into());
}

/// The other streams, which stand in no figure.
fn apart(shown: &Shown) -> Option<String> {
    let filter = &shown.asked.filter;
    let others = Stream::ALL.into_iter().filter(|stream| *stream != filter.stream);
    let counted = others.map(|stream| (stream, filter.in_stream(stream).cases(&shown.cache).len()));
    let parts: Vec<String> = counted.filter(|(_, n)| *n > 0).map(|(stream, n)| stream.counted(n)).collect();
    (!parts.is_empty()).then(|| format!("{} apart", parts.join(", ")))
}

fn key(id: &str, text: &str, detail: &str, chosen: bool) -> ReviewKey {
    ReviewKey { id: id.into(), text: text.into(), detail: detail.into(), chosen }
}

fn tabs(shown: &Shown) -> Vec<ReviewKey> {
    if shown.stage != Stage::Ready {
        return Vec::new();
    }
    let signals = phrases::several(shown.found.len() as u64, "signal");
    let tab = |tab: Tab| {
        let detail = if tab == Tab::Flagged && !shown.found.is_empty() { signals.as_str() } else { "" };
        key(tab.words(), tab.words(), detail, tab == shown.tab && shown.one.is_none())
    };
    Tab::ALL.map(tab).to_vec()
}

fn keys(shown: &Shown, app: &App) -> Vec<ReviewKey> {
    let home = key("home", "Home", "", false);
    if shown.stage != Stage::Ready {
        return vec![home];
    }
    if let Some(one) = &shown.one {
        let case = key("case", "Shots by step", "", !one.facts && !one.table);
        return vec![case, key("facts", "The record", "", one.facts), key("table", "Table", "", one.table), home];
    }
    let charts = shown.tab.charts();
    let chart = |chart: &Option<ChartName>| {
        let (text, detail) = chart_words(*chart);
        key(chart.map_or("figures", ChartName::word), text, detail, *chart == shown.chart)
    };
    let mut keys: Vec<ReviewKey> = if charts.len() > 1 { charts.iter().map(chart).collect() } else { Vec::new() };
    if shown.tab == Tab::Training {
        let person = shown.asked.person.as_deref().map_or_else(|| "nobody".to_owned(), |kid| named(app, kid));
        keys.push(key("person", "Whose", &person, false));
    }
    if shown.tab == Tab::Overview && shown.chart.is_none() {
        keys.push(key("report", "Report", "a month as PDF", false));
    }
    if shown.chart.is_some() {
        keys.push(key("table", "Table", "", shown.table));
    }
    let narrowed = review_filter::narrowed(&shown.asked);
    let detail = if narrowed == 0 { "every case".to_owned() } else { format!("{narrowed} in force") };
    keys.extend([key("filter", "Filter", &detail, narrowed > 0), home]);
    keys
}

/// The name behind a thumbprint.
pub(super) fn named(app: &App, kid: &str) -> String {
    app.name_of(&crate::people::PersonId(kid.to_owned()))
}

fn main(view: &ReviewView<'_>, shown: &Shown, busy: bool) {
    let (words, detail, enabled) = match (&shown.stage, &shown.one, shown.signal()) {
        (Stage::Reading, ..) => ("Reading".to_owned(), "a moment", false),
        (Stage::Empty, ..) => ("Home".to_owned(), "", true),
        (Stage::Failed(_), ..) => ("Try again".to_owned(), "", true),
        (Stage::Ready, Some(_), _) => ("Back".to_owned(), "", true),
        (Stage::Ready, None, Some(signal)) => {
            let case = shown.cache.name_of(&signal.digest).unwrap_or_default();
            (format!("Open case {}", begin(case)), if busy { "when records are read" } else { "" }, !busy)
        }
        (Stage::Ready, None, None) => ("No case flagged".to_owned(), "", false),
    };
    view.set_main(words.into());
    view.set_main_detail(detail.into());
    view.set_main_enabled(enabled);
}

/// The beginning of a case's name, where the main action has room for no more.
fn begin(case: &str) -> String {
    const MOST: usize = 14;
    if case.chars().count() <= MOST { case.to_owned() } else { case.chars().take(MOST - 1).chain(['…']).collect() }
}

/// The middle of the screen.
fn page(view: &ReviewView<'_>, shown: &Shown, app: &App) {
    let sign = app.settings.decimal_sign.character();
    if let Some(one) = &shown.one {
        return review_case::fill(view, shown, one, sign);
    }
    match (shown.tab, shown.chart) {
        (_, Some(name)) => {
            let chart = draw(&shown.cache, name, &shown.asked);
            view.set_shows(if shown.table { ReviewShows::Table } else { ReviewShows::Chart });
            let title = chart.title.clone();
            fill_chart(view, chart, sign);
            if let (ChartName::Training, Some(kid)) = (name, &shown.asked.person) {
                view.set_heading(format!("{title} · {}", named(app, kid)).into());
            }
        }
        (Tab::Flagged, None) => {
            view.set_shows(ReviewShows::Flagged);
            view.set_heading(flagged_words(shown).into());
            let note = "A signal asks to look at a case. It judges nobody. Local policy and licensed practice decide.";
            view.set_note(note.into());
            view.set_flagged(model(flagged(shown)));
        }
        (_, None) => overview(view, shown, sign),
    }
}

/// A chart with its table behind it.
pub(super) fn fill_chart(view: &ReviewView<'_>, chart: Chart, sign: char) {
    view.set_heading(chart.title.as_str().into());
    view.set_note(local(&chart.note, sign).into());
    let empty = chart.scene.elements.len() <= chart.scene.head.elements;
    let none = "Nothing to show for these cases. The line above says why.";
    view.set_nothing(if empty { none } else { "" }.into());
    view.set_chart(review_chart::drawn(&chart.scene, sign));
    view.set_table(review_chart::table(chart.table, sign));
}

/// Numbers with the decimal sign of the site: a point between two digits.
pub(super) fn local(text: &str, sign: char) -> String {
    let letters: Vec<char> = text.chars().collect();
    let digit = |at: usize| letters.get(at).is_some_and(char::is_ascii_digit);
    let point = |at: usize| letters[at] == '.' && at > 0 && digit(at - 1) && digit(at + 1);
    letters.iter().enumerate().map(|(at, letter)| if point(at) { sign } else { *letter }).collect()
}

fn flagged_words(shown: &Shown) -> String {
    let left = match shown.left_out.len() {
        0 => String::new(),
        n => format!(", {} left out", phrases::several(n as u64, "file")),
    };
    format!("{}{left}", phrases::several(shown.found.len() as u64, "signal"))
}

fn flagged(shown: &Shown) -> Vec<PickRow> {
    let signal = |(at, signal): (usize, &crate::review::Signal)| PickRow {
        id: at.to_string().into(),
        text: signal.title.as_str().into(),
        detail: signal.detail.as_str().into(),
        chosen: shown.chosen == Some(at),
        ..PickRow::default()
    };
    let left = |(path, why): &(PathBuf, String)| PickRow {
        id: path.display().to_string().into(),
        text: format!("Left out: {}", end_of(path)).into(),
        detail: why.as_str().into(),
        barred: true,
        heed: true,
        ..PickRow::default()
    };
    shown.found.iter().enumerate().map(signal).chain(shown.left_out.iter().map(left)).collect()
}

/// The file and the folder it lies in.
fn end_of(path: &Path) -> String {
    let folder = path.parent().and_then(Path::file_name).map(|name| format!("{}/", name.display())).unwrap_or_default();
    format!("{folder}{}", path.file_name().unwrap_or_default().display())
}

fn overview(view: &ReviewView<'_>, shown: &Shown, sign: char) {
    let found = summary(&shown.cache, &shown.asked.filter, &[Group::All], shown.asked.quantile);
    view.set_shows(ReviewShows::Overview);
    view.set_heading("Typical values".into());
    let left = match found.dose_left_out {
        0 => String::new(),
        n => format!(" {n} with a dose but no known machine or size stand in no figure of dose."),
    };
    let note = format!(
        "{} quantiles, none below {PERCENTILE_MIN} cases; intervals of 95 % by order statistics. One site's upper quartile \
         is no reference level.{left}",
        super::say::capitalised(&found.quantile.to_string())
    );
    view.set_note(note.into());
    view.set_tiles(model(tiles(shown, &found, sign)));
    view.set_table(review_chart::table(figures(&found), sign));
}

fn tiles(shown: &Shown, found: &Summary, sign: char) -> Vec<FigureTile> {
    let of = |quantity: Quantity| {
        let lines = found.lines.iter().filter(move |line| line.quantity == quantity);
        lines.max_by_key(|line| line.figure.n)
    };
    let title = |line: Option<&Line>, title: &str| {
        let stratum = line.and_then(|line| line.stratum.as_ref());
        stratum.map_or_else(|| title.to_owned(), |(machine, size)| format!("{title} · {machine}, {size}"))
    };
    let (shots, dose, time) = (of(Quantity::Shots), of(Quantity::KermaAreaProduct), of(Quantity::Operation));
    let apart = apart(shown).unwrap_or_else(|| "none apart".to_owned());
    vec![
        tile(&super::say::capitalised(&found.stream.to_string()), found.cases.to_string(), apart, false),
        figure_tile(&title(shots, "Shots a case"), shots, true, sign),
        figure_tile(&title(dose, "Gy·cm²"), dose, true, sign),
        figure_tile(&title(time, "Incision to closure, min"), time, false, sign),
    ]
}

fn tile(label: &str, value: String, detail: String, beam: bool) -> FigureTile {
    FigureTile { label: label.into(), value: value.into(), detail: detail.into(), beam }
}

fn figure_tile(label: &str, line: Option<&Line>, beam: bool, sign: char) -> FigureTile {
    let Some(Figure { n, middle, .. }) = line.map(|line| line.figure) else {
        return tile(label, "–".to_owned(), "not known of any case".to_owned(), beam);
    };
    match middle {
        Some(middle) => {
            let half = format!("middle half {} to {}", number(middle.lower_quartile), number(middle.upper_quartile));
            let words = format!("{}\n{}", local(&half, sign), phrases::several(n as u64, "case"));
            tile(label, local(&number(middle.median), sign), words, beam)
        }
        None => tile(label, "–".to_owned(), format!("{}: too few", phrases::several(n as u64, "case")), beam),
    }
}

/// Every figure with its spread and its intervals.
fn figures(found: &Summary) -> Table {
    let mut table = Table::of(&["", "n", "smallest", "Q1", "median", "Q3", "largest", "median within", "Q3 within"]);
    let within = |pair: Option<(f64, f64)>| {
        pair.map_or_else(|| "–".to_owned(), |(low, high)| format!("{} to {}", number(low), number(high)))
    };
    for line in &found.lines {
        let (figure, middle) = (&line.figure, line.figure.middle);
        let part = |of: fn(crate::review::Middle) -> f64| number(middle.map_or(f64::NAN, of));
        let name = match &line.stratum {
            Some((machine, size)) => format!("{}: {machine}, {size}", short(line.quantity)),
            None => line.quantity.title().to_owned(),
        };
        table.row(vec![
            name,
            figure.n.to_string(),
            number(figure.smallest),
            part(|middle| middle.lower_quartile),
            part(|middle| middle.median),
            part(|middle| middle.upper_quartile),
            number(figure.largest),
            within(middle.and_then(|middle| middle.median_within)),
            within(middle.and_then(|middle| middle.upper_quartile_within)),
        ]);
    }
    table
}

/// The quantity by its unit, where machine and size stand beside it.
fn short(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::KermaAreaProduct => "Gy·cm²",
        Quantity::AirKerma => "mGy",
        other => other.title(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_point_between_digits_becomes_the_sites_sign() {
        assert_eq!(local("2.4 to 3.1 Gy·cm². Type 7.", ','), "2,4 to 3,1 Gy·cm². Type 7.");
        assert_eq!(local(".5 5.", ','), ".5 5.");
    }

    #[test]
    fn every_chart_stands_under_one_tab() {
        for name in ChartName::ALL {
            let tabs = Tab::ALL.iter().filter(|tab| tab.charts().contains(&Some(name))).count();
            assert_eq!(tabs, 1, "{name}");
        }
    }
}

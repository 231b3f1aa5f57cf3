//! Which cases Review looks at, chosen by touch: first what to narrow by, then one of the values there are.
//!
//! Every value is offered with its number of cases, so that nobody narrows to nothing unseen.

use super::app::{App, Shared};
use super::around::{self, AroundAsked};
use super::questions::{pick, row};
use super::{phrases, review, review_report, review_rows, say, set_up};
use crate::review::{Asked, Cache, Filter, Narrow, QuantileType, Stream};
use brimline_ui::PickRow;

/// What is being chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ReviewAsked {
    /// What to narrow by.
    Menu,
    Stream,
    Value(Narrow),
    Quantile,
    /// Whose rehearsals stand beside live cases.
    Person,
    /// The month of a report.
    Report,
}

/// Stands for no narrowing in a list of values.
const EVERY: &str = "";

fn title(by: Narrow) -> &'static str {
    match by {
        Narrow::Pathway => "Pathway",
        Narrow::Site => "Site",
        Narrow::Machine => "C-arm",
        Narrow::Size => "Patient size",
        Narrow::Side => "Side",
        Narrow::Sacrum => "Sacrum",
        Narrow::Implants => "Implants",
        Narrow::Surgeon => "Surgeon",
        Narrow::Team => "Team",
        Narrow::Outcome => "Outcome",
        Narrow::From => "From month",
        Narrow::To => "Up to month",
    }
}

/// The value as a reader of the screen knows it.
fn shown(app: &App, by: Narrow, word: &str) -> String {
    match by {
        Narrow::Pathway => set_up::pathway_title(word),
        Narrow::Surgeon => review_rows::named(app, word),
        Narrow::Implants => word.parse().map_or_else(|_| word.to_owned(), |n: u64| phrases::several(n, "implant")),
        _ => word.to_owned(),
    }
}

/// What the filter is narrowed to, beside its pathway and whose cases they are.
pub(super) fn words(filter: &Filter) -> Vec<String> {
    let part = |by: Narrow| {
        let word = filter.value(by)?;
        Some(match by {
            Narrow::Side => format!("{word} side"),
            Narrow::Sacrum => format!("sacrum {word}"),
            Narrow::Implants => word.parse().map_or(word, |n: u64| phrases::several(n, "implant")),
            Narrow::From => format!("from {word}"),
            Narrow::To => format!("up to {word}"),
            Narrow::Surgeon => "one surgeon".to_owned(),
            Narrow::Outcome => format!("{word} only"),
            _ => word,
        })
    };
    Narrow::ALL.into_iter().filter(|by| *by != Narrow::Pathway).filter_map(part).collect()
}

/// How many narrowings are in force.
pub(super) fn narrowed(asked: &Asked) -> usize {
    let values = Narrow::ALL.into_iter().filter(|by| asked.filter.value(*by).is_some()).count();
    values + usize::from(asked.filter.stream != Stream::LIVE)
}

/// Asks what to narrow by.
pub(super) fn ask(app: &Shared) {
    let rows = {
        let around = around::of(app);
        let seen = around.review.borrow();
        menu(&app.borrow(), &seen.asked)
    };
    pick(app, AroundAsked::Review(ReviewAsked::Menu), "Which cases", "Touch what to narrow them by", rows);
}

fn menu(app: &App, asked: &Asked) -> Vec<PickRow> {
    let filter = &asked.filter;
    let mut rows = Vec::new();
    if narrowed(asked) > 0 {
        rows.push(row("every", "Every live case", "takes back what is in force", false));
    }
    rows.push(row("stream", "Kind and ending", &filter.stream.to_string(), filter.stream != Stream::LIVE));
    for (at, by) in Narrow::ALL.into_iter().enumerate() {
        let value = filter.value(by);
        let detail = value.as_deref().map_or_else(|| "every".to_owned(), |word| shown(app, by, word));
        rows.push(row(&at.to_string(), title(by), &detail, value.is_some()));
    }
    rows.push(row("quantile", "Quantiles", &asked.quantile.to_string(), false));
    rows
}

fn ask_value(app: &Shared, by: Narrow) {
    let rows = {
        let around = around::of(app);
        let seen = around.review.borrow();
        values(&app.borrow(), &seen.cache, &seen.asked.filter, by)
    };
    let hint = "Each with the cases it leaves";
    pick(app, AroundAsked::Review(ReviewAsked::Value(by)), title(by), hint, rows);
}

fn values(app: &App, cache: &Cache, filter: &Filter, by: Narrow) -> Vec<PickRow> {
    let now = filter.value(by);
    let every = row(EVERY, "Every", "", now.is_none());
    let value = |(word, cases): (String, usize)| {
        let detail = phrases::several(cases as u64, "case");
        row(&word, &say::capitalised(&shown(app, by, &word)), &detail, now.as_deref() == Some(word.as_str()))
    };
    std::iter::once(every).chain(cache.choices(filter, by).into_iter().map(value)).collect()
}

fn ask_stream(app: &Shared) {
    let rows = {
        let around = around::of(app);
        let seen = around.review.borrow();
        let filter = &seen.asked.filter;
        let stream = |(at, stream): (usize, Stream)| {
            let cases = filter.in_stream(stream).cases(&seen.cache).len();
            let detail = phrases::several(cases as u64, "case");
            row(&at.to_string(), &say::capitalised(&stream.to_string()), &detail, stream == filter.stream)
        };
        Stream::ALL.into_iter().enumerate().map(stream).collect()
    };
    let hint = "Live, rehearsed, stopped and void cases never mix";
    pick(app, AroundAsked::Review(ReviewAsked::Stream), "Kind and ending", hint, rows);
}

fn ask_quantile(app: &Shared) {
    let now = around::of(app).review.borrow().asked.quantile;
    let rows = vec![
        row("7", "Type 7", "as spreadsheets and NumPy compute them", now == QuantileType::Seven),
        row("6", "Type 6", "as the NIST handbook computes them", now == QuantileType::Six),
    ];
    pick(app, AroundAsked::Review(ReviewAsked::Quantile), "Quantiles", "They differ where cases are few", rows);
}

/// Asks whose rehearsals stand beside live cases.
pub(super) fn ask_person(app: &Shared) {
    let rows: Vec<PickRow> = {
        let around = around::of(app);
        let seen = around.review.borrow();
        let app = app.borrow();
        let person = |(kid, cases): (String, usize)| {
            let detail = phrases::several(cases as u64, "rehearsal");
            row(&kid, &review_rows::named(&app, &kid), &detail, seen.asked.person.as_ref() == Some(&kid))
        };
        seen.cache.choices(&Filter::of(Stream::REHEARSAL), Narrow::Surgeon).into_iter().map(person).collect()
    };
    pick(app, AroundAsked::Review(ReviewAsked::Person), "Whose rehearsals", "Only who rehearsed is listed", rows);
}

/// Who rehearsed most.
pub(super) fn most_rehearsals(cache: &Cache) -> Option<String> {
    let people = cache.choices(&Filter::of(Stream::REHEARSAL), Narrow::Surgeon);
    people.into_iter().rev().max_by_key(|(_, cases)| *cases).map(|(kid, _)| kid)
}

/// A row of the list was touched.
pub(super) fn picked(app: &Shared, asked: ReviewAsked, id: &str) {
    match asked {
        ReviewAsked::Menu => return menu_picked(app, id),
        ReviewAsked::Report => return review_report::write(app, id),
        ReviewAsked::Stream => {
            let stream = id.parse().ok().and_then(|at: usize| Stream::ALL.get(at).copied());
            change(app, |asked| asked.filter = asked.filter.in_stream(stream.unwrap_or(asked.filter.stream)));
        }
        ReviewAsked::Value(by) => {
            let word = (id != EVERY).then_some(id);
            change(app, |asked| asked.filter = asked.filter.narrowed(by, word).unwrap_or_else(|| asked.filter.clone()));
        }
        ReviewAsked::Quantile => {
            let kind = if id == "6" { QuantileType::Six } else { QuantileType::Seven };
            change(app, |asked| asked.quantile = kind);
        }
        ReviewAsked::Person => change(app, |asked| asked.person = Some(id.to_owned())),
    }
    around::close(app);
    review::fill(app);
}

fn menu_picked(app: &Shared, id: &str) {
    let by = id.parse().ok().and_then(|at: usize| Narrow::ALL.get(at).copied());
    match (id, by) {
        (_, Some(by)) => ask_value(app, by),
        ("stream", _) => ask_stream(app),
        ("quantile", _) => ask_quantile(app),
        _ => {
            change(app, |asked| asked.filter = Filter::of(Stream::LIVE));
            around::close(app);
            review::fill(app);
        }
    }
}

/// Looks at other cases.
fn change(app: &Shared, to: impl FnOnce(&mut Asked)) {
    let around = around::of(app);
    let mut seen = around.review.borrow_mut();
    to(&mut seen.asked);
    seen.seek();
}

//! The report of one month: pages of charts, figures and signals.

use super::Group;
use super::cache::Cache;
use super::chart::{Asked, ChartName, draw, several};
use super::figure::{Quantity, figure};
use super::row::Month;
use super::scene::Scene;
use super::select::{Filter, Stream};
use super::signal::signals;
use super::summary::summary;
use super::table::{Table, number};
use std::fmt;

/// One page: words, then a drawing where there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    pub title: String,
    /// Paragraphs.
    pub words: Vec<String>,
    /// Lines in columns.
    pub table: Table,
    pub scene: Option<Scene>,
}

impl fmt::Display for Month {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}", self.year, self.month)
    }
}

/// Signals that a report lists at most; the charts mark all.
const SIGNALS_MAX: usize = 12;

/// The pages of a month's report. Trends run over everything up to that month, the month's own figures over it alone.
#[must_use]
pub fn month_report(cache: &Cache, month: Month, asked: &Asked) -> Vec<Page> {
    let until = Filter { to: Some(month), from: None, ..asked.filter.clone() };
    let alone = Filter { from: Some(month), ..until.clone() };
    let trend = Asked { filter: until, ..asked.clone() };
    let mut pages = vec![first(cache, month, &alone, &trend)];
    for name in ChartName::ALL {
        let here = if matches!(name, ChartName::Steps | ChartName::StepCost | ChartName::Care | ChartName::Ended) {
            Asked { filter: alone.clone(), ..trend.clone() }
        } else {
            trend.clone()
        };
        let chart = draw(cache, name, &here);
        let scope = if here.filter.from.is_some() { "This month" } else { "All cases up to this month" };
        pages.push(Page {
            title: chart.title,
            words: vec![format!("{scope}.")],
            table: Table::default(),
            scene: Some(chart.scene),
        });
    }
    pages
}

fn first(cache: &Cache, month: Month, alone: &Filter, trend: &Asked) -> Page {
    let cases = alone.cases(cache);
    let stopped = alone.in_stream(Stream::STOPPED).cases(cache);
    let mut words = vec![
        format!(
            "{} in {month}, {} in all up to its end. {} were cancelled, abandoned or converted this month, apart from all \
             figures. Quantiles are of {}; the typical value is the median. One site's upper quartile is no reference level.",
            alone.stream.counted(cases.len()),
            trend.filter.cases(cache).len(),
            stopped.len(),
            trend.quantile
        ),
        "Advisory: a signal asks to look at a case. It judges nobody; local policy and licensed practice decide."
            .to_owned(),
    ];
    let found = signals(cache, trend);
    let order = found.iter().take(SIGNALS_MAX).map(|signal| format!("{}. {}", signal.title, signal.detail));
    words.push(if found.is_empty() { "No signal.".to_owned() } else { several(found.len(), "signal") + ":" });
    words.extend(order);
    if found.len() > SIGNALS_MAX {
        words.push(format!("{} more in the charts.", found.len() - SIGNALS_MAX));
    }
    Page { title: format!("Review of {month}"), words, table: figures(cache, alone, trend), scene: None }
}

/// The month's figures beside those of everything up to it.
fn figures(cache: &Cache, alone: &Filter, trend: &Asked) -> Table {
    let mut table = Table::of(&["this month", "n", "median", "middle half", "n up to it", "median up to it"]);
    let all = summary(cache, &trend.filter, &[Group::All], trend.quantile);
    let here = summary(cache, alone, &[Group::All], trend.quantile);
    for line in &all.lines {
        let same = here.lines.iter().find(|other| other.quantity == line.quantity && other.stratum == line.stratum);
        let own = same.map(|same| same.figure).or_else(|| figure(Vec::new(), trend.quantile));
        let middle = own.and_then(|own| own.middle);
        let stratum = line.stratum.as_ref().map_or_else(String::new, |(machine, size)| format!(": {machine}, {size}"));
        table.row(vec![
            format!(
                "{}{stratum}",
                if line.quantity == Quantity::KermaAreaProduct { "Gy·cm²" } else { line.quantity.title() }
            ),
            own.map_or(0, |own| own.n).to_string(),
            number(middle.map_or(f64::NAN, |middle| middle.median)),
            middle.map_or_else(
                || "–".to_owned(),
                |middle| format!("{} to {}", number(middle.lower_quartile), number(middle.upper_quartile)),
            ),
            line.figure.n.to_string(),
            number(line.figure.middle.map_or(f64::NAN, |middle| middle.median)),
        ]);
    }
    table
}

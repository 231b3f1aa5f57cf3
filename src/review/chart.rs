//! The charts of Review: each with its title, how it was made, a scene, the table behind it and its signals.
//!
//! A chart never mixes streams. Ordered charts hold the cases whose time is disclosed, and say how many are left out.

mod beside;
mod care;
mod cost;
mod dose;
mod ended;
mod learning;
mod one;
mod plot;
mod shift;
mod shots;
mod steps;
mod training;
mod trend;
mod views;

pub use one::draw_case;
pub(super) use shift::{StepShift, step_shifts};
pub(super) use trend::{DoseTrend, ShotTrend, dose_trends, shot_trend};

use super::cache::Cache;
use super::costs::CostBy;
use super::quantile::QuantileType;
use super::scene::Scene;
use super::select::{Filter, Stream};
use super::signal::Signal;
use super::table::Table;
use std::fmt;

/// Points an ordered chart shows at most; limits come from all cases.
pub(super) const SHOWN_MAX: usize = 120;

/// The charts there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChartName {
    /// Where the shots go.
    Steps,
    /// Shots in order, with Laney's limits.
    Shots,
    /// Log dose in order, each machine and size by itself.
    Dose,
    /// Cumulative sums for a shift that lasts.
    Shift,
    Learning,
    /// Shots per view, and how often it was right at first.
    Views,
    /// Rehearsal beside live, for one trainee.
    Training,
    /// Gates overridden, checks not done, late and burst entries, by step.
    Care,
    /// Cancelled, abandoned and converted cases.
    Ended,
    /// Shots beside dose.
    Beside,
    /// What each step costs, by the machine's own reports.
    StepCost,
    /// What each view costs, by the same.
    ViewCost,
}

impl ChartName {
    /// Every one, in the order a report shows them.
    pub const ALL: [Self; 12] = [
        Self::Steps,
        Self::StepCost,
        Self::Shots,
        Self::Beside,
        Self::Dose,
        Self::Shift,
        Self::Learning,
        Self::Views,
        Self::ViewCost,
        Self::Training,
        Self::Care,
        Self::Ended,
    ];

    /// The word for it on the command line.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Steps => "steps",
            Self::Shots => "shots",
            Self::Dose => "dose",
            Self::Shift => "shift",
            Self::Learning => "learning",
            Self::Views => "views",
            Self::Training => "training",
            Self::Care => "care",
            Self::Ended => "ended",
            Self::Beside => "beside",
            Self::StepCost => "step-cost",
            Self::ViewCost => "view-cost",
        }
    }
}

impl fmt::Display for ChartName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// What is asked of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    pub filter: Filter,
    pub quantile: QuantileType,
    /// Thumbprint of whom the training chart is about; the person with most rehearsals if left out.
    pub person: Option<String>,
    /// Cases at the beginning that no shift is sought in. Common practice, no source.
    pub base: usize,
}

impl Asked {
    /// Everything of one stream, with the usual choices.
    #[must_use]
    pub fn of(stream: Stream) -> Self {
        Self { filter: Filter::of(stream), quantile: QuantileType::default(), person: None, base: 10 }
    }
}

impl Asked {
    /// The stream as a sentence begins with it.
    pub(super) fn title(&self) -> String {
        let words = self.filter.stream.to_string();
        let rest = words.get(1..).unwrap_or_default();
        words.get(..1).map(str::to_uppercase).unwrap_or_default() + rest
    }
}

/// "No signal", "1 signal", "2 signals".
pub(super) fn none_or_several(n: usize, what: &str) -> String {
    if n == 0 { format!("No {what}") } else { several(n, what) }
}

/// One chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    pub title: String,
    /// How it was made and what is left out.
    pub note: String,
    pub scene: Scene,
    pub table: Table,
    pub signals: Vec<Signal>,
}

/// Draws a chart.
#[must_use]
pub fn draw(cache: &Cache, name: ChartName, asked: &Asked) -> Chart {
    match name {
        ChartName::Steps => steps::draw(cache, asked),
        ChartName::Shots => shots::draw(cache, asked),
        ChartName::Dose => dose::draw(cache, asked),
        ChartName::Shift => shift::draw(cache, asked),
        ChartName::Learning => learning::draw(cache, asked),
        ChartName::Views => views::draw(cache, asked),
        ChartName::Training => training::draw(cache, asked),
        ChartName::Care => care::draw(cache, asked),
        ChartName::Ended => ended::draw(cache, asked),
        ChartName::Beside => beside::draw(cache, asked),
        ChartName::StepCost => cost::draw(cache, asked, CostBy::Step),
        ChartName::ViewCost => cost::draw(cache, asked, CostBy::View),
    }
}

/// "1 case", "2 cases".
pub(super) fn several(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

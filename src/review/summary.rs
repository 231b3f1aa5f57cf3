//! Figures of many cases, broken down.

use super::cache::Cache;
use super::figure::{Figure, Quantity, figure};
use super::quantile::QuantileType;
use super::select::{Filter, Group, SizeBand};
use super::steps::{StepFigures, ViewFigures, step_figures, view_figures};
use std::collections::BTreeMap;

/// One figure with what it is of.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub group: Group,
    /// The group's name.
    pub of: String,
    /// Machine and patient size, for dose.
    pub stratum: Option<(String, String)>,
    pub quantity: Quantity,
    pub figure: Figure,
}

/// Everything a summary says.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    pub stream: super::select::Stream,
    pub quantile: QuantileType,
    pub cases: usize,
    /// Cases with a dose that stands in no figure, since machine or size is not disclosed.
    pub dose_left_out: usize,
    pub lines: Vec<Line>,
    pub steps: Vec<StepFigures>,
    pub views: Vec<ViewFigures>,
}

/// The figures of the filtered cases by each of the groups.
#[must_use]
pub fn summary(cache: &Cache, filter: &Filter, groups: &[Group], quantile: QuantileType) -> Summary {
    let cases = filter.cases(cache);
    let mut lines = Vec::new();
    for group in groups {
        for quantity in Quantity::ALL {
            lines.extend(lines_of(cache, &cases, *group, quantity, quantile));
        }
    }
    let unknown = |case: &&usize| !cache.product[**case].is_nan() && !stratified(cache, **case);
    Summary {
        stream: filter.stream,
        quantile,
        cases: cases.len(),
        dose_left_out: cases.iter().filter(unknown).count(),
        lines,
        steps: step_figures(cache, &cases, quantile),
        views: view_figures(cache, &cases, quantile),
    }
}

/// Whether the machine and the size of a case are known, so that its dose may be compared.
pub(super) fn stratified(cache: &Cache, case: usize) -> bool {
    cache.machine[case] != 0 && cache.size[case] != SizeBand::NotDisclosed
}

fn lines_of(cache: &Cache, cases: &[usize], group: Group, quantity: Quantity, kind: QuantileType) -> Vec<Line> {
    let mut parts: BTreeMap<(i64, i64, i64), (usize, Vec<f64>)> = BTreeMap::new();
    for case in cases {
        let value = quantity.of(cache, *case);
        if value.is_nan() || (quantity.is_dose() && !stratified(cache, *case)) {
            continue;
        }
        let dose = |of: Group| if quantity.is_dose() { of.code(cache, *case) } else { 0 };
        let key = (group.code(cache, *case), dose(Group::Machine), dose(Group::Size));
        parts.entry(key).or_insert_with(|| (*case, Vec::new())).1.push(value);
    }
    let line = |(case, values)| {
        let stratum = (Group::Machine.label(cache, case), Group::Size.label(cache, case));
        Some(Line {
            group,
            of: group.label(cache, case),
            stratum: quantity.is_dose().then_some(stratum),
            quantity,
            figure: figure(values, kind)?,
        })
    };
    parts.into_values().filter_map(line).collect()
}

impl Line {
    /// The line's name with its stratum, as a reader sees it.
    #[must_use]
    pub fn name(&self) -> String {
        let of = format!("{} {}", self.group.word(), self.of);
        match &self.stratum {
            Some((machine, size)) if self.group == Group::All => format!("{machine}, {size}"),
            Some((machine, size)) => format!("{of} · {machine}, {size}"),
            None => of,
        }
    }
}

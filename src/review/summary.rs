//! Figures of many cases, broken down.

use super::cache::Cache;
use super::costs::{CostBy, CostFigures, cost_figures};
use super::figure::{Figure, Quantity, figure_of};
use super::parts::Parts;
use super::quantile::QuantileType;
use super::select::{Filter, Group, SizeBand};
use super::share::share;
use super::steps::{StepFigures, ViewFigures, step_figures, view_figures};

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
    /// What steps and views cost, by the machine's own reports.
    pub step_costs: Vec<CostFigures>,
    pub view_costs: Vec<CostFigures>,
}

/// The figures of the filtered cases by each of the groups.
#[must_use]
pub fn summary(cache: &Cache, filter: &Filter, groups: &[Group], quantile: QuantileType) -> Summary {
    let cases = filter.cases(cache);
    let unknown = |case: &&usize| !cache.product[**case].is_nan() && !stratified(cache, **case);
    Summary {
        stream: filter.stream,
        quantile,
        cases: cases.len(),
        dose_left_out: cases.iter().filter(unknown).count(),
        lines: lines(cache, &cases, groups, quantile),
        steps: steps_of(cache, filter, &cases, quantile),
        views: view_figures(cache, &cases, quantile),
        step_costs: cost_figures(cache, &cases, CostBy::Step, quantile),
        view_costs: cost_figures(cache, &cases, CostBy::View, quantile),
    }
}

/// The steps; what was passed over stands there only where the cases are not one person's or team's.
fn steps_of(cache: &Cache, filter: &Filter, cases: &[usize], quantile: QuantileType) -> Vec<StepFigures> {
    let steps = step_figures(cache, cases, quantile).into_iter();
    steps.map(|step| StepFigures { care: step.care.filter(|_| !filter.is_of_somebody()), ..step }).collect()
}

/// Whether the machine and the size of a case are known, so that its dose may be compared.
pub(super) fn stratified(cache: &Cache, case: usize) -> bool {
    cache.machine[case] != 0 && cache.size[case] != SizeBand::NotDisclosed
}

/// Every quantity by every group. The values of a quantity are sorted once and handed out to the parts of each group in
/// that order, so that no part is sorted again.
fn lines(cache: &Cache, cases: &[usize], groups: &[Group], kind: QuantileType) -> Vec<Line> {
    let divided: Vec<Parts> = share(cases.len(), groups, |group| Parts::by(*group, cache, cases));
    let strata = Parts::by(Group::Machine, cache, cases).crossed(&Parts::by(Group::Size, cache, cases));
    let crossed: Vec<Parts> = share(cases.len(), &divided, |parts| parts.crossed(&strata));
    let ranked = share(cases.len(), &Quantity::ALL, |quantity| ranked(cache, cases, *quantity));
    let wanted: Vec<(usize, usize)> =
        (0..groups.len()).flat_map(|group| (0..Quantity::ALL.len()).map(move |at| (group, at))).collect();
    let made = share(cases.len(), &wanted, |(group, at)| {
        let quantity = Quantity::ALL[*at];
        let parts = if quantity.is_dose() { &crossed[*group] } else { &divided[*group] };
        lines_of(cache, cases, groups[*group], quantity, (parts, &ranked[*at]), kind)
    });
    made.into_iter().flatten().collect()
}

/// The values of a quantity, ascending, each with the position of its case; without those that are not known, and for
/// dose without those of an unknown machine or size.
fn ranked(cache: &Cache, cases: &[usize], quantity: Quantity) -> Vec<(f64, u32)> {
    let known = |case: usize| !quantity.is_dose() || stratified(cache, case);
    let value = |(at, case): (u32, &usize)| known(*case).then(|| (quantity.of(cache, *case), at));
    let mut all: Vec<(f64, u32)> = (0..).zip(cases).filter_map(value).filter(|(value, _)| value.is_finite()).collect();
    all.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    all
}

fn lines_of(
    cache: &Cache,
    cases: &[usize],
    group: Group,
    quantity: Quantity,
    (parts, ranked): (&Parts, &[(f64, u32)]),
    kind: QuantileType,
) -> Vec<Line> {
    let (values, ends) = parts.handed_out(ranked);
    let mut from = 0;
    let mut lines = Vec::new();
    for (first, end) in parts.first.iter().zip(ends) {
        let own = &values[std::mem::replace(&mut from, end)..end];
        let Some(figure) = figure_of(own, kind) else { continue };
        let case = cases[*first];
        let stratum = || (Group::Machine.label(cache, case), Group::Size.label(cache, case));
        let stratum = quantity.is_dose().then(stratum);
        lines.push(Line { group, of: group.label(cache, case), stratum, quantity, figure });
    }
    lines
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

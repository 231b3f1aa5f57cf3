//! Series in order with their limits: what the charts of shots and dose show and what signals are read from.

use super::super::cache::Cache;
use super::super::counts::{CountChart, Counted, laney_chart};
use super::super::individuals::{Individuals, individuals};
use super::super::limits::{Beyond, Limits};
use super::super::select::{Filter, Group};
use super::super::summary::stratified;
use std::collections::BTreeMap;

/// Fewer cases than this have no limits. Common practice, no source.
pub(in super::super) const LIMITS_MIN: usize = 8;

/// Shots of cases in order, per implant, with Laney's limits.
pub(in super::super) struct ShotTrend {
    pub(in super::super) cases: Vec<usize>,
    pub(in super::super) counts: Vec<Counted>,
    pub(in super::super) chart: CountChart,
}

impl ShotTrend {
    /// Shots per implant.
    pub(in super::super) fn rate(&self, at: usize) -> f64 {
        self.counts[at].count / self.counts[at].area
    }

    pub(in super::super) fn beyond(&self, at: usize) -> Option<Beyond> {
        self.chart.limits[at].beyond(self.rate(at))
    }
}

/// The shots of the filtered cases; nothing below [`LIMITS_MIN`] cases.
pub(in super::super) fn shot_trend(cache: &Cache, filter: &Filter) -> Option<ShotTrend> {
    let cases = filter.in_order(cache);
    let counted =
        |case: &usize| Counted { count: f64::from(cache.shots[*case]), area: f64::from(cache.implants[*case].max(1)) };
    let counts: Vec<Counted> = cases.iter().map(counted).collect();
    let chart = laney_chart(&counts).filter(|_| cases.len() >= LIMITS_MIN)?;
    Some(ShotTrend { cases, counts, chart })
}

/// Log dose of one machine and one patient size, in order.
pub(in super::super) struct DoseTrend {
    /// Codes of machine and size.
    stratum: (i64, i64),
    pub(in super::super) machine: String,
    pub(in super::super) size: String,
    pub(in super::super) cases: Vec<usize>,
    /// Decadic logarithm of the kerma-area product in Gy·cm².
    pub(in super::super) logs: Vec<f64>,
    /// Nothing below [`LIMITS_MIN`] cases.
    pub(in super::super) chart: Option<Individuals>,
}

impl DoseTrend {
    /// Whether the dose of that case stands in it.
    pub(in super::super) fn holds(&self, cache: &Cache, case: usize) -> bool {
        cache.product[case] > 0.0 && stratified(cache, case) && stratum(cache, case) == self.stratum
    }

    pub(in super::super) fn limits(&self) -> Option<Limits> {
        self.chart.map(|chart| chart.limits)
    }
}

fn stratum(cache: &Cache, case: usize) -> (i64, i64) {
    (Group::Machine.code(cache, case), Group::Size.code(cache, case))
}

/// The dose of the filtered cases, the machines and sizes with most cases first.
pub(in super::super) fn dose_trends(cache: &Cache, filter: &Filter) -> Vec<DoseTrend> {
    let mut strata: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    for case in filter.in_order(cache) {
        if cache.product[case] > 0.0 && stratified(cache, case) {
            strata.entry(stratum(cache, case)).or_default().push(case);
        }
    }
    let trend = |(stratum, cases): ((i64, i64), Vec<usize>)| {
        let logs: Vec<f64> = cases.iter().map(|case| cache.product[*case].log10()).collect();
        let label = |group: Group| cases.first().map(|case| group.label(cache, *case)).unwrap_or_default();
        let chart = individuals(&logs).filter(|_| logs.len() >= LIMITS_MIN);
        DoseTrend { stratum, machine: label(Group::Machine), size: label(Group::Size), chart, logs, cases }
    };
    let mut trends: Vec<DoseTrend> = strata.into_iter().map(trend).collect();
    trends.sort_by_key(|trend| std::cmp::Reverse(trend.cases.len()));
    trends
}

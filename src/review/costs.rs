//! What steps and views cost: shots, kerma-area product and air kerma as the machine's own report was laid on the case.
//!
//! Only reconciled reports say it, and only where one explanation stood out: where two fitted equally well, where the
//! taps did not fit, or where a second machine took the first one's place, a case stands in none of these figures.
//! Machines and patient sizes are never pooled.

use super::cache::Cache;
use super::figure::{Figure, figure};
use super::quantile::QuantileType;
use super::row::CostRow;
use super::select::Group;
use super::summary::stratified;
use crate::dose::reconcile::{Brief, Method, Row as BriefRow};
use crate::record::{PlaceEntry, Record};
use std::collections::BTreeMap;

/// What figures of cost are broken down by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CostBy {
    Step,
    View,
}

/// What a step or a view cost a case, on one machine at one patient size. Events and figures of exactly the same cases.
#[derive(Debug, Clone, PartialEq)]
pub struct CostFigures {
    pub title: String,
    pub machine: String,
    pub size: String,
    /// Irradiation events of a case.
    pub shots: Figure,
    /// Gy·cm² of a case, where the reports state it.
    pub kerma_area_product: Option<Figure>,
    /// mGy of a case, where the reports state it.
    pub air_kerma: Option<Figure>,
}

/// What a record's reconciled report says of each place and view.
pub(super) fn of(record: &Record) -> Vec<CostRow> {
    let standing: Vec<_> = record.radiation.reports.iter().filter(|report| !report.superseded).collect();
    let [report] = standing.as_slice() else { return Vec::new() };
    let Some(brief) = report.reconciled.as_ref().filter(|brief| stands_out(brief)) else { return Vec::new() };
    if record.c_arm.swaps > 0 {
        return Vec::new();
    }
    brief.rows.iter().filter_map(|row| cost(&record.places, row)).collect()
}

fn stands_out(brief: &Brief) -> bool {
    !brief.ambiguous && !matches!(brief.method, Method::StepTimes { taps_do_not_fit: true, .. })
}

fn cost(places: &[PlaceEntry], row: &BriefRow) -> Option<CostRow> {
    let here = |entry: &PlaceEntry| {
        let place = &entry.place;
        place.step == row.tag.step && place.side == row.tag.side && place.implant == row.tag.implant
    };
    let place = places.iter().position(here)?;
    // Events without a figure would make a sum that is too low.
    let whole = row.without_figures == 0;
    Some(CostRow {
        place: u16::try_from(place).ok()?,
        view: row.tag.view.clone(),
        events: row.events,
        kerma_area_product_gy_cm2: row.kerma_area_product.filter(|_| whole).map(|area| area.0),
        air_kerma_mgy: row.reference_air_kerma.filter(|_| whole).map(|kerma| kerma.0),
    })
}

/// Events, Gy·cm² and mGy; a sum with what is not known is not known.
type Sums = [f64; 3];

/// What each step or view of one case cost, by its code.
fn of_case(cache: &Cache, case: usize, by: CostBy) -> Vec<(u16, Sums)> {
    let mut sums: Vec<(u16, Sums)> = Vec::new();
    for at in cache.costs_of(case) {
        let code = match by {
            CostBy::Step => cache.cost_step[at],
            CostBy::View => cache.cost_view[at],
        };
        let more = [f64::from(cache.cost_events[at]), cache.cost_product[at], cache.cost_kerma[at]];
        // 0: no view was being looked for or worked in.
        match sums.iter_mut().find(|(known, _)| *known == code) {
            _ if by == CostBy::View && code == 0 => {}
            Some((_, sum)) => sum.iter_mut().zip(more).for_each(|(sum, more)| *sum += more),
            None => sums.push((code, more)),
        }
    }
    sums
}

/// Values of a stratum, by quantity, with one of its cases.
type Values = (usize, [Vec<f64>; 3]);

/// What each step or view cost the cases, the machines and sizes with most cases first, steps and views in the order
/// they were first met.
pub(super) fn cost_figures(cache: &Cache, cases: &[usize], by: CostBy, kind: QuantileType) -> Vec<CostFigures> {
    let mut parts: BTreeMap<((i64, i64), u16), Values> = BTreeMap::new();
    let mut weights: BTreeMap<(i64, i64), usize> = BTreeMap::new();
    for case in cases.iter().copied().filter(|case| stratified(cache, *case)) {
        let stratum = (Group::Machine.code(cache, case), Group::Size.code(cache, case));
        let sums = of_case(cache, case, by);
        *weights.entry(stratum).or_default() += usize::from(!sums.is_empty());
        for (code, sum) in sums {
            let (_, values) = parts.entry((stratum, code)).or_insert_with(|| (case, Default::default()));
            values.iter_mut().zip(sum).for_each(|(values, value)| values.push(value));
        }
    }
    let mut parts: Vec<_> = parts.into_iter().collect();
    parts.sort_by_key(|((stratum, code), _)| (std::cmp::Reverse(weights[stratum]), *stratum, *code));
    let names = match by {
        CostBy::Step => &cache.steps,
        CostBy::View => &cache.views,
    };
    let one = |((_, code), (case, values)): (((i64, i64), u16), Values)| {
        let [shots, product, kerma] = values.map(|values| figure(values, kind));
        Some(CostFigures {
            title: names.title(u32::from(code)).to_owned(),
            machine: Group::Machine.label(cache, case),
            size: Group::Size.label(cache, case),
            shots: shots?,
            kerma_area_product: product,
            air_kerma: kerma,
        })
    };
    parts.into_iter().filter_map(one).collect()
}

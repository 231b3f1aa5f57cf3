//! Signals in words, each with the case behind it.
//!
//! A signal asks to look at a case; it judges nobody. Which person or team it was is not said.

use super::cache::Cache;
use super::chart::{Asked, DoseTrend, ShotTrend, StepShift, dose_trends, several, shot_trend, step_shifts};
use super::limits::Beyond;
use super::row::Marks;
use super::select::sacrum;
use super::table::number;
use crate::plan::SacrumShape;

/// Something to look at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signal {
    /// Lower-case hex SHA-256 of the record's payload.
    pub digest: String,
    /// What was seen, in one line.
    pub title: String,
    /// What the record says besides.
    pub detail: String,
}

/// Every signal of the filtered cases: shots, dose, shifts. None where they are one person's or one team's.
#[must_use]
pub fn signals(cache: &Cache, asked: &Asked) -> Vec<Signal> {
    if asked.filter.is_of_somebody() {
        return Vec::new();
    }
    let doses = dose_trends(cache, &asked.filter);
    let mut all: Vec<Signal> =
        shot_trend(cache, &asked.filter).iter().flat_map(|trend| shot_signals(cache, asked, trend, &doses)).collect();
    all.extend(dose_signals(cache, asked, &doses));
    all.extend(step_shifts(cache, asked).iter().map(|shift| shift_words(cache, shift)));
    all
}

/// Cases whose shots lie beyond the limits, the latest first.
pub(super) fn shot_signals(cache: &Cache, asked: &Asked, trend: &ShotTrend, doses: &[DoseTrend]) -> Vec<Signal> {
    if asked.filter.is_of_somebody() {
        return Vec::new();
    }
    let beyond = (0..trend.cases.len()).rev().filter_map(|at| Some((at, trend.beyond(at)?)));
    beyond.map(|(at, side)| shot_words(cache, trend, doses, at, side)).collect()
}

fn shot_words(cache: &Cache, trend: &ShotTrend, doses: &[DoseTrend], at: usize, side: Beyond) -> Signal {
    let (case, limits, implants) = (trend.cases[at], trend.chart.limits[at], trend.counts[at].area);
    let title = format!(
        "Case {} lies {}: {} where {} to {} are usual",
        cache.name(case),
        words(side),
        several(cache.shots[case] as usize, "shot"),
        (limits.lower * implants).ceil(),
        (limits.upper * implants).floor(),
    );
    let mut said: Vec<String> = busiest(cache, case).into_iter().chain(rejections(cache, case)).collect();
    if cache.sacrum[case] == SacrumShape::Dysmorphic {
        said.push(format!("sacrum {}", sacrum(cache.sacrum[case])));
    }
    let said = (!said.is_empty()).then(|| said.join(", ") + ".");
    let detail = said.into_iter().chain(dose_beside(cache, doses, case, side)).collect::<Vec<_>>().join(" ");
    Signal { digest: cache.digests[case].to_string(), title, detail }
}

fn words(side: Beyond) -> &'static str {
    match side {
        Beyond::Above => "above the limit",
        Beyond::Below => "below the limit",
    }
}

/// The place with most shots.
fn busiest(cache: &Cache, case: usize) -> Option<String> {
    let most = cache.places(case).max_by_key(|place| cache.place_shots[*place])?;
    let shots = cache.place_shots[most];
    let title = cache.steps.title(u32::from(cache.place_step[most]));
    (shots > 0).then(|| format!("{shots} of them in \"{title}\""))
}

/// The view that was accepted after most rejections.
fn rejections(cache: &Cache, case: usize) -> Option<String> {
    let views = cache.checks_of(case).filter(|check| cache.check_marks[*check].has(Marks::VIEW));
    let most = views.max_by_key(|check| cache.check_rejected[*check])?;
    let rejected = cache.check_rejected[most];
    let title = cache.checks.title(u32::from(cache.check_name[most]));
    (rejected > 0).then(|| format!("\"{title}\" accepted at try {}", rejected + 1))
}

fn dose_beside(cache: &Cache, doses: &[DoseTrend], case: usize, side: Beyond) -> Option<String> {
    let trend = doses.iter().find(|trend| trend.holds(cache, case))?;
    let limits = trend.limits()?;
    let dose = number(cache.product[case]);
    Some(match limits.beyond(cache.product[case].log10()) {
        None => {
            format!("Dose did not follow: {dose} Gy·cm², within what is usual for {}, {}.", trend.machine, trend.size)
        }
        Some(beyond) if beyond == side => format!("Dose went with it: {dose} Gy·cm²."),
        Some(_) => format!("Dose went the other way: {dose} Gy·cm²."),
    })
}

/// Cases whose dose lies beyond the limits of their machine and size.
pub(super) fn dose_signals(cache: &Cache, asked: &Asked, trends: &[DoseTrend]) -> Vec<Signal> {
    let mut all = Vec::new();
    if asked.filter.is_of_somebody() {
        return all;
    }
    for trend in trends {
        let Some(limits) = trend.limits() else { continue };
        for (case, log) in trend.cases.iter().zip(&trend.logs).rev() {
            let Some(side) = limits.beyond(*log) else { continue };
            let title = format!(
                "Dose of case {} lies {}: {} Gy·cm² where {} to {} are usual",
                cache.name(*case),
                words(side),
                number(cache.product[*case]),
                number(10_f64.powf(limits.lower)),
                number(10_f64.powf(limits.upper)),
            );
            let shots = several(cache.shots[*case] as usize, "shot");
            let detail = format!("{}, {}; {shots}.", trend.machine, trend.size);
            all.push(Signal { digest: cache.digests[*case].to_string(), title, detail });
        }
    }
    all
}

/// A shift with the case it begins with.
pub(super) fn shift_words(cache: &Cache, shift: &StepShift) -> Signal {
    let what = shift.step.as_ref().map_or_else(|| "the whole case".to_owned(), |step| format!("\"{step}\""));
    let more = match shift.direction {
        Beyond::Above => "More shots",
        Beyond::Below => "Fewer shots",
    };
    let title = format!("{more} in {what}, from about case {} on", cache.name(shift.begins));
    let per = if shift.step.is_some() { "" } else { " per implant" };
    let detail = format!(
        "Median{per} {} before, {} since; seen at case {}.",
        number(shift.before),
        number(shift.after),
        cache.name(shift.seen)
    );
    Signal { digest: cache.digests[shift.begins].to_string(), title, detail }
}

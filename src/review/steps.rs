//! Where shots and time go: by step and by view; and what was passed over, by step alone.
//!
//! A step's figures are per place: once a case, a side or an implant, as the pathway has it.

use super::cache::Cache;
use super::figure::{Figure, figure_of};
use super::quantile::{QuantileType, sort_small};
use super::row::Marks;
use super::share::share;

/// Figures of one step.
#[derive(Debug, Clone, PartialEq)]
pub struct StepFigures {
    pub id: String,
    pub title: String,
    pub shots: Figure,
    /// Seconds spent at the place.
    pub stay_s: Figure,
    /// Nothing where the cases are one person's.
    pub care: Option<Care>,
}

/// What was passed over or entered in haste in a step. Never by person or team.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Care {
    /// Answered or not done.
    pub checks: usize,
    pub gates_overridden: usize,
    pub not_done: usize,
    pub late: usize,
    pub burst: usize,
}

/// Figures of one view.
#[derive(Debug, Clone, PartialEq)]
pub struct ViewFigures {
    pub id: String,
    pub title: String,
    /// Shots from the answer before it to its acceptance.
    pub shots: Figure,
    pub accepted: usize,
    /// Accepted without a rejection before.
    pub first_time: usize,
}

/// Every step that any of the cases has, in the order they were first met.
pub(super) fn step_figures(cache: &Cache, cases: &[usize], kind: QuantileType) -> Vec<StepFigures> {
    let care = care_of(cache, cases);
    let figures = share(cases.len(), &[&cache.place_shots, &cache.place_stay_s], |column| {
        let values = by_step(cache, cases, column);
        values.into_iter().map(|mut values| sorted_figure(&mut values, kind)).collect::<Vec<_>>()
    });
    let mut figures = figures.into_iter();
    let (shots, stays) = (figures.next().unwrap_or_default(), figures.next().unwrap_or_default());
    let mut all = Vec::new();
    for (step, (shots, stays)) in shots.into_iter().zip(stays).enumerate() {
        let (Some(shots), Some(stay_s)) = (shots, stays) else { continue };
        let (id, title) = names(&cache.steps, step);
        all.push(StepFigures { id, title, shots, stay_s, care: Some(care[step]) });
    }
    all
}

/// The values of a column of places, by step.
fn by_step(cache: &Cache, cases: &[usize], column: &[u32]) -> Vec<Vec<u32>> {
    let mut counts = vec![0_usize; cache.steps.len()];
    let places = || cases.iter().flat_map(|case| cache.places(*case));
    places().for_each(|place| counts[usize::from(cache.place_step[place])] += 1);
    let mut values: Vec<Vec<u32>> = counts.into_iter().map(Vec::with_capacity).collect();
    places().for_each(|place| values[usize::from(cache.place_step[place])].push(column[place]));
    values
}

fn sorted_figure(values: &mut [u32], kind: QuantileType) -> Option<Figure> {
    sort_small(values);
    figure_of(values, kind)
}

/// What was passed over, by the number of the step.
fn care_of(cache: &Cache, cases: &[usize]) -> Vec<Care> {
    let mut care = vec![Care::default(); cache.steps.len()];
    for case in cases {
        for place in cache.places(*case) {
            care[usize::from(cache.place_step[place])].gates_overridden += usize::from(cache.place_overridden[place]);
        }
        for check in cache.checks_of(*case) {
            care[usize::from(cache.check_step[check])].add(cache.check_marks[check]);
        }
    }
    care
}

/// What was passed over in each step that any of the cases has: its title, and how much.
pub(super) fn step_care(cache: &Cache, cases: &[usize]) -> Vec<(String, Care)> {
    let mut there = vec![false; cache.steps.len()];
    cases.iter().flat_map(|case| cache.places(*case)).for_each(|at| there[usize::from(cache.place_step[at])] = true);
    let care = care_of(cache, cases).into_iter().enumerate().filter(|(step, _)| there[*step]);
    care.map(|(step, care)| (names(&cache.steps, step).1, care)).collect()
}

impl Care {
    fn add(&mut self, marks: Marks) {
        self.checks += usize::from(marks.has(Marks::ANSWERED | Marks::NOT_DONE));
        self.not_done += usize::from(marks.has(Marks::NOT_DONE));
        self.late += usize::from(marks.has(Marks::LATE));
        self.burst += usize::from(marks.has(Marks::BURST));
    }
}

/// Every view that was accepted in any of the cases.
pub(super) fn view_figures(cache: &Cache, cases: &[usize], kind: QuantileType) -> Vec<ViewFigures> {
    let mut shots: Vec<Vec<u32>> = vec![Vec::new(); cache.checks.len()];
    let mut first = vec![0; cache.checks.len()];
    for check in cases.iter().flat_map(|case| cache.checks_of(*case)) {
        if cache.check_marks[check].has(Marks::VIEW) {
            let name = usize::from(cache.check_name[check]);
            shots[name].push(u32::from(cache.check_shots[check]));
            first[name] += usize::from(cache.check_rejected[check] == 0);
        }
    }
    let mut all = Vec::new();
    for (name, mut shots) in shots.into_iter().enumerate() {
        let Some(shots) = sorted_figure(&mut shots, kind) else { continue };
        let (id, title) = names(&cache.checks, name);
        all.push(ViewFigures { id, title, accepted: shots.n, first_time: first[name], shots });
    }
    all
}

fn names(names: &super::names::Names, at: usize) -> (String, String) {
    let code = super::Code::try_from(at).unwrap_or(0);
    (names.name(code).to_owned(), names.title(code).to_owned())
}

/// Mean shots per place of a step in a case, if the case has it.
pub(super) fn shots_of_step(cache: &Cache, case: usize, step: u16) -> Option<f64> {
    let at = cache.places(case).filter(|place| cache.place_step[*place] == step);
    let (sum, places) = at.fold((0_u32, 0_u32), |(sum, n), place| (sum + cache.place_shots[place], n + 1));
    (places > 0).then(|| f64::from(sum) / f64::from(places))
}

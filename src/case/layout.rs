//! The places of a case: which steps happen where, in order, given sides, implants and answers.

use super::{Answer, Closed, Outcome, State};
use crate::dose::Moment;
use crate::pathway::{Check, Condition, Facts, Gate, OutcomeList, Pathway, Place, Scope, Step};
use crate::units::Side;

/// A step of the pathway or the short list of an outcome: what a place holds.
#[derive(Debug, Clone, Copy)]
pub struct StepRef<'a> {
    pub title: &'a str,
    pub hint: Option<&'a str>,
    pub checks: &'a [Check],
    pub gate: Option<&'a Gate>,
    /// When it is done, the console is read.
    pub reading: Option<Moment>,
    /// Position of its phase; `None` for the list of an outcome.
    pub phase: Option<usize>,
    /// Position of the step in the pathway; behind all of them for the list of an outcome.
    pub order: usize,
}

/// One place with its step.
#[derive(Debug, Clone)]
pub struct PlaceLayout<'a> {
    pub place: Place,
    pub step: StepRef<'a>,
}

/// Everything that decides which places and checks exist.
#[derive(Clone, Copy)]
pub(super) struct Layout<'a> {
    pub pathway: &'a Pathway,
    pub facts: &'a Facts,
    pub state: &'a State,
}

impl<'a> Layout<'a> {
    /// All places that apply, in the order of the pathway, sides and implants.
    pub fn places(self) -> Vec<PlaceLayout<'a>> {
        let mut places = Vec::new();
        for (order, (phase, step)) in self.phased_steps().enumerate() {
            for place in self.spread(step) {
                if self.applies(step.when.as_ref(), &place) {
                    places.push(PlaceLayout { place, step: step_ref(step, phase, order) });
                }
            }
        }
        places
    }

    fn phased_steps(self) -> impl Iterator<Item = (usize, &'a Step)> {
        let phases = self.pathway.phases.iter().enumerate();
        phases.flat_map(|(index, phase)| phase.steps.iter().map(move |step| (index, step)))
    }

    fn spread(self, step: &Step) -> Vec<Place> {
        match step.per {
            Scope::Case => vec![Place::of_case(&step.id)],
            Scope::Side => self.facts.sides.iter().map(|side| Place::of_side(&step.id, *side)).collect(),
            Scope::Implant => {
                self.implants().map(|(side, implant)| Place::of_implant(&step.id, side, implant)).collect()
            }
        }
    }

    fn implants(self) -> impl Iterator<Item = (Side, u8)> {
        self.facts.sides.iter().flat_map(move |side| {
            let count = self.state.implants.get(side).copied().unwrap_or(0);
            (1..=count).map(move |implant| (*side, implant))
        })
    }

    /// The step at a place that exists in this case, whether or not its condition holds now.
    pub fn step_at(self, place: &Place) -> Option<StepRef<'a>> {
        if let Some(list) = self.outcome_list(&place.step) {
            let of_case = place.side.is_none() && place.implant.is_none();
            return of_case.then(|| list_ref(list, self.pathway));
        }
        let found = self.phased_steps().enumerate().find(|(_, (_, step))| step.id == place.step);
        let (order, (phase, step)) = found?;
        self.spread(step).contains(place).then(|| step_ref(step, phase, order))
    }

    fn outcome_list(self, step: &str) -> Option<&'a OutcomeList> {
        let stops = &self.pathway.stops;
        [&stops.cancelled, &stops.abandoned, &stops.converted, &stops.void].into_iter().find(|list| list.step == step)
    }

    /// The place of an outcome's short list.
    pub fn list_of(self, outcome: Outcome) -> Option<PlaceLayout<'a>> {
        let stops = &self.pathway.stops;
        let list = match outcome {
            Outcome::Finished => return None,
            Outcome::Cancelled => &stops.cancelled,
            Outcome::Abandoned => &stops.abandoned,
            Outcome::Converted => &stops.converted,
            Outcome::Void => &stops.void,
        };
        Some(PlaceLayout { place: Place::of_case(&list.step), step: list_ref(list, self.pathway) })
    }

    /// Whether a condition holds at the place, by the plan and by the answers so far.
    pub fn applies(self, when: Option<&Condition>, place: &Place) -> bool {
        let Some(when) = when else { return true };
        when.holds_in_plan(self.facts, place.side)
            && when.answers.iter().all(|(check, option)| self.was_chosen(check, option, place))
    }

    fn was_chosen(self, check: &str, option: &str, place: &Place) -> bool {
        self.state.checks.iter().any(|((at, id), entry)| {
            let closed = entry.answer.as_ref().map(|answer| &answer.outcome);
            id == check
                && at.concerns(place)
                && matches!(closed, Some(Closed::Answered { answer: Answer::Chosen { option: chosen }, .. }) if chosen == option)
        })
    }
}

fn step_ref(step: &Step, phase: usize, order: usize) -> StepRef<'_> {
    StepRef {
        title: &step.title,
        hint: step.hint.as_deref(),
        checks: &step.checks,
        gate: step.gate.as_ref(),
        reading: step.reading,
        phase: Some(phase),
        order,
    }
}

fn list_ref<'a>(list: &'a OutcomeList, pathway: &Pathway) -> StepRef<'a> {
    let order = pathway.steps().count();
    StepRef { title: &list.title, hint: None, checks: &list.checks, gate: None, reading: None, phase: None, order }
}

//! The case as a whole: documents, facts and state.

use super::layout::Layout;
use super::{Did, Event, Issue, Outcome, PlaceLayout, Refused, ReplayError, State, StepRef, apply, decide};
use crate::pathway::{Check, Facts, Pathway, Place};
use crate::plan::Plan;
use std::sync::Arc;

/// One case: its pathway, its plan, and the state that its events fold to.
#[derive(Debug, Clone)]
pub struct Case {
    pathway: Arc<Pathway>,
    plan: Arc<Plan>,
    facts: Facts,
    state: State,
}

impl Case {
    /// Folds the events of one journal.
    ///
    /// # Errors
    /// [`ReplayError`] if they are not the history of a case on this pathway.
    pub fn replay<'e>(
        pathway: Arc<Pathway>,
        plan: Arc<Plan>,
        events: impl IntoIterator<Item = &'e Event>,
    ) -> Result<Self, ReplayError> {
        let mut events = events.into_iter();
        let mut case = Self::open(pathway, plan, events.next().ok_or(ReplayError::NotOpened)?)?;
        for event in events {
            case.apply(event)?;
        }
        Ok(case)
    }

    /// Begins with the event that opens the case.
    ///
    /// # Errors
    /// [`ReplayError::NotOpened`] if it is another event.
    pub fn open(pathway: Arc<Pathway>, plan: Arc<Plan>, event: &Event) -> Result<Self, ReplayError> {
        let facts = plan.facts();
        let state = apply::opened(&pathway, &plan, event)?;
        Ok(Self { pathway, plan, facts, state })
    }

    /// What a command would do now, as events to append in order; nothing changes yet.
    ///
    /// # Errors
    /// [`Refused`] names what stands in the way.
    pub fn decide(&self, issue: &Issue) -> Result<Vec<Did>, Refused> {
        decide::decide(self, issue)
    }

    /// Applies one event.
    ///
    /// # Errors
    /// [`ReplayError`] if it cannot follow the events before it; the state is then unchanged.
    pub fn apply(&mut self, event: &Event) -> Result<(), ReplayError> {
        apply::apply(self, event)
    }

    #[must_use]
    pub fn pathway(&self) -> &Arc<Pathway> {
        &self.pathway
    }

    #[must_use]
    pub fn plan(&self) -> &Arc<Plan> {
        &self.plan
    }

    #[must_use]
    pub fn facts(&self) -> &Facts {
        &self.facts
    }

    #[must_use]
    pub fn state(&self) -> &State {
        &self.state
    }

    pub(super) fn state_mut(&mut self) -> &mut State {
        &mut self.state
    }

    pub(super) fn layout(&self) -> Layout<'_> {
        Layout { pathway: &self.pathway, facts: &self.facts, state: &self.state }
    }

    /// All places that apply now, in order.
    #[must_use]
    pub fn places(&self) -> Vec<PlaceLayout<'_>> {
        self.layout().places()
    }

    /// The step at a place of this case.
    #[must_use]
    pub fn step_at(&self, place: &Place) -> Option<StepRef<'_>> {
        self.layout().step_at(place)
    }

    /// The short list of an outcome; `None` for a finished case.
    #[must_use]
    pub fn list_of(&self, outcome: Outcome) -> Option<PlaceLayout<'_>> {
        self.layout().list_of(outcome)
    }

    /// The checks that apply at a place now, in order.
    #[must_use]
    pub fn checks_at<'a>(&self, at: &PlaceLayout<'a>) -> Vec<&'a Check> {
        let layout = self.layout();
        at.step.checks.iter().filter(|check| layout.applies(check.when.as_ref(), &at.place)).collect()
    }
}

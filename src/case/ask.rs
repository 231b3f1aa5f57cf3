//! Questions a screen, a record or a decision asks of a case.

use super::{AnswerState, Case, Override, PlaceLayout, State, Status};
use crate::dose::Moment;
use crate::pathway::{Check, CheckId, CheckKind, Gate, Place};
use chrono::{DateTime, FixedOffset, TimeDelta};

impl Case {
    /// A check of the place, whether or not its condition holds now.
    #[must_use]
    pub fn check_at(&self, place: &Place, check: &str) -> Option<&Check> {
        self.step_at(place)?.checks.iter().find(|known| known.id == check)
    }

    /// A check of the place that applies now.
    #[must_use]
    pub fn applicable_check(&self, place: &Place, check: &str) -> Option<&Check> {
        self.check_at(place, check).filter(|check| self.layout().applies(check.when.as_ref(), place))
    }

    /// Checks of the place that apply and are not answered.
    #[must_use]
    pub fn open_checks<'a>(&self, at: &PlaceLayout<'a>) -> Vec<&'a Check> {
        let mut checks = self.checks_at(at);
        checks.retain(|check| self.state().answer(&at.place, &check.id).is_none());
        checks
    }

    /// The cautions of a check that hold at the place now.
    #[must_use]
    pub fn cautions<'a>(&self, place: &Place, check: &'a Check) -> Vec<&'a str> {
        let layout = self.layout();
        let holding = check.cautions.iter().filter(|caution| layout.applies(caution.when.as_ref(), place));
        holding.map(|caution| caution.text.as_str()).collect()
    }

    /// The gate that ends the step at a place.
    #[must_use]
    pub fn gate_at(&self, place: &Place) -> Option<&Gate> {
        self.step_at(place)?.gate
    }

    /// Whether the gate at a place is released by every role, or passed by spoken word.
    #[must_use]
    pub fn gate_passed(&self, place: &Place) -> bool {
        let (Some(gate), Some(state)) = (self.gate_at(place), self.state().gates.get(place)) else { return false };
        state.overridden.is_some()
            || gate.release.iter().all(|role| state.released.iter().any(|(released, ..)| released == role))
    }

    /// The first unpassed gate before a place, within its side and implant.
    #[must_use]
    pub fn gate_in_the_way(&self, place: &Place) -> Option<PlaceLayout<'_>> {
        let order = self.step_at(place)?.order;
        self.places()
            .into_iter()
            .take_while(|at| at.step.order < order)
            .find(|at| at.step.gate.is_some() && at.place.concerns(place) && !self.gate_passed(&at.place))
    }

    /// The first unanswered check up to and including a place, within its side and implant, that no spoken word excuses.
    #[must_use]
    pub fn first_open_before(&self, place: &Place) -> Option<(Place, CheckId)> {
        let order = self.step_at(place)?.order;
        let before = self.places().into_iter().take_while(|at| at.step.order <= order);
        before.filter(|at| at.place.concerns(place) && !self.excused_by_word(at)).find_map(|at| {
            let check = self.open_checks(&at).first().map(|check| check.id.clone())?;
            Some((at.place, check))
        })
    }

    /// Whether the gate that guards a place was passed by spoken word, its open checks with it.
    #[must_use]
    pub fn excused_by_word(&self, at: &PlaceLayout<'_>) -> bool {
        let guard = self.places().into_iter().find(|later| {
            later.step.order >= at.step.order && later.step.gate.is_some() && later.place.concerns(&at.place)
        });
        let state = guard.and_then(|guard| self.state().gates.get(&guard.place));
        state.is_some_and(|gate| gate.overridden.is_some())
    }

    /// The numbers of the earlier count that this one must equal.
    #[must_use]
    pub fn earlier_count(&self, place: &Place, check: &str) -> Option<&Vec<u32>> {
        let CheckKind::Count { same_as: Some(earlier), .. } = &self.check_at(place, check)?.ask else { return None };
        self.state().checks.iter().find_map(|((at, id), entry)| {
            let fits = id == earlier && at.concerns(place);
            match fits.then_some(entry.answer.as_ref()?.answer()?)? {
                super::Answer::Counted { numbers, .. } => Some(numbers),
                _ => None,
            }
        })
    }

    /// Wall clock of the opening, as far as the last event tells.
    #[must_use]
    pub fn opened_at(&self) -> Option<DateTime<FixedOffset>> {
        self.state().opened_at
    }

    /// Wall clock of a time since opening, by the clock at opening.
    #[must_use]
    pub fn wall_clock(&self, elapsed: super::Elapsed) -> Option<DateTime<FixedOffset>> {
        let ms = i64::try_from(elapsed.ms).ok()?;
        self.opened_at()?.checked_add_signed(TimeDelta::milliseconds(ms))
    }

    /// The moment for which the console of the case's machine is to be read next: the latest whose steps are done and
    /// that was not read yet. It is a suggestion; nothing waits for it.
    #[must_use]
    pub fn reading_due(&self) -> Option<Moment> {
        let machine = self.state().c_arm.as_deref().unwrap_or(super::UNNAMED_MACHINE);
        let places = self.places();
        let due = |moment: &Moment| {
            let mut of_moment = places.iter().filter(|at| at.step.reading == Some(*moment)).peekable();
            let asked = of_moment.peek().is_some();
            asked && of_moment.all(|at| self.open_checks(at).is_empty() && self.state().entered.contains_key(&at.place))
        };
        let latest = Moment::ALL.into_iter().rev().find(due)?;
        let read_later = |moment: Moment| moment >= latest && self.state().radiation.is_read(machine, moment);
        (!Moment::ALL.into_iter().any(read_later)).then_some(latest)
    }

    /// The place after this one that the team turns to next: the first with something open, going on from here.
    #[must_use]
    pub fn next_place(&self) -> Option<Place> {
        let places = self.places();
        let here = places.iter().position(|at| at.place == self.state().here);
        let start = here.map_or(0, |here| here + 1);
        let unfinished = |at: &&PlaceLayout<'_>| {
            !self.open_checks(at).is_empty() || (at.step.gate.is_some() && !self.gate_passed(&at.place))
        };
        let later = places[start.min(places.len())..].iter().find(unfinished);
        later.or_else(|| places[..start.min(places.len())].iter().find(unfinished)).map(|at| at.place.clone())
    }
}

impl State {
    /// The answer of a check at a place, `None` while it is open.
    #[must_use]
    pub fn answer(&self, place: &Place, check: &str) -> Option<&AnswerState> {
        self.checks.get(&(place.clone(), check.to_owned()))?.answer.as_ref()
    }

    /// Every gate passed by spoken word, in place order, those of gates closed again included.
    pub fn overrides(&self) -> impl Iterator<Item = (&Place, &Override)> {
        self.gates.iter().flat_map(|(place, gate)| {
            gate.earlier_overrides.iter().chain(gate.overridden.as_ref()).map(move |passed| (place, passed))
        })
    }
}

impl AnswerState {
    /// The answer, if it was not "not done".
    #[must_use]
    pub fn answer(&self) -> Option<&super::Answer> {
        match &self.outcome {
            super::Closed::Answered { answer, .. } => Some(answer),
            super::Closed::NotDone { .. } => None,
        }
    }
}

impl Status {
    /// The word for messages.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Running => "running",
            Self::Paused => "paused",
            Self::Stopped => "stopped",
            Self::Ending(_) => "ending",
            Self::Closed(_) => "closed",
        }
    }
}

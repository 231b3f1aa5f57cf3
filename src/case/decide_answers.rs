//! Deciding what concerns checks and gates.

use super::decide::{gates_hold, holds, reason};
use super::{Answer, Case, Did, Issue, RangeVerdict, Refused, Status};
use crate::pathway::{Check, CheckId, CheckKind, Place};
use crate::people::Role;
use chrono::{DateTime, FixedOffset};

type Decided = Result<Vec<Did>, Refused>;

/// The check at the place, if it is part of the case and nothing holds it back.
fn reachable<'a>(case: &'a Case, place: &Place, check: &CheckId) -> Result<&'a Check, Refused> {
    case.step_at(place).ok_or_else(|| Refused::NoSuchPlace(place.clone()))?;
    let missing = || Refused::NoSuchCheck { place: place.clone(), check: check.clone() };
    let found = case.applicable_check(place, check).ok_or_else(missing)?;
    let status = case.state().status;
    if status == Status::Paused {
        return Err(Refused::WrongStatus { now: "paused", needed: "running" });
    }
    if gates_hold(status)
        && let Some(gate) = case.gate_in_the_way(place)
    {
        let title = gate.step.gate.map(|gate| gate.title.clone()).unwrap_or_default();
        return Err(Refused::GateClosed { place: gate.place, gate: title });
    }
    Ok(found)
}

fn still_open(case: &Case, place: &Place, check: &CheckId) -> Result<(), Refused> {
    let answered = case.state().answer(place, check).is_some();
    let (place, check) = (place.clone(), check.clone());
    if answered { Err(Refused::AnsweredAlready { place, check }) } else { Ok(()) }
}

pub(super) fn answer(
    case: &Case,
    issue: &Issue,
    place: &Place,
    check: &CheckId,
    answer: &Answer,
    done_at: Option<DateTime<FixedOffset>>,
) -> Decided {
    let found = reachable(case, place, check)?;
    still_open(case, place, check)?;
    if !found.by.is_empty() && !found.by.contains(&issue.by.role) {
        return Err(Refused::WrongRole { wanted: found.by.clone() });
    }
    if done_at
        .is_some_and(|done_at| done_at > issue.stamp.at || case.opened_at().is_some_and(|opened| done_at < opened))
    {
        return Err(Refused::TimeOutsideCase);
    }
    let answer = judged(case, issue, found, answer)?;
    Ok(vec![Did::CheckAnswered { place: place.clone(), check: check.clone(), answer, done_at }])
}

/// The answer, if it fits the check; a measure's verdict is computed here and never taken from outside.
fn judged(case: &Case, issue: &Issue, check: &Check, answer: &Answer) -> Result<Answer, Refused> {
    match (&check.ask, answer) {
        (CheckKind::Confirm, Answer::Confirmed)
        | (CheckKind::Pin { .. }, Answer::PinAccepted)
        | (CheckKind::Timer { .. }, Answer::TimerStarted { .. }) => Ok(answer.clone()),
        (CheckKind::View { .. }, Answer::ViewAccepted { floor_mark, .. }) => {
            floor_mark.as_deref().map(reason).transpose()?;
            Ok(answer.clone())
        }
        (CheckKind::Choice { options }, Answer::Chosen { option }) => {
            let known = options.iter().any(|known| known.id == *option);
            let missing = Refused::NoSuchOption { check: check.id.clone(), option: option.clone() };
            known.then(|| answer.clone()).ok_or(missing)
        }
        (CheckKind::Measure { .. }, Answer::Measured { value, unit, .. }) => measured(check, *value, *unit),
        (CheckKind::Count { items, .. }, Answer::Counted { numbers, second }) => {
            let (wanted, found) = (items.len(), numbers.len());
            if wanted != found {
                return Err(Refused::WrongCount { check: check.id.clone(), wanted, found });
            }
            holds(case, second)?;
            let two = second.person != issue.by.person;
            two.then(|| answer.clone()).ok_or(Refused::SamePerson { check: check.id.clone() })
        }
        (CheckKind::Scan { .. }, Answer::Scanned { text }) => Ok(Answer::Scanned { text: reason(text)? }),
        (CheckKind::Note, Answer::Noted { text }) => Ok(Answer::Noted { text: reason(text)? }),
        (kind, _) => Err(Refused::WrongKind { check: check.id.clone(), wanted: kind.word() }),
    }
}

fn measured(check: &Check, value: f64, unit: crate::units::Unit) -> Result<Answer, Refused> {
    let CheckKind::Measure { unit: wanted, expected, limits } = &check.ask else {
        return Err(Refused::WrongKind { check: check.id.clone(), wanted: check.ask.word() });
    };
    if let Some(read) = super::radiation::measured(check, value, unit) {
        return read;
    }
    if unit != *wanted {
        return Err(Refused::WrongKind { check: check.id.clone(), wanted: wanted.symbol() });
    }
    if !limits.contains(value) {
        let (from, to) = (limits.from, limits.to);
        return Err(Refused::OutsideLimits { check: check.id.clone(), value, unit, from, to });
    }
    let range = if expected.contains(value) { RangeVerdict::Expected } else { RangeVerdict::Unusual };
    Ok(Answer::Measured { value, unit, range })
}

pub(super) fn not_done(case: &Case, place: &Place, check: &CheckId, why: &str) -> Decided {
    reachable(case, place, check)?;
    still_open(case, place, check)?;
    Ok(vec![Did::CheckNotDone { place: place.clone(), check: check.clone(), reason: reason(why)? }])
}

pub(super) fn reopen(case: &Case, place: &Place, check: &CheckId, why: &str) -> Decided {
    reachable_for_reopening(case, place, check)?;
    Ok(vec![Did::CheckReopened { place: place.clone(), check: check.clone(), reason: reason(why)? }])
}

fn reachable_for_reopening(case: &Case, place: &Place, check: &CheckId) -> Result<(), Refused> {
    case.step_at(place).ok_or_else(|| Refused::NoSuchPlace(place.clone()))?;
    let (place_of, check_of) = (place.clone(), check.clone());
    if case.check_at(place, check).is_none() {
        return Err(Refused::NoSuchCheck { place: place_of, check: check_of });
    }
    if case.state().answer(place, check).is_none() {
        return Err(Refused::NotAnswered { place: place_of, check: check_of });
    }
    Ok(())
}

/// `view`: a view was rejected; otherwise a pin position.
pub(super) fn reject(case: &Case, place: &Place, check: &CheckId, failed: &[u8], view: bool) -> Decided {
    let found = reachable(case, place, check)?;
    still_open(case, place, check)?;
    let criteria = match (&found.ask, view) {
        (CheckKind::View { criteria, .. }, true) | (CheckKind::Pin { criteria, .. }, false) => criteria.len(),
        (kind, _) => return Err(Refused::WrongKind { check: check.clone(), wanted: kind.word() }),
    };
    if let Some(named) = failed.iter().find(|named| usize::from(**named) >= criteria) {
        return Err(Refused::NoSuchCriterion { check: check.clone(), criteria, named: *named });
    }
    let (place, check, failed) = (place.clone(), check.clone(), failed.to_vec());
    Ok(vec![if view { Did::ViewRejected { place, check, failed } } else { Did::PinRejected { place, check, failed } }])
}

pub(super) fn release(case: &Case, issue: &Issue, place: &Place, role: Role) -> Decided {
    let gate = case.gate_at(place).ok_or_else(|| Refused::NoGate { place: place.clone() })?;
    let wanted = gate.release.clone();
    if issue.by.role != role || !wanted.contains(&role) {
        return Err(Refused::WrongRole { wanted });
    }
    let state = case.state().gates.get(place);
    let done = state.is_some_and(|gate| gate.overridden.is_some() || gate.released.iter().any(|(by, ..)| *by == role));
    if done {
        return Err(Refused::GateOpenAlready { place: place.clone() });
    }
    if let Some(gate) = case.gate_in_the_way(place) {
        let title = gate.step.gate.map(|gate| gate.title.clone()).unwrap_or_default();
        return Err(Refused::GateClosed { place: gate.place, gate: title });
    }
    if let Some((place, check)) = case.first_open_before(place) {
        return Err(Refused::CheckOpen { place, check });
    }
    Ok(vec![Did::GateReleased { place: place.clone(), role }])
}

pub(super) fn pass_by_word(case: &Case, issue: &Issue, place: &Place, why: &str) -> Decided {
    case.gate_at(place).ok_or_else(|| Refused::NoGate { place: place.clone() })?;
    if issue.by.role != Role::Surgeon {
        return Err(Refused::OverrideNotBySurgeon);
    }
    if case.gate_passed(place) {
        return Err(Refused::GateOpenAlready { place: place.clone() });
    }
    Ok(vec![Did::GateOverridden { place: place.clone(), reason: reason(why)? }])
}

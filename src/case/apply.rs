//! Applying an event: the fold. It records what happened and judges nothing; deciding comes before.

use super::apply_answers as answers;
use super::radiation;
use super::{
    Case, CaseKind, Correction, Did, Elapsed, Event, Found, Moved, Opening, Outcome, Remark, ReplayError, Shot, State,
    Status, Timeline,
};
use crate::pathway::{CheckId, Pathway, Place};
use crate::people::Actor;
use crate::plan::Plan;
use std::collections::BTreeMap;

/// A span without an event is a gap from here on, milliseconds. Common practice, no source: no step of a case takes an
/// hour without a touch or a shot.
const GAP_MS: u64 = 3_600_000;

/// The state after the first event.
pub(super) fn opened(pathway: &Pathway, plan: &Plan, event: &Event) -> Result<State, ReplayError> {
    let Did::CaseOpened(opening) = &event.did else { return Err(ReplayError::NotOpened) };
    if event.seq != 1 {
        return Err(ReplayError::OutOfOrder { seq: event.seq, expected: 1 });
    }
    if opening.pathway != pathway.id || opening.pathway_version != pathway.version {
        return Err(ReplayError::WrongDocument { what: "the pathway" });
    }
    if opening.kind == CaseKind::Live && opening.exercise.is_some() {
        return Err(ReplayError::ExerciseInLive);
    }
    let first = pathway.steps().next().ok_or(ReplayError::WrongDocument { what: "the pathway" })?.1;
    let mut state = fresh((**opening).clone(), plan, Place::of_case(&first.id));
    let now = state.timeline.advance(&event.stamp);
    state.entered.insert(state.here.clone(), now);
    state.seq = 1;
    state.opened_at = Some(event.stamp.at);
    state.c_arm.clone_from(&plan.c_arm);
    state.took_part.extend([event.by.clone(), event.logged_by.clone()]);
    Ok(state)
}

fn fresh(opening: Opening, plan: &Plan, here: Place) -> State {
    let implants = plan.sides.iter().map(|side| {
        let planned = u8::try_from(side.implants.len()).expect("a plan holds at most six implants a side");
        (side.side, planned)
    });
    State {
        status: Status::Running,
        stopped_from: None,
        stopped_at: None,
        here,
        left: BTreeMap::new(),
        entered: BTreeMap::new(),
        stay_ms: BTreeMap::new(),
        since_here: Elapsed::default(),
        checks: BTreeMap::new(),
        gates: BTreeMap::new(),
        view_findings: Vec::new(),
        pin_findings: Vec::new(),
        re_aims: Vec::new(),
        moves: Vec::new(),
        implants: implants.collect(),
        team: opening.team.clone(),
        took_part: opening.team.iter().map(|(role, person)| Actor::new(*role, person.clone())).collect(),
        c_arm: None,
        c_arm_swaps: 0,
        shots: Vec::new(),
        shots_here: BTreeMap::new(),
        run_seconds: 0.0,
        radiation: super::Radiation::default(),
        corrections: Vec::new(),
        shots_moved: Vec::new(),
        remarks: Vec::new(),
        stops: Vec::new(),
        pauses: Vec::new(),
        incision: None,
        closure: None,
        returns: 0,
        clock_jumps_ms: Vec::new(),
        signed: BTreeMap::new(),
        opened_at: None,
        timeline: Timeline::default(),
        gaps: Vec::new(),
        recent_answers: Vec::new(),
        seq: 0,
        closed_seq: None,
        opening,
    }
}

/// Applies one event behind the first.
pub(super) fn apply(case: &mut Case, event: &Event) -> Result<(), ReplayError> {
    let expected = case.state().seq + 1;
    if event.seq != expected {
        return Err(ReplayError::OutOfOrder { seq: event.seq, expected });
    }
    check_names(case, event)?;
    let rearmed = answers::gate_guarding(case, &event.did);
    let flags = answers::flags(case, event);
    let marks = answers::mark(case, &event.did);
    let answered = radiation::answered(case, &event.did);
    let state = case.state_mut();
    let before = state.timeline.elapsed();
    let now = state.timeline.advance(&event.stamp);
    if now.ms.saturating_sub(before.ms) >= GAP_MS {
        state.gaps.push((before.ms, now.ms));
    }
    state.seq = event.seq;
    state.took_part.extend([event.by.clone(), event.logged_by.clone()]);
    if let Some(gate) = rearmed {
        answers::close_again(state, &gate);
    }
    answers::apply(state, event, now, flags, marks);
    radiation::apply(state, event, now, answered);
    apply_rest(state, event, now);
    Ok(())
}

/// Refuses an event that names what this case does not have.
fn check_names(case: &Case, event: &Event) -> Result<(), ReplayError> {
    let seq = event.seq;
    if let Did::CaseOpened(opening) = &event.did {
        let continues = opening.continues.as_ref().is_some_and(|continues| continues.seq + 1 == seq);
        return if continues { Ok(()) } else { Err(ReplayError::OpenedTwice { seq }) };
    }
    let Some(place) = event.did.place() else { return Ok(()) };
    let step = case.step_at(place).ok_or_else(|| ReplayError::UnknownStep { seq, step: place.step.clone() })?;
    match event.did.check() {
        Some(check) if !step.checks.iter().any(|known| known.id == *check) => {
            Err(ReplayError::UnknownCheck { seq, place: place.clone(), check: check.clone() })
        }
        _ => Ok(()),
    }
}

fn apply_rest(state: &mut State, event: &Event, now: Elapsed) {
    let seq = event.seq;
    match &event.did {
        Did::StepEntered { place } => enter(state, place, now),
        Did::ShotsCounted { place, shots } => count(state, seq, now, place, *shots, None),
        Did::RunLogged { place, seconds } => count(state, seq, now, place, 1, Some(*seconds)),
        Did::ShotsCorrected { place, from, to, reason } => {
            state.shots_here.insert(place.clone(), *to);
            let (place, reason) = (place.clone(), reason.clone());
            state.corrections.push(Correction { seq, at: now, place, from: *from, to: *to, reason });
        }
        Did::ShotsMoved { from_case, to_case, shots } => move_shots(state, from_case, to_case, *shots),
        Did::ViewCorrected { place, check, finding } => {
            state.view_findings.push(found(event, now, place, check, (**finding).clone()));
        }
        Did::PinFound { place, check, finding, decided } => {
            state.pin_findings.push(found(event, now, place, check, ((**finding).clone(), *decided)));
        }
        Did::PlanReAimed { place, check, re_aim } => {
            state.re_aims.push(found(event, now, place, check, (**re_aim).clone()));
        }
        Did::PatientMoved { place } => {
            let (by, logged_by) = (event.by.clone(), event.logged_by.clone());
            state.moves.push(Moved { seq, at: now, place: place.clone(), by, logged_by });
        }
        Did::NoteWritten { place, text } => remark(state, event, now, place, text, false),
        Did::DeviationNoted { place, text } => remark(state, event, now, place, text, true),
        Did::RoleHandedOver { role, to } => {
            state.team.insert(*role, to.clone());
            state.took_part.insert(Actor::new(*role, to.clone()));
        }
        Did::CArmSwapped { to } => {
            state.c_arm = Some(to.clone());
            state.c_arm_swaps += 1;
        }
        Did::ImplantAdded { side, implant } => {
            state.implants.insert(*side, *implant);
        }
        Did::CaseReturned { .. } => state.returns += 1,
        Did::ClockJumped { by_ms } => state.clock_jumps_ms.push(*by_ms),
        Did::RecordSigned { role, .. } => {
            state.signed.insert(*role, event.by.clone());
        }
        other => change_status(state, seq, now, other),
    }
}

fn change_status(state: &mut State, seq: u64, now: Elapsed, did: &Did) {
    match did {
        Did::Paused { reason } => {
            state.status = Status::Paused;
            state.pauses.push((seq, now, reason.clone()));
        }
        Did::Resumed => state.status = Status::Running,
        Did::Stopped { reason } => {
            state.stopped_from = Some(state.status);
            state.stopped_at = Some(state.here.clone());
            state.status = Status::Stopped;
            state.stops.push((seq, now, reason.clone()));
        }
        Did::StopWithdrawn => {
            state.status = state.stopped_from.take().unwrap_or(Status::Running);
        }
        Did::OutcomeChosen { outcome } => state.status = Status::Ending(*outcome),
        Did::CaseClosed { outcome } => close(state, seq, now, *outcome),
        _ => {}
    }
}

fn close(state: &mut State, seq: u64, now: Elapsed, outcome: Outcome) {
    leave(state, now);
    state.status = Status::Closed(outcome);
    state.closed_seq = Some(seq);
}

fn enter(state: &mut State, place: &Place, now: Elapsed) {
    leave(state, now);
    state.here = place.clone();
    state.since_here = now;
    state.entered.entry(place.clone()).or_insert(now);
}

fn leave(state: &mut State, now: Elapsed) {
    let stayed_ms = now.ms.saturating_sub(state.since_here.ms);
    *state.stay_ms.entry(state.here.clone()).or_insert(0) += stayed_ms;
    state.left.insert(state.here.clone(), now);
    state.since_here = now;
}

fn count(state: &mut State, seq: u64, at: Elapsed, place: &Place, shots: u32, seconds: Option<f64>) {
    *state.shots_here.entry(place.clone()).or_insert(0) += shots;
    state.run_seconds += seconds.unwrap_or(0.0);
    state.shots.push(Shot { seq, at, place: place.clone(), shots, seconds });
}

fn move_shots(state: &mut State, from_case: &str, to_case: &str, shots: u32) {
    let (other, signed) =
        if from_case == state.opening.case { (to_case, -i64::from(shots)) } else { (from_case, i64::from(shots)) };
    state.shots_moved.push((other.to_owned(), signed));
}

fn found<T>(event: &Event, at: Elapsed, place: &Place, check: &CheckId, finding: T) -> Found<T> {
    let (by, logged_by) = (event.by.clone(), event.logged_by.clone());
    Found { seq: event.seq, at, place: place.clone(), check: check.clone(), by, logged_by, finding }
}

fn remark(state: &mut State, event: &Event, at: Elapsed, place: &Place, text: &str, deviation: bool) {
    let (by, place, text) = (event.by.clone(), place.clone(), text.to_owned());
    state.remarks.push(Remark { seq: event.seq, at, place, by, text, deviation });
}

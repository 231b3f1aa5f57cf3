//! Deciding pause, Stop, the ways a case ends, and signatures.

use super::decide::reason;
use super::{Case, Command, Did, Issue, Outcome, Refused, Status};
use crate::people::Role;

type Decided = Result<Vec<Did>, Refused>;

pub(super) fn not_closed(case: &Case) -> Result<(), Refused> {
    match case.state().status {
        Status::Closed(_) => Err(Refused::WrongStatus { now: "closed", needed: "open" }),
        _ => Ok(()),
    }
}

pub(super) fn decide(case: &Case, command: &Command) -> Decided {
    let status = case.state().status;
    let wrong = |needed| Err(Refused::WrongStatus { now: status.word(), needed });
    match (command, status) {
        (Command::Pause { reason: why }, Status::Running) => Ok(vec![Did::Paused { reason: reason(why)? }]),
        (Command::Resume, Status::Paused) => Ok(vec![Did::Resumed]),
        (Command::Resume, _) => wrong("paused"),
        (Command::Stop { reason: why }, Status::Running | Status::Paused) => {
            Ok(vec![Did::Stopped { reason: why.trim().chars().take(super::decide::TEXT_MAX).collect() }])
        }
        (Command::WithdrawStop, Status::Stopped | Status::Ending(_)) => Ok(go_on(case)),
        (Command::ChooseOutcome { outcome }, Status::Stopped | Status::Ending(_)) => choose(case, *outcome),
        (Command::WithdrawStop | Command::ChooseOutcome { .. }, _) => wrong("stopped"),
        (Command::Close, Status::Ending(outcome)) => close(case, outcome),
        (Command::Close, _) => wrong("stopped with an outcome chosen"),
        (Command::Finish, Status::Running) => finish(case),
        (Command::Pause { .. } | Command::Stop { .. } | Command::Finish, _) => wrong("running"),
        _ => Ok(Vec::new()),
    }
}

/// The case goes on where Stop was touched, even if the list of an outcome was begun.
fn go_on(case: &Case) -> Vec<Did> {
    let state = case.state();
    let back = state.stopped_at.clone().filter(|place| *place != state.here);
    std::iter::once(Did::StopWithdrawn).chain(back.map(|place| Did::StepEntered { place })).collect()
}

fn choose(case: &Case, outcome: Outcome) -> Decided {
    let Some(list) = case.list_of(outcome) else {
        return Err(Refused::WrongStatus { now: case.state().status.word(), needed: "running, to be finished" });
    };
    Ok(vec![Did::OutcomeChosen { outcome }, Did::StepEntered { place: list.place }])
}

fn close(case: &Case, outcome: Outcome) -> Decided {
    let list = case.list_of(outcome).expect("a case only ends with an outcome that has a list");
    if let Some(check) = case.open_checks(&list).first() {
        return Err(Refused::CheckOpen { place: list.place, check: check.id.clone() });
    }
    Ok(vec![Did::CaseClosed { outcome }])
}

/// Every gate passed; a check still open behind none of them must be answered too.
fn finish(case: &Case) -> Decided {
    for at in case.places() {
        if at.step.gate.is_some() && !case.gate_passed(&at.place) {
            let gate = at.step.gate.map(|gate| gate.title.clone()).unwrap_or_default();
            return Err(Refused::GateClosed { place: at.place, gate });
        }
        let excused = case.excused_by_word(&at);
        if let (Some(check), false) = (case.open_checks(&at).first(), excused) {
            return Err(Refused::CheckOpen { place: at.place.clone(), check: check.id.clone() });
        }
    }
    Ok(vec![Did::CaseClosed { outcome: Outcome::Finished }])
}

pub(super) fn may_sign(case: &Case, issue: &Issue, role: Role, overrides_confirmed: u32) -> Result<(), Refused> {
    let status = case.state().status;
    if !matches!(status, Status::Closed(_)) {
        return Err(Refused::WrongStatus { now: status.word(), needed: "closed" });
    }
    if issue.by.role != role || !case.pathway().signers.contains(&role) {
        return Err(Refused::WrongRole { wanted: case.pathway().signers.clone() });
    }
    if case.state().signed.contains_key(&role) {
        return Err(Refused::SignedAlready(role));
    }
    let gates = u32::try_from(case.state().overrides().count()).unwrap_or(u32::MAX);
    if role == Role::Surgeon && overrides_confirmed != gates {
        return Err(Refused::OverridesNotConfirmed { confirmed: overrides_confirmed, gates });
    }
    Ok(())
}

//! Deciding a command: what it would make happen, or what stands in its way.
//!
//! Invariant: no answer passes an unreleased gate while the case runs; Stop suspends gates and nothing else.

use super::decide_answers as answers;
use super::decide_ending as ending;
use super::decide_findings as findings;
use super::{Case, Command, Did, Issue, Refused, Status};
use crate::pathway::Place;
use crate::people::{Actor, PersonId, Role};

/// Longest reason, note or label, characters.
pub(super) const TEXT_MAX: usize = 400;
/// Most irradiation events entered at once: a read-out is +5, a whole count is a correction.
const SHOTS_MAX: u32 = 100;
/// Most shots a place may be corrected to.
const CORRECTED_MAX: u32 = 10_000;
/// Longest run, seconds. Common practice, no source: an hour is implausible for one actuation.
pub(super) const RUN_MAX_S: f64 = 3_600.0;
/// Most implants on a side.
const IMPLANTS_MAX: u8 = 6;

pub(super) fn decide(case: &Case, issue: &Issue) -> Result<Vec<Did>, Refused> {
    team(case, issue)?;
    match &issue.command {
        Command::Sign { role, payload, overrides_confirmed, key } => {
            ending::may_sign(case, issue, *role, *overrides_confirmed)?;
            let (role, payload, key) = (*role, payload.clone(), key.clone());
            Ok(vec![Did::RecordSigned { role, payload, overrides_confirmed: *overrides_confirmed, key }])
        }
        Command::Return { side_confirmed } => Ok(vec![Did::CaseReturned { side_confirmed: *side_confirmed }]),
        Command::NoteClockJump { by_ms } => Ok(vec![Did::ClockJumped { by_ms: *by_ms }]),
        Command::Radiation(command) => super::radiation::decide(case, issue, command),
        command => {
            ending::not_closed(case)?;
            open(case, issue, command)
        }
    }
}

/// Both who acted and who touched hold the role they name.
fn team(case: &Case, issue: &Issue) -> Result<(), Refused> {
    for actor in [&issue.by, &issue.logged_by] {
        holds(case, actor)?;
    }
    Ok(())
}

pub(super) fn holds(case: &Case, actor: &Actor) -> Result<(), Refused> {
    let held = case.state().team.get(&actor.role) == Some(&actor.person);
    held.then_some(()).ok_or(Refused::NotInTeam(actor.role))
}

fn open(case: &Case, issue: &Issue, command: &Command) -> Result<Vec<Did>, Refused> {
    match command {
        Command::EnterStep { place } => enter(case, place),
        Command::Answer { place, check, answer } => answers::answer(case, issue, place, check, answer, None),
        Command::AnswerLate { place, check, answer, done_at } => {
            answers::answer(case, issue, place, check, answer, Some(*done_at))
        }
        Command::NotDone { place, check, reason } => answers::not_done(case, place, check, reason),
        Command::Reopen { place, check, reason } => answers::reopen(case, place, check, reason),
        Command::RejectView { place, check, failed } => answers::reject(case, place, check, failed, true),
        Command::RejectPin { place, check, failed } => answers::reject(case, place, check, failed, false),
        Command::CorrectView { place, check, finding } => findings::correct_view(case, place, check, finding),
        Command::FindPin { place, check, finding, decided } => {
            findings::find_pin(case, place, check, finding, *decided)
        }
        Command::ReAim { place, check, re_aim } => findings::re_aim(case, place, check, re_aim),
        Command::ReleaseGate { place, role } => answers::release(case, issue, place, *role),
        Command::OverrideGate { place, reason } => answers::pass_by_word(case, issue, place, reason),
        Command::Pause { .. }
        | Command::Resume
        | Command::Stop { .. }
        | Command::WithdrawStop
        | Command::ChooseOutcome { .. }
        | Command::Close
        | Command::Finish => ending::decide(case, command),
        other => count_and_tell(case, other),
    }
}

fn enter(case: &Case, place: &Place) -> Result<Vec<Did>, Refused> {
    case.step_at(place).ok_or_else(|| Refused::NoSuchPlace(place.clone()))?;
    if case.state().here == *place {
        return Ok(Vec::new());
    }
    Ok(vec![Did::StepEntered { place: place.clone() }])
}

fn count_and_tell(case: &Case, command: &Command) -> Result<Vec<Did>, Refused> {
    let place = case.state().here.clone();
    let did = match command {
        Command::CountShots { shots } => {
            within("the number of shots", f64::from(*shots), 1.0, f64::from(SHOTS_MAX))?;
            Did::ShotsCounted { place, shots: *shots }
        }
        Command::LogRun { seconds } => {
            within("the length of a run in seconds", *seconds, 0.1, RUN_MAX_S)?;
            Did::RunLogged { place, seconds: *seconds }
        }
        Command::CorrectShots { place, to, reason } => return correct(case, place, *to, reason),
        Command::MoveShots { from_case, to_case, shots } => return move_shots(case, from_case, to_case, *shots),
        Command::WriteNote { text } => Did::NoteWritten { place, text: reason(text)? },
        Command::NoteDeviation { text } => Did::DeviationNoted { place, text: reason(text)? },
        Command::HandOver { role, to } => return hand_over(case, *role, to),
        Command::NoteMove => Did::PatientMoved { place },
        Command::SwapCArm { to } => Did::CArmSwapped { to: reason(to)? },
        Command::AddImplant { side } => return add_implant(case, *side),
        _ => return Ok(Vec::new()),
    };
    Ok(vec![did])
}

fn correct(case: &Case, place: &Place, to: u32, why: &str) -> Result<Vec<Did>, Refused> {
    case.step_at(place).ok_or_else(|| Refused::NoSuchPlace(place.clone()))?;
    within("the number of shots", f64::from(to), 0.0, f64::from(CORRECTED_MAX))?;
    let from = case.state().shots_at(place);
    if from == to {
        return Err(Refused::SameNumber { is: from });
    }
    Ok(vec![Did::ShotsCorrected { place: place.clone(), from, to, reason: reason(why)? }])
}

fn move_shots(case: &Case, from_case: &str, to_case: &str, shots: u32) -> Result<Vec<Did>, Refused> {
    let this = case.state().opening.case.as_str();
    if (from_case == this) == (to_case == this) {
        return Err(Refused::NotThisCase);
    }
    within("the number of shots", f64::from(shots), 1.0, f64::from(CORRECTED_MAX))?;
    let (from_case, to_case) = (from_case.to_owned(), to_case.to_owned());
    Ok(vec![Did::ShotsMoved { from_case, to_case, shots }])
}

fn hand_over(case: &Case, role: Role, to: &PersonId) -> Result<Vec<Did>, Refused> {
    if case.state().team.get(&role) == Some(to) {
        return Ok(Vec::new());
    }
    if to.0.is_empty() {
        return Err(Refused::NotInTeam(role));
    }
    Ok(vec![Did::RoleHandedOver { role, to: to.clone() }])
}

fn add_implant(case: &Case, side: crate::units::Side) -> Result<Vec<Did>, Refused> {
    let placed = *case.state().implants.get(&side).ok_or(Refused::NotOperated(side))?;
    if placed >= IMPLANTS_MAX {
        return Err(Refused::TooManyImplants { max: IMPLANTS_MAX });
    }
    Ok(vec![Did::ImplantAdded { side, implant: placed + 1 }])
}

/// A reason, note or label: something, and not a book.
pub(super) fn reason(text: &str) -> Result<String, Refused> {
    let text = text.trim();
    let fits = !text.is_empty() && text.chars().count() <= TEXT_MAX;
    fits.then(|| text.to_owned()).ok_or(Refused::ReasonNeeded { max: TEXT_MAX })
}

pub(super) fn within(what: &'static str, value: f64, from: f64, to: f64) -> Result<(), Refused> {
    (from..=to).contains(&value).then_some(()).ok_or(Refused::OutOfRange { what, from, to })
}

/// Whether gates hold answers back now.
pub(super) fn gates_hold(status: Status) -> bool {
    matches!(status, Status::Running | Status::Paused)
}

//! Deciding what was found on pictures. No gate and no pause holds a finding back: it is told, and it answers nothing.

use super::decide::within;
use super::{Case, Did, PinDecision, Refused};
use crate::carm::correction::ViewFinding;
use crate::carm::{ReAim, TURN_MAX_DEG, ViewName};
use crate::pathway::{Check, CheckId, CheckKind, Place};
use crate::pin::Finding;
use serde::Serialize;
use serde_json::Value;

/// No length of a finding is longer than this, mm, and no angle or share larger.
const NUMBER_MAX: f64 = 10_000.0;
/// Most entries of a list in a finding: four views, every edge, ten steps.
const ENTRIES_MAX: usize = 32;

/// Two writings of one planned angle differ by less, degrees: half the last digit that a plan is shown with.
const SAME_ANGLE_DEG: f64 = 0.05;

type Decided = Result<Vec<Did>, Refused>;

pub(super) fn correct_view(case: &Case, place: &Place, check: &CheckId, finding: &ViewFinding) -> Decided {
    let found = named(case, place, check)?;
    match &found.ask {
        CheckKind::View { view, .. } if *view == finding.view => {}
        CheckKind::View { view, .. } => return Err(Refused::AnotherView { check: check.clone(), wanted: *view }),
        kind => return Err(Refused::WrongKind { check: check.clone(), wanted: kind.word() }),
    }
    plausible(finding)?;
    Ok(vec![Did::ViewCorrected { place: place.clone(), check: check.clone(), finding: Box::new(finding.clone()) }])
}

pub(super) fn find_pin(
    case: &Case,
    place: &Place,
    check: &CheckId,
    finding: &Finding,
    decided: PinDecision,
) -> Decided {
    let found = named(case, place, check)?;
    if !matches!(found.ask, CheckKind::Pin { .. }) {
        return Err(Refused::WrongKind { check: check.clone(), wanted: found.ask.word() });
    }
    if place.side.is_some_and(|side| side != finding.side) {
        return Err(Refused::AnotherSide { place: place.clone(), side: finding.side });
    }
    plausible(finding)?;
    let (place, check) = (place.clone(), check.clone());
    Ok(vec![Did::PinFound { place, check, finding: Box::new(finding.clone()), decided }])
}

/// Told as measured, in the placement that holds now, and of a line that the plan measured as the re-aim says.
pub(super) fn re_aim(case: &Case, place: &Place, check: &CheckId, re_aim: &ReAim) -> Decided {
    let found = named(case, place, check)?;
    match &found.ask {
        CheckKind::View { view: ViewName::Lateral, .. } => {}
        CheckKind::View { view, .. } => return Err(Refused::AnotherView { check: check.clone(), wanted: *view }),
        kind => return Err(Refused::WrongKind { check: check.clone(), wanted: kind.word() }),
    }
    let now = case.state().placement();
    if re_aim.placement != now {
        return Err(Refused::MovedSince { measured: re_aim.placement, now });
    }
    within("the turn of the pelvis in degrees", re_aim.turn_deg, -TURN_MAX_DEG, TURN_MAX_DEG)?;
    within("the standard deviation of the turn in degrees", re_aim.sd_deg, 0.0, TURN_MAX_DEG)?;
    let planned = re_aim.line.planned(&case.plan().sacral_measurements());
    if !planned.is_some_and(|planned| (planned.value.0 - re_aim.planned_deg).abs() <= SAME_ANGLE_DEG) {
        return Err(Refused::NotPlanned { line: re_aim.line.word() });
    }
    Ok(vec![Did::PlanReAimed { place: place.clone(), check: check.clone(), re_aim: Box::new(re_aim.clone()) }])
}

fn named<'a>(case: &'a Case, place: &Place, check: &CheckId) -> Result<&'a Check, Refused> {
    case.step_at(place).ok_or_else(|| Refused::NoSuchPlace(place.clone()))?;
    let missing = || Refused::NoSuchCheck { place: place.clone(), check: check.clone() };
    case.applicable_check(place, check).ok_or_else(missing)
}

/// Every number of a finding is one, and no list is longer than a finding can have: what comes from a script or a file
/// is judged like what was computed.
fn plausible(finding: &impl Serialize) -> Result<(), Refused> {
    let value = serde_json::to_value(finding).unwrap_or(Value::Null);
    let sound = value.is_object() && sound(&value);
    sound.then_some(()).ok_or(Refused::NotPlausible { what: "a number or a list of the finding" })
}

fn sound(value: &Value) -> bool {
    match value {
        // A number that is none becomes null.
        Value::Null => false,
        Value::Number(number) => number.as_f64().is_some_and(|number| number.abs() <= NUMBER_MAX),
        Value::Array(entries) => entries.len() <= ENTRIES_MAX && entries.iter().all(sound),
        Value::Object(members) => members.values().all(sound),
        Value::Bool(_) | Value::String(_) => true,
    }
}

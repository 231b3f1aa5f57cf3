//! Deciding what concerns radiation. No figure is refused for its size.

use super::super::decide::{RUN_MAX_S, reason, within};
use super::super::{Answer, Case, Did, Issue, PlaceLayout, RangeVerdict, Refused, Status};
use super::super::{decide_answers, decide_ending};
use super::{
    ConsoleRead, JoinedReport, MachineSet, MachineSetting, RadiationCommand, ReceivedImage, Reconciled, UNNAMED_MACHINE,
};
use crate::dose::{Moment, Shown};
use crate::pathway::{Check, CheckKind, Place};
use crate::units::Unit;

type Decided = Result<Vec<Did>, Refused>;

/// Largest number a console's display holds, whatever its unit. Common practice, no source.
const SHOWN_MAX: f64 = 1e12;
/// Pulses a second that machines offer at most. Common practice, no source.
const PULSE_RATE_MAX: f64 = 120.0;
/// Steps of magnification that machines offer at most. Common practice, no source.
const MAGNIFICATION_MAX: u8 = 9;
/// Longest name of a file in a case's folder, bytes: what file systems allow.
const FILE_NAME_MAX: usize = 255;

pub(in crate::case) fn decide(case: &Case, issue: &Issue, command: &RadiationCommand) -> Decided {
    decide_ending::not_signed(case)?;
    match command {
        RadiationCommand::ReadConsole { moment, machine, shown, confirmed, replaces } => {
            let named = machine.clone().or_else(|| case.state().c_arm.clone());
            let machine = reason(named.as_deref().unwrap_or(UNNAMED_MACHINE))?;
            let (shown, moment) = (*shown, *moment);
            let read = ConsoleRead { machine, moment, shown, confirmed: *confirmed, replaces: *replaces };
            console(case, issue, read)
        }
        RadiationCommand::SetMachine { setting } => set(case, *setting),
        RadiationCommand::TimeShot { shot, seconds } => time(case, *shot, *seconds),
        RadiationCommand::JoinReport { report } => join(case, report),
        RadiationCommand::Reconcile { reconciled } => reconciled_with(case, reconciled),
        RadiationCommand::TakeImage { file, sha256, uid, made, pose, no_pose, frames, by_person } => {
            file_name(file)?;
            if case.state().radiation.images.iter().any(|image| uid.is_some() && image.what.uid == *uid) {
                return Ok(Vec::new());
            }
            let (file, sha256, uid) = (file.clone(), sha256.clone(), uid.clone());
            let place = case.state().here.clone();
            let (made, pose, no_pose, frames, by_person) = (*made, *pose, *no_pose, *frames, *by_person);
            let image = ReceivedImage { place, file, sha256, uid, made, pose, no_pose, frames, by_person };
            Ok(vec![Did::ImageReceived(Box::new(image))])
        }
    }
}

fn console(case: &Case, issue: &Issue, read: ConsoleRead) -> Decided {
    judge_shown(&read.shown)?;
    if let Some(wrong) = read.replaces {
        let stands = case.state().radiation.standing().iter().any(|one| one.seq == wrong);
        if !stands {
            return Err(Refused::NoSuchReading { seq: wrong });
        }
        return Ok(vec![Did::ConsoleRead(Box::new(read))]);
    }
    let answer = answer_with(case, issue, &read);
    Ok(std::iter::once(Did::ConsoleRead(Box::new(read))).chain(answer).collect())
}

fn judge_shown(shown: &Shown) -> Result<(), Refused> {
    if shown.is_empty() {
        return Err(Refused::NothingShown);
    }
    let area = shown.kerma_area_product.map(|area| area.value);
    let kerma = shown.reference_air_kerma.map(|kerma| kerma.value);
    let time = shown.fluoroscopy_time.map(|time| time.0);
    let mut values = [area, kerma, time].into_iter().flatten();
    values.try_for_each(|value| within("a figure of the console", value, 0.0, SHOWN_MAX))
}

/// The open check that asks for this reading, answered with it, where the machine is the case's own.
fn answer_with(case: &Case, issue: &Issue, read: &ConsoleRead) -> Vec<Did> {
    let own = case.state().c_arm.as_deref().unwrap_or(UNNAMED_MACHINE);
    if read.machine != own {
        return Vec::new();
    }
    let Some((place, check)) = check_that_reads(case, read.moment) else { return Vec::new() };
    let CheckKind::Measure { unit, .. } = check.ask else { return Vec::new() };
    let units = [unit, Unit::GraySquareCentimetre, Unit::Milligray, Unit::Second];
    let Some((value, unit)) = units.into_iter().find_map(|unit| Some((read.shown.in_unit(unit)?, unit))) else {
        return Vec::new();
    };
    let answer = Answer::Measured { value, unit, range: RangeVerdict::Expected };
    // What stands in the way of the answer does not stand in the way of the reading.
    decide_answers::answer(case, issue, &place, &check.id, &answer, None).unwrap_or_default()
}

/// The first open check that asks for the console at that moment.
fn check_that_reads(case: &Case, moment: Moment) -> Option<(Place, &Check)> {
    let places = match case.state().status {
        Status::Ending(outcome) => case.list_of(outcome).into_iter().collect(),
        _ => case.places(),
    };
    let open = |at: PlaceLayout<'_>| {
        let asked: Option<&Check> = case.open_checks(&at).into_iter().find(|check| check.reads == Some(moment));
        asked.map(|check| check.id.clone()).map(|id| (at.place, id))
    };
    let (place, id) = places.into_iter().find_map(open)?;
    let check = case.check_at(&place, &id)?;
    Some((place, check))
}

fn set(case: &Case, setting: MachineSetting) -> Decided {
    match setting {
        MachineSetting::PulseRate { per_s } => within("the pulse rate", per_s, 0.1, PULSE_RATE_MAX)?,
        MachineSetting::Magnification { step } => {
            within("the magnification", f64::from(step), 0.0, f64::from(MAGNIFICATION_MAX))?;
        }
        MachineSetting::Continuous | MachineSetting::Collimation { .. } => {}
    }
    if case.state().radiation.set_now().contains(&setting) {
        return Ok(Vec::new());
    }
    Ok(vec![Did::MachineSet(MachineSet { place: case.state().here.clone(), setting })])
}

/// Only a shot counted alone, and once.
fn time(case: &Case, seq: u64, seconds: f64) -> Decided {
    within("the length of a run in seconds", seconds, 0.1, RUN_MAX_S)?;
    let counted = case.state().shots.iter().find(|shot| shot.seq == seq);
    let open = counted.is_some_and(|shot| shot.shots == 1 && shot.seconds.is_none());
    if open { Ok(vec![Did::ShotTimed { shot: seq, seconds }]) } else { Err(Refused::NoSuchShot { seq }) }
}

fn join(case: &Case, report: &JoinedReport) -> Decided {
    file_name(&report.file)?;
    let same = |one: &JoinedReport| one.sha256 == report.sha256 || (report.uid.is_some() && one.uid == report.uid);
    if case.state().radiation.reports.iter().any(|one| same(&one.what)) {
        return Ok(Vec::new());
    }
    Ok(vec![Did::DoseReportJoined(Box::new(report.clone()))])
}

fn reconciled_with(case: &Case, reconciled: &Reconciled) -> Decided {
    let seq = reconciled.report;
    let known = case.state().radiation.reports.iter().any(|one| one.seq == seq);
    if !known {
        return Err(Refused::NoSuchReport { seq });
    }
    let same = case.state().radiation.reconciled.get(&seq).is_some_and(|one| one.what == reconciled.brief);
    Ok(if same { Vec::new() } else { vec![Did::DoseReconciled(Box::new(reconciled.clone()))] })
}

fn file_name(name: &str) -> Result<(), Refused> {
    let plain = !name.is_empty() && name.len() <= FILE_NAME_MAX && !name.starts_with('.');
    let plain = plain && name.bytes().all(|byte| byte.is_ascii_alphanumeric() || b".-_".contains(&byte));
    plain.then_some(()).ok_or_else(|| Refused::NotAFileName { name: name.to_owned() })
}

/// The answer of a measure that reads the console: in whichever unit the console shows.
///
/// `None`: the unit is one that no console shows, or the check reads no console.
pub(in crate::case) fn measured(check: &Check, value: f64, unit: Unit) -> Option<Result<Answer, Refused>> {
    let CheckKind::Measure { unit: wanted, expected, limits } = &check.ask else { return None };
    check.reads?;
    let shown = Shown::of(value, unit)?;
    let Some(compared) = shown.in_unit(*wanted) else {
        // Another quantity: what is expected of the one says nothing of the other.
        return Some(Ok(Answer::Measured { value, unit, range: RangeVerdict::Expected }));
    };
    if !limits.contains(compared) {
        let (from, to) = (limits.from, limits.to);
        let check = check.id.clone();
        return Some(Err(Refused::OutsideLimits { check, value: compared, unit: *wanted, from, to }));
    }
    let range = if expected.contains(compared) { RangeVerdict::Expected } else { RangeVerdict::Unusual };
    Some(Ok(Answer::Measured { value, unit, range }))
}

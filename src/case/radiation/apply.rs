//! Applying what concerns radiation: it records what happened and judges nothing.

use super::super::{Answer, Case, Did, Elapsed, Event, RangeVerdict, State};
use super::{ConsoleRead, Logged, LoggedReading, Reconciled, UNNAMED_MACHINE};
use crate::dose::{Moment, Shown};
use crate::pathway::{CheckId, Place};

/// An answer that is a reading of the console.
pub(in crate::case) struct Answered {
    place: Place,
    check: CheckId,
    moment: Moment,
    shown: Shown,
    confirmed: bool,
}

/// The reading that an answer gives, seen before it is applied.
pub(in crate::case) fn answered(case: &Case, did: &Did) -> Option<Answered> {
    let Did::CheckAnswered { place, check, answer: Answer::Measured { value, unit, range }, .. } = did else {
        return None;
    };
    let moment = case.check_at(place, check)?.reads?;
    let shown = Shown::of(*value, *unit)?;
    // A figure outside what is expected was asked once more before it was taken.
    let confirmed = *range == RangeVerdict::Unusual;
    Some(Answered { place: place.clone(), check: check.clone(), moment, shown, confirmed })
}

pub(in crate::case) fn apply(state: &mut State, event: &Event, now: Elapsed, answered: Option<Answered>) {
    let seq = event.seq;
    let radiation = &mut state.radiation;
    match &event.did {
        Did::ConsoleRead(read) => console(state, event, now, read),
        Did::ShotTimed { shot, seconds } => {
            if let Some(shot) = state.shots.iter_mut().find(|one| one.seq == *shot) {
                shot.seconds = Some(*seconds);
                state.run_seconds += seconds;
            }
        }
        Did::MachineSet(set) => radiation.settings.push(Logged { seq, at: now, what: set.clone() }),
        Did::DoseReportJoined(report) => radiation.reports.push(Logged { seq, at: now, what: (**report).clone() }),
        Did::DoseReconciled(reconciled) => {
            let Reconciled { report, brief } = &**reconciled;
            radiation.reconciled.insert(*report, Logged { seq, at: now, what: brief.clone() });
        }
        Did::ImageReceived(image) => radiation.images.push(Logged { seq, at: now, what: (**image).clone() }),
        _ => {}
    }
    if let Some(answered) = answered {
        of_check(state, event, now, answered);
    }
}

fn console(state: &mut State, event: &Event, now: Elapsed, read: &ConsoleRead) {
    let ConsoleRead { machine, moment, shown, confirmed, replaces } = read;
    let mut at_ms = now.ms;
    if let Some(wrong) = state.radiation.readings.iter_mut().find(|one| Some(one.seq) == *replaces) {
        wrong.replaced_by = Some(event.seq);
        at_ms = wrong.reading.at_ms;
    }
    let reading = shown.reading(machine.clone(), *moment, at_ms, *confirmed);
    let by = event.by.clone();
    let logged = LoggedReading { seq: event.seq, at: now, by, reading, check: None, replaced_by: None };
    state.radiation.readings.push(logged);
}

/// A check's answer that a console reading of the same moment gave is that reading, not a second one.
fn of_check(state: &mut State, event: &Event, now: Elapsed, answered: Answered) {
    let Answered { place, check, moment, shown, confirmed } = answered;
    let before = event.seq - 1;
    let last = state.radiation.readings.last_mut();
    if let Some(last) = last.filter(|last| last.seq == before && last.reading.moment == moment && last.at == now) {
        last.check = Some((place, check));
        return;
    }
    let machine = state.c_arm.clone().unwrap_or_else(|| UNNAMED_MACHINE.to_owned());
    let reading = shown.reading(machine, moment, now.ms, confirmed);
    let (by, check) = (event.by.clone(), Some((place, check)));
    let logged = LoggedReading { seq: event.seq, at: now, by, reading, check, replaced_by: None };
    state.radiation.readings.push(logged);
}

/// A reading whose check was reopened counts no more.
pub(in crate::case) fn reopened(state: &mut State, seq: u64, place: &Place, check: &CheckId) {
    let of_check = |one: &&mut LoggedReading| {
        one.check.as_ref().is_some_and(|(at, id)| at == place && id == check) && one.replaced_by.is_none()
    };
    for one in state.radiation.readings.iter_mut().filter(of_check) {
        one.replaced_by = Some(seq);
    }
}

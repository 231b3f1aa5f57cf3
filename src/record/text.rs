//! A record as text to read: gates passed by spoken word first, then what was not done, totals, and every step.

use super::addendum::{Addendum, AddendumKind};
use super::claim::Claim;
use super::payload::{Record, Time, Who};
use super::place::{CheckEntry, Entered, PlaceEntry, RecordedAnswer};
use super::text_findings;
use crate::case::{CaseKind, Outcome, RangeVerdict};
use std::fmt::{Display, Write};

/// Stands where a disclosure is missing.
const WITHHELD: &str = "(withheld)";

/// The whole record as lines.
#[must_use]
pub fn text(record: &Record) -> String {
    let mut out = String::new();
    head(&mut out, record);
    by_word(&mut out, record);
    not_done(&mut out, record);
    totals(&mut out, record);
    super::radiation_text::radiation(&mut out, &record.radiation, &record.configured);
    remarks(&mut out, record);
    text_findings::lines(&mut out, record);
    for place in &record.places {
        steps(&mut out, place);
    }
    line(&mut out, "", format_args!("\nSigned by"));
    for who in &record.signers {
        line(&mut out, "  ", who);
    }
    for (one, other) in record.signers_together() {
        line(&mut out, "  ", format_args!("{one} and {other} are one person: not an independent signature"));
    }
    out
}

pub(super) fn line(out: &mut String, indent: &str, text: impl Display) {
    let _ = writeln!(out, "{indent}{text}");
}

pub(super) fn shown<T: Display>(claim: &Claim<T>) -> String {
    match claim {
        Claim::Withheld => WITHHELD.to_owned(),
        Claim::Disclosed(None) => "(none)".to_owned(),
        Claim::Disclosed(Some(value)) => value.to_string(),
    }
}

fn head(out: &mut String, record: &Record) {
    let kind = match record.kind {
        CaseKind::Live => "Case record",
        CaseKind::Rehearsal => "REHEARSAL record",
    };
    line(out, "", format_args!("{kind}: {}", outcome(record.outcome)));
    if let Some(exercise) = &record.exercise {
        line(out, "", format_args!("Exercise: {exercise}"));
    }
    let pathway = &record.pathway;
    line(out, "", format_args!("Pathway {} {}, SHA-256 {}", pathway.id, pathway.version, pathway.digest));
    let patient = &record.patient;
    let (name, number) = (shown(&patient.patient_name), shown(&patient.patient_number));
    line(out, "", format_args!("Patient {name}, number {number}, age {}", shown(&patient.patient_age)));
    line(out, "", format_args!("Opened {}, site {}", shown(&record.opened_at), shown(&record.site)));
    for side in &record.implants {
        line(out, "", format_args!("{} side: {} implants", side.side, side.implants));
    }
}

fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Finished => "finished",
        Outcome::Cancelled => "cancelled before incision",
        Outcome::Abandoned => "abandoned",
        Outcome::Converted => "converted to open",
        Outcome::Void => "void, opened in error",
    }
}

fn by_word(out: &mut String, record: &Record) {
    line(out, "", format_args!("\nGates passed by spoken word: {}", record.overrides.len()));
    for entry in &record.overrides {
        let again = if entry.earlier { ", closed again later" } else { "" };
        line(
            out,
            "  ",
            format_args!("{} at {}: {} ({}){again}", clock(entry.at), entry.place, entry.gate, entry.by.role),
        );
        line(out, "    reason: ", shown(&entry.reason));
    }
}

fn not_done(out: &mut String, record: &Record) {
    let checks = || record.places.iter().flat_map(|place| place.checks.iter().map(move |check| (place, check)));
    let left = |check: &CheckEntry| matches!(&check.done, Some(done) if done.answer == RecordedAnswer::NotDone);
    line(out, "", format_args!("\nNot done: {}", checks().filter(|(_, check)| left(check)).count()));
    for (place, check) in checks().filter(|(_, check)| left(check)) {
        line(out, "  ", format_args!("{}: {}", place.place, check.text));
        line(out, "    reason: ", shown(&check.reason));
    }
    let open = checks().filter(|(_, check)| check.done.is_none()).count();
    if open > 0 {
        line(out, "", format_args!("Open when the case ended: {open}"));
    }
}

fn totals(out: &mut String, record: &Record) {
    let shots = &record.shots;
    line(out, "", format_args!("\nShots {}, runs {} s", shots.total, shots.run_seconds));
    for correction in &shots.corrections {
        let (from, to, place) = (correction.from, correction.to, &correction.place);
        line(out, "  ", format_args!("corrected at {place}: {from} to {to}, reason: {}", shown(&correction.reason)));
    }
    for moved in &shots.moved {
        line(out, "  ", format_args!("moved from or to case {}: {}", shown(&moved.other_case), moved.shots.0));
    }
    for (what, time) in [("Incision", record.incision), ("Closure", record.closure)] {
        if let Some(time) = time {
            line(out, "", format_args!("{what} {}", clock(time)));
        }
    }
    if record.returns > 0 || !record.clock_jumps_ms.is_empty() {
        let jumps = record.clock_jumps_ms.len();
        line(out, "", format_args!("Program started again {} times, clock jumped {jumps} times", record.returns));
    }
}

fn remarks(out: &mut String, record: &Record) {
    for (what, entries) in [("Stop", &record.stops), ("Pause", &record.pauses)] {
        for entry in entries {
            line(out, "", format_args!("{what} {}: {}", clock(entry.at), shown(&entry.reason)));
        }
    }
    for remark in &record.remarks {
        let what = if remark.deviation { "Deviation" } else { "Note" };
        line(out, "", format_args!("{what} {} at {}: {}", clock(remark.at), remark.place, shown(&remark.note)));
    }
}

fn steps(out: &mut String, place: &PlaceEntry) {
    line(out, "", format_args!("\n{} ({}), shots {}", place.title, place.place, place.shots));
    for check in &place.checks {
        line(out, "  ", format_args!("{}: {}", check.text, answered(check)));
    }
    let Some(gate) = &place.gate else { return };
    for release in &gate.released {
        line(out, "  ", format_args!("gate {}: released by {}, {}", gate.title, release.role, clock(release.at)));
    }
    if gate.overridden {
        line(out, "  ", format_args!("gate {}: passed by spoken word", gate.title));
    }
}

fn answered(check: &CheckEntry) -> String {
    let Some(done) = &check.done else { return "open".to_owned() };
    let answer = match &done.answer {
        RecordedAnswer::Confirmed => "yes".to_owned(),
        RecordedAnswer::Chosen { option } => option.clone(),
        RecordedAnswer::Measured { value, unit, range } => {
            let mark = if *range == RangeVerdict::Unusual { " (outside what is expected)" } else { "" };
            format!("{value} {}{mark}", unit.symbol())
        }
        RecordedAnswer::Counted { numbers, second } => format!("{numbers:?}, second count by {}", second.role),
        RecordedAnswer::ViewAccepted { scale_deg: Some(scale) } => {
            format!("accepted, scale {scale}°, floor mark {}", shown(&check.words))
        }
        RecordedAnswer::ViewAccepted { scale_deg: None } => format!("accepted, floor mark {}", shown(&check.words)),
        RecordedAnswer::PinAccepted => "accepted".to_owned(),
        RecordedAnswer::TimerStarted { ago_min } => format!("started {ago_min} min before"),
        RecordedAnswer::Scanned | RecordedAnswer::Noted => shown(&check.words),
        RecordedAnswer::NotDone => format!("NOT DONE, reason: {}", shown(&check.reason)),
    };
    format!("{answer} [{}{}, {}]", clock(done.at), marks(check, done), who(done))
}

fn who(done: &Entered) -> String {
    if done.by == done.logged_by {
        done.by.role.to_string()
    } else {
        format!("{}, logged by {}", done.by.role, done.logged_by.role)
    }
}

fn marks(check: &CheckEntry, done: &Entered) -> String {
    let marks = [
        (done.late, "entered late".to_owned()),
        (done.burst, "in a burst".to_owned()),
        (done.unusual, "asks for attention".to_owned()),
        (check.reopened > 0, format!("reopened {}", check.reopened)),
        (check.rejected > 0, format!("rejected {} before", check.rejected)),
    ];
    let words = marks.into_iter().filter(|(on, _)| *on).map(|(_, word)| word);
    words.fold(String::new(), |marks, word| marks + ", " + &word)
}

/// Hours, minutes and seconds since opening.
pub(super) fn clock(time: Time) -> String {
    let seconds = time.ms / 1_000;
    let mark = if time.by_wall { " by the wall clock" } else { "" };
    format!("+{}:{:02}:{:02}{mark}", seconds / 3_600, seconds / 60 % 60, seconds % 60)
}

/// An addendum as lines.
#[must_use]
pub fn text_of_addendum(addendum: &Addendum) -> String {
    let mut out = String::new();
    line(&mut out, "", format_args!("Addendum to the record with payload SHA-256 {}", addendum.of));
    line(&mut out, "", format_args!("{} after opening", clock(Time { ms: addendum.after_ms, by_wall: false })));
    match &addendum.about {
        AddendumKind::RecoveryExamination { findings } => {
            line(&mut out, "", "Examination in recovery");
            for finding in findings {
                let (side, root, power) = (finding.side, finding.root, finding.power);
                line(
                    &mut out,
                    "  ",
                    format_args!("{side} {root:?}: power {power} of 5, sensation {:?}", finding.sensation),
                );
            }
        }
        AddendumKind::Correction { seq } => line(&mut out, "", format_args!("Correction of entry {seq}")),
        AddendumKind::LateDoseReport { .. } => {
            line(&mut out, "", format_args!("Dose report that came later: {}", dose(&addendum.about)));
        }
    }
    line(&mut out, "Note: ", shown(&addendum.note));
    for who in &addendum.signers {
        line(&mut out, "Signed by ", Who::clone(who));
    }
    out
}

fn dose(about: &AddendumKind) -> String {
    let AddendumKind::LateDoseReport {
        kerma_area_product_gy_cm2,
        reference_air_kerma_mgy,
        irradiation_events,
        fluoroscopy_s,
    } = about
    else {
        return String::new();
    };
    let parts = [
        kerma_area_product_gy_cm2.map(|value| format!("{value} Gy·cm²")),
        reference_air_kerma_mgy.map(|value| format!("{value} mGy")),
        irradiation_events.map(|value| format!("{value} irradiation events")),
        fluoroscopy_s.map(|value| format!("{value} s")),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

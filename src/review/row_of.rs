//! From a verified record and its verified addenda to a row.
//!
//! What the record withholds stays unknown; nothing is guessed from anything else.

use super::row::{CheckRow, Marks, Month, PlaceRow, Row};
use super::{costs, dose};
use crate::people::Role;
use crate::plan::SacrumShape;
use crate::record::{AddendumKind, CheckEntry, PlaceEntry, Record, RecordedAnswer, Sensation};
use crate::record::{VerifiedAddendum, VerifiedRecord};
use crate::units::Side;
use chrono::{DateTime, Datelike};

/// Full muscle power. Source: Medical Research Council scale, from memory.
const POWER_FULL: u8 = 5;

impl Row {
    /// What a verified record and the addenda verified with it say.
    #[must_use]
    pub fn of(record: &VerifiedRecord, addenda: &[VerifiedAddendum]) -> Self {
        let document = record.document();
        let opened = document.opened_at.value().and_then(|at| DateTime::parse_from_rfc3339(at).ok());
        let has = |side| document.plan.sides.iter().any(|planned| planned.side == side);
        let holder = |member: &&crate::record::StaffMember| member.at_end && member.role == Role::Surgeon;
        Self {
            digest: record.digest().to_owned(),
            kind: document.kind,
            outcome: document.outcome,
            pathway: document.pathway.id.clone(),
            label: document.plan.label.value().cloned(),
            site: document.site.value().cloned(),
            machine: document.c_arm.c_arm_name.value().cloned(),
            age: document.patient.patient_age.value().copied(),
            weight_kg: document.patient.patient_weight_kg.value().copied(),
            left: has(Side::Left),
            right: has(Side::Right),
            sacrum: sacrum(document),
            implants: document.implants.iter().map(|side| side.implants).fold(0, u8::saturating_add),
            surgeon: document.team.iter().find(holder).map(|member| member.kid.0.clone()),
            team: team(document),
            opened_ms: opened.map(|at| at.timestamp_millis()),
            month: opened.map(|at| Month { year: at.year(), month: u8::try_from(at.month()).unwrap_or(1) }),
            shots: document.shots.total,
            operation_ms: operation(document),
            dose: dose::of(document, addenda),
            nerve_findings: nerve_findings(addenda),
            addenda: u8::try_from(addenda.len()).unwrap_or(u8::MAX),
            places: document.places.iter().map(|entry| place(document, entry)).collect(),
            checks: document.places.iter().enumerate().flat_map(|(at, entry)| checks(at, entry)).collect(),
            costs: costs::of(document),
        }
    }
}

fn sacrum(document: &Record) -> SacrumShape {
    let any = |shape| document.plan.sides.iter().any(|side| side.sacrum == shape);
    if any(SacrumShape::Dysmorphic) {
        SacrumShape::Dysmorphic
    } else if any(SacrumShape::NotJudged) {
        SacrumShape::NotJudged
    } else {
        SacrumShape::Normal
    }
}

fn team(document: &Record) -> String {
    let mut kids: Vec<&str> = document.team.iter().filter(|one| one.at_end).map(|one| one.kid.0.as_str()).collect();
    kids.sort_unstable();
    kids.dedup();
    kids.join(" ")
}

fn operation(document: &Record) -> Option<u64> {
    let (incision, closure) = (document.incision?, document.closure?);
    closure.ms.checked_sub(incision.ms)
}

fn nerve_findings(addenda: &[VerifiedAddendum]) -> u8 {
    let findings = addenda.iter().filter_map(|addendum| match &addendum.document().about {
        AddendumKind::RecoveryExamination { findings } => Some(findings),
        _ => None,
    });
    let odd = |one: &&crate::record::NerveFinding| one.power < POWER_FULL || one.sensation != Sensation::Unchanged;
    u8::try_from(findings.flatten().filter(odd).count()).unwrap_or(u8::MAX)
}

fn place(document: &Record, entry: &PlaceEntry) -> PlaceRow {
    let overridden = document.overrides.iter().filter(|one| one.place == entry.place).count();
    PlaceRow {
        step: entry.place.step.clone(),
        title: entry.title.clone(),
        side: entry.place.side,
        implant: entry.place.implant,
        shots: entry.shots,
        stay_ms: entry.stay_ms,
        overridden: u8::try_from(overridden).unwrap_or(u8::MAX),
    }
}

fn checks(at: usize, entry: &PlaceEntry) -> Vec<CheckRow> {
    entry.checks.iter().map(|check| check_row(at, entry, check)).collect()
}

fn check_row(at: usize, entry: &PlaceEntry, check: &CheckEntry) -> CheckRow {
    let marks = marks(check);
    CheckRow {
        place: u16::try_from(at).unwrap_or(u16::MAX),
        id: check.id.clone(),
        text: if marks.has(Marks::VIEW) { check.text.clone() } else { String::new() },
        marks,
        rejected: u8::try_from(check.rejected).unwrap_or(u8::MAX),
        shots: shots_for(entry, check),
    }
}

fn marks(check: &CheckEntry) -> Marks {
    let Some(done) = &check.done else { return Marks(0) };
    let answer = match done.answer {
        RecordedAnswer::NotDone => Marks::NOT_DONE,
        RecordedAnswer::ViewAccepted { .. } => Marks::ANSWERED | Marks::VIEW,
        _ => Marks::ANSWERED,
    };
    let late = if done.late { Marks::LATE } else { 0 };
    let burst = if done.burst { Marks::BURST } else { 0 };
    Marks(answer | late | burst)
}

/// Shots since the answer before it at the same place; a correction downwards leaves none.
fn shots_for(entry: &PlaceEntry, check: &CheckEntry) -> u32 {
    let Some(done) = &check.done else { return 0 };
    let answered = entry.checks.iter().filter_map(|other| other.done.as_ref().map(|at| (at.seq, other.shots)));
    let before = answered.filter(|(seq, _)| *seq < done.seq).max_by_key(|(seq, _)| *seq);
    check.shots.saturating_sub(before.map_or(0, |(_, shots)| shots))
}

//! One invented case, closed, and the people who sign it.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use brimline::case::{Answer, Case, CaseKind, Configured, Did, Event, Opening, Outcome, RangeVerdict, Stamp};
use brimline::pathway::{Pathway, Place};
use brimline::people::{Actor, PersonId, PersonKey, Role, Roster};
use brimline::plan::Plan;
use brimline::ports::Randomness;
use brimline::record::{self, ChainPoint, Meaning, SignedRecord, UnsignedRecord};
use brimline::units::{Side, Unit};
use chrono::{DateTime, FixedOffset};
use serde_json::json;
use sha2::{Digest, Sha256};
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Different bytes on every call, the same in every run.
#[derive(Default)]
pub struct Counted(AtomicU64);

impl Randomness for Counted {
    fn fill(&self, bytes: &mut [u8]) -> io::Result<()> {
        for chunk in bytes.chunks_mut(32) {
            let block = Sha256::digest(self.0.fetch_add(1, Ordering::Relaxed).to_be_bytes());
            chunk.copy_from_slice(&block[..chunk.len()]);
        }
        Ok(())
    }
}

/// A source that fails.
pub struct Dry;

impl Randomness for Dry {
    fn fill(&self, _bytes: &mut [u8]) -> io::Result<()> {
        Err(io::Error::other("the source is dry"))
    }
}

pub fn surgeon() -> PersonKey {
    PersonKey::from_seed(&[1; 32])
}

pub fn nurse() -> PersonKey {
    PersonKey::from_seed(&[2; 32])
}

pub fn stranger() -> PersonKey {
    PersonKey::from_seed(&[3; 32])
}

pub fn roster() -> Roster {
    let mut roster = Roster::default();
    roster.add("Sam Invented", &[Role::Surgeon], &surgeon().public()).unwrap();
    roster.add("Nora Invented", &[Role::CirculatingNurse], &nurse().public()).unwrap();
    roster
}

/// Everything in the fixture that may appear in no redacted file.
pub const SECRETS: [&str; 21] = [
    "Ada Example",
    "PN-4711",
    "7b0e3c1a-6a36-4f7e-9a55-0d4f0f3ab001",
    "0c9d3c1a-6a36-4f7e-9a55-0d4f0f3ab002",
    "2031-03-04",
    "Invented Clinic",
    "Sam Invented",
    "Nora Invented",
    "L-0412",
    "sacral bump",
    "S1, upper",
    "Arm of room 4",
    "LOT 99-X exp 2033-01",
    "the films did not load",
    "spoken: go on, bleeding",
    "mark at tile seven",
    "pedal stuck",
    "bone soft",
    "wrong drape",
    "wait for films",
    "dddddddddddddddddddddddddddddddd",
];

pub fn pathway() -> Pathway {
    let list =
        |step: &str| json!({"step": step, "title": "End", "checks": [{"id": format!("{step}-told"), "text": "Told"}]});
    serde_json::from_value(json!({
        "brimline_pathway": 1, "id": "short", "version": "1.0", "title": "Short", "procedure": "primary",
        "about": "For tests.", "team": ["surgeon", "circulating-nurse"], "signers": ["surgeon", "circulating-nurse"],
        "phases": [
            {"id": "ready", "title": "Ready", "steps": [{
                "id": "identity", "title": "Identity",
                "checks": [
                    {"id": "name", "text": "Name agrees"},
                    {"id": "films", "text": "Films are up"},
                    {"id": "lot", "text": "Lot read", "ask": {"kind": "scan", "what": "lot"}},
                    {"id": "depth", "text": "Depth", "ask": {"kind": "measure", "unit": "mm",
                        "expected": {"from": 20, "to": 40}, "limits": {"from": 0, "to": 90}}}
                ],
                "gate": {"title": "Start", "release": ["surgeon"]}
            }]},
            {"id": "pin", "title": "Pin", "steps": [{
                "id": "lateral", "title": "Lateral", "per": "side",
                "checks": [{"id": "view", "text": "True lateral",
                    "ask": {"kind": "view", "view": "lateral", "criteria": ["notches lie on each other"]}}]
            }]}
        ],
        "stops": {"cancelled": list("cancelled"), "abandoned": list("abandoned"), "converted": list("converted"),
                  "void": list("void")}
    }))
    .unwrap()
}

pub fn plan() -> Plan {
    serde_json::from_value(json!({
        "brimline_plan": 1, "label": "L-0412", "pathway": "short", "procedure": "primary",
        "patient": {"name": "Ada Example", "number": "PN-4711", "age": 61, "weight_kg": 70.5},
        "sides": [{"side": "left", "sacrum": "normal",
                   "implants": [{"level": "S1, upper", "diameter_mm": 7.0, "length_mm": 45.0}]}],
        "antibiotic": "standard", "c_arm": "Arm of room 4", "cautions": ["sacral bump"]
    }))
    .unwrap()
}

pub fn opening() -> Opening {
    let team = [(Role::Surgeon, surgeon().person()), (Role::CirculatingNurse, nurse().person())];
    Opening {
        brimline_journal: 1,
        program: "0.1.0".to_owned(),
        kind: CaseKind::Live,
        exercise: None,
        case: "7b0e3c1a-6a36-4f7e-9a55-0d4f0f3ab001".to_owned(),
        pathway: "short".to_owned(),
        pathway_version: "1.0".to_owned(),
        pathway_digest: "c".repeat(64),
        plan_digest: "d".repeat(64),
        nonce: "e".repeat(64),
        site: Some("Invented Clinic".to_owned()),
        team: team.into_iter().collect(),
        configured: Configured::default(),
        continues: None,
    }
}

pub fn event(seq: u64, by: &PersonKey, role: Role, did: Did) -> Event {
    let opened: DateTime<FixedOffset> = "2031-03-04T08:00:00+01:00".parse().unwrap();
    let boot_ms = seq * 10_000;
    let at = opened + chrono::TimeDelta::milliseconds(i64::try_from(boot_ms).unwrap());
    let nurse = Actor::new(Role::CirculatingNurse, nurse().person());
    Event { seq, stamp: Stamp { at, process: 1, boot_ms }, by: Actor::new(role, by.person()), logged_by: nurse, did }
}

fn answered(place: &Place, check: &str, answer: Answer) -> Did {
    Did::CheckAnswered { place: place.clone(), check: check.to_owned(), answer, done_at: None }
}

fn story() -> Vec<(Role, Did)> {
    let (start, view) = (Place::of_case("identity"), Place::of_side("lateral", Side::Left));
    let text = str::to_owned;
    let (s, n) = (Role::Surgeon, Role::CirculatingNurse);
    vec![
        (n, Did::CaseOpened(Box::new(opening()))),
        (n, answered(&start, "name", Answer::Confirmed)),
        (n, Did::CheckNotDone { place: start.clone(), check: text("films"), reason: text("the films did not load") }),
        (n, answered(&start, "lot", Answer::Scanned { text: text("LOT 99-X exp 2033-01") })),
        (
            s,
            answered(
                &start,
                "depth",
                Answer::Measured { value: 47.25, unit: Unit::Millimetre, range: RangeVerdict::Unusual },
            ),
        ),
        (n, Did::Paused { reason: text("wait for films") }),
        (n, Did::Resumed),
        (s, Did::GateOverridden { place: start.clone(), reason: text("spoken: go on, bleeding") }),
        (n, Did::StepEntered { place: view.clone() }),
        (n, Did::ShotsCounted { place: view.clone(), shots: 4 }),
        (n, Did::ShotsCorrected { place: view.clone(), from: 4, to: 3, reason: text("pedal stuck") }),
        (
            n,
            Did::ShotsMoved {
                from_case: text("0c9d3c1a-6a36-4f7e-9a55-0d4f0f3ab002"),
                to_case: text("7b0e3c1a-6a36-4f7e-9a55-0d4f0f3ab001"),
                shots: 2,
            },
        ),
        (
            s,
            answered(
                &view,
                "view",
                Answer::ViewAccepted { scale_deg: Some(-43.5), floor_mark: Some(text("mark at tile seven")) },
            ),
        ),
        (s, Did::NoteWritten { place: view.clone(), text: text("bone soft") }),
        (s, Did::DeviationNoted { place: view, text: text("wrong drape") }),
        (n, Did::CaseClosed { outcome: Outcome::Finished }),
    ]
}

/// The case of the fixture, closed by its last event.
pub fn case() -> Case {
    case_opened_by(opening())
}

/// The same case behind another opening.
pub fn case_opened_by(opening: Opening) -> Case {
    let mut events = Vec::new();
    let mut story = story();
    story[0].1 = Did::CaseOpened(Box::new(opening));
    for (index, (role, did)) in story.into_iter().enumerate() {
        let by = if role == Role::Surgeon { surgeon() } else { nurse() };
        events.push(event(index as u64 + 1, &by, role, did));
    }
    Case::replay(Arc::new(pathway()), Arc::new(plan()), &events).unwrap()
}

pub fn closing() -> ChainPoint {
    ChainPoint { seq: story().len() as u64, sum: "a".repeat(64) }
}

pub fn name_of(kid: &PersonId) -> Option<String> {
    roster().person(kid).map(|person| person.name().to_owned())
}

pub fn unsigned() -> UnsignedRecord {
    record::build(&case(), &closing(), &name_of, &Counted::default()).unwrap()
}

pub fn half_signed() -> SignedRecord {
    unsigned().sign(&surgeon(), Role::Surgeon, Meaning::Responsibility, 200_000).unwrap()
}

pub fn signed() -> SignedRecord {
    half_signed().add(&nurse(), Role::CirculatingNurse, Meaning::Authorship, 210_000).unwrap()
}

/// The file split at every base64url string, each decoded: where hidden text could still stand.
pub fn readable_parts(file: &[u8]) -> Vec<Vec<u8>> {
    use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
    let mut parts = vec![file.to_vec()];
    let value: serde_json::Value = serde_json::from_slice(file).unwrap();
    let mut strings = Vec::new();
    collect(&value, &mut strings);
    parts.extend(strings.iter().filter_map(|text| URL_SAFE_NO_PAD.decode(text).ok()));
    parts
}

fn collect(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::String(text) => out.push(text.clone()),
        serde_json::Value::Array(items) => items.iter().for_each(|item| collect(item, out)),
        serde_json::Value::Object(members) => members.values().for_each(|member| collect(member, out)),
        _ => {}
    }
}

pub fn holds(parts: &[Vec<u8>], needle: &str) -> bool {
    parts.iter().any(|part| part.windows(needle.len()).any(|window| window == needle.as_bytes()))
}

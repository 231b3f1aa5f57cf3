//! A long invented case on the built-in pathway, closed and signed: both sides, two implants each, every check
//! answered, shots counted all the way.

use super::record_fixture::{Counted, event, name_of, nurse, opening, surgeon};
use brimline::case::{Answer, Case, Did, Event, Outcome, RangeVerdict};
use brimline::pathway::{self, Check, CheckKind, Pathway, Place};
use brimline::people::{Actor, Role};
use brimline::plan::{self, Plan};
use brimline::record::{self, ChainPoint, Meaning, SignedRecord};
use std::sync::Arc;

/// Events from the opening to the close.
pub const EVENTS: u64 = 500;

const PLAN: &str = r#"{
    "brimline_plan": 1, "label": "L-0500", "pathway": "primary-lateral-prone", "procedure": "primary",
    "patient": {"name": "Ada Example", "number": "PN-4711", "age": 61, "weight_kg": 70.5},
    "sides": [
        {"side": "left", "sacrum": "normal", "implants": [
            {"level": "S1", "diameter_mm": 7.0, "length_mm": 45.0}, {"level": "S2", "diameter_mm": 7.0, "length_mm": 40.0}]},
        {"side": "right", "sacrum": "dysmorphic", "implants": [
            {"level": "S1", "diameter_mm": 7.0, "length_mm": 45.0}, {"level": "S2", "diameter_mm": 7.0, "length_mm": 40.0}]}
    ],
    "antibiotic": "standard", "compressing": true, "nerves_monitored": true
}"#;

fn answer(check: &Check) -> Answer {
    match &check.ask {
        CheckKind::Confirm => Answer::Confirmed,
        CheckKind::Choice { options } => Answer::Chosen { option: options[0].id.clone() },
        CheckKind::Measure { unit, expected, .. } => {
            Answer::Measured { value: expected.from, unit: *unit, range: RangeVerdict::Expected }
        }
        CheckKind::Count { items, .. } => {
            let second = Actor::new(Role::CirculatingNurse, nurse().person());
            Answer::Counted { numbers: vec![2; items.len()], second }
        }
        CheckKind::View { .. } => {
            Answer::ViewAccepted { scale_deg: Some(-43.5), floor_mark: Some("tile seven".to_owned()) }
        }
        CheckKind::Pin { .. } => Answer::PinAccepted,
        CheckKind::Timer { .. } => Answer::TimerStarted { ago_min: 10 },
        CheckKind::Scan { .. } => Answer::Scanned { text: "LOT 99-X exp 2033-01".to_owned() },
        CheckKind::Note => Answer::Noted { text: "as planned".to_owned() },
    }
}

/// The case and the events it came from.
struct Told {
    case: Case,
    events: Vec<Event>,
}

impl Told {
    fn open() -> Self {
        let bytes = pathway::built_in("primary-lateral-prone").expect("a built-in pathway");
        let pathway: Pathway = pathway::read(bytes).expect("a sound built-in pathway");
        let plan: Plan = plan::read(PLAN.as_bytes()).expect("a sound plan");
        let mut opening = opening();
        opening.pathway.clone_from(&pathway.id);
        opening.pathway_version.clone_from(&pathway.version);
        let first = event(1, &nurse(), Role::CirculatingNurse, Did::CaseOpened(Box::new(opening)));
        let case = Case::open(Arc::new(pathway), Arc::new(plan), &first).expect("the case opens");
        Self { case, events: vec![first] }
    }

    fn tell(&mut self, did: Did) {
        let event = event(self.case.state().seq + 1, &surgeon(), Role::Surgeon, did);
        self.case.apply(&event).expect("it follows");
        self.events.push(event);
    }

    fn stay(&mut self, place: &Place) {
        self.tell(Did::StepEntered { place: place.clone() });
        let at = self.case.places().into_iter().find(|at| at.place == *place).expect("a place of the case");
        let checks: Vec<Check> = self.case.checks_at(&at).into_iter().cloned().collect();
        let release = at.step.gate.map(|gate| gate.release.clone()).unwrap_or_default();
        for check in checks {
            self.tell(Did::CheckAnswered {
                place: place.clone(),
                check: check.id.clone(),
                answer: answer(&check),
                done_at: None,
            });
        }
        for role in release {
            self.tell(Did::GateReleased { place: place.clone(), role });
        }
    }

    fn whole() -> Self {
        let mut told = Self::open();
        let mut done = 0;
        while let Some(place) = told.case.places().get(done).map(|at| at.place.clone()) {
            told.stay(&place);
            done += 1;
        }
        let places: Vec<Place> = told.case.places().into_iter().map(|at| at.place).collect();
        for place in places.iter().cycle() {
            if told.case.state().seq + 1 >= EVENTS {
                break;
            }
            told.tell(Did::ShotsCounted { place: place.clone(), shots: 2 });
        }
        told.tell(Did::CaseClosed { outcome: Outcome::Finished });
        assert_eq!(told.events.len() as u64, EVENTS, "the pathway leaves room for shots");
        told
    }
}

/// The record of the case, signed by both signers, every claim disclosed.
pub fn large() -> SignedRecord {
    let told = Told::whole();
    let closing = ChainPoint { seq: EVENTS, sum: "a".repeat(64) };
    let unsigned = record::build(&told.case, &closing, &name_of, &Counted::default()).expect("a closed case");
    let once = unsigned.sign(&surgeon(), Role::Surgeon, Meaning::Responsibility, 5_200_000).expect("a signer");
    once.add(&nurse(), Role::CirculatingNurse, Meaning::Authorship, 5_210_000).expect("a signer")
}

/// The events of the same case.
pub fn events() -> Vec<Event> {
    Told::whole().events
}

//! A case for tests: built-in pathway, a plan, two people, and a clock that the test moves.

use brimline::case::{Case, CaseKind, Command, Configured, Did, Event, Issue, Opening, Outcome, Refused, Stamp};
use brimline::pathway::{self, Check, Pathway, Place};
use brimline::people::{Actor, PersonId, Role};
use brimline::plan::{self, Plan};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A plan of one straightforward side, to be changed by the test.
pub const PLAN: &str = r#"{
    "brimline_plan": 1, "label": "0412", "pathway": "primary-lateral-prone", "procedure": "primary",
    "patient": {"name": "Ashdown, T.", "number": "X-0412", "age": 51},
    "sides": [{"side": "left", "sacrum": "normal", "implants": [{"level": "S1", "diameter_mm": 10, "length_mm": 45}]}],
    "antibiotic": "standard"
}"#;

/// A running case with its events, driven by a clock of its own.
#[derive(Clone)]
pub struct BenchCase {
    pub case: Case,
    pub events: Vec<Event>,
    pub boot_ms: u64,
}

pub fn person(role: Role) -> PersonId {
    PersonId(format!("person-{}", role.word().replace(' ', "-")))
}

pub fn actor(role: Role) -> Actor {
    Actor::new(role, person(role))
}

pub fn team() -> BTreeMap<Role, PersonId> {
    Role::ALL.into_iter().map(|role| (role, person(role))).collect()
}

pub fn built_in(id: &str) -> Arc<Pathway> {
    let bytes = pathway::built_in(id).expect("a built-in pathway");
    Arc::new(pathway::read(bytes).expect("a sound built-in pathway"))
}

impl BenchCase {
    /// Opens a case on the primary pathway and this plan.
    pub fn open(plan: &str) -> Self {
        let plan: Plan = plan::read(plan.as_bytes()).expect("a sound plan");
        Self::open_on(built_in(&plan.pathway.clone()), plan)
    }

    pub fn open_on(pathway: Arc<Pathway>, plan: Plan) -> Self {
        let opening = Opening {
            brimline_journal: 1,
            program: "0".to_owned(),
            kind: CaseKind::Live,
            exercise: None,
            case: "c".to_owned(),
            pathway: pathway.id.clone(),
            pathway_version: pathway.version.clone(),
            pathway_digest: "0".repeat(64),
            plan_digest: "0".repeat(64),
            nonce: "0".repeat(64),
            site: None,
            team: team(),
            configured: Configured::default(),
            continues: None,
        };
        let event = Event {
            seq: 1,
            stamp: stamp(1_000),
            by: actor(Role::CirculatingNurse),
            logged_by: actor(Role::CirculatingNurse),
            did: Did::CaseOpened(Box::new(opening)),
        };
        let case = Case::open(pathway, Arc::new(plan), &event).expect("the case opens");
        Self { case, events: vec![event], boot_ms: 1_000 }
    }

    pub fn wait(&mut self, ms: u64) {
        self.boot_ms += ms;
    }

    /// Issues a command ten seconds later.
    pub fn says(&mut self, role: Role, command: Command) -> Result<(), Refused> {
        self.wait(10_000);
        self.at_once(role, command)
    }

    /// Issues a command without time passing.
    pub fn at_once(&mut self, role: Role, command: Command) -> Result<(), Refused> {
        let (by, logged_by) = (actor(role), actor(Role::CirculatingNurse));
        let issue = Issue { stamp: stamp(self.boot_ms), by: by.clone(), logged_by: logged_by.clone(), command };
        for did in self.case.decide(&issue)? {
            let seq = self.case.state().seq + 1;
            let (by, logged_by) = (by.clone(), logged_by.clone());
            let event = Event { seq, stamp: issue.stamp.clone(), by, logged_by, did };
            self.case.apply(&event).expect("a decided event applies");
            self.events.push(event);
        }
        Ok(())
    }

    /// The first open check at a place of the running case, or in the short list of an outcome.
    fn first_open(&self, place: &Place) -> Option<Check> {
        let outcomes = [Outcome::Cancelled, Outcome::Abandoned, Outcome::Converted, Outcome::Void];
        let lists = outcomes.into_iter().filter_map(|outcome| self.case.list_of(outcome));
        let mut all = self.case.places().into_iter().chain(lists);
        let at = all.find(|at| at.place == *place).expect("the place is part of the case");
        self.case.open_checks(&at).first().map(|check| (*check).clone())
    }

    /// Answers everything open up to the gate of a place and releases it.
    pub fn answer_all_of(&mut self, place: &Place) {
        for _ in 0..40 {
            let Some(check) = self.first_open(place) else { break };
            let role = check.by.first().copied().unwrap_or(Role::Surgeon);
            let answer = super::case::plain_answer(&check, role);
            let command = Command::Answer { place: place.clone(), check: check.id.clone(), answer };
            self.says(role, command).expect("a plain answer is accepted");
        }
        let roles = self.case.gate_at(place).map(|gate| gate.release.clone()).unwrap_or_default();
        for role in roles {
            self.says(role, Command::ReleaseGate { place: place.clone(), role }).expect("the gate is ready");
        }
    }
}

pub fn stamp(boot_ms: u64) -> Stamp {
    let start = chrono::DateTime::parse_from_rfc3339("2026-03-10T08:00:00+01:00").expect("a time");
    let at = start + chrono::TimeDelta::milliseconds(i64::try_from(boot_ms).expect("a short test"));
    Stamp { at, process: 1, boot_ms }
}

//! Synthetic signed records of a stated model, for whatever audits many cases.
//!
//! The model: the shots of a step are Poisson with mean `m · learning · frailty · dysmorphism · shift`; learning is
//! `1 + gain · exp(-rate · n)` in the number of the case; frailty is gamma with mean 1 and the stated variance, one
//! for each case and step, which makes cases vary more than chance; a dysmorphic sacrum costs 1.3 times; a shift
//! multiplies one step from one case on. Dose is shots times the machine's share per shot, times the patient's size,
//! times a log-normal spread. Everything comes from one seed.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::Counted;
use brimline::case::{
    Answer, Case, CaseKind, Configured, Did, Event, JoinedReport, Opening, Outcome, RangeVerdict, Reconciled, Stamp,
};
use brimline::dose::reconcile;
use brimline::pathway::{self, Check, CheckKind, Pathway, Place};
use brimline::people::{Actor, PersonId, PersonKey, Role, Roster};
use brimline::plan::Plan;
use brimline::record::{self, ChainPoint, Meaning};
use brimline::units::{GrayCm2, Milligray, Unit};
use chrono::{DateTime, FixedOffset, TimeDelta};
use serde_json::json;
use std::sync::{Arc, OnceLock};

/// What a step costs before learning, shots at each of its places.
const MEANS: [(&str, f64); 6] =
    [("scout-views", 9.0), ("pin-in", 12.0), ("joint", 4.0), ("implant", 5.0), ("finish", 2.0), ("prone", 1.0)];
/// Gy·cm² for a shot of a patient of 70 kg.
const MACHINES: [(&str, f64); 2] = [("Arm A", 0.06), ("Arm B", 0.10)];

/// A change from one case on.
#[derive(Debug, Clone, Copy)]
pub struct Planted {
    pub step: &'static str,
    pub from: usize,
    pub factor: f64,
}

/// What is generated.
#[derive(Debug, Clone)]
pub struct Model {
    pub seed: u64,
    pub cases: usize,
    pub gain: f64,
    pub rate: f64,
    /// Variance of the frailty; 0 for chance alone.
    pub frailty: f64,
    pub planted: Option<Planted>,
    pub kind: CaseKind,
    /// Each case has a dose report of the machine, laid on its steps; in one of ten two explanations fit equally well.
    pub reported: bool,
}

impl Model {
    /// Cases without learning, with moderate spread and nothing planted.
    pub fn steady(seed: u64, cases: usize) -> Self {
        Self { seed, cases, gain: 0.0, rate: 0.1, frailty: 0.04, planted: None, kind: CaseKind::Live, reported: false }
    }
}

/// Small, fast, and the same everywhere.
pub struct Chance(u64);

impl Chance {
    pub fn of(seed: u64) -> Self {
        Self(seed)
    }

    /// Source: `SplitMix64`, Steele, Lea and Flood, OOPSLA 2014, from memory.
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Between 0 and 1, neither of them.
    pub fn uniform(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }

    /// Source: Marsaglia and Tsang, ACM TOMS 2000;26:363, from memory; for a shape of 1 or more.
    fn gamma(&mut self, shape: f64) -> f64 {
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && self.uniform().ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    fn poisson(&mut self, mean: f64) -> u32 {
        let (limit, mut product, mut count) = ((-mean).exp(), self.uniform(), 0);
        while product > limit {
            product *= self.uniform();
            count += 1;
        }
        count
    }
}

/// Everybody of the room; two surgeons take turns.
pub fn key(role: Role, which: u8) -> PersonKey {
    let at = Role::ALL.iter().position(|other| *other == role).unwrap();
    PersonKey::from_seed(&[u8::try_from(at).unwrap() * 10 + which + 40; 32])
}

/// The thumbprints, derived once.
fn person(role: Role, which: u8) -> PersonId {
    static ALL: OnceLock<Vec<PersonId>> = OnceLock::new();
    let all =
        ALL.get_or_init(|| Role::ALL.into_iter().flat_map(|role| [0, 1].map(|one| key(role, one).person())).collect());
    let at = Role::ALL.iter().position(|other| *other == role).unwrap();
    all[at * 2 + usize::from(which)].clone()
}

pub fn roster() -> Roster {
    let mut roster = Roster::default();
    for role in Role::ALL {
        for which in 0..2 {
            roster.add(&format!("{} {which}", role.word()), &[role], &key(role, which).public()).unwrap();
        }
    }
    roster
}

/// Whether another machine takes the place of the first one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Swapped {
    Never,
    /// Half way through the case: the first machine is read at the opening, the second at the end.
    HalfWay,
}

/// The signed files, in the order of the cases.
pub fn records(model: &Model) -> Vec<Vec<u8>> {
    records_with(model, Swapped::Never)
}

/// As [`records`], with or without a second machine.
pub fn records_with(model: &Model, swapped: Swapped) -> Vec<Vec<u8>> {
    let pathway = Arc::new(pathway::read(pathway::built_in("primary-lateral-prone").unwrap()).unwrap());
    let salts = Counted::default();
    let mut chance = Chance::of(model.seed);
    (0..model.cases).map(|number| Story::of(model, number, &pathway, &mut chance, swapped).signed(&salts)).collect()
}

struct Story<'a> {
    model: &'a Model,
    number: usize,
    case: Case,
    events: u64,
    boot_ms: u64,
    surgeon: u8,
    machine: usize,
    weight_kg: f64,
    dysmorphic: bool,
    shots: u32,
    /// Shots of each place, by the view they were made for.
    fired: Vec<(Place, Option<&'static str>, u32)>,
    /// Between two events.
    pace_ms: u64,
}

impl<'a> Story<'a> {
    fn of(model: &'a Model, number: usize, pathway: &Arc<Pathway>, chance: &mut Chance, swapped: Swapped) -> Self {
        let (weight_kg, dysmorphic) = ((78.0 + 14.0 * chance.normal()).clamp(45.0, 130.0), chance.uniform() < 0.2);
        let (surgeon, machine) = (u8::from(number % 2 == 1), usize::from(chance.uniform() < 0.4));
        let plan = plan(number, weight_kg, dysmorphic, machine, chance);
        let case =
            Case::open(pathway.clone(), Arc::new(plan), &opening(model, number, surgeon, &pathway.version)).unwrap();
        let mut story = Self {
            model,
            number,
            case,
            events: 1,
            boot_ms: 0,
            surgeon,
            machine,
            weight_kg,
            dysmorphic,
            shots: 0,
            fired: Vec::new(),
            pace_ms: 20_000,
        };
        story.play(chance, swapped);
        story
    }

    fn play(&mut self, chance: &mut Chance, swapped: Swapped) {
        let mut missed: Option<(Place, Check)> = None;
        let counter = 10.0 + 40.0 * chance.uniform();
        let places: Vec<Place> = self.case.places().into_iter().map(|at| at.place).collect();
        let half = places.len() / 2;
        for (number, place) in places.into_iter().enumerate() {
            self.says(Did::StepEntered { place: place.clone() });
            if swapped == Swapped::HalfWay && number == half {
                self.says(Did::CArmSwapped { to: "Arm C".to_owned() });
            }
            let shots = self.shots_at(&place, chance);
            let layouts = self.case.places();
            let at = layouts.iter().find(|at| at.place == place).unwrap();
            let checks: Vec<Check> = self.case.checks_at(at).into_iter().cloned().collect();
            let gate = at.step.gate.map(|gate| gate.release.clone()).unwrap_or_default();
            let views = checks.iter().filter(|check| matches!(check.ask, CheckKind::View { .. })).count();
            let mut left = shots;
            // Now and then a step is answered in haste, and one check of the step before long after it.
            self.pace_ms = if place.step == "room" && chance.uniform() < 0.2 { 400 } else { 20_000 };
            if let Some((before, check)) = missed.take() {
                self.boot_ms += 400_000;
                self.answer(&before, &check, counter, chance);
            }
            for check in checks {
                let view = matches!(check.ask, CheckKind::View { .. });
                let now = if view { (shots / u32::try_from(views).unwrap()).min(left) } else { 0 };
                left -= now;
                let name = if let CheckKind::View { view, .. } = &check.ask { Some(view.word()) } else { None };
                self.fire(&place, name, now);
                if view && chance.uniform() < 0.25 {
                    self.says(Did::ViewRejected { place: place.clone(), check: check.id.clone(), failed: vec![0] });
                }
                if check.id == "dry-run" && chance.uniform() < 0.2 {
                    missed = Some((place.clone(), check));
                } else {
                    self.answer(&place, &check, counter, chance);
                }
            }
            self.fire(&place, None, left);
            if !gate.is_empty() && chance.uniform() < 0.03 {
                self.says(Did::GateOverridden { place: place.clone(), reason: "said aloud".to_owned() });
            } else {
                for role in gate {
                    self.says(Did::GateReleased { place: place.clone(), role });
                }
            }
        }
        if self.model.reported {
            self.report();
        }
        self.says(Did::CaseClosed { outcome: self.outcome() });
    }

    /// One case in forty is abandoned, one in sixty void.
    fn outcome(&self) -> Outcome {
        match self.number {
            n if n % 60 == 59 => Outcome::Void,
            n if n % 40 == 39 => Outcome::Abandoned,
            _ => Outcome::Finished,
        }
    }

    fn shots_at(&self, place: &Place, chance: &mut Chance) -> u32 {
        let Some((_, mean)) = MEANS.iter().find(|(step, _)| *step == place.step) else { return 0 };
        let n = self.number as f64;
        let learning = 1.0 + self.model.gain * (-self.model.rate * n).exp();
        let spread = self.model.frailty;
        let frailty = if spread > 0.0 { chance.gamma(1.0 / spread) * spread } else { 1.0 };
        let shape = if self.dysmorphic { 1.3 } else { 1.0 };
        let planted = self.model.planted.filter(|shift| shift.step == place.step && self.number >= shift.from);
        chance.poisson(mean * learning * frailty * shape * planted.map_or(1.0, |shift| shift.factor))
    }

    /// Every shot found on the machine, each with the share that the machine and the patient's size give it.
    fn report(&mut self) {
        let share = MACHINES[self.machine].1 * self.weight_kg / 70.0;
        let row = |(place, view, shots): &(Place, Option<&str>, u32)| reconcile::Row {
            tag: reconcile::Tag {
                step: place.step.clone(),
                side: place.side,
                implant: place.implant,
                view: view.map(str::to_owned),
            },
            events: *shots,
            counted: i64::from(*shots),
            duration: None,
            kerma_area_product: Some(GrayCm2(f64::from(*shots) * share)),
            reference_air_kerma: Some(Milligray(f64::from(*shots) * share * 4.0)),
            without_figures: 0,
            confidence: Some(0.95),
            view_confidence: Some(0.9),
        };
        let rows: Vec<reconcile::Row> = self.fired.iter().map(row).collect();
        let brief = reconcile::Brief {
            method: reconcile::Method::TappedShots,
            ambiguous: self.number % 10 == 9,
            clock: None,
            rows,
            counted_not_reported: 0,
            reported_not_counted: 0,
            outside: 0,
            untimed: 0,
        };
        self.says(Did::DoseReportJoined(Box::new(JoinedReport {
            file: "report.dcm".to_owned(),
            sha256: "f".repeat(64),
            uid: None,
            of: None,
            figures: brief.figures(),
            events: self.shots,
            faults: 0,
            by_person: false,
        })));
        let report = self.events;
        self.says(Did::DoseReconciled(Box::new(Reconciled { report, brief })));
    }

    fn fire(&mut self, place: &Place, view: Option<&'static str>, shots: u32) {
        if shots > 0 {
            self.shots += shots;
            self.fired.push((place.clone(), view, shots));
            self.says(Did::ShotsCounted { place: place.clone(), shots });
        }
    }

    fn answer(&mut self, place: &Place, check: &Check, counter: f64, chance: &mut Chance) {
        let check_id = check.id.clone();
        if chance.uniform() < 0.01 {
            let reason = "not at hand".to_owned();
            return self.says(Did::CheckNotDone { place: place.clone(), check: check_id, reason });
        }
        let gained = f64::from(self.shots) * MACHINES[self.machine].1 * self.weight_kg / 70.0;
        let answer = match &check.ask {
            CheckKind::Measure { unit: unit @ Unit::CentigraySquareCentimetre, .. } => {
                let gained = gained * (0.15 * chance.normal()).exp();
                let value = if check.id == "opening-dose" { counter } else { counter + gained };
                Answer::Measured { value: (value * 1e4).round() / 100.0, unit: *unit, range: RangeVerdict::Expected }
            }
            other => plain(other),
        };
        self.says(Did::CheckAnswered { place: place.clone(), check: check_id, answer, done_at: None });
    }

    fn says(&mut self, did: Did) {
        self.events += 1;
        self.boot_ms += self.pace_ms;
        let event = event(self.number, self.events, self.boot_ms, self.surgeon, did);
        self.case.apply(&event).unwrap();
    }

    fn signed(self, salts: &Counted) -> Vec<u8> {
        let closing = ChainPoint { seq: self.events, sum: "a".repeat(64) };
        let unsigned = record::build(&self.case, &closing, &|_| None, salts).unwrap();
        let signed =
            unsigned.sign(&key(Role::Surgeon, self.surgeon), Role::Surgeon, Meaning::Responsibility, 1).unwrap();
        let (nurse, role) = (key(Role::CirculatingNurse, 0), Role::CirculatingNurse);
        signed.add(&nurse, role, Meaning::Authorship, 2).unwrap().to_bytes()
    }
}

fn plain(ask: &CheckKind) -> Answer {
    let second = Actor::new(Role::ScrubNurse, person(Role::ScrubNurse, 0));
    match ask {
        CheckKind::Confirm => Answer::Confirmed,
        CheckKind::Choice { options } => Answer::Chosen { option: options[0].id.clone() },
        CheckKind::Measure { unit, expected, .. } => {
            Answer::Measured { value: expected.from, unit: *unit, range: RangeVerdict::Expected }
        }
        CheckKind::Count { items, .. } => Answer::Counted { numbers: vec![2; items.len()], second },
        CheckKind::View { .. } => Answer::ViewAccepted { scale_deg: None, floor_mark: None },
        CheckKind::Pin { .. } => Answer::PinAccepted,
        CheckKind::Timer { .. } => Answer::TimerStarted { ago_min: 10 },
        CheckKind::Scan { .. } => Answer::Scanned { text: "LOT SECRET-77".to_owned() },
        CheckKind::Note => Answer::Noted { text: "as planned".to_owned() },
    }
}

fn plan(number: usize, weight_kg: f64, dysmorphic: bool, machine: usize, chance: &mut Chance) -> Plan {
    let side = if chance.uniform() < 0.5 { "left" } else { "right" };
    let implant = json!({"level": "S1", "diameter_mm": 10, "length_mm": 45});
    let implants = vec![implant; if chance.uniform() < 0.3 { 2 } else { 1 }];
    let age = 30 + (chance.uniform() * 65.0) as u8;
    serde_json::from_value(json!({
        "brimline_plan": 1, "label": format!("{number:04}"), "pathway": "primary-lateral-prone", "procedure": "primary",
        "patient": {"name": format!("Invented {number}"), "number": format!("PN-{number}"), "age": age,
                    "weight_kg": (weight_kg * 10.0).round() / 10.0},
        "sides": [{"side": side, "sacrum": if dysmorphic { "dysmorphic" } else { "normal" }, "implants": implants}],
        "antibiotic": "standard", "c_arm": MACHINES[machine].0
    }))
    .unwrap()
}

fn event(number: usize, seq: u64, boot_ms: u64, surgeon: u8, did: Did) -> Event {
    // A case a day, and no two of one year on the same clock time.
    let first: DateTime<FixedOffset> = "2031-01-06T08:00:00+01:00".parse().unwrap();
    let at = first + TimeDelta::days(number as i64) + TimeDelta::milliseconds(boot_ms as i64);
    let by = Actor::new(Role::Surgeon, person(Role::Surgeon, surgeon));
    let logged_by = Actor::new(Role::CirculatingNurse, person(Role::CirculatingNurse, 0));
    Event { seq, stamp: Stamp { at, process: 1, boot_ms }, by, logged_by, did }
}

fn opening(model: &Model, number: usize, surgeon: u8, version: &str) -> Event {
    let holder = |role: Role| person(role, if role == Role::Surgeon { surgeon } else { 0 });
    let opening = Opening {
        brimline_journal: 1,
        program: "0.1.0".to_owned(),
        kind: model.kind,
        exercise: None,
        case: format!("00000000-0000-4000-8000-{:04x}{number:08x}", model.seed & 0xffff),
        pathway: "primary-lateral-prone".to_owned(),
        pathway_version: version.to_owned(),
        pathway_digest: "c".repeat(64),
        plan_digest: "d".repeat(64),
        nonce: "e".repeat(64),
        site: Some("Invented Clinic".to_owned()),
        team: Role::ALL.into_iter().map(|role| (role, holder(role))).collect(),
        configured: Configured::default(),
        continues: None,
    };
    event(number, 1, 0, surgeon, Did::CaseOpened(Box::new(opening)))
}

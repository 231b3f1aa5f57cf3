//! A whole case by touches alone, from Home to a record that verifies, every touch counted.

use crate::stage::{SIZES, Stage, middle, wait};
use brimline::adapters::files::RealDisk;
use brimline::adapters::randomness::SystemRandomness;
use brimline::case::Status;
use brimline::commands::{Start, cast};
use brimline::open_case::World;
use brimline::pathway::CheckKind;
use brimline::people::PeopleStore;
use brimline::ports::{Clock, Moment};
use brimline::presenter::{self, Shared};
use brimline::record;
use brimline::settings::Settings;
use brimline_ui::{Over, Place, Shell};
use i_slint_backend_testing::{AccessibleRole, ElementHandle, ElementQuery};
use slint::ComponentHandle;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// A held touch lasts 0.6 s; this is longer.
const HELD_MS: u64 = 800;
/// A straightforward one-implant case takes no more touches than this, beside shots, digits and passcodes.
/// Source: the design of the screens, section 8.
const TOUCHES_MAX: u32 = 80;

/// A clock that a team at work would see: every reading is some seconds after the one before.
#[derive(Default)]
struct WorkingClock {
    readings: AtomicU64,
}

impl Clock for WorkingClock {
    fn now(&self) -> Moment {
        let boot_ms = (1 + self.readings.fetch_add(1, Ordering::Relaxed)) * 4_000;
        let start = chrono::DateTime::parse_from_rfc3339("2026-03-10T08:00:00+01:00").unwrap();
        Moment { at: start + chrono::TimeDelta::milliseconds(i64::try_from(boot_ms).unwrap()), boot_ms }
    }
}

struct Hand {
    stage: Stage,
    touches: u32,
    free: bool,
}

impl Hand {
    fn find(&self, label: &str) -> Option<ElementHandle> {
        let wanted = |element: &ElementHandle| {
            let named = element.accessible_label().unwrap_or_default();
            named == label || named.strip_prefix(label).is_some_and(|detail| detail.starts_with(", "))
        };
        ElementQuery::from_root(&self.stage.app).find_all().into_iter().filter(wanted).find(|element| {
            let touched = matches!(element.accessible_role(), Some(AccessibleRole::Button | AccessibleRole::ListItem));
            touched && element.accessible_enabled() != Some(false) && element.size().height > 0.0
        })
    }

    /// Touches what bears the label, held long enough for a critical confirmation.
    fn touch(&mut self, label: &str) {
        let found = self.find(label);
        let element = found.unwrap_or_else(|| {
            panic!("nothing labelled \"{label}\" can be touched at {:?}, {:?}", self.place(), self.over())
        });
        let at = middle(&element);
        self.stage.press(at);
        wait(HELD_MS);
        self.stage.release(at);
        wait(50);
        if !self.free {
            self.touches += 1;
        }
    }

    fn type_digits(&mut self, digits: &str) {
        self.free = true;
        for key in digits.chars() {
            let (small, large) = (key.to_string(), key.to_uppercase().to_string());
            let label = if self.find(&small).is_some() { small } else { large };
            self.touch(&label);
        }
        self.free = false;
    }

    fn place(&self) -> Place {
        self.stage.app.global::<Shell>().get_place()
    }

    fn over(&self) -> Over {
        self.stage.app.global::<Shell>().get_over()
    }
}

fn start(store: &Path) -> Start {
    let world = World {
        clock: Arc::new(WorkingClock::default()),
        randomness: Arc::new(SystemRandomness),
        disk: Arc::new(RealDisk),
    };
    let settings_path = store.join("settings.toml");
    Start { settings: Settings::default(), settings_path, store: store.to_owned(), world, draw: None }
}

/// A store with the demo people and the demo plan waiting.
fn prepared(store: &Path) -> cast::DemoPeople {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases/01-straightforward-left");
    let people = cast::read(&std::fs::read(demo.join("people.json")).unwrap()).unwrap();
    people.enlist(&PeopleStore::new(&RealDisk, store), &SystemRandomness).unwrap();
    std::fs::create_dir_all(store.join("plans")).unwrap();
    std::fs::copy(demo.join("plan.json"), store.join("plans/plan.json")).unwrap();
    people
}

/// The touches that answer the next open check of the place the team is at; false if there is none on this page.
fn answer_one(hand: &mut Hand, app: &Shared) -> bool {
    let next = {
        let app = app.borrow();
        let case = app.open.as_ref().expect("a case is open").case();
        let here = case.state().here.clone();
        let places = case.places();
        let at = places.iter().find(|at| at.place == here).expect("the team is at a place");
        case.open_checks(at).first().map(|check| (*check).clone())
    };
    let Some(check) = next else { return false };
    while hand.find("More checks").is_some() && !shown(hand, &check.text) {
        hand.touch("More checks");
    }
    match &check.ask {
        CheckKind::Confirm => hand.touch(&check.text),
        CheckKind::Choice { options } => {
            let beside = format!("{}: {}", check.text, options[0].text);
            if hand.find(&beside).is_some() {
                hand.touch(&beside);
            } else {
                hand.touch(&check.text);
                hand.touch(&options[0].text);
            }
        }
        CheckKind::View { .. } | CheckKind::Pin { .. } => {
            let words = ["View accepted", "Pin position accepted"];
            let labels = words.map(|word| format!("{}: {word}", check.text));
            let shown = labels.iter().find(|label| hand.find(label).is_some());
            hand.touch(&shown.cloned().unwrap_or_else(|| check.text.clone()));
        }
        CheckKind::Measure { expected, .. } => {
            hand.touch(&check.text);
            hand.type_digits(&expected.from.to_string());
            hand.touch("Accept");
        }
        CheckKind::Timer { .. } => {
            hand.touch(&check.text);
            hand.type_digits("9");
            hand.touch("Accept");
        }
        CheckKind::Count { items, .. } => {
            hand.touch(&check.text);
            for item in items {
                hand.free = true;
                hand.touch(item);
                hand.free = false;
                hand.type_digits("4");
            }
            hand.touch("Count agreed");
        }
        CheckKind::Scan { .. } | CheckKind::Note => {
            hand.touch(&check.text);
            hand.type_digits("ab");
            hand.touch("Accept");
        }
    }
    true
}

/// Whether a check of those words stands on the page, with whatever key.
fn shown(hand: &Hand, text: &str) -> bool {
    let checks = hand.stage.app.global::<brimline_ui::Operate>().get_checks();
    slint::Model::iter(&checks).any(|line| line.text == text)
}

fn sign(hand: &mut Hand, people: &cast::DemoPeople) {
    for person in
        people.people.iter().filter(|person| ["surgeon", "circulating nurse"].contains(&person.roles[0].word()))
    {
        let main = format!("Sign as {}", person.roles[0].word());
        while hand.find("Read on").is_some() {
            hand.touch("Read on");
        }
        hand.touch(&main);
        hand.type_digits(&person.passcode);
        hand.touch("Sign");
    }
}

/// [R-TABLET-1] [R-TABLET-2]
#[test]
fn a_straightforward_case_is_performed_by_touches_alone_and_its_record_verifies() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    let people = prepared(&store);
    let stage = Stage::open(SIZES[0]);
    let app = presenter::open(&stage.app, start(&store));
    let mut hand = Hand { stage, touches: 0, free: true };
    hand.touch("I have read this");
    hand.free = false;
    hand.touch("Set up this case");
    while hand.place() == Place::SetUp {
        let main = ["Open the case", "Next: rest of the plan", "Next: team"]
            .into_iter()
            .find(|label| hand.find(label).is_some());
        hand.touch(main.expect("set-up has a main action"));
    }
    assert_eq!(hand.place(), Place::Operate);
    for _ in 0..200 {
        if hand.over() == Over::Message {
            hand.touch("Finish the case");
        }
        let status = app.borrow().open.as_ref().map(|open| open.case().state().status);
        if !matches!(status, Some(Status::Running)) {
            break;
        }
        if hand.place() == Place::Gate {
            let roles: Vec<String> = {
                let app = app.borrow();
                let case = app.open.as_ref().unwrap().case();
                let gate = case.gate_at(&case.state().here).expect("a gate shows");
                gate.release.iter().map(|role| role.word().to_owned()).collect()
            };
            for role in roles {
                let mut letters = role.chars();
                let label = letters.next().unwrap().to_uppercase().chain(letters).collect::<String>();
                hand.touch(&label);
            }
        } else if !answer_one(&mut hand, &app) {
            let next = hand.stage.app.global::<brimline_ui::Operate>().get_next().to_string();
            hand.touch(&next);
        }
    }
    assert_eq!(hand.place(), Place::SignOff);
    sign(&mut hand, &people);
    let cases = std::fs::read_dir(store.join("cases")).unwrap();
    let mut records = cases.map(|case| case.unwrap().path().join("record.json"));
    let record_path: PathBuf = records.find(|path| path.exists()).expect("a record was written");
    if let Some(open) = app.borrow().open.as_ref() {
        assert_eq!(open.wait_saved(Duration::from_secs(10)), brimline::open_case::SaveState::Saved);
    }
    let roster = PeopleStore::new(&RealDisk, &store).roster().unwrap();
    let verified = record::verify(&std::fs::read(record_path).unwrap(), &roster).unwrap();
    assert_eq!(verified.signatures().len(), 2);
    println!("{} touches beside shots, digits and passcodes", hand.touches);
    assert!(hand.touches <= TOUCHES_MAX, "{} touches are more than {TOUCHES_MAX}", hand.touches);
}

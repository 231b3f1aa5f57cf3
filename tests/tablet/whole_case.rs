//! A whole case by touches alone, from Home to a record that verifies, every touch counted.

use crate::hand::{Hand, answer_one, start};
use crate::stage::{SIZES, Stage};
use brimline::adapters::files::RealDisk;
use brimline::adapters::randomness::SystemRandomness;
use brimline::case::Status;
use brimline::commands::cast;
use brimline::people::PeopleStore;
use brimline::presenter;
use brimline::record;
use brimline_ui::{Over, Place, SignOff};
use slint::ComponentHandle;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// A straightforward one-implant case takes no more touches than this, beside shots, digits and passcodes.
/// Source: the design of the screens, section 8.
const TOUCHES_MAX: u32 = 80;

/// A store with the demo people and the demo plan waiting.
fn prepared(store: &Path) -> cast::DemoPeople {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases/01-straightforward-left");
    let people = cast::read(&std::fs::read(demo.join("people.json")).unwrap()).unwrap();
    people.enlist(&PeopleStore::new(&RealDisk, store), &SystemRandomness).unwrap();
    std::fs::create_dir_all(store.join("plans")).unwrap();
    std::fs::copy(demo.join("plan.json"), store.join("plans/plan.json")).unwrap();
    people
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
        hand.until("a signature", |hand| hand.stage.app.global::<SignOff>().get_signing().is_empty());
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

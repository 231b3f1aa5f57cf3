//! What a team does beside the straight way through a case, by touches: late entries, shots that belong to another
//! case, a pathway of the site's own, one person in two roles, a replaced key, an examination in recovery.

use crate::hand::{Hand, answer_one, start};
use crate::stage::{SIZES, Stage};
use brimline::adapters::files::RealDisk;
use brimline::adapters::randomness::SystemRandomness;
use brimline::case::{Closed, Status};
use brimline::open_case::{OpenCase, look};
use brimline::pathway;
use brimline::people::{Passcode, PeopleStore, PersonId, Role};
use brimline::presenter::{self, Shared};
use brimline::record;
use brimline_ui::{AddendumView, MessageShown, Over, People, PickAsked, Place, RecordView, SetUp, Shell, SignOff};
use slint::{ComponentHandle, Model};
use std::path::{Path, PathBuf};

pub const PASSCODE: &str = "482913";
const NEW_PASSCODE: &str = "731846";

/// A store in which one person can take every role, with as many plans.
pub fn alone(store: &Path, plans: usize) -> PersonId {
    let people = PeopleStore::new(&RealDisk, store);
    people.init(&SystemRandomness).unwrap();
    let passcode = Passcode::new(PASSCODE).unwrap();
    let kid = people.add("Solo Invented", &Role::ALL, &passcode, &SystemRandomness).unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases/01-straightforward-left/plan.json");
    let plan: serde_json::Value = serde_json::from_slice(&std::fs::read(demo).unwrap()).unwrap();
    std::fs::create_dir_all(store.join("plans")).unwrap();
    for number in 1..=plans {
        let mut plan = plan.clone();
        plan["label"] = format!("case {number}").into();
        plan["patient"]["name"] = format!("Invented {number}").into();
        if let Some(members) = plan.as_object_mut() {
            members.remove("team");
        }
        std::fs::write(store.join(format!("plans/{number}.json")), plan.to_string()).unwrap();
    }
    kid
}

pub fn begin(store: &Path) -> (Hand, Shared) {
    let stage = Stage::open(SIZES[0]);
    let app = presenter::open(&stage.app, start(store));
    let mut hand = Hand { stage, touches: 0, free: true };
    hand.touch("I have read this");
    (hand, app)
}

/// From Home to the first step of the case whose plan comes first.
pub fn open_case(hand: &mut Hand) {
    hand.touch("Set up this case");
    set_up(hand);
}

/// From case set-up to the first step.
fn set_up(hand: &mut Hand) {
    while hand.place() == Place::SetUp {
        let main = ["Open the case", "Next: rest of the plan", "Next: team"];
        let main = main.into_iter().find(|label| hand.find(label).is_some());
        hand.touch(main.expect("set-up has a main action"));
    }
    assert_eq!(hand.place(), Place::Operate);
}

/// Ends the case before the incision.
fn cancel_case(hand: &mut Hand, app: &Shared) {
    hand.touch("Stop");
    hand.touch("Cancelled");
    close_list(hand, app);
}

/// Answers the short list of an outcome and closes the case.
fn close_list(hand: &mut Hand, app: &Shared) {
    while answer_one(hand, app) {}
    hand.touch("Close the case");
}

pub fn sign(hand: &mut Hand, role: &str, passcode: &str) {
    while hand.find("Read on").is_some() {
        hand.touch("Read on");
    }
    hand.touch(&format!("Sign as {role}"));
    hand.type_digits(passcode);
    hand.touch("Sign");
    hand.until("a signature", |hand| hand.stage.app.global::<SignOff>().get_signing().is_empty());
}

fn pedal(hand: &Hand, times: u32) {
    for _ in 0..times {
        hand.stage.app.global::<Shell>().invoke_pedal();
    }
}

pub fn only_case(store: &Path) -> PathBuf {
    let mut cases = std::fs::read_dir(store.join("cases")).unwrap();
    cases.next().unwrap().unwrap().path()
}

/// [R-TABLET-9] [R-RECORD-8] [R-TABLET-12]
#[test]
fn one_person_in_two_roles_is_warned_of_and_signs_with_a_replaced_key_and_adds_an_examination() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    let kid = alone(&store, 1);
    let (mut hand, app) = begin(&store);
    open_case(&mut hand);
    let warned = hand.stage.app.global::<SetUp>().get_remark();
    let words =
        "Solo Invented signs as surgeon and as circulating nurse: the second signature is not an independent one.";
    assert_eq!(warned, words);
    cancel_case(&mut hand, &app);
    assert_eq!(hand.place(), Place::SignOff);
    assert_eq!(hand.stage.app.global::<SignOff>().get_remark(), words);
    sign(&mut hand, "surgeon", PASSCODE);
    hand.touch("Sign later");
    let people = PeopleStore::new(&RealDisk, &store);
    let new = people.replace(&kid, &Passcode::new(NEW_PASSCODE).unwrap(), &SystemRandomness).unwrap();
    hand.touch("Settings");
    hand.touch("Home");
    hand.touch("Sign the record");
    let waiting: Vec<_> = hand.stage.app.global::<SignOff>().get_signers().iter().collect();
    assert!(waiting.iter().any(|line| line.detail == "signs with the new key"), "{waiting:?}");
    sign(&mut hand, "circulating nurse", NEW_PASSCODE);
    hand.until("the record", |hand| hand.place() == Place::Record);
    let case = only_case(&store);
    let roster = people.roster().unwrap();
    let verified = record::verify(&std::fs::read(case.join("record.json")).unwrap(), &roster).unwrap();
    let second = &verified.signatures()[1];
    assert_eq!((&second.who.kid, second.replaces.as_ref()), (&new, Some(&kid)));
    assert_eq!(verified.document().signers_together(), [(Role::Surgeon, Role::CirculatingNurse)]);
    examine(&mut hand);
    let addendum = std::fs::read(case.join("addendum-1.json")).unwrap();
    let addendum = record::verify_addendum(&addendum, &verified, &roster).unwrap();
    let record::AddendumKind::RecoveryExamination { findings } = &addendum.document().about else {
        panic!("not an examination: {:?}", addendum.document().about)
    };
    assert_eq!(findings.iter().map(|finding| finding.power).collect::<Vec<_>>(), [5, 4]);
    let lines: Vec<_> = hand.stage.app.global::<RecordView>().get_lines().iter().collect();
    assert_eq!((lines[0].label.as_str(), lines[1].label.as_str()), ("Added later", "Recovery"));
    correct(&mut hand);
    let addendum = std::fs::read(case.join("addendum-2.json")).unwrap();
    let addendum = record::verify_addendum(&addendum, &verified, &roster).unwrap();
    assert_eq!(addendum.document().note.value().unwrap(), "Ab", "the keyboard begins with a capital");
}

fn examine(hand: &mut Hand) {
    hand.touch("Add a finding");
    hand.touch("Recovery examination");
    assert_eq!(hand.place(), Place::Addendum);
    assert!(!hand.stage.app.global::<AddendumView>().get_ready());
    for (label, choice) in [
        ("Power, left L5", "5 of 5"),
        ("Feeling, left L5", "As before the operation"),
        ("Power, left S1", "4 of 5"),
        ("Feeling, left S1", "Less than before"),
    ] {
        hand.touch(label);
        hand.touch(choice);
    }
    sign_addendum(hand);
}

fn correct(hand: &mut Hand) {
    hand.touch("Add a finding");
    hand.touch("Correction");
    hand.touch("What is right");
    hand.type_digits("ab");
    hand.touch("Accept");
    sign_addendum(hand);
}

fn sign_addendum(hand: &mut Hand) {
    hand.touch("Sign the addendum");
    hand.type_digits(NEW_PASSCODE);
    hand.touch("Sign");
    hand.until("the addendum", |hand| hand.place() == Place::Record);
}

/// [R-TABLET-10] [R-CASE-12]
#[test]
fn shots_of_a_case_opened_in_error_go_to_the_right_one_and_both_tell_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    alone(&store, 2);
    let (mut hand, app) = begin(&store);
    open_case(&mut hand);
    pedal(&hand, 3);
    let right = folder_of(&app);
    hand.touch("More");
    hand.touch("Leave this case");
    let right_name = hand.stage.app.global::<brimline_ui::Home>().get_cases().row_data(0).unwrap().patient;
    let planned = hand.stage.app.global::<brimline_ui::Home>().get_cases().row_data(1).unwrap().patient;
    hand.touch(&planned);
    open_case(&mut hand);
    pedal(&hand, 2);
    let wrong = folder_of(&app);
    hand.touch("Stop");
    hand.touch("Opened in error");
    assert_eq!(hand.over(), Over::Pick, "the right case is asked at once");
    hand.touch(&right_name);
    hand.until("the move", |hand| hand.over() == Over::Message);
    assert!(hand.stage.app.global::<MessageShown>().get_text().starts_with("2 shots counted here now stand with"));
    hand.touch("Understood");
    close_list(&mut hand, &app);
    assert_eq!(hand.place(), Place::SignOff, "nothing is left to be moved");
    let world = app.borrow().world.clone();
    let taken = look(&world, &right).unwrap();
    let wrong_id = app.borrow().open.as_ref().unwrap().case().state().opening.case.clone();
    assert_eq!((taken.case.state().shots_moved_with(&wrong_id), taken.case.state().shots_kept()), (2, 5));
    assert_eq!(taken.case.state().status, Status::Running);
    app.borrow_mut().open.take().map(OpenCase::close);
    let handed = look(&world, &wrong).unwrap();
    assert_eq!((handed.case.state().shots_total(), handed.case.state().shots_kept()), (2, 0));
}

fn folder_of(app: &Shared) -> PathBuf {
    app.borrow().open.as_ref().unwrap().folder().to_owned()
}

/// [R-TABLET-11] [R-CASE-7]
#[test]
fn a_check_of_a_step_passed_is_entered_late_with_the_time_it_was_done() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    alone(&store, 1);
    let (mut hand, app) = begin(&store);
    open_case(&mut hand);
    assert!(answer_one(&mut hand, &app), "one check of the first step is answered");
    let (first, second, text) = {
        let app = app.borrow();
        let case = app.open.as_ref().unwrap().case();
        let places = case.places();
        let open = case.open_checks(&places[0]);
        let simple = open.iter().find(|check| matches!(check.ask, pathway::CheckKind::Confirm)).unwrap();
        (places[0].clone().place, places[1].clone().place, (simple.id.clone(), simple.text.clone()))
    };
    let title = app.borrow().open.as_ref().unwrap().case().step_at(&first).unwrap().title.to_owned();
    let next = app.borrow().open.as_ref().unwrap().case().step_at(&second).unwrap().title.to_owned();
    hand.stage.app.global::<brimline_ui::CaseView>().invoke_show_steps();
    hand.touch(&next);
    hand.touch("More");
    hand.touch("Late entry");
    hand.touch(&title);
    hand.touch(&text.1);
    assert_eq!(hand.over(), Over::Number);
    let opened = app.borrow().open.as_ref().unwrap().case().opened_at().unwrap();
    hand.type_digits("2359");
    hand.touch("Accept");
    assert_eq!(hand.over(), Over::Number, "a time before the case is not taken");
    for _ in 0..4 {
        hand.touch("erase one");
    }
    hand.type_digits(&opened.format("%H%M").to_string());
    hand.touch("Accept");
    assert_eq!(hand.over(), Over::Nothing);
    let app = app.borrow();
    let case = app.open.as_ref().unwrap().case();
    let answer = case.state().answer(&first, &text.0).expect("it is answered");
    assert!(answer.flags.late);
    assert!(matches!(&answer.outcome, Closed::Answered { done_at: Some(at), .. } if *at == opened));
    assert_eq!(case.state().here, second, "the team stays where it is");
}

/// [R-TABLET-13]
#[test]
fn a_pathway_of_the_site_is_offered_and_a_faulty_one_says_what_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    alone(&store, 1);
    let built_in = pathway::built_in("primary-lateral-prone").unwrap();
    let mut own: serde_json::Value = serde_json::from_slice(built_in).unwrap();
    own["version"] = "site 7".into();
    own["title"] = "Our own way".into();
    std::fs::create_dir_all(store.join("pathways")).unwrap();
    std::fs::write(store.join("pathways/own.json"), own.to_string()).unwrap();
    own["phases"][0]["steps"][0]["checks"][0]["id"] = own["phases"][0]["steps"][0]["checks"][1]["id"].clone();
    std::fs::write(store.join("pathways/twice.json"), own.to_string()).unwrap();
    let (mut hand, app) = begin(&store);
    hand.touch("Set up this case");
    hand.touch("Pathway");
    let rows: Vec<_> = hand.stage.app.global::<PickAsked>().get_rows().iter().collect();
    let faulty = rows.iter().find(|row| row.text == "pathways/twice.json").expect("it is listed");
    assert!(faulty.barred && faulty.detail.starts_with("cannot be chosen: "), "{faulty:?}");
    assert!(rows[0].chosen && rows[0].detail.starts_with("built in"), "{rows:?}");
    hand.touch("Our own way");
    set_up(&mut hand);
    let app = app.borrow();
    let case = app.open.as_ref().unwrap().case();
    assert_eq!(case.pathway().version, "site 7");
    let kept = std::fs::read(app.open.as_ref().unwrap().folder().join("pathway.json")).unwrap();
    assert_eq!(kept, std::fs::read(store.join("pathways/own.json")).unwrap(), "the case keeps its very bytes");
}

/// [R-TABLET-14]
#[test]
fn shots_count_while_a_key_is_being_made() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    let old = alone(&store, 1);
    let (mut hand, app) = begin(&store);
    open_case(&mut hand);
    hand.touch("More");
    hand.touch("Leave this case");
    hand.touch("People");
    hand.touch("Solo Invented");
    hand.touch("New key");
    hand.type_digits(NEW_PASSCODE);
    hand.touch("Once more");
    hand.type_digits(NEW_PASSCODE);
    hand.free = true;
    let set = hand.find("Set").expect("the second time sets it");
    hand.stage.tap(crate::stage::middle(&set));
    let busy = |hand: &Hand| hand.stage.app.global::<People>().get_busy();
    assert!(busy(&hand), "the touch came back before the key was made");
    pedal(&hand, 2);
    assert_eq!(app.borrow().open.as_ref().unwrap().case().state().shots_total(), 2);
    assert!(busy(&hand), "the shots counted meanwhile");
    hand.until("the new key", |hand| !busy(hand));
    let roster = PeopleStore::new(&RealDisk, &store).roster().unwrap();
    assert!(roster.person(&old).unwrap().retired());
    assert_ne!(roster.present(&old).unwrap().kid(), &old);
}

//! Dose at the table: read, corrected, set by one touch, held, received; and every state of its screen drawn and measured.

use crate::dose_scenes::SCENES;
use crate::hand::{Hand, start};
use crate::looks::draw_each;
use crate::paper_station::{Paper, lay_image, lay_report};
use crate::stage::{SIZES, Stage, middle, wait};
use crate::touch::{apart, buttons, in_each, measure};
use brimline::adapters::files::RealDisk;
use brimline::adapters::randomness::SystemRandomness;
use brimline::case::MachineSetting;
use brimline::commands::{Start, Station};
use brimline::dose::Moment;
use brimline::people::{Passcode, PeopleStore, Role};
use brimline::presenter::{self, Shared, receiver_port};
use brimline::units::KermaAreaUnit;
use brimline_ui::{AddendumView, Home, Over, Place, Shell, SignOff};
use slint::ComponentHandle;
use slint::platform::WindowEvent;
use std::path::Path;

const PASSCODE: &str = "482913";

#[test]
fn the_dose_screens_are_drawn_at_both_sizes_without_a_warning() {
    draw_each(SCENES);
}

#[test]
fn everything_touched_on_the_dose_screens_is_88_both_ways_apart_and_has_a_label() {
    in_each(SCENES, |scene, stage| {
        let found = buttons(stage);
        assert!(!found.is_empty(), "{}: nothing to touch", scene.name);
        measure(scene, &found);
        apart(scene, &found);
    });
}

/// A store with one person in every role and the plan of the demo case.
fn stocked(store: &Path) {
    let people = PeopleStore::new(&RealDisk, store);
    people.init(&SystemRandomness).unwrap();
    people.add("Solo Invented", &Role::ALL, &Passcode::new(PASSCODE).unwrap(), &SystemRandomness).unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases/01-straightforward-left/plan.json");
    let mut plan: serde_json::Value = serde_json::from_slice(&std::fs::read(demo).unwrap()).unwrap();
    plan.as_object_mut().unwrap().remove("team");
    std::fs::create_dir_all(store.join("plans")).unwrap();
    std::fs::write(store.join("plans/1.json"), plan.to_string()).unwrap();
}

fn begin(start: Start) -> (Hand, Shared) {
    let stage = Stage::open(SIZES[0]);
    let app = presenter::open(&stage.app, start);
    let mut hand = Hand { stage, touches: 0, free: true };
    hand.touch("I have read this");
    hand.touch("Set up this case");
    while hand.place() == Place::SetUp {
        let main = ["Open the case", "Next: rest of the plan", "Next: team"];
        let main = main.into_iter().find(|label| hand.find(label).is_some());
        hand.touch(main.expect("set-up has a main action"));
    }
    (hand, app)
}

fn radiation(app: &Shared) -> brimline::case::Radiation {
    app.borrow().open.as_ref().unwrap().case().state().radiation.clone()
}

fn figure(hand: &mut Hand, field: &str, digits: &str) {
    hand.touch(field);
    hand.type_digits(digits);
    hand.touch("Accept");
}

/// [R-TABLET-15] A reading in two figures, corrected; an odd one asked about; settings by one touch each.
#[test]
fn a_console_is_read_corrected_and_asked_about_by_touch() {
    let folder = tempfile::tempdir().unwrap();
    stocked(folder.path());
    let (mut hand, app) = begin(start(folder.path()));
    hand.touch("Dose");
    assert_eq!(hand.place(), Place::Dose);
    hand.touch("Read the console");
    figure(&mut hand, "Dose area", "12");
    figure(&mut hand, "Shots of the console", "2");
    hand.touch("Keep the reading");
    let first = radiation(&app).readings[0].reading.clone();
    let shown = first.kerma_area_product.unwrap();
    assert_eq!((shown.value, shown.unit), (12.0, KermaAreaUnit::CentigraySquareCentimetre));
    assert_eq!((first.moment, first.shots), (Moment::Opening, Some(2)));
    hand.touch("At opening");
    figure(&mut hand, "Dose area", "21");
    hand.touch("Keep the reading");
    let readings = radiation(&app).readings;
    assert_eq!((readings.len(), readings[0].replaced_by), (2, Some(readings[1].seq)), "both numbers are kept");
    hand.touch("At the end");
    hand.touch("Unit of dose area");
    hand.touch("Gy·cm²");
    figure(&mut hand, "Dose area", "900");
    figure(&mut hand, "Time of fluoroscopy", "2");
    hand.touch("Keep the reading");
    assert_eq!((hand.over(), radiation(&app).readings.len()), (Over::Message, 2), "asked before it is kept");
    hand.touch("It stands so");
    assert!(radiation(&app).readings[2].reading.confirmed);
    hand.touch("Machine");
    hand.touch("Pulses a second 8");
    hand.touch("Collimation Drawn in");
    let set = radiation(&app).set_now();
    assert_eq!(set, [MachineSetting::PulseRate { per_s: 8.0 }, MachineSetting::Collimation { drawn_in: true }]);
    hand.touch("Estimates");
    hand.touch("Steps");
    hand.touch("Back");
    assert_eq!(hand.place(), Place::Operate);
}

/// [R-TABLET-16] One actuation is one shot, however long it is held.
#[test]
fn a_run_is_logged_by_holding_the_key_or_the_pedal() {
    let folder = tempfile::tempdir().unwrap();
    stocked(folder.path());
    let (mut hand, app) = begin(start(folder.path()));
    hand.touch("+ 1 shot");
    let key = middle(&hand.find("+ 1 shot").unwrap());
    hand.stage.press(key);
    wait(2_600);
    hand.stage.release(key);
    let shots = app.borrow().open.as_ref().unwrap().case().state().shots.clone();
    assert_eq!(shots.iter().map(|shot| shot.shots).collect::<Vec<_>>(), [1, 1]);
    assert_eq!(shots[0].seconds, None);
    let held = shots[1].seconds.expect("a run");
    assert!((held - 2.6).abs() < 0.2, "{held} s");
    let key = slint::SharedString::from(char::from(slint::platform::Key::F9).to_string());
    let window = hand.stage.app.window();
    window.dispatch_event(WindowEvent::KeyPressed { text: key.clone() });
    wait(3_000);
    assert_eq!(app.borrow().open.as_ref().unwrap().case().state().shots_total(), 3, "counted when it went down");
    window.dispatch_event(WindowEvent::KeyReleased { text: key });
    let state = app.borrow().open.as_ref().unwrap().case().state().clone();
    assert_eq!((state.shots_total(), state.shots.len()), (3, 3));
    assert!((state.shots[2].seconds.unwrap() - 3.0).abs() < 0.2);
}

/// [R-RECEIVE-10] What arrives and is saved while a confirmation is held does not break the hold.
#[test]
fn a_held_confirmation_outlasts_what_arrives_and_shots_meanwhile() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path();
    stocked(store);
    let mut start = start(store);
    start.settings.receive.peers = vec!["ARM".parse().unwrap()];
    start.station = Some(Station { receiver: &Paper, reports: &Paper, images: &Paper });
    let (hand, app) = begin(start);
    let text = {
        let app = app.borrow();
        let case = app.open.as_ref().unwrap().case();
        let checks = case.places()[0].step.checks.iter();
        checks.clone().find(|check| check.held).unwrap_or(&case.places()[0].step.checks[0]).text.clone()
    };
    let at = middle(&hand.find(&text).unwrap());
    hand.stage.press(at);
    wait(200);
    lay_image(store, "2.25.7", "DEMO-0001", "2026-03-10T08:10:00");
    hand.stage.app.global::<Shell>().invoke_arrived();
    hand.stage.app.global::<Shell>().invoke_pedal();
    hand.stage.app.global::<Shell>().invoke_saving_changed();
    hand.until("the image", |_| radiation(&app).images.len() == 1);
    wait(700);
    hand.stage.release(at);
    wait(50);
    let state = app.borrow().open.as_ref().unwrap().case().state().clone();
    assert_eq!((state.shots_total(), state.checks.len()), (1, 1), "the check is answered and the shot counted");
}

/// [R-TABLET-17] [R-RECEIVE-8] [R-RECEIVE-9]
#[test]
fn what_arrives_joins_the_open_case_or_waits_and_becomes_an_addendum_after_signing() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path();
    stocked(store);
    let mut start = start(store);
    start.settings.receive.peers = vec!["ARM".parse().unwrap()];
    start.station = Some(Station { receiver: &Paper, reports: &Paper, images: &Paper });
    let (mut hand, app) = begin(start);
    assert!(receiver_port(&app).is_some());
    lay_report(store, "2.25.1", "DEMO-0001", "2026-03-10T08:10:00");
    lay_image(store, "2.25.2", "ELSE", "2026-03-10T08:10:00");
    hand.stage.app.global::<Shell>().invoke_arrived();
    hand.until("the report", |_| radiation(&app).reconciled.len() == 1);
    hand.touch("Stop");
    hand.touch("Cancelled");
    while crate::hand::answer_one(&mut hand, &app) {}
    hand.touch("Close the case");
    assert_eq!(hand.place(), Place::SignOff);
    let shown: Vec<_> = slint::Model::iter(&hand.stage.app.global::<SignOff>().get_lines()).collect();
    assert!(shown.iter().any(|line| line.tag == "Dose"), "the reconciliation stands at sign off");
    for role in ["surgeon", "circulating nurse"] {
        while hand.find("Read on").is_some() {
            hand.touch("Read on");
        }
        hand.touch(&format!("Sign as {role}"));
        hand.type_digits(PASSCODE);
        hand.touch("Sign");
        hand.until("a signature", |hand| hand.stage.app.global::<SignOff>().get_signing().is_empty());
    }
    hand.until("the record", |hand| hand.place() == Place::Record);
    lay_report(store, "2.25.3", "DEMO-0001", "2026-03-10T08:12:00");
    hand.touch("Home");
    hand.until("both wait", |hand| hand.stage.app.global::<Home>().get_received() == 2);
    hand.touch("Received");
    hand.touch("Image · ELSE");
    hand.touch("Set aside");
    hand.until("one waits", |hand| hand.stage.app.global::<Home>().get_received() == 1);
    hand.touch("Received");
    hand.touch("Dose report · DEMO-0001");
    let patient = slint::Model::row_data(&hand.stage.app.global::<Home>().get_cases(), 0).unwrap().patient;
    hand.touch(&format!("Into {patient}"));
    hand.until("the addendum", |hand| hand.place() == Place::Addendum);
    assert!(hand.stage.app.global::<AddendumView>().get_ready());
    hand.touch("Sign the addendum");
    hand.type_digits(PASSCODE);
    hand.touch("Sign");
    hand.until("it stands", |hand| hand.place() == Place::Record);
    let case = std::fs::read_dir(store.join("cases")).unwrap().next().unwrap().unwrap().path();
    assert!(case.join("addendum-1.json").exists() && case.join("reports/2.25.3.dcm").exists());
    assert!(!store.join("received/2.25.3.dcm").exists());
}

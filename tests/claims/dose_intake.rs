//! What arrives finds its case, or waits for a person, on a real disk.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::paper_station::{Paper, lay_image, lay_report};
use super::small_world::{PATHWAY, TestClock, new_case, nurse, say, silent, world};
use brimline::adapters::files::RealDisk;
use brimline::case::{Command, Outcome};
use brimline::open_case::arrivals::Why;
use brimline::open_case::intake::{self, Came, Intake, Ours, Waits};
use brimline::open_case::{CreateCase, OpenCase, SaveState, look};
use chrono::TimeDelta;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

struct Room {
    _there: tempfile::TempDir,
    clock: Arc<TestClock>,
    intake: Intake,
}

fn room() -> Room {
    let there = tempfile::tempdir().unwrap();
    let clock = TestClock::new();
    let intake = Intake {
        world: world(Arc::new(RealDisk), clock.clone(), 7),
        store: there.path().to_owned(),
        receiver: &Paper,
        reports: &Paper,
        images: &Paper,
        tolerance: TimeDelta::minutes(15),
        bytes_max: 1 << 20,
    };
    Room { _there: there, clock, intake }
}

fn plan(number: &str) -> String {
    let mut plan: serde_json::Value = serde_json::from_str(super::small_world::PLAN).unwrap();
    plan["patient"]["number"] = number.into();
    plan.to_string()
}

impl Room {
    fn open(&self, name: &str, number: &str) -> OpenCase {
        let plan = plan(number);
        let new = CreateCase { pathway: PATHWAY.as_bytes(), plan: plan.as_bytes(), ..new_case() };
        OpenCase::create(&self.intake.world, &self.folder(name), new).unwrap()
    }

    fn folder(&self, name: &str) -> PathBuf {
        self.intake.store.join("cases").join(name)
    }

    fn received(&self) -> Vec<String> {
        let names = std::fs::read_dir(self.intake.store.join("received")).unwrap();
        names.map(|name| name.unwrap().file_name().into_string().unwrap()).collect()
    }
}

fn ours(case: &OpenCase) -> Ours {
    let holds = case.case().state().radiation.uids().map(str::to_owned).collect();
    Ours { folder: case.folder().to_owned(), holds }
}

fn saved(case: &OpenCase) {
    assert_eq!(case.wait_saved(Duration::from_secs(20)), SaveState::Saved);
}

fn closed(case: &mut OpenCase) {
    say(case, Command::Stop { reason: String::new() });
    say(case, Command::ChooseOutcome { outcome: Outcome::Cancelled });
    let place = case.case().state().here.clone();
    let answer = brimline::case::Answer::Confirmed;
    say(case, Command::Answer { place, check: "cancelled-told".to_owned(), answer });
    say(case, Command::Close);
}

fn exists(path: &Path) -> bool {
    path.exists()
}

/// [R-RECEIVE-8] The file stands in the case's folder and the journal names it before it leaves the folder of arrivals.
#[test]
fn what_agrees_with_the_open_case_is_kept_there_and_entered_by_its_owner() {
    let room = room();
    let mut case = room.open("a", "A-1");
    lay_report(&room.intake.store, "2.25.1", "A-1", "2026-03-10T08:05:00");
    lay_image(&room.intake.store, "2.25.2", "A-1", "2026-03-10T08:06:00");
    let taken = intake::take_in(&room.intake, Some(&ours(&case))).unwrap();
    assert_eq!((taken.for_open.len(), taken.waiting.len()), (2, 0));
    assert!(
        exists(&room.folder("a").join("reports/2.25.1.dcm")) && exists(&room.folder("a").join("images/2.25.2.dcm"))
    );
    assert_eq!(room.received().len(), 2, "nothing leaves before the journal names it");
    for came in taken.for_open {
        came.enter(&mut case, &nurse()).unwrap();
    }
    saved(&case);
    let radiation = &case.case().state().radiation;
    assert_eq!((radiation.reports.len(), radiation.reconciled.len(), radiation.images.len()), (1, 1, 1));
    assert!(!radiation.reports[0].what.by_person);
    let pose = radiation.images[0].what.pose.unwrap();
    assert_eq!((pose.primary_deg.to_bits(), pose.secondary_deg.to_bits()), (13.6_f64.to_bits(), (-42.2_f64).to_bits()));
    let again = intake::take_in(&room.intake, Some(&ours(&case))).unwrap();
    assert!(again.for_open.is_empty() && again.waiting.is_empty());
    assert_eq!(room.received(), Vec::<String>::new());
}

/// [R-RECEIVE-8] A closed case that nobody signed is opened, takes it in, and is given back.
#[test]
fn what_agrees_with_an_unsigned_case_joins_it_without_anybody() {
    let room = room();
    let mut case = room.open("a", "A-1");
    room.clock.pass(600_000);
    closed(&mut case);
    saved(&case);
    drop(case);
    room.clock.pass(7_200_000);
    lay_report(&room.intake.store, "2.25.1", "A-1", "2026-03-10T08:05:00");
    let taken = intake::take_in(&room.intake, None).unwrap();
    assert_eq!(taken.joined, [room.folder("a")]);
    assert_eq!(room.received(), Vec::<String>::new());
    let found = look(&room.intake.world, &room.folder("a")).unwrap();
    assert_eq!(found.case.state().radiation.reconciled.len(), 1);
    assert!(found.case.state().outcome().is_some());
}

/// [R-RECEIVE-7] [R-RECEIVE-9] Number or time alone is not enough; a person places it, and the case says that a person did.
#[test]
fn what_disagrees_waits_and_a_person_places_it_or_sets_it_aside() {
    let room = room();
    let mut case = room.open("a", "A-1");
    lay_report(&room.intake.store, "2.25.1", "A-2", "2026-03-10T08:05:00");
    lay_image(&room.intake.store, "2.25.2", "A-1", "2026-03-09T08:05:00");
    let taken = intake::take_in(&room.intake, Some(&ours(&case))).unwrap();
    let why: Vec<_> = taken.waiting.iter().map(|(arrival, waits)| (arrival.uid.as_str(), waits.clone())).collect();
    let waits = |why| Waits::Disagrees(why);
    assert_eq!(why, [("2.25.1", waits(Why::OtherPatient)), ("2.25.2", waits(Why::OtherTime))]);
    assert!(!exists(&room.folder("a").join("reports/2.25.1.dcm")));
    let (report, image) = (taken.waiting[0].0.clone(), taken.waiting[1].0.clone());
    let came = intake::assign(&room.intake, Some(&ours(&case)), &report, &room.folder("a")).unwrap().unwrap();
    assert!(matches!(&came, Came::Report { joined, .. } if joined.by_person));
    came.enter(&mut case, &nurse()).unwrap();
    saved(&case);
    assert!(case.case().state().radiation.reports[0].what.by_person);
    intake::set_aside(&room.intake, &image).unwrap();
    let again = intake::take_in(&room.intake, Some(&ours(&case))).unwrap();
    assert!(again.waiting.iter().all(|(arrival, _)| arrival.uid != "2.25.2"), "set aside");
    assert!(room.received().contains(&"2.25.2.dcm".to_owned()), "kept until the retention removes it");
}

/// [R-RECEIVE-9] A signed case takes nothing in; what agrees with it waits to become an addendum.
#[test]
fn what_agrees_with_a_signed_case_waits_to_become_an_addendum() {
    let room = room();
    let mut case = room.open("a", "A-1");
    closed(&mut case);
    saved(&case);
    case.write_record(b"{}").unwrap();
    drop(case);
    lay_report(&room.intake.store, "2.25.1", "A-1", "2026-03-10T08:00:01");
    let taken = intake::take_in(&room.intake, None).unwrap();
    assert_eq!(taken.waiting[0].1, Waits::Signed(room.folder("a")));
    assert!(!exists(&room.folder("a").join("reports/2.25.1.dcm")));
}

/// A case that another process holds keeps what is its own waiting, and a report that cannot be read says so.
#[test]
fn what_cannot_be_taken_in_now_waits_with_the_reason() {
    let room = room();
    let case = room.open("a", "A-1");
    lay_image(&room.intake.store, "2.25.2", "A-1", "2026-03-10T08:06:00");
    let taken = intake::take_in(&room.intake, None).unwrap();
    assert!(matches!(&taken.waiting[0].1, Waits::NotTaken(why) if why.contains("open")), "{:?}", taken.waiting);
    let (arrival, _) = taken.waiting[0].clone();
    assert!(intake::assign(&room.intake, None, &arrival, &room.folder("none")).is_err());
    drop(case);
    let reopened = OpenCase::reopen(&room.intake.world, &room.folder("a"), silent()).unwrap();
    drop(reopened);
    assert_eq!(intake::take_in(&room.intake, None).unwrap().joined.len(), 1);
}

/// A case that was signed between the event and the next pass holds it already: it is taken out, not offered again.
#[test]
fn what_a_signed_case_holds_already_is_not_offered_again() {
    let room = room();
    let mut case = room.open("a", "A-1");
    lay_report(&room.intake.store, "2.25.1", "A-1", "2026-03-10T08:00:01");
    let taken = intake::take_in(&room.intake, Some(&ours(&case))).unwrap();
    for came in taken.for_open {
        came.enter(&mut case, &nurse()).unwrap();
    }
    closed(&mut case);
    saved(&case);
    case.write_record(b"{}").unwrap();
    drop(case);
    assert!(intake::take_in(&room.intake, None).unwrap().waiting.is_empty());
    assert_eq!(room.received(), Vec::<String>::new());
}

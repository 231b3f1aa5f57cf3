//! What a rehearsal rehearses stands in its journal and its record, and in no live case's.

use crate::record_fixture::{self, Counted};
use crate::small_world::{self, TestClock};
use brimline::adapters::files::RealDisk;
use brimline::carm::{Tube, ViewName};
use brimline::case::{CaseKind, Command, Exercise, Opening, PersonKind, Task};
use brimline::dose::Moment;
use brimline::journal;
use brimline::open_case::{CreateCase, OpenCase, OpenError, names};
use brimline::people::Role;
use brimline::record::{self, Meaning};
use brimline::rehearse::{Control, Rehearsal};
use brimline::units::Side;
use std::sync::Arc;

fn exercise(task: Task, seed: u32) -> Exercise {
    let (operated, stand) = (Side::Right, Side::Left);
    Exercise { task, person: PersonKind::Normal, operated, stand, tube: Tube::Under, seed }
}

/// [R-REHEARSE-1]
#[test]
fn the_journal_of_a_rehearsal_is_a_live_cases_with_the_exercise_in_its_first_line() {
    let there = tempfile::tempdir().unwrap();
    let world = small_world::world(Arc::new(RealDisk), TestClock::new(), 5);
    let wanted = exercise(Task::Pathway, 77);
    let new = |kind, exercise| CreateCase { kind, exercise, ..small_world::new_case() };
    let mut case = OpenCase::create(&world, &there.path().join("one"), new(CaseKind::Rehearsal, Some(wanted))).unwrap();
    small_world::say(&mut case, Command::CountShots { shots: 1 });
    assert_eq!(case.close(), 2);
    let bytes = std::fs::read(there.path().join("one").join(names::JOURNAL)).unwrap();
    let opening = journal::read(&bytes).unwrap().journal.opening().clone();
    assert_eq!((opening.kind, opening.exercise), (CaseKind::Rehearsal, Some(wanted)));
    let line = String::from_utf8_lossy(&bytes);
    assert!(line.contains(
        r#""exercise":{"task":"pathway","person":"normal","operated":"right","stand":"left","tube":"under","seed":77}"#
    ));
    let live = OpenCase::create(&world, &there.path().join("two"), new(CaseKind::Live, Some(wanted)));
    assert!(matches!(live, Err(OpenError::NotHistory { .. })), "a live case rehearses nothing");
}

/// [R-REHEARSE-1] Shots and dose go by the commands of a live case, so that case and rehearsal come to one account.
#[test]
fn a_case_walked_along_with_a_rehearsal_counts_the_same_shots_and_dose() {
    let there = tempfile::tempdir().unwrap();
    let world = small_world::world(Arc::new(RealDisk), TestClock::new(), 5);
    let exercise = exercise(Task::View(ViewName::Lateral), 12);
    let new = CreateCase { kind: CaseKind::Rehearsal, exercise: Some(exercise), ..small_world::new_case() };
    let mut case = OpenCase::create(&world, &there.path().join("one"), new).unwrap();
    let mut rehearsal = Rehearsal::begin(exercise, None);
    small_world::say(&mut case, rehearsal.read_console(Moment::Opening));
    for at_ms in [5_000, 9_000, 14_000] {
        rehearsal.act(Control::Expose { view: None }, at_ms).unwrap();
        small_world::say(&mut case, Command::CountShots { shots: 1 });
    }
    small_world::say(&mut case, rehearsal.read_console(Moment::End));
    let state = case.case().state();
    let (walked, rehearsed) = (state.radiation.account().total.unwrap(), rehearsal.dose().total.unwrap());
    assert_eq!(walked, rehearsed);
    assert_eq!((walked.shots, state.shots_total()), (Some(3), 3));
}

/// [R-REHEARSE-1]
#[test]
fn the_record_of_a_rehearsal_says_what_was_rehearsed_and_under_which_seed() {
    let wanted = exercise(Task::View(ViewName::InletBody), 4_000_000_000);
    let opening = Opening { kind: CaseKind::Rehearsal, exercise: Some(wanted), ..record_fixture::opening() };
    let case = record_fixture::case_opened_by(opening);
    let built =
        record::build(&case, &record_fixture::closing(), &record_fixture::name_of, &Counted::default()).unwrap();
    let signed = built.sign(&record_fixture::surgeon(), Role::Surgeon, Meaning::Responsibility, 200_000).unwrap();
    let file = signed.to_bytes();
    let parts = record_fixture::readable_parts(&file);
    assert!(
        record_fixture::holds(&parts, r#""exercise":{"operated":"right""#)
            && record_fixture::holds(&parts, "4000000000")
    );
}

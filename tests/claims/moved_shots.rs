//! Shots moved between two cases on a real disk, with a crash between the two journals.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::small_world::{TestClock, create, nurse, saved, say, world};
use brimline::adapters::files::RealDisk;
use brimline::case::{Command, Outcome, Status};
use brimline::open_case::{MoveError, OpenCase, SaveState, World, look};
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn two_cases(folder: &Path) -> (World, OpenCase, PathBuf) {
    let world = world(Arc::new(RealDisk), TestClock::new(), 5);
    let right = folder.join("right");
    let mut case = create(&world, &right).unwrap();
    say(&mut case, Command::CountShots { shots: 4 });
    assert_eq!(saved(&case), SaveState::Saved);
    drop(case);
    let mut wrong = create(&world, &folder.join("wrong")).unwrap();
    say(&mut wrong, Command::CountShots { shots: 3 });
    (world, wrong, right)
}

fn kept(world: &World, folder: &Path) -> (u32, u32) {
    let found = look(world, folder).unwrap();
    (found.case.state().shots_total(), found.case.state().shots_kept())
}

/// [R-CASE-12]
#[test]
fn moved_shots_stand_in_both_journals_once() {
    let folder = tempfile::tempdir().unwrap();
    let (world, mut wrong, right) = two_cases(folder.path());
    let taken = wrong.moving_shots().unwrap().take_over(right.clone(), &nurse(), &nurse()).unwrap();
    wrong.hand_on(&taken, &nurse(), &nurse()).unwrap();
    assert_eq!((wrong.case().state().shots_total(), wrong.case().state().shots_kept()), (3, 0));
    assert_eq!(kept(&world, &right), (4, 7));
    assert!(matches!(wrong.moving_shots(), Err(MoveError::NoShots)));
}

/// [R-CASE-12]
#[test]
fn a_crash_between_the_two_journals_neither_loses_nor_doubles_a_shot() {
    let folder = tempfile::tempdir().unwrap();
    let (world, mut wrong, right) = two_cases(folder.path());
    let _ = wrong.moving_shots().unwrap().take_over(right.clone(), &nurse(), &nurse()).unwrap();
    say(&mut wrong, Command::CountShots { shots: 2 });
    let taken = wrong.moving_shots().unwrap().take_over(right.clone(), &nurse(), &nurse()).unwrap();
    assert_eq!(taken.shots, 5);
    wrong.hand_on(&taken, &nurse(), &nurse()).unwrap();
    assert_eq!(wrong.case().state().shots_kept(), 0);
    assert_eq!(kept(&world, &right), (4, 9));
    say(&mut wrong, Command::CountShots { shots: 1 });
    let taken = wrong.moving_shots().unwrap().take_over(right.clone(), &nurse(), &nurse()).unwrap();
    wrong.hand_on(&taken, &nurse(), &nurse()).unwrap();
    assert_eq!(kept(&world, &right), (4, 10), "shots counted after a move go the same way");
}

#[test]
fn a_case_that_ended_or_is_open_elsewhere_takes_nothing_over() {
    let folder = tempfile::tempdir().unwrap();
    let (world, wrong, right) = two_cases(folder.path());
    let mut open = OpenCase::reopen(&world, &right, Arc::new(|| {})).unwrap().case;
    let refused = wrong.moving_shots().unwrap().take_over(right.clone(), &nurse(), &nurse()).unwrap_err();
    assert!(matches!(refused, MoveError::Open(_)), "{refused}");
    say(&mut open, Command::Stop { reason: String::new() });
    say(&mut open, Command::ChooseOutcome { outcome: Outcome::Cancelled });
    let place = open.case().state().here.clone();
    let check = open.case().step_at(&place).unwrap().checks[0].id.clone();
    say(&mut open, Command::Answer { place, check, answer: brimline::case::Answer::Confirmed });
    say(&mut open, Command::Close);
    assert!(matches!(open.case().state().status, Status::Closed(_)));
    drop(open);
    let refused = wrong.moving_shots().unwrap().take_over(right.clone(), &nurse(), &nurse()).unwrap_err();
    assert!(matches!(refused, MoveError::Ended), "{refused}");
    assert_eq!(kept(&world, &right), (4, 4));
}

#[test]
fn a_gap_of_hours_is_kept_as_such_and_a_short_one_is_not() {
    let clock = TestClock::new();
    let folder = tempfile::tempdir().unwrap();
    let world = world(Arc::new(RealDisk), clock.clone(), 6);
    let mut case = create(&world, &folder.path().join("case")).unwrap();
    clock.pass(59 * 60_000);
    say(&mut case, Command::CountShots { shots: 1 });
    assert!(case.case().state().gaps.is_empty());
    clock.pass(14 * 3_600_000);
    say(&mut case, Command::CountShots { shots: 1 });
    assert_eq!(case.case().state().gaps, [(59 * 60_000, 59 * 60_000 + 14 * 3_600_000)]);
}

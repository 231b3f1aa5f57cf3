//! Nothing acknowledged is lost, nothing unacknowledged is shown as saved, reopening never panics: on a disk that fails.

use crate::simulated_disk::SimDisk;
use crate::small_world::{Seeded, TestClock, create, note, saved, say, silent, world};
use brimline::case::{Command, Did, Event};
use brimline::open_case::{OpenCase, SaveState, TailFound};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

const FOLDER: &str = "/cases/0412";
const RUNS: u64 = 2_000;

/// Prints the seed of a run that panicked.
struct Seed(u64);

impl Drop for Seed {
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("failed with BRIMLINE_SIM_SEED={}", self.0);
        }
    }
}

/// A case through several lives on one disk.
struct Lives {
    seed: u64,
    chance: Seeded,
    disk: SimDisk,
    clock: Arc<TestClock>,
    issued: Vec<Event>,
    /// Number of the last event that was ever called saved.
    acknowledged: u64,
    damaged: u32,
    torn: u32,
}

impl Lives {
    fn issue(&mut self, case: &mut OpenCase) {
        self.clock.pass(self.chance.below(3_000));
        if self.chance.one_in(20) {
            self.clock.jump(60_000);
        }
        let events = if self.chance.one_in(3) {
            say(case, Command::CountShots { shots: 1 })
        } else {
            let letters = usize::try_from(1 + self.chance.below(400)).expect("few");
            note(case, &"n".repeat(letters))
        };
        self.issued.extend(events);
        if self.chance.one_in(2) {
            let _ = case.wait_saved(Duration::from_millis(3));
        }
        self.look(case);
    }

    fn look(&mut self, case: &OpenCase) {
        let all = self.issued.len() as u64;
        match case.save_state() {
            SaveState::Saved => self.acknowledged = all,
            SaveState::NotSaved { pending, .. } => assert!(pending <= all),
            SaveState::Saving => {}
            SaveState::ReadOnly => panic!("a case that is written to is not read only"),
        }
        self.acknowledged = self.acknowledged.max(case.saved_seq());
        assert!(self.acknowledged <= all);
    }

    fn live(&mut self, mut case: OpenCase) {
        self.disk.fail_one_in([0, 20, 4][usize::try_from(self.chance.below(3)).expect("few")]);
        if self.chance.one_in(2) {
            self.disk.power_goes_after(self.chance.below(30));
        }
        for _ in 0..self.chance.below(12) {
            self.issue(&mut case);
        }
        let end = self.chance.below(3);
        if end > 0 {
            self.disk.stop_process();
        }
        self.acknowledged = self.acknowledged.max(case.close());
        self.disk = self.disk.next_process(end != 1);
    }

    fn reopen(&mut self) -> OpenCase {
        let world = world(Arc::new(self.disk.clone()), Arc::clone(&self.clock), self.seed);
        let opened = OpenCase::reopen(&world, Path::new(FOLDER), silent()).expect("the case opens again");
        let mut case = opened.case;
        let found = case.journal().events();
        assert!(found.len() as u64 >= self.acknowledged, "{} of {} saved", found.len(), self.acknowledged);
        assert_eq!(found[1..], self.issued[1..found.len()], "what is found is what was issued");
        self.issued.truncate(found.len());
        match opened.tail {
            TailFound::Whole => {}
            TailFound::SetAside { .. } => self.torn += 1,
            TailFound::Damaged { .. } => {
                self.damaged += 1;
                assert_eq!(case.save_state(), SaveState::ReadOnly);
                let before = case.journal().last();
                case.continue_in_new_journal(silent()).expect("the disk works");
                let Did::CaseOpened(opening) = &case.journal().events()[0].did else { panic!("line 1 opens") };
                let continues = opening.continues.as_ref().expect("names what it continues");
                assert_eq!((continues.seq, continues.sum.clone()), (before.seq, before.sum.to_string()));
            }
        }
        assert_eq!(saved(&case), SaveState::Saved);
        self.look(&case);
        case
    }
}

fn run(seed: u64) -> (u32, u32) {
    let _seed = Seed(seed);
    let disk = SimDisk::new(seed);
    let clock = TestClock::new();
    let case = create(&world(Arc::new(disk.clone()), Arc::clone(&clock), seed), Path::new(FOLDER)).expect("opens");
    let issued = case.journal().events().to_vec();
    let chance = Seeded(seed ^ 0x5EED);
    let mut lives = Lives { seed, chance, disk, clock, issued, acknowledged: 1, damaged: 0, torn: 0 };
    lives.live(case);
    for _ in 0..3 {
        let case = lives.reopen();
        lives.live(case);
    }
    drop(lives.reopen());
    (lives.torn, lives.damaged)
}

/// [R-JOURNAL-2]
#[test]
fn nothing_acknowledged_is_lost_on_a_disk_that_fails_tears_reorders_or_loses() {
    if let Some(seed) = std::env::var("BRIMLINE_SIM_SEED").ok().and_then(|seed| seed.parse().ok()) {
        run(seed);
        return;
    }
    let found = (0..RUNS).map(run).fold((0, 0), |sum, found| (sum.0 + found.0, sum.1 + found.1));
    assert!(found.0 > 50, "the simulation tears tails: {} of {RUNS} runs", found.0);
    assert!(found.1 > 5, "the simulation damages journals: {} of {RUNS} runs", found.1);
}

/// [R-JOURNAL-6]
#[test]
fn ten_thousand_events_are_held_while_the_disk_is_full_and_written_when_space_returns() {
    let disk = SimDisk::new(1);
    let clock = TestClock::new();
    let world = world(Arc::new(disk.clone()), Arc::clone(&clock), 1);
    let mut case = create(&world, Path::new(FOLDER)).expect("opens");
    disk.leave_room(Some(700));
    let mut refused = None;
    for _ in 0..10_002 {
        clock.pass(10);
        let issued =
            case.issue(&super::small_world::nurse(), &super::small_world::nurse(), Command::CountShots { shots: 1 });
        if let Err(fault) = issued {
            refused = Some(fault.to_string());
            break;
        }
    }
    assert!(refused.expect("more are refused").contains("10000 events wait"));
    let counted = case.case().state().shots_total();
    assert!((10_000..=10_002).contains(&counted), "counting went on: {counted}");
    let SaveState::NotSaved { pending, reason, .. } = case.save_state() else { panic!("not saved") };
    assert_eq!(pending, 10_000);
    assert!(!reason.is_empty());
    disk.leave_room(Some(100_000));
    std::thread::sleep(Duration::from_millis(50));
    disk.leave_room(None);
    assert_eq!(saved(&case), SaveState::Saved);
    assert_eq!(case.close(), u64::from(counted) + 1);
    let disk = disk.next_process(true);
    let world = crate::small_world::world(Arc::new(disk), clock, 1);
    let again = OpenCase::reopen(&world, Path::new(FOLDER), silent()).expect("opens again");
    assert_eq!(again.tail, TailFound::Whole);
    assert_eq!(again.case.case().state().shots_total(), counted);
}

//! A world for tests of the open case: a small pathway, a clock the test moves, randomness from a seed.

use crate::bench_case::{actor, team};
use brimline::case::{CaseKind, Command, Configured, Event};
use brimline::open_case::{CreateCase, Notify, OpenCase, OpenError, SaveState, World};
use brimline::people::{Actor, Role};
use brimline::ports::{Clock, Disk, Moment, Randomness};
use chrono::{DateTime, FixedOffset, TimeDelta};
use std::io;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

pub const PATHWAY: &str = include_str!("small_pathway.json");
pub const PLAN: &str = include_str!("small_plan.json");

/// A wall clock and a boot clock, moved together or apart.
#[derive(Debug)]
pub struct TestClock(Mutex<Moment>);

impl TestClock {
    pub fn new() -> Arc<Self> {
        let at = DateTime::<FixedOffset>::parse_from_rfc3339("2026-03-10T08:00:00+01:00").expect("a time");
        Arc::new(Self(Mutex::new(Moment { at, boot_ms: 1_000 })))
    }

    pub fn pass(&self, ms: u64) {
        self.jump(i64::try_from(ms).expect("a short time"));
        self.0.lock().expect("no test panics here").boot_ms += ms;
    }

    /// Moves the wall clock alone.
    pub fn jump(&self, ms: i64) {
        self.0.lock().expect("no test panics here").at += TimeDelta::milliseconds(ms);
    }
}

impl Clock for TestClock {
    fn now(&self) -> Moment {
        self.0.lock().expect("no test panics here").clone()
    }
}

/// The generator `SplitMix64`.
///
/// Source: Steele, Lea, Flood: Fast splittable pseudorandom number generators (2014), figure 16.
#[derive(Debug, Clone)]
pub struct Seeded(pub u64);

impl Seeded {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Below `end`, which is above 0.
    pub fn below(&mut self, end: u64) -> u64 {
        self.next() % end
    }

    /// True once in `n`.
    pub fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }
}

pub struct SeededRandomness(pub Mutex<Seeded>);

impl Randomness for SeededRandomness {
    fn fill(&self, bytes: &mut [u8]) -> io::Result<()> {
        let mut seeded = self.0.lock().expect("no test panics here");
        for byte in bytes.iter_mut() {
            *byte = seeded.next().to_le_bytes()[0];
        }
        Ok(())
    }
}

pub fn world(disk: Arc<dyn Disk>, clock: Arc<TestClock>, seed: u64) -> World {
    World { clock, randomness: Arc::new(SeededRandomness(Mutex::new(Seeded(seed)))), disk }
}

pub fn silent() -> Notify {
    Arc::new(|| {})
}

pub fn nurse() -> Actor {
    actor(Role::CirculatingNurse)
}

pub fn new_case() -> CreateCase<'static> {
    CreateCase {
        pathway: PATHWAY.as_bytes(),
        plan: PLAN.as_bytes(),
        kind: CaseKind::Live,
        exercise: None,
        site: None,
        team: team(),
        configured: Configured::default(),
        by: nurse(),
        logged_by: nurse(),
        notify: silent(),
    }
}

pub fn create(world: &World, folder: &Path) -> Result<OpenCase, OpenError> {
    OpenCase::create(world, folder, new_case())
}

pub fn say(case: &mut OpenCase, command: Command) -> Vec<Event> {
    case.issue(&actor(Role::Surgeon), &nurse(), command).expect("the command is taken")
}

pub fn note(case: &mut OpenCase, text: &str) -> Vec<Event> {
    say(case, Command::WriteNote { text: text.to_owned() })
}

/// Waits for the disk through failures, up to ten seconds.
pub fn saved(case: &OpenCase) -> SaveState {
    let begun = Instant::now();
    loop {
        let state = case.wait_saved(Duration::from_secs(10));
        if state == SaveState::Saved || begun.elapsed() > Duration::from_secs(10) {
            return state;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

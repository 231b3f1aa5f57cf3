//! Touch to durable: from issuing a command to its line being saved, against a bare append and sync of the same bytes.
//!
//! Floor and subject take turns in one run on one disk. Exit 1 if the median of the subject is more than
//! [`ABOVE_FLOOR_MAX`] above that of the floor. An unoptimised build says so and proves nothing.

#[path = "../support/small_world.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod small_world;

#[path = "people.rs"]
mod bench_case;

use brimline::adapters::{clock::SystemClock, files::RealDisk, randomness::SystemRandomness};
use brimline::case::Command;
use brimline::open_case::{SaveState, World};
use brimline::ports::{AppendFile, Disk};
use std::process::ExitCode;
use std::sync::Arc;
use std::time::{Duration, Instant};

const ROUNDS: usize = 400;
/// The target of the project.
const ABOVE_FLOOR_MAX: Duration = Duration::from_micros(200);

fn main() -> ExitCode {
    // Under the build folder: the system's temporary folder may stand in memory alone, where a sync costs nothing.
    let there = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let world =
        World { clock: Arc::new(SystemClock), randomness: Arc::new(SystemRandomness), disk: Arc::new(RealDisk) };
    let mut case = small_world::create(&world, &there.path().join("case")).expect("opens");
    let mut bare = RealDisk.open_append(&there.path().join("bare"), true).expect("a file");
    let (mut floor, mut subject, mut returns) = (Vec::new(), Vec::new(), Vec::new());
    let mut before = 0;
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        small_world::say(&mut case, Command::CountShots { shots: 1 });
        returns.push(begun.elapsed());
        assert_eq!(case.wait_saved(Duration::from_mins(1)), SaveState::Saved);
        subject.push(begun.elapsed());
        let journal = std::fs::read(case.journal_path()).expect("readable");
        floor.push(timed(&mut *bare, &journal[before..]));
        before = journal.len();
    }
    let (floor, subject, returns) = (median(floor), median(subject), median(returns));
    let above = subject.saturating_sub(floor);
    let met = above <= ABOVE_FLOOR_MAX;
    println!("bare append and sync, median of {ROUNDS}: {floor:?}");
    println!("touch to durable, median of {ROUNDS}:     {subject:?}");
    println!("the touch itself returns after:           {returns:?}");
    println!("above the floor: {above:?}, target {ABOVE_FLOOR_MAX:?}: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

fn timed(file: &mut dyn AppendFile, bytes: &[u8]) -> Duration {
    let begun = Instant::now();
    file.append(bytes).and_then(|()| file.sync()).expect("the disk works");
    begun.elapsed()
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

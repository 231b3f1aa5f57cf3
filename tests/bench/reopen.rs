//! Reopening: 100,000 events read, their chain verified and their state folded.
//!
//! The floor is SHA-256 alone over the same bytes. Exit 1 if fewer than [`EVENTS_PER_SECOND_MIN`] events are read in a
//! second, median of [`ROUNDS`]. An unoptimised build says so and proves nothing.

#[path = "../support/small_world.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod small_world;

#[path = "people.rs"]
mod bench_case;

use brimline::adapters::{clock::SystemClock, files::RealDisk, randomness::SystemRandomness};
use brimline::case::{Did, Event};
use brimline::journal::{self, Sum};
use brimline::open_case::{OpenCase, World, look};
use brimline::pathway::Place;
use brimline::people::Role;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::time::{Duration, Instant};

const EVENTS: u32 = 100_000;
const ROUNDS: usize = 7;
/// The target of the project.
const EVENTS_PER_SECOND_MIN: f64 = 150_000.0;

fn main() -> ExitCode {
    let there = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let folder = there.path().join("case");
    let world =
        World { clock: Arc::new(SystemClock), randomness: Arc::new(SystemRandomness), disk: Arc::new(RealDisk) };
    lengthen(&world, &folder);
    let bytes = std::fs::read(folder.join("journal.jsonl")).expect("readable");
    let (mut floor, mut chain, mut fold, mut whole) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        floor.push(timed(|| drop(std::hint::black_box(Sum::of(&bytes)).to_string())));
        chain.push(timed(|| drop(journal::read(&bytes).expect("whole"))));
        fold.push(timed(|| drop(look(&world, &folder).expect("whole"))));
        whole.push(timed(|| drop(OpenCase::reopen(&world, &folder, small_world::silent()).expect("opens"))));
    }
    println!("journal of {EVENTS} events, {} bytes; medians of {ROUNDS}", bytes.len());
    println!("SHA-256 of the bytes alone:        {:?}", median(floor));
    println!("read, chain verified:              {}", rate(median(chain)));
    let folded = median(fold);
    println!("and the state folded:              {}", rate(folded));
    println!("reopened, tail made durable, closed: {}", rate(median(whole)));
    let met = f64::from(EVENTS) / folded.as_secs_f64() >= EVENTS_PER_SECOND_MIN;
    println!("target {EVENTS_PER_SECOND_MIN} events/s with the state folded: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

/// A case of many events, with what a real one holds most of: shots, places, notes.
fn lengthen(world: &World, folder: &Path) {
    let case = small_world::create(world, folder).expect("opens");
    let mut journal = case.journal().clone();
    drop(case);
    let mut bytes = std::fs::read(folder.join("journal.jsonl")).expect("readable");
    let first = journal.events()[0].clone();
    for number in 1..EVENTS {
        let place = Place::of_case(if number % 40 < 20 { "begin" } else { "end" });
        let did = match number % 10 {
            0 => Did::StepEntered { place },
            1..=7 => Did::ShotsCounted { place, shots: 1 },
            _ => Did::NoteWritten { place, text: "Pin advanced five millimetres, view held.".to_owned() },
        };
        let by = bench_case::actor(Role::Surgeon);
        let event = Event { seq: u64::from(number) + 1, by, did, ..first.clone() };
        bytes.extend(journal.append(event).expect("encodes"));
    }
    std::fs::write(folder.join("journal.jsonl"), bytes).expect("writes");
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    begun.elapsed()
}

fn rate(time: Duration) -> String {
    format!("{time:?}, {:.0} events/s", f64::from(EVENTS) / time.as_secs_f64())
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

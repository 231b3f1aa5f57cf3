//! A confirm while objects arrive: from the touch to its line being saved, with a quiet receiver and with five objects a
//! second, in turns on one disk.
//!
//! Exit 1 if the median with arrivals is more than [`SHARE_MAX`] of the median without. An unoptimised build says so and
//! proves nothing.

#[path = "../support/sender.rs"]
mod sender;
#[path = "../support/small_world.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod small_world;

#[path = "people.rs"]
mod bench_case;

use brimline::adapters::{clock::SystemClock, files::RealDisk, randomness::SystemRandomness};
use brimline::case::Command;
use brimline::open_case::{OpenCase, SaveState, World};
use sender::{CAPTURE, Sender, capture, settings, start};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::time::{Duration, Instant};

/// Blocks of each kind, in turns, and confirms in each.
const BLOCKS: usize = 6;
const CONFIRMS: usize = 80;
/// A team confirms far less often; this is often enough to meet the arrivals.
const BETWEEN: Duration = Duration::from_millis(30);
/// Five a second.
const ARRIVALS_EVERY: Duration = Duration::from_millis(200);
/// A compressed single image of 1024 x 1024, or a report of 1,000 events.
const OBJECT: usize = 1 << 20;
/// The target of the project.
const SHARE_MAX: f64 = 1.1;

fn main() -> ExitCode {
    let there = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let world =
        World { clock: Arc::new(SystemClock), randomness: Arc::new(SystemRandomness), disk: Arc::new(RealDisk) };
    let mut case = small_world::create(&world, &there.path().join("case")).expect("opens");
    let station = start(settings(), Arc::new(RealDisk), there.path()).expect("listens");
    let port = station.running.port();
    let number = Arc::new(AtomicU32::new(1));
    let (mut quiet, mut busy) = (Vec::new(), Vec::new());
    for _ in 0..BLOCKS {
        quiet.extend(confirms(&mut case));
        let stop = Arc::new(AtomicBool::new(false));
        let sending = {
            let (stop, number) = (stop.clone(), number.clone());
            std::thread::spawn(move || send(port, &stop, &number))
        };
        busy.extend(confirms(&mut case));
        stop.store(true, Ordering::Relaxed);
        sending.join().expect("sends");
    }
    station.running.stop();
    let arrived = number.load(Ordering::Relaxed) - 1;
    let (quiet, busy) = (median(quiet), median(busy));
    let share = busy.as_secs_f64() / quiet.as_secs_f64();
    println!(
        "{} confirms of each kind in {BLOCKS} turns, {arrived} objects of {OBJECT} bytes arrived",
        BLOCKS * CONFIRMS
    );
    println!("confirm to durable, nothing arrives:    {quiet:?}");
    println!("confirm to durable, five objects a second: {busy:?}");
    let met = share <= SHARE_MAX;
    println!("share {share:.2}, target {SHARE_MAX}: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

fn confirms(case: &mut OpenCase) -> Vec<Duration> {
    let confirm = |_| {
        std::thread::sleep(BETWEEN);
        let begun = Instant::now();
        small_world::say(case, Command::CountShots { shots: 1 });
        assert_eq!(case.wait_saved(Duration::from_mins(1)), SaveState::Saved);
        begun.elapsed()
    };
    (0..CONFIRMS).map(confirm).collect()
}

fn send(port: u16, stop: &AtomicBool, number: &AtomicU32) {
    let mut sender = Sender::associated(port);
    let begun = Instant::now();
    for turn in 1.. {
        if stop.load(Ordering::Relaxed) {
            break;
        }
        let uid = format!("2.25.{}", number.fetch_add(1, Ordering::Relaxed));
        let object = capture(&uid, OBJECT);
        assert_eq!(sender.command(5, 1, CAPTURE, &uid, Some(&object)), Some(0));
        std::thread::sleep((ARRIVALS_EVERY * turn).saturating_sub(begun.elapsed()));
    }
    sender.release();
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

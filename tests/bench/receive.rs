//! The receiver alone against the disk's own durable rate.
//!
//! The floor writes the same bytes with the same steps: a new file, synced, renamed, the folder synced. Rounds of both
//! alternate in one folder. Exit 1 if the receiver's median rate is below [`SHARE_MIN`] of the floor's. An unoptimised
//! build says so and proves nothing.

#[path = "../support/sender.rs"]
mod sender;

use brimline::adapters::files::RealDisk;
use brimline::ports::Disk;
use sender::{CAPTURE, Sender, capture, settings, start};
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Bytes of a picture: 1024 x 1024 of 8 bit.
const OBJECT: usize = 1 << 20;
const OBJECTS: usize = 30;
const ROUNDS: usize = 7;
/// The target of the project.
const SHARE_MIN: f64 = 0.8;

fn main() -> ExitCode {
    let there = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let floor_folder = there.path().join("floor");
    RealDisk.create_folder(&floor_folder).expect("a folder");
    let station = start(settings(), Arc::new(RealDisk), there.path()).expect("listens");
    let (mut floor, mut received) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        let objects: Vec<(String, Vec<u8>)> = (0..OBJECTS)
            .map(|number| format!("2.25.{}", round * OBJECTS + number + 1))
            .map(|uid| (uid.clone(), capture(&uid, OBJECT)))
            .collect();
        floor.push(write(&floor_folder, &objects));
        received.push(send(station.running.port(), &objects));
    }
    station.running.stop();
    let (floor, received) = (rate(floor), rate(received));
    println!("{OBJECTS} objects of {OBJECT} bytes a round, medians of {ROUNDS} alternating rounds");
    println!("floor, write + sync + rename + sync of the folder: {floor:.1} objects/s");
    println!("receiver, from its sender's first byte to the status: {received:.1} objects/s");
    let share = received / floor;
    let met = share >= SHARE_MIN;
    println!("share {share:.2}, target {SHARE_MIN}: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

fn write(folder: &Path, objects: &[(String, Vec<u8>)]) -> Duration {
    let begun = Instant::now();
    for (uid, bytes) in objects {
        RealDisk.replace(&folder.join(uid), bytes).expect("written");
    }
    begun.elapsed()
}

fn send(port: u16, objects: &[(String, Vec<u8>)]) -> Duration {
    let mut sender = Sender::associated(port);
    // Encoded beforehand: what a sender takes to make its PDUs is none of the receiver's.
    let encoded: Vec<Vec<u8>> =
        objects.iter().map(|(uid, bytes)| sender.encoded(5, 1, CAPTURE, uid, Some(bytes))).collect();
    let begun = Instant::now();
    for bytes in &encoded {
        assert_eq!(sender.send(bytes), Some(0));
    }
    let elapsed = begun.elapsed();
    sender.release();
    elapsed
}

#[allow(clippy::cast_precision_loss, reason = "a small count")]
fn rate(mut times: Vec<Duration>) -> f64 {
    times.sort_unstable();
    OBJECTS as f64 / times[times.len() / 2].as_secs_f64()
}

//! A view correction: from two touches to the answer with its uncertainty, against the closed form alone.
//!
//! Floor and subject take turns in one run. Exit 1 if the slowest of the subject is over [`ANSWER_MAX`]. An unoptimised
//! build says so and proves nothing.

use brimline::carm::correction::{Axes, CorrectionError, Length, Sighting, closed_form, correct};
use brimline::carm::{Arm, Distances, ImagePoint, Joints, Lying, PatientPosition, Tube};
use brimline::units::{Degrees, Millimetres, Side};
use std::hint::black_box;
use std::process::ExitCode;
use std::time::{Duration, Instant};

const ROUNDS: usize = 10_000;
/// The target of the project.
const ANSWER_MAX: Duration = Duration::from_millis(5);

fn sighting() -> Sighting {
    let length = |value, sd| Length { value: Millimetres(value), sd: Millimetres(sd) };
    Sighting {
        arm: Arm {
            lying: Lying::as_planned(PatientPosition::Prone),
            tube: Tube::Under,
            stand: Side::Right,
            off_square: Degrees(5.0),
        },
        joints: Joints { wag: Degrees(1.0), tilt: Degrees(2.0), orbit: Degrees(88.0) },
        distances: Distances { source_to_isocentre: Millimetres(650.0), source_to_detector: Millimetres(1000.0) },
        axes: Axes::Both,
        nearer_detector: ImagePoint { across_mm: 35.0, down_mm: -22.0 },
        nearer_source: ImagePoint { across_mm: 61.0, down_mm: -41.0 },
        lever: length(130.0, 8.0),
        depth: length(650.0, 20.0),
        touch_sd: Millimetres(1.5),
    }
}

fn main() -> ExitCode {
    let seen = sighting();
    let (mut floor, mut subject) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        floor.push(timed(|| closed_form(black_box(&seen))));
        subject.push(timed(|| correct(black_box(&seen))));
    }
    let (floor, subject, slowest) = (median(&mut floor), median(&mut subject), subject[subject.len() - 1]);
    let met = slowest <= ANSWER_MAX;
    println!("closed form, median of {ROUNDS}: {floor:?}");
    println!("full solve with its uncertainty:  {subject:?}, slowest {slowest:?}");
    println!("target {ANSWER_MAX:?}: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

fn timed<T>(what: impl FnOnce() -> Result<T, CorrectionError>) -> Duration {
    let begun = Instant::now();
    let answer = black_box(what());
    let took = begun.elapsed();
    assert!(answer.is_ok(), "the bench asks what can be answered");
    took
}

/// Sorts, and gives the middle.
fn median(times: &mut [Duration]) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

//! Reconciliation: 1,000 tapped shots against 1,000 events of the machine.
//!
//! The floor is what cannot be left out: every difference of two times, once. Exit 1 if the median of [`ROUNDS`] is not
//! under [`MILLISECONDS_MAX`]. An unoptimised build says so and proves nothing.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

#[path = "../support/simulated_shots.rs"]
#[allow(dead_code)]
mod simulated_shots;

use brimline::dose::reconcile::reconcile;
use simulated_shots::{Dice, Simulated, StepLength, simulate};
use std::hint::black_box;
use std::process::ExitCode;
use std::time::{Duration, Instant};

const ROUNDS: usize = 15;
/// The target of the project.
const MILLISECONDS_MAX: f64 = 20.0;

fn main() -> ExitCode {
    let case = of_a_thousand();
    println!("{} taps against {} events; medians of {ROUNDS}", case.team.taps.len(), case.machine.events.len());
    let (mut floor, mut whole) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        floor.push(timed(|| {
            black_box(differences(black_box(&case)));
        }));
        whole.push(timed(|| {
            black_box(reconcile(&case.team, black_box(&case.machine)));
        }));
    }
    let whole = median(whole);
    println!("every difference, once: {:?}", median(floor));
    println!("reconciled:             {whole:?}");
    let met = whole.as_secs_f64() * 1_000.0 < MILLISECONDS_MAX;
    println!("target under {MILLISECONDS_MAX} ms: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

/// A long case cut to exactly 1,000 on either side.
fn of_a_thousand() -> Simulated {
    let steps = [StepLength { seconds: 1_500.0, shots: 300 }; 5];
    let mut case = simulate(&steps, &mut Dice(7));
    assert!(case.team.taps.len() >= 1_000 && case.machine.events.len() >= 1_000, "the seed gives enough");
    case.team.taps.truncate(1_000);
    case.machine.events.truncate(1_000);
    case
}

fn differences(case: &Simulated) -> i64 {
    let mut sum = 0_i64;
    for tap in &case.team.taps {
        for event in &case.machine.events {
            sum = sum.wrapping_add((event.at_ms - tap.at_ms.cast_signed()) / 1_000);
        }
    }
    sum
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    begun.elapsed()
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

//! A pin finding: from touches on two views to every number with its uncertainty; and Monte Carlo of 10,000 draws.
//!
//! Floor and subject take turns in one run: the floor of a finding is one evaluation of its scene, that of Monte Carlo as
//! many evaluations without errors on one thread. Exit 1 if the slowest finding is over [`FINDING_MAX`] or the median
//! run over [`MONTE_CARLO_MAX`]. An unoptimised build says so and proves nothing.

#[path = "../support/pin_scene.rs"]
mod pin_scene;

use brimline::pin::{Scene, find, monte_carlo};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use std::hint::black_box;
use std::process::ExitCode;
use std::time::{Duration, Instant};

const ROUNDS: usize = 2_000;
const RUNS: usize = 40;
const DRAWS: usize = 10_000;
/// The targets of the project.
const FINDING_MAX: Duration = Duration::from_millis(5);
const MONTE_CARLO_MAX: Duration = Duration::from_millis(50);

fn main() -> ExitCode {
    let scene = pin_scene::scene();
    let (mut once, mut findings) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        once.push(timed(|| evaluated(black_box(&scene), 1)));
        findings.push(timed(|| find(black_box(&scene))));
    }
    let (mut floor, mut runs) = (Vec::new(), Vec::new());
    for run in 0..RUNS {
        let mut generator = Xoshiro256PlusPlus::seed_from_u64(run as u64);
        floor.push(timed(|| evaluated(black_box(&scene), DRAWS)));
        runs.push(timed(|| monte_carlo(black_box(&scene), DRAWS, &mut generator)));
    }
    let (once, finding, slowest) = (median(&mut once), median(&mut findings), findings[findings.len() - 1]);
    let (floor, run) = (median(&mut floor), median(&mut runs));
    println!("one evaluation, median of {ROUNDS}: {once:?}");
    println!("a finding with every ±:            {finding:?}, slowest {slowest:?}, target {FINDING_MAX:?}");
    println!("{DRAWS} evaluations on one thread, median of {RUNS}: {floor:?}");
    println!("Monte Carlo of {DRAWS} draws:      {run:?}, target {MONTE_CARLO_MAX:?}");
    let met = slowest <= FINDING_MAX && run <= MONTE_CARLO_MAX;
    println!("targets: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

fn evaluated(scene: &Scene, times: usize) -> Vec<f64> {
    let mut out = vec![f64::NAN; scene.outputs()];
    for _ in 0..times {
        scene.evaluate(black_box(&[]), &mut out);
    }
    out
}

fn timed<T>(what: impl FnOnce() -> T) -> Duration {
    let begun = Instant::now();
    black_box(what());
    begun.elapsed()
}

/// Sorts, and gives the middle.
fn median(times: &mut [Duration]) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

//! Claims about the reconciliation of the machine's report with what the team tapped.

use crate::simulated_shots::{DELAY_MEDIAN_S, Dice, StepLength, simulate};
use brimline::dose::reconcile::{Method, reconcile};
use serde_json::Value;

/// Simulated cases, and the seed of the first.
const CASES: u64 = 2_000;
const SEED: u64 = 0x5eed;

/// Least share of events in the right step, and of cases with the offset within a second.
const RIGHT_STEP_MIN: f64 = 0.97;
const WITHIN_1_S_MIN: f64 = 0.95;
/// Stated rate of the intervals, less three standard errors of a share of 0.95 in 2,000 cases.
const COVERED_MIN: f64 = 0.95 - 3.0 * 0.004_87;

#[derive(Default, Debug, Clone, Copy)]
struct Tally {
    cases: u32,
    by_step_times: u32,
    ambiguous: u32,
    within_1_s: u32,
    stated: u32,
    covered: u32,
    drift_covered: u32,
    events: u32,
    right: u32,
    /// Sum of stated confidences, and the same of events stated below 0.99.
    confidence: f64,
    unsure: u32,
    unsure_right: u32,
    unsure_confidence: f64,
    width: f64,
}

impl Tally {
    fn add(&mut self, other: &Self) {
        self.cases += other.cases;
        self.by_step_times += other.by_step_times;
        self.ambiguous += other.ambiguous;
        self.within_1_s += other.within_1_s;
        self.stated += other.stated;
        self.covered += other.covered;
        self.drift_covered += other.drift_covered;
        self.events += other.events;
        self.right += other.right;
        self.confidence += other.confidence;
        self.unsure += other.unsure;
        self.unsure_right += other.unsure_right;
        self.unsure_confidence += other.unsure_confidence;
        self.width += other.width;
    }
}

fn share(part: u32, whole: u32) -> f64 {
    f64::from(part) / f64::from(whole)
}

/// Steps of the four demo cases: their lengths, and the shots counted in each.
fn demo_steps() -> Vec<Vec<StepLength>> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases");
    let mut folders: Vec<_> = std::fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.sort();
    folders.iter().filter(|folder| folder.join("script.json").exists()).map(|folder| steps_of(folder)).collect()
}

fn steps_of(folder: &std::path::Path) -> Vec<StepLength> {
    let script: Value = serde_json::from_slice(&std::fs::read(folder.join("script.json")).unwrap()).unwrap();
    let mut steps = vec![StepLength { seconds: 0.0, shots: 0 }];
    for command in script["commands"].as_array().unwrap() {
        let here = steps.last_mut().unwrap();
        here.seconds += command["after_s"].as_f64().unwrap_or(0.0);
        let shots = command["do"]["shots"].as_u64().unwrap_or(1) as u32;
        match command["do"]["do"].as_str().unwrap() {
            "enter-step" => steps.push(StepLength { seconds: 0.0, shots: 0 }),
            "count-shots" | "log-run" => here.shots += shots,
            _ => {}
        }
    }
    steps.retain(|step| step.seconds > 0.0);
    steps
}

fn judge(seed: u64, steps: &[StepLength]) -> Tally {
    let case = simulate(steps, &mut Dice(seed));
    let found = reconcile(&case.team, &case.machine);
    let mut tally = Tally { cases: 1, ..Tally::default() };
    tally.by_step_times = u32::from(found.method != Method::TappedShots);
    tally.ambiguous = u32::from(found.ambiguous);
    if let Some(best) = found.explanations.first() {
        let at_s = best.clock.at_ms as f64 / 1_000.0;
        let truth = case.offset_s + case.drift * at_s - DELAY_MEDIAN_S;
        tally.within_1_s = u32::from((best.clock.offset_s - truth).abs() <= 1.0);
        if let Some([from, to]) = best.clock.offset_interval_s {
            tally.stated = 1;
            tally.covered = u32::from((from..=to).contains(&truth));
            tally.width = to - from;
            let [from, to] = best.clock.drift_interval_ppm;
            tally.drift_covered = u32::from((from..=to).contains(&(case.drift * 1e6)));
        }
    }
    for (one, truth) in found.attributions.iter().zip(&case.tags) {
        let right = u32::from(one.tag == Some(*truth));
        tally.events += 1;
        tally.right += right;
        tally.confidence += one.confidence;
        if one.confidence < 0.99 {
            tally.unsure += 1;
            tally.unsure_right += right;
            tally.unsure_confidence += one.confidence;
        }
    }
    tally
}

/// Offset up to ±2 h, drift up to 100 ppm, log-normal press delay of median 1 s and P95 3 s, times cut to whole
/// seconds, one shot in ten forgotten, one in twenty doubled, bursts, steps of the demo cases ± 50 %.
#[test]
fn events_of_simulated_cases_reach_their_step_and_the_clock_its_stated_interval() {
    let demo = demo_steps();
    let half = |odd: u64| {
        let mut tally = Tally::default();
        for number in (0..CASES).filter(|number| number % 2 == odd) {
            tally.add(&judge(SEED + number, &demo[(number / 2) as usize % demo.len()]));
        }
        tally
    };
    let mut all = Tally::default();
    std::thread::scope(|scope| {
        let other = scope.spawn(|| half(1));
        all.add(&half(0));
        all.add(&other.join().unwrap());
    });
    println!("{all:?}");
    println!("events in the right step   {:.4} of {}", share(all.right, all.events), all.events);
    println!("mean confidence stated     {:.4}", all.confidence / f64::from(all.events));
    println!(
        "stated below 0.99          {} events, stated {:.3}, right {:.3}",
        all.unsure,
        all.unsure_confidence / f64::from(all.unsure),
        share(all.unsure_right, all.unsure)
    );
    println!("offset within 1 s          {:.4} of {}", share(all.within_1_s, all.cases), all.cases);
    println!(
        "95 % interval of offset    covers {:.4} of {}, mean width {:.2} s",
        share(all.covered, all.stated),
        all.stated,
        all.width / f64::from(all.stated)
    );
    println!("95 % interval of drift     covers {:.4}", share(all.drift_covered, all.stated));
    println!("ambiguous {}, by step times {}", all.ambiguous, all.by_step_times);
    assert!(share(all.right, all.events) >= RIGHT_STEP_MIN);
    assert!(share(all.within_1_s, all.cases) >= WITHIN_1_S_MIN);
    assert!(share(all.covered, all.stated) >= COVERED_MIN);
    assert!(share(all.drift_covered, all.stated) >= COVERED_MIN);
}

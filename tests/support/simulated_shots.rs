//! Simulated cases: what the team taps and what the machine reports, with the truth beside them.

use brimline::dose::reconcile::{MachineEvent, MachineSequence, Span, Tag, Tap, TeamSequence};
use brimline::units::{GrayCm2, Milligray, Seconds};

/// `SplitMix64`. Source: Steele, Lea and Flood 2014, public domain constants.
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Even in [0, 1).
    pub fn even(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.even()
    }

    /// Standard normal. Source: Box and Muller 1958.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.even()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.even()).cos()
    }
}

/// A step of a real sequence: its length and how many shots it usually takes.
#[derive(Clone, Copy)]
pub struct StepLength {
    pub seconds: f64,
    pub shots: u32,
}

/// What a simulated case is, and the truth about it.
pub struct Simulated {
    pub team: TeamSequence,
    pub machine: MachineSequence,
    /// True tag of each event of the machine, in its order.
    pub tags: Vec<usize>,
    /// Machine minus tablet at opening, seconds.
    pub offset_s: f64,
    /// Seconds per second.
    pub drift: f64,
}

/// Median of the press delay, seconds.
pub const DELAY_MEDIAN_S: f64 = 1.0;
/// Logarithmic standard deviation that puts the 95th percentile at 3 s.
/// Source: definition of the log-normal distribution, ln 3 / 1.6449.
const DELAY_SIGMA: f64 = 0.667_9;
const FORGOTTEN: f64 = 0.10;
const DOUBLED: f64 = 0.05;

/// Simulates a case of these steps, each longer or shorter by up to a half.
pub fn simulate(steps: &[StepLength], dice: &mut Dice) -> Simulated {
    let offset_s = dice.between(-7_200.0, 7_200.0);
    let drift = dice.between(-100e-6, 100e-6);
    let (mut spans, mut shots, mut now) = (Vec::new(), Vec::new(), 0.0);
    for (tag, step) in steps.iter().enumerate() {
        let length = step.seconds * dice.between(0.5, 1.5);
        shots.extend(bursts(step.shots, now, length, dice).into_iter().map(|at| (at, tag)));
        spans.push(Span { from_ms: ms(now), to_ms: ms(now + length), tag });
        now += length;
    }
    shots.sort_by(|a, b| a.0.total_cmp(&b.0));
    let tags = (0..steps.len()).map(|tag| Tag { step: format!("step-{tag}"), side: None, implant: None, view: None });
    let mut team = TeamSequence { tags: tags.collect(), spans, ..TeamSequence::default() };
    team.taps = taps(&shots, &team, dice);
    let events = shots.iter().enumerate().map(|(event, (at, _))| reported(event, at * (1.0 + drift) + offset_s, dice));
    let machine = MachineSequence { events: events.collect(), resolution_ms: 1_000, untimed: Vec::new() };
    Simulated { team, machine, tags: shots.iter().map(|(_, tag)| *tag).collect(), offset_s, drift }
}

/// Shots in bursts of one to six, two to eight seconds apart within a burst.
fn bursts(shots: u32, from: f64, length: f64, dice: &mut Dice) -> Vec<f64> {
    let mut times = Vec::new();
    let wanted = (f64::from(shots) * dice.between(0.5, 1.5)).round() as usize;
    while times.len() < wanted {
        let mut at = from + dice.between(0.0, length);
        for _ in 0..(1 + (dice.even() * 6.0) as usize).min(wanted - times.len()) {
            if at >= from + length {
                break;
            }
            times.push(at);
            at += dice.between(2.0, 8.0);
        }
    }
    times
}

fn taps(shots: &[(f64, usize)], team: &TeamSequence, dice: &mut Dice) -> Vec<Tap> {
    let mut at_ms = Vec::new();
    for (at, _) in shots {
        if dice.even() < FORGOTTEN {
            continue;
        }
        let pressed = at + DELAY_MEDIAN_S * (DELAY_SIGMA * dice.normal()).exp();
        at_ms.push(ms(pressed));
        if dice.even() < DOUBLED {
            at_ms.push(ms(pressed + dice.between(0.2, 2.0)));
        }
    }
    at_ms.sort_unstable();
    let end = team.spans.last().expect("there is a step");
    let tag = |ms: u64| team.span_at(ms).unwrap_or(end).tag;
    at_ms.into_iter().map(|at_ms| Tap { at_ms, shots: 1, tag: tag(at_ms) }).collect()
}

/// The machine cuts its time to whole seconds.
fn reported(event: usize, machine_s: f64, dice: &mut Dice) -> MachineEvent {
    MachineEvent {
        event,
        at_ms: machine_s.floor() as i64 * 1_000,
        plane: None,
        duration: Some(Seconds(dice.between(0.3, 1.5))),
        kerma_area_product: Some(GrayCm2(dice.between(0.01, 0.1))),
        reference_air_kerma: Some(Milligray(dice.between(0.1, 1.0))),
    }
}

pub fn ms(seconds: f64) -> u64 {
    (seconds * 1_000.0).round() as u64
}

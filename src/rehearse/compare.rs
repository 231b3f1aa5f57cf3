//! Does the guidance help? Scripted teams work on the same model people, every shot counted.
//!
//! Five strategies find the lateral, the inlet and the working outlet; each then places a pin by eye and with the pin
//! finding. Truth differs from the plan as published and from the displays as machines do ([`Doubt`]). A strategy is a
//! function of a [`PlanSheet`] and a [`Room`], which hold no truth. What it does not do: these are no surgeons and no
//! patients; it says what the geometry is worth under the stated doubts, and nothing of hands, haste or judgement. What
//! may never change: the people that a seed gives.

mod belief;
mod doubt;
mod people;
mod pinning;
mod room;
mod views;
mod world;

pub use doubt::{D2_OF_24, Doubt, PLANNED_LESS_USED, RANGES, Split, split_laws};
pub use pinning::PinDone;
pub use room::{Landmark, PlanSheet, Room, Seen};
pub use views::{ACCEPT_DEG, Found, ReAim, Strategy, Team, Weighing};

use super::bone::least;
use crate::carm::ViewName;
use crate::pin::EdgeName;
use people::Met;
use world::World;

/// How a comparison is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    pub doubt: Doubt,
    pub re_aim: ReAim,
    pub weighing: Weighing,
}

impl Default for Setting {
    fn default() -> Self {
        Self { doubt: Doubt::default(), re_aim: ReAim::OwnLine, weighing: Weighing::InFull }
    }
}

/// How far off the shots of one view were, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViewRun {
    pub first: f64,
    /// The second shot, or the first where it was accepted.
    pub second: f64,
    /// The one accepted.
    pub accepted: f64,
    pub shots: u32,
}

/// What one team did at one person.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    pub strategy: Strategy,
    pub finding: bool,
    pub lateral: ViewRun,
    pub inlet: ViewRun,
    pub outlet: ViewRun,
    /// For the three views, centring and the lateral included.
    pub view_shots: u32,
    /// In all.
    pub shots: u32,
    pub pin_set: bool,
    pub redirections: u32,
    /// Findings given and held back.
    pub findings: [u32; 2],
    /// Of the largest tool along the pin as left, from joint to tip, mm; negative outside the bone.
    pub margin: Option<(EdgeName, f64)>,
    /// Of the sacrum along the pin, mm.
    pub purchase: f64,
    /// Moves that table or patient stopped.
    pub stopped: u32,
}

impl Run {
    /// Whether the largest tool would leave the bone.
    #[must_use]
    pub fn breach(&self) -> bool {
        self.margin.is_some_and(|(_, margin)| margin < 0.0)
    }

    /// Placed without a redirection, and the largest tool within the bone.
    #[must_use]
    pub fn right_first_time(&self) -> bool {
        self.pin_set && self.redirections == 0 && self.margin.is_some_and(|(_, margin)| margin >= 0.0)
    }

    /// Inlet and outlet both within `degrees` on their first exposure.
    #[must_use]
    pub fn first_within(&self, degrees: f64) -> bool {
        self.inlet.first <= degrees && self.outlet.first <= degrees
    }

    /// The same on the second.
    #[must_use]
    pub fn second_within(&self, degrees: f64) -> bool {
        self.inlet.second <= degrees && self.outlet.second <= degrees
    }
}

/// Every strategy, by eye and with the finding, at person `number` of `seed`.
#[must_use]
pub fn person(seed: u64, number: u32, setting: &Setting) -> Vec<Run> {
    let met = Met::of(seed, number, &setting.doubt);
    let runs = Strategy::ALL.into_iter().flat_map(|strategy| [(strategy, false), (strategy, true)]);
    runs.map(|(strategy, finding)| run(&met, strategy, finding, setting)).collect()
}

fn run(met: &Met, strategy: Strategy, finding: bool, setting: &Setting) -> Run {
    let mut world = met.world(&setting.doubt);
    let mut team = Team::new(strategy, setting.re_aim, &met.plan, &mut world).weighing(setting.weighing);
    let found = team.find_views();
    let arm = team.arm;
    let view_shots = world.meant.len();
    let views = [ViewName::Lateral, ViewName::InletBody, ViewName::OutletWorking].map(|view| view_run(&world, view));
    let mut team = Team::new(strategy, setting.re_aim, &met.plan, &mut world).beside(arm);
    let done = team.place_pin(&found, finding);
    let [lateral, inlet, outlet] = views;
    let (margin, purchase) = left(&world, met);
    Run {
        strategy,
        finding,
        lateral,
        inlet,
        outlet,
        view_shots: count(view_shots),
        shots: count(world.meant.len()),
        pin_set: done.set,
        redirections: done.redirections,
        findings: done.findings,
        margin,
        purchase,
        stopped: world.stopped,
    }
}

fn count(shots: usize) -> u32 {
    u32::try_from(shots).expect("a team gives up long before 2^32 shots")
}

fn view_run(world: &World<'_>, view: ViewName) -> ViewRun {
    let off: Vec<f64> = world.meant.iter().filter(|(meant, _)| *meant == view).map(|(_, off)| *off).collect();
    let at = |index: usize| off.get(index).or(off.last()).copied().unwrap_or(f64::INFINITY);
    ViewRun { first: at(0), second: at(1), accepted: at(usize::MAX), shots: count(off.len()) }
}

/// The worst margin of the largest tool along the pin as it was left, and how much of the sacrum it holds.
fn left(world: &World<'_>, met: &Met) -> (Option<(EdgeName, f64)>, f64) {
    let Some(pin) = &world.pin else { return (None, 0.0) };
    let (line, bone) = (pin.line(), met.truth.bone(met.operated));
    let Some(enters) = bone.enters_sacrum(&line, pin.depth).filter(|enters| *enters < 0.0) else { return (None, 0.0) };
    (least(&bone.margins(&line, -enters, met.plan.tool.0)), -enters)
}

//! Whom the teams meet: people from a wider family than any model behind the plan, and what was planned for them.
//!
//! Measures spread more than published, every bone is stretched and sheared by chance as no measure does, and the sacrum
//! lies askew. What it does not do: it is not fitted to what any strategy needs. What may never change: the person that
//! a seed and a number give.

use super::super::chance::Chance;
use super::super::machine::{Build, Machine, clearance};
use super::super::truth::Truth;
use super::doubt::{Doubt, Split};
use super::room::PlanSheet;
use super::world::World;
use crate::carm::correction::Length;
use crate::carm::{Angle, Arm, Joints, Lying, PatientPosition, Point, Rotation, Tube, Vector, ViewName};
use crate::pelvis::{Bones, CONJUGATE, INCIDENCE, INTER_ASIS, SACRAL_HEIGHT, SACRAL_WIDTH, SLOPE, Shape};
use crate::units::{Degrees, Millimetres, Side};

/// One person on the table, with a plan.
pub(super) struct Met {
    pub truth: Truth,
    pub plan: PlanSheet,
    pub operated: Side,
    thickness: Millimetres,
    split: Split,
    off_square: f64,
    scale: f64,
    roll: f64,
    astray: Vector,
    seed: u64,
    number: u32,
}

/// The largest planned tool, mm. Source: 10 mm implants, BMC Musculoskelet Disord 2019;20.
const TOOL_MM: f64 = 10.0;
/// What a team states of a planned angle and of its touches, one standard deviation.
const PLANNED_SD_DEG: f64 = 2.0;
/// Measures are held within this of what a skeleton can be bent to, in standard deviations.
const CUT: f64 = 3.5;

impl Met {
    /// Person `number` of `seed`.
    pub fn of(seed: u64, number: u32, doubt: &Doubt) -> Self {
        let mut chance = Chance::of(seed, u64::from(number));
        let shape = widened(&Shape::drawn(chance.generator()), doubt.wider.0);
        let mut bones = Bones::of(&shape);
        warp(&mut bones, doubt.wider.1, &mut chance);
        let lean = |chance: &mut Chance| chance.normal(doubt.askew).to_radians();
        let askew = Rotation::from_euler_angles(0.0, lean(&mut chance), lean(&mut chance));
        let truth = Truth::of_bones(bones, shape.joint_gap, askew);
        let operated = if chance.whether(0.5) { Side::Left } else { Side::Right };
        let split = Split::drawn(doubt.turn_share, &mut chance);
        let thickness = Millimetres(2.0 * shape.girth[1]);
        let plan = plan(&truth, operated, thickness, &split, doubt, &mut chance);
        let astray = |chance: &mut Chance| chance.normal(doubt.astray.0);
        Self {
            plan,
            operated,
            thickness,
            split,
            off_square: chance.normal(doubt.wag),
            scale: chance.normal(doubt.scale),
            roll: chance.normal(doubt.roll),
            astray: Vector::new(astray(&mut chance), astray(&mut chance), astray(&mut chance)),
            truth,
            seed,
            number,
        }
    }

    /// The table as every team finds it.
    pub fn world<'p>(&'p self, doubt: &'p Doubt) -> World<'p> {
        let lying = Lying { position: PatientPosition::Prone, turn: Degrees(self.split.turn) };
        let arm = Arm { lying, off_square: Degrees(self.off_square), ..self.plan.arm };
        let build = Build { play: [doubt.play; 3], overshoot: doubt.overshoot, ..Build::default() };
        let middle = self.truth.front_at(0.25);
        let machine = Machine::new(arm, build, self.thickness, Joints::default(), middle + self.astray);
        World {
            truth: &self.truth,
            operated: self.operated,
            doubt,
            machine,
            chance: Chance::of(self.seed ^ TABLE, u64::from(self.number)),
            pin: None,
            scale: self.scale,
            roll: self.roll,
            meant: Vec::new(),
            stopped: 0,
            last: None,
        }
    }
}

/// Keeps the draws at the table apart from those of the person.
const TABLE: u64 = 0x7461_626C_6500_0000;

/// Every measure as far again from its mean.
fn widened(shape: &Shape, by: f64) -> Shape {
    let sex = usize::from(shape.male);
    let wide = |value: f64, spread: crate::pelvis::Spread| {
        let away = (value - spread.mean) * by;
        spread.mean + away.clamp(-CUT * spread.deviation, CUT * spread.deviation)
    };
    Shape {
        incidence: wide(shape.incidence, INCIDENCE),
        slope: wide(shape.slope, SLOPE),
        sacral_height: wide(shape.sacral_height, SACRAL_HEIGHT),
        sacral_width: wide(shape.sacral_width, SACRAL_WIDTH),
        inter_asis: wide(shape.inter_asis, INTER_ASIS[sex]),
        conjugate: wide(shape.conjugate, CONJUGATE[sex]),
        ..*shape
    }
}

/// Stretches and shears all bones together, so that the joint stays closed.
fn warp(bones: &mut Bones, by: f64, chance: &mut Chance) {
    let warp = nalgebra::Matrix3::from_fn(|row, column| f64::from(u8::from(row == column)) + chance.normal(by));
    let to = |point: Point| warp * point;
    bones.sacrum.bend(|_, point| to(point));
    bones.hips.iter_mut().for_each(|hip| hip.bend(|_, point| to(point)));
    bones.dents.iter_mut().for_each(|dent| dent.centre = to(dent.centre));
}

fn plan(
    truth: &Truth,
    operated: Side,
    thickness: Millimetres,
    split: &Split,
    doubt: &Doubt,
    chance: &mut Chance,
) -> PlanSheet {
    let view = |view| truth.view(view).expect("the model shows this view");
    let (inlet, outlet) = (view(ViewName::InletBody), view(ViewName::OutletWorking));
    // Angles in the plan's sagittal plane, as read: less what was misread.
    let angle = |line: &Vector| line.z.atan2(-line.y).to_degrees();
    let planned = |degrees: f64| Angle { value: Degrees(degrees.clamp(0.0, 89.0)), sd: Degrees(PLANNED_SD_DEG) };
    let mut lever = |pair: Option<[Point; 2]>| {
        let [one, other] = pair.expect("the view has a pair");
        let true_mm = (one - other).norm();
        let sd = Millimetres(true_mm * doubt.lever);
        Length { value: Millimetres((true_mm * (1.0 + chance.normal(doubt.lever))).clamp(5.0, 250.0)), sd }
    };
    let levers = [lever(inlet.pair), lever(outlet.pair), lever(view(ViewName::Lateral).pair)];
    let lying = Lying::as_planned(PatientPosition::Prone);
    let stand = if operated == Side::Left { Side::Right } else { Side::Left };
    PlanSheet {
        inlet: planned(angle(&inlet.line) - split.misread[0]),
        outlet: planned(-angle(&outlet.line) - split.misread[1]),
        levers,
        operated,
        arm: Arm { lying, tube: Tube::Under, stand, off_square: Degrees(0.0) },
        distances: Build::default().distances,
        touch_sd: Millimetres(doubt.touch),
        tool: Millimetres(TOOL_MM),
        clearance: clearance(&Build::default(), thickness, Tube::Under),
    }
}

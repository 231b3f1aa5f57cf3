//! What a scripted team has: the machine's joints and displays, pictures as touches, a pin, and a plan. Nothing else.
//!
//! A strategy is handed `&mut dyn Room` and a [`PlanSheet`]; neither type leads to the person, the true pose or a true
//! angle, so no strategy can see them. What it does not do: it holds nothing itself. What may never change: no method
//! here returns anything but displays, touches and what a hand feels of the machine.

use crate::carm::clearance::Clearance;
use crate::carm::correction::Length;
use crate::carm::{Angle, Arm, Distances, ImagePoint, Joint, Joints, PictureSide, ViewName};
use crate::units::{Degrees, Millimetres, Side};
use std::collections::BTreeMap;

/// Something that can be touched on a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Landmark {
    /// Anterior cortex of S1 and of S2.
    S1Cortex,
    S2Cortex,
    SymphysisTop,
    S2Body,
    /// The larger and the smaller notch on a lateral.
    LargerNotch,
    SmallerNotch,
    PlumbAbove,
    PlumbBelow,
    /// Upper border of the S1 foramen, nearest to where the pin points.
    ForamenTop,
    /// Its lateral border.
    ForamenSide,
    AlarTop,
    FrontBorder,
    CanalBorder,
    PinTip,
    PinShank,
}

/// One picture as a team has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Where the displays stood.
    pub readings: Joints,
    /// What lies in the field, touched; mm on the detector as it is thought to be turned and scaled.
    pub touched: BTreeMap<Landmark, ImagePoint>,
    /// The side of the picture nearest the head.
    pub head: PictureSide,
}

/// What was planned for one person.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanSheet {
    /// Inlet along the anterior cortex, and working outlet, each in its own sense.
    pub inlet: Angle,
    pub outlet: Angle,
    /// Between the cortices of S1 and S2, between symphysis and S2 body, between the notches.
    pub levers: [Length; 3],
    pub operated: Side,
    /// The machine as it was set up: square to the table, pelvis as planned.
    pub arm: Arm,
    /// As the machine's sheet has them.
    pub distances: Distances,
    /// Standard deviation of a touch on the detector that the team states.
    pub touch_sd: Millimetres,
    /// Diameter of the largest planned tool.
    pub tool: Millimetres,
    /// The ends of the machine about table and patient.
    pub clearance: Clearance,
}

/// An operating table as a team has it.
pub trait Room {
    /// The displays, in whole degrees.
    fn readings(&self) -> Joints;

    /// Moves a joint; false if something stood in the way.
    fn drive(&mut self, joint: Joint, by: Degrees) -> bool;

    /// Puts a support under the pelvis that turns it back by about `back`. What was found before is void.
    fn support(&mut self, back: Degrees);

    /// Brings what stands there on the last picture to the middle, as well as a hand can.
    fn recentre(&mut self, at: ImagePoint);

    /// Takes a shot, meant as that view. Every call counts.
    fn expose(&mut self, meant: ViewName) -> Seen;

    /// An eye's amount for an error of that size: right in its sense, wrong in its size.
    fn eye(&mut self, amount: f64) -> f64;

    /// Sets the pin on the outer table where the last picture, a lateral, was touched, along its beam; false if it missed
    /// the bone.
    fn set_pin(&mut self, at: ImagePoint) -> bool;

    /// Turns the pin in place, its tip toward the head and toward the front. A pin that has gone in is drawn back first.
    fn turn_pin(&mut self, head: Degrees, front: Degrees);

    fn advance(&mut self, mm: f64);

    /// How deep the pin stands, by its own scale, mm.
    fn depth(&self) -> f64;
}

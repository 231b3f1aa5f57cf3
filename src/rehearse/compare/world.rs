//! What answers a scripted team: the person, the machine and the pin as they are, seen through touches that err.
//!
//! Every team at one person meets the same person, the same set-up and the same stream of chance. What it does not do:
//! nothing of what it holds leaves it but through [`Room`] and, once a team is done, as a [`Run`](super::Run).

use super::super::chance::Chance;
use super::super::driven::DrivenPin;
use super::super::machine::{Machine, Moved};
use super::super::truth::Truth;
use super::doubt::Doubt;
use super::room::{Landmark, Room, Seen};
use crate::carm::space::{Direction, Vector};
use crate::carm::{ImagePoint, Joint, Joints, PictureSide, Point, Pose, ViewName};
use crate::pelvis::Ball;
use crate::pin::PinLine;
use crate::units::{Degrees, Side};
use std::collections::BTreeMap;

/// One operating table.
pub(super) struct World<'p> {
    pub truth: &'p Truth,
    pub operated: Side,
    pub doubt: &'p Doubt,
    pub machine: Machine,
    pub chance: Chance,
    pub pin: Option<DrivenPin>,
    /// Scale of the picture, and its roll.
    pub scale: f64,
    pub roll: f64,
    /// How far off each exposure was of the view it was meant as.
    pub meant: Vec<(ViewName, f64)>,
    pub stopped: u32,
    /// The last picture's pose and where the machine stood for it.
    pub last: Option<(Pose, Point)>,
}

/// Touches that are harder than that of an edge, as multiples: the middle of a body; the symphysis behind the hips on a
/// lateral. Common practice, no source.
const BODY: f64 = 2.0;
const BEHIND_HIPS: f64 = 3.0;
/// The place touched on the pin's shank, mm behind its tip.
const SHANK_MM: f64 = 50.0;
/// Half the length of the plumb line in the picture, mm.
const PLUMB_MM: f64 = 50.0;
/// From where a pin's start is looked for, mm from the midline.
const OUTSIDE_MM: f64 = 250.0;
/// Drawn back to this depth before it is turned, mm.
const FREE_MM: f64 = 4.0;
/// Where the pin is to end, mm lateral to the foramen.
const BESIDE_MM: f64 = 3.0;

impl World<'_> {
    /// Places and the multiple of a touch's error there.
    fn places(&self, meant: ViewName, pose: &Pose) -> Vec<(Landmark, Option<ImagePoint>, f64)> {
        let truth = self.truth;
        let at = |point: Point| pose.project(&point);
        let on_lateral = meant == ViewName::Lateral;
        let symphysis = if on_lateral { BEHIND_HIPS } else { 1.0 };
        let mut places = vec![
            (Landmark::S1Cortex, at(truth.front_at(super::super::truth::CORTEX[0])), 1.0),
            (Landmark::S2Cortex, at(truth.front_at(super::super::truth::CORTEX[1])), 1.0),
            (Landmark::SymphysisTop, at(truth.symphysis_top()), symphysis),
            (Landmark::S2Body, at(truth.s2_body()), BODY),
        ];
        if on_lateral {
            let [left, right] = truth.notches();
            let nearer = |one: &Point, other: &Point| {
                if (one - pose.source).norm() < (other - pose.source).norm() { [*one, *other] } else { [*other, *one] }
            };
            let [larger, smaller] = nearer(&left, &right);
            places.push((Landmark::LargerNotch, at(larger), 1.0));
            places.push((Landmark::SmallerNotch, at(smaller), 1.0));
            let up = self.machine.arm().lying.up().into_inner() * PLUMB_MM;
            places.push((Landmark::PlumbAbove, at(self.machine.isocentre() + up), 1.0));
            places.push((Landmark::PlumbBelow, at(self.machine.isocentre() - up), 1.0));
        }
        places.extend(self.borders(meant, pose).into_iter().map(|(landmark, at)| (landmark, at, 1.0)));
        if let Some(line) = self.pin.as_ref().map(DrivenPin::line) {
            places.push((Landmark::PinTip, at(line.tip), 1.0));
            places.push((Landmark::PinShank, at(line.at(-SHANK_MM)), 1.0));
        }
        places
    }

    /// Edges beside the place where the pin points, or where it might start.
    fn borders(&self, meant: ViewName, pose: &Pose) -> Vec<(Landmark, Option<ImagePoint>)> {
        let (truth, side) = (self.truth, self.operated);
        let foramen = &truth.foramen(side, 1)[..1];
        let canal: Vec<Ball> = truth.canal().into_iter().skip(1).take(1).collect();
        let (front, head) = (way(pose, -Vector::y()), way(pose, Vector::z()));
        let out = way(pose, truth.left().into_inner() * lateral(side));
        let ring = |balls: &[Ball], toward: &ImagePoint| nearest(pose, balls, toward);
        let Some(line) = self.pin.as_ref().map(DrivenPin::line).filter(|_| meant != ViewName::Lateral) else {
            let ala = truth.front(side).get(START_FRONT).and_then(|ball| rim(pose, ball, front));
            let density = truth.density(side).get(START_DENSITY).and_then(|place| pose.project(place));
            let start = |ball: &Ball, way: [f64; 2]| rim(pose, ball, way);
            let top = truth.top(side);
            return vec![
                (Landmark::FrontBorder, further_back(ala, density, front)),
                (Landmark::AlarTop, top.get(START_TOP).and_then(|ball| start(ball, head))),
                (Landmark::CanalBorder, start(&canal[0], front)),
                (Landmark::ForamenTop, start(&foramen[0], head)),
            ];
        };
        let Some(aim) = pose.project(&self.aim(&line)) else { return Vec::new() };
        match meant {
            ViewName::OutletWorking => vec![
                (Landmark::ForamenTop, ring(foramen, &aim)),
                (Landmark::ForamenSide, rim(pose, &foramen[0], out)),
                (Landmark::AlarTop, outline(pose, &truth.top(side), &aim, head)),
            ],
            ViewName::InletBody => vec![
                (Landmark::CanalBorder, ring(&canal, &aim)),
                (Landmark::ForamenSide, rim(pose, &foramen[0], out)),
                (Landmark::FrontBorder, outline(pose, &truth.front(side), &aim, front)),
            ],
            _ => Vec::new(),
        }
    }

    /// Where the pin would end if it went on along itself, lateral to the foramen.
    pub fn aim(&self, line: &PinLine) -> Point {
        let foramen = self.truth.foramen(self.operated, 1)[0];
        let left = self.truth.left();
        let wanted = left.dot(&foramen.centre.coords) + lateral(self.operated) * (foramen.radius + BESIDE_MM);
        let rate = line.axis.dot(&left);
        let way = if rate.abs() < 0.2 { 0.0 } else { (wanted - line.tip.coords.dot(&left)) / rate };
        line.at(way.clamp(-60.0, 120.0))
    }

    /// What a touch makes of a place of the true picture: its error, then scale and roll.
    fn touched(&mut self, at: ImagePoint, harder: f64) -> ImagePoint {
        let error = self.doubt.touch * harder;
        let (mut across, mut down) = (at.across_mm + self.chance.normal(error), at.down_mm + self.chance.normal(error));
        if self.chance.whether(self.doubt.wrong.0) {
            across += self.chance.normal(self.doubt.wrong.1);
            down += self.chance.normal(self.doubt.wrong.1);
        }
        turned(ImagePoint { across_mm: across, down_mm: down }, self.roll, 1.0 + self.scale)
    }

    /// A place of the picture as shown, back on the detector.
    fn on_detector(&self, at: ImagePoint) -> ImagePoint {
        let straight = turned(at, -self.roll, 1.0);
        let size = 1.0 / (1.0 + self.scale);
        ImagePoint { across_mm: straight.across_mm * size, down_mm: straight.down_mm * size }
    }
}

/// Which of the balls of front and top, and which place of the iliac cortical density, bound the start: their middles.
const START_FRONT: usize = 4;
const START_DENSITY: usize = 3;
const START_TOP: usize = 2;

impl Room for World<'_> {
    fn readings(&self) -> Joints {
        self.machine.readings()
    }

    fn drive(&mut self, joint: Joint, by: Degrees) -> bool {
        let moved = self.machine.drive(joint, by, &mut self.chance) == Moved::Done;
        self.stopped += u32::from(!moved);
        moved
    }

    fn support(&mut self, back: Degrees) {
        let really = back.0 + self.chance.normal(self.doubt.support);
        self.machine.pelvis_turned(Degrees(really));
        self.last = None;
    }

    fn recentre(&mut self, at: ImagePoint) {
        let Some((pose, stood)) = self.last else { return };
        let at = self.on_detector(at);
        let life = self.machine.build().distances.source_to_isocentre.0 / pose.source_to_detector_mm();
        let way = (pose.across.into_inner() * at.across_mm + pose.down.into_inner() * at.down_mm) * life;
        let astray = self.doubt.astray.1;
        let hand =
            pose.across.into_inner() * self.chance.normal(astray) + pose.down.into_inner() * self.chance.normal(astray);
        // Meant from where the picture was taken, however often that is said.
        self.machine.shift(stood + way + hand - self.machine.isocentre());
    }

    fn expose(&mut self, meant: ViewName) -> Seen {
        let pose = self.machine.pose();
        self.last = Some((pose, self.machine.isocentre()));
        let off = self.truth.off(meant, &pose.beam()).map_or(f64::NAN, |off| off.counts);
        self.meant.push((meant, off));
        if let Some(pin) = &mut self.pin {
            pin.seen();
        }
        let half = self.machine.build().half_field;
        let mut touched = BTreeMap::new();
        for (landmark, at, harder) in self.places(meant, &pose) {
            let Some(at) = at.filter(|at| at.across_mm.abs().max(at.down_mm.abs()) <= half) else { continue };
            touched.insert(landmark, self.touched(at, harder));
        }
        let [across, down] = way(&pose, Vector::z());
        let up = turned(ImagePoint { across_mm: across, down_mm: down }, self.roll, 1.0);
        Seen { readings: self.machine.readings(), touched, head: side_of(up) }
    }

    fn eye(&mut self, amount: f64) -> f64 {
        amount * (1.0 + self.chance.normal(self.doubt.eye)).max(0.1)
    }

    fn set_pin(&mut self, at: ImagePoint) -> bool {
        let Some((pose, _)) = self.last else { return false };
        let ray = pose.ray(self.on_detector(at));
        let out = lateral(self.operated);
        let inward = if ray.direction.x * out < 0.0 { ray.direction } else { -ray.direction };
        let share = (out * OUTSIDE_MM - ray.origin.x) / ray.direction.x;
        let start = ray.origin + ray.direction.into_inner() * share;
        let (place, angle) = self.doubt.hand;
        let start = start + Vector::new(0.0, self.chance.normal(place), self.chance.normal(place));
        let Some(way) = self.truth.bone(self.operated).meets_hip(&start, &inward) else { return false };
        let held = Vector::new(0.0, self.chance.normal(angle.to_radians()), self.chance.normal(angle.to_radians()));
        let axis = Direction::new_normalize(inward.into_inner() + held);
        self.pin = Some(DrivenPin::set(start + inward.into_inner() * way, axis));
        true
    }

    fn turn_pin(&mut self, head: Degrees, front: Degrees) {
        // A hand that turns a pin by sight holds it half as far off as one that sets it.
        let angle = self.doubt.hand.1 / 2.0;
        let error = [self.chance.normal(angle), self.chance.normal(angle)];
        let Some(pin) = &mut self.pin else { return };
        while pin.depth > FREE_MM + 1e-6 {
            pin.withdraw((pin.depth - FREE_MM).clamp(0.1, 60.0)).expect("a length within what is allowed");
        }
        let about = |way: Vector| Direction::try_new(pin.axis.cross(&way), 1e-6);
        if let (Some(to_head), Some(to_front)) = (about(Vector::z()), about(-Vector::y())) {
            let turns = [(to_head, Degrees(head.0 + error[0])), (to_front, Degrees(front.0 + error[1]))];
            pin.turn(turns).expect("the pin was drawn back");
        }
    }

    fn advance(&mut self, mm: f64) {
        if let Some(pin) = &mut self.pin {
            pin.advance(mm.clamp(0.1, 60.0), &mut self.chance).expect("a length within what is allowed");
        }
    }

    fn depth(&self) -> f64 {
        self.pin.as_ref().map_or(0.0, |pin| pin.depth)
    }
}

/// +1 where the side's lateral direction is the patient's left.
pub(super) fn lateral(side: Side) -> f64 {
    match side {
        Side::Left => 1.0,
        Side::Right => -1.0,
    }
}

/// The border in front of a start on a lateral: the front of the ala or the iliac cortical density, whichever lies
/// further back. Source: behind and below the density lies bone in a normal sacrum, and where the ala drops behind it
/// the ala itself is the limit (BMC Musculoskelet Disord 2019;20).
fn further_back(ala: Option<ImagePoint>, density: Option<ImagePoint>, front: [f64; 2]) -> Option<ImagePoint> {
    let forward = |at: &ImagePoint| at.across_mm * front[0] + at.down_mm * front[1];
    ala.into_iter().chain(density).min_by(|a, b| forward(a).total_cmp(&forward(b)))
}

/// Which way on the picture `direction` of the patient runs, of length one or less.
fn way(pose: &Pose, direction: Vector) -> [f64; 2] {
    let (across, down) = (direction.dot(&pose.across), direction.dot(&pose.down));
    let length = across.hypot(down).max(1e-9);
    [across / length, down / length]
}

/// The rim of a ball's shadow in one way.
fn rim(pose: &Pose, ball: &Ball, [x, y]: [f64; 2]) -> Option<ImagePoint> {
    let at = pose.project(&ball.centre)?;
    let radius = ball.radius * pose.magnification_at(&ball.centre)?;
    Some(ImagePoint { across_mm: at.across_mm + x * radius, down_mm: at.down_mm + y * radius })
}

/// The place on the rims of round shadows nearest to a place.
fn nearest(pose: &Pose, balls: &[Ball], to: &ImagePoint) -> Option<ImagePoint> {
    let rims = balls.iter().filter_map(|ball| {
        let at = pose.project(&ball.centre)?;
        let (x, y) = (to.across_mm - at.across_mm, to.down_mm - at.down_mm);
        let length = x.hypot(y).max(1e-9);
        let rim = rim(pose, ball, [x / length, y / length])?;
        Some((rim, (to.across_mm - rim.across_mm).hypot(to.down_mm - rim.down_mm)))
    });
    rims.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(rim, _)| rim)
}

/// The outermost outline of balls beside a place, in one way on the picture.
fn outline(pose: &Pose, balls: &[Ball], at: &ImagePoint, [x, y]: [f64; 2]) -> Option<ImagePoint> {
    let rises = balls.iter().filter_map(|ball| {
        let centre = pose.project(&ball.centre)?;
        let radius = ball.radius * pose.magnification_at(&ball.centre)?;
        let (across, down) = (centre.across_mm - at.across_mm, centre.down_mm - at.down_mm);
        let (along, aside) = (across * x + down * y, down * x - across * y);
        let rise = radius * radius - aside * aside;
        (rise > 0.0).then(|| along + rise.sqrt())
    });
    let rise = rises.reduce(f64::max)?;
    Some(ImagePoint { across_mm: at.across_mm + x * rise, down_mm: at.down_mm + y * rise })
}

fn turned(at: ImagePoint, degrees: f64, size: f64) -> ImagePoint {
    let (sin, cos) = degrees.to_radians().sin_cos();
    ImagePoint {
        across_mm: (at.across_mm * cos - at.down_mm * sin) * size,
        down_mm: (at.across_mm * sin + at.down_mm * cos) * size,
    }
}

fn side_of(up: ImagePoint) -> PictureSide {
    match (up.across_mm.abs() > up.down_mm.abs(), up.across_mm > 0.0, up.down_mm > 0.0) {
        (true, true, _) => PictureSide::Right,
        (true, false, _) => PictureSide::Left,
        (false, _, true) => PictureSide::Bottom,
        (false, _, false) => PictureSide::Top,
    }
}

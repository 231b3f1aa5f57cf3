//! Scripted teams: how each strategy finds the three views.
//!
//! All of them judge a picture by the same touches and accept it by the same angle; what differs is where they begin and
//! how they turn an error into a move. What it does not do: it sees nothing but what [`Room`] gives.

use super::belief::Belief;
use super::room::{Landmark, PlanSheet, Room, Seen};
use crate::carm::correction::{Axes, Sighting, correct};
use crate::carm::{
    Angle, Arm, ImagePoint, Joint, Joints, LateralTouches, Lying, PelvicTurn, Placement, ProvenVertical,
    SacralMeasurements, ViewName, view_sheets, view_target,
};
use crate::units::{Degrees, Millimetres};

/// How a team works.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Strategy {
    /// (a) The published mean angles, then correction in proportion by an experienced eye.
    MeanThenEye,
    /// (b) The same by steps of 5°.
    MeanThenSteps,
    /// (c) The planned angles, then the eye.
    Planned,
    /// (d) The planned angles, re-aimed by the lateral, then the eye.
    ReAimed,
    /// (e) The same with the view correction in place of the eye.
    Corrected,
}

impl Strategy {
    pub const ALL: [Self; 5] = [Self::MeanThenEye, Self::MeanThenSteps, Self::Planned, Self::ReAimed, Self::Corrected];

    /// Its letter in the report.
    #[must_use]
    pub fn letter(self) -> char {
        match self {
            Self::MeanThenEye => 'a',
            Self::MeanThenSteps => 'b',
            Self::Planned => 'c',
            Self::ReAimed => 'd',
            Self::Corrected => 'e',
        }
    }

    fn planned(self) -> bool {
        matches!(self, Self::Planned | Self::ReAimed | Self::Corrected)
    }

    fn re_aimed(self) -> bool {
        matches!(self, Self::ReAimed | Self::Corrected)
    }
}

/// Which line of the lateral re-aims which view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReAim {
    /// Each view by the line that it lays over itself, which the lateral shows in profile.
    OwnLine,
    /// Both views by the turn of the cortical line.
    OneTurn,
}

/// How far a sighting of the view correction moves the machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weighing {
    /// By all it says, as the program does.
    InFull,
    /// By its share of what is believed of the aim.
    AgainstAim,
}

/// An apparent error no larger than this is accepted at inlet and outlet, degrees; at the lateral 2°, its sheet's
/// tolerance. The aim of the comparison.
pub const ACCEPT_DEG: [f64; 2] = [3.0, 2.0];
/// The same where sightings are weighed: what is then believed is surer, and half of it is worth a move.
const WEIGHED_ACCEPT_DEG: f64 = 1.5;
/// Shots for one view after which a team takes what it has.
const SHOTS_MAX: u32 = 10;
/// A pair further from the middle than this is centred first, mm on the detector.
const CENTRED_MM: f64 = 60.0;
/// What a support turns back where none was planned, and how much tilt a plan spares before it needs one, degrees. Source
/// of the former: 15 to 20° of retroversion cure 95 to 99 % of collisions (72 scans, 5 machines); the latter: common
/// practice, no source.
const SUPPORT_DEG: f64 = 15.0;
const SPARE_DEG: f64 = 3.0;
/// A step of the second strategy, degrees.
const STEP_DEG: f64 = 5.0;
/// An experienced eye's idea of the three levers, mm. Source: lever of 28 mm at the inlet, 108 at the outlet and 130 at
/// the lateral, as the views' sheets have them.
const USUAL_LEVERS: [f64; 3] = [28.0, 108.0, 130.0];

/// A team at work.
pub struct Team<'a> {
    pub strategy: Strategy,
    pub re_aim: ReAim,
    pub plan: &'a PlanSheet,
    pub room: &'a mut dyn Room,
    /// The machine beside the pelvis as the team takes it to lie: as planned, and turned back by what supports it.
    pub(super) arm: Arm,
    /// Table or patient stood in the way since this was last asked; of the inlet, of the outlet.
    stopped: bool,
    blocked: [bool; 2],
    /// The support under the pelvis, degrees; whether the lateral was asked about it; the inlet's tilt as aimed, degrees.
    supported: f64,
    looked: bool,
    inlet_tilt: f64,
    weighing: Weighing,
    /// Of the view being looked for, if it was aimed by the lateral.
    belief: Option<Belief>,
}

/// A view with the pair it lays over itself.
#[derive(Debug, Clone, Copy)]
struct Pair {
    view: ViewName,
    /// Nearer the detector, nearer the source.
    ends: [Landmark; 2],
    axes: Axes,
    /// Position in the plan's levers.
    lever: usize,
}

const LATERAL: Pair =
    Pair { view: ViewName::Lateral, ends: [Landmark::SmallerNotch, Landmark::LargerNotch], axes: Axes::Both, lever: 2 };
/// Prone, the receptor is above: what lies behind is nearer to it.
const INLET: Pair =
    Pair { view: ViewName::InletBody, ends: [Landmark::S2Cortex, Landmark::S1Cortex], axes: Axes::HeadFoot, lever: 0 };
const OUTLET: Pair = Pair {
    view: ViewName::OutletWorking,
    ends: [Landmark::S2Body, Landmark::SymphysisTop],
    axes: Axes::HeadFoot,
    lever: 1,
};

/// What became of one look at a view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    Accepted,
    Moved,
    /// Table or patient stood in the way: what is reached is taken.
    Stopped,
}

/// Where the displays stood at each accepted view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    pub lateral: Joints,
    pub inlet: Joints,
    pub outlet: Joints,
}

impl<'a> Team<'a> {
    #[must_use]
    pub fn new(strategy: Strategy, re_aim: ReAim, plan: &'a PlanSheet, room: &'a mut dyn Room) -> Self {
        Self {
            strategy,
            re_aim,
            plan,
            room,
            arm: plan.arm,
            stopped: false,
            blocked: [false; 2],
            supported: 0.0,
            looked: false,
            inlet_tilt: 0.0,
            weighing: Weighing::InFull,
            belief: None,
        }
    }

    /// The same team later, beside the pelvis as it took it to lie.
    pub(super) fn beside(self, arm: Arm) -> Self {
        Self { arm, ..self }
    }

    /// The same team, weighing what it sees in that way.
    #[must_use]
    pub fn weighing(self, weighing: Weighing) -> Self {
        Self { weighing, ..self }
    }

    /// Finds lateral, inlet and outlet, in that order. Whoever has a plan knows beforehand whether a support is needed, and
    /// once more from the lateral if that re-aims; whoever runs into table or patient at the outlet alone puts one under
    /// the pelvis and begins again, once.
    pub fn find_views(&mut self) -> Found {
        if self.strategy.planned() {
            let best = self.best_support(self.plan.inlet.value.0, self.plan.outlet.value.0);
            self.put_support(best);
        }
        let found = self.find_each();
        let helps = self.plan.clearance.at(Degrees(self.inlet_tilt + SUPPORT_DEG)).gap.0 > 0.0;
        if self.blocked != [false, true] || self.supported > 0.0 || !helps {
            return found;
        }
        self.put_support(SUPPORT_DEG);
        self.find_each()
    }

    /// The support with which tilts of inlet and outlet that are needed without one have room to spare: the least that
    /// does, else the one with most room. It adds to the inlet's tilt and takes from the outlet's.
    fn best_support(&self, inlet: f64, outlet: f64) -> f64 {
        let gaps = |inlet: f64| {
            let spare = SPARE_DEG * inlet.signum();
            self.plan.clearance.with_supports(Degrees(inlet + spare)).map(|with| (with.support.0, with.gap.gap.0))
        };
        let both = gaps(inlet).into_iter().zip(gaps(-outlet));
        let both: Vec<(f64, f64)> = both.map(|((support, one), (_, other))| (support, one.min(other))).collect();
        let most = both.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
        both.into_iter().find(|(_, gap)| *gap > 0.0).or(most).map_or(0.0, |(support, _)| support)
    }

    /// Puts a support of that size in place of what lies there.
    fn put_support(&mut self, size: f64) {
        let more = size - std::mem::replace(&mut self.supported, size);
        if more != 0.0 {
            self.room.support(Degrees(more));
            self.arm.lying.turn.0 += more;
        }
    }

    fn find_each(&mut self) -> Found {
        self.go_to(&self.lateral_start());
        let seen = self.find(LATERAL);
        let arms = self.re_aimed_arms(&seen);
        if self.strategy.re_aimed() && !std::mem::replace(&mut self.looked, true) && self.supports_anew(&arms) {
            return self.find_each();
        }
        let lateral = self.room.readings();
        self.inlet_tilt = self.target(ViewName::InletBody, &arms[0].0).map_or(0.0, |joints| joints.tilt.0.abs());
        self.stopped = false;
        let inlet = self.find_from(INLET, arms[0]);
        let blocked = std::mem::take(&mut self.stopped);
        let outlet = self.find_from(OUTLET, arms[1]);
        self.blocked = [blocked, self.stopped];
        Found { lateral, inlet, outlet }
    }

    /// Another support where the lateral shows that the one there leaves a view out of reach; whether it was changed.
    fn supports_anew(&mut self, arms: &[(Arm, Option<f64>); 2]) -> bool {
        let turned = arms.map(|(arm, _)| arm.lying.turn.0 - self.supported);
        let (inlet, outlet) = (self.plan.inlet.value.0 + turned[0], self.plan.outlet.value.0 - turned[1]);
        let gap = |tilt: f64| self.plan.clearance.at(Degrees(tilt)).gap.0;
        if gap(inlet + self.supported).min(gap(outlet - self.supported)) > 0.0 {
            return false;
        }
        let (best, before) = (self.best_support(inlet, outlet), self.supported);
        self.put_support(best);
        best.total_cmp(&before).is_ne()
    }

    fn lateral_start(&self) -> Joints {
        self.target(ViewName::Lateral, &self.arm).unwrap_or_default()
    }

    fn find_from(&mut self, pair: Pair, (arm, sd): (Arm, Option<f64>)) -> Joints {
        self.belief = sd.filter(|_| self.weighing == Weighing::AgainstAim).map(Belief::aimed);
        if let Some(joints) = self.target(pair.view, &arm) {
            // The boom stays as the lateral left it: the wag it needed there is how the machine stands.
            self.go_to(&Joints { wag: self.room.readings().wag, ..joints });
        }
        self.find(pair);
        self.belief = None;
        self.room.readings()
    }

    /// The joints of a view by plan or by the published mean.
    fn target(&self, view: ViewName, arm: &Arm) -> Option<Joints> {
        let planned = SacralMeasurements {
            anterior_cortex: Some(self.plan.inlet),
            symphysis_over_s2: Some(self.plan.outlet),
            ..SacralMeasurements::default()
        };
        let measured = if self.strategy.planned() { planned } else { SacralMeasurements::default() };
        let sheet = view_sheets().into_iter().find(|sheet| sheet.view == view)?;
        view_target(sheet, &measured, arm, self.plan.operated).ok().map(|target| target.joints)
    }

    pub(super) fn go_to(&mut self, joints: &Joints) {
        for joint in [Joint::Orbit, Joint::Tilt, Joint::Wag] {
            let by = joints.of(joint).0.round() - self.room.readings().of(joint).0;
            if by != 0.0 {
                self.drive(joint, by);
            }
        }
    }

    /// Moves a joint; false, and noted, if something stood in the way.
    fn drive(&mut self, joint: Joint, by: f64) -> bool {
        let free = self.room.drive(joint, Degrees(by));
        self.stopped |= !free;
        free
    }

    /// Takes pictures and moves until the view is accepted; the last picture.
    fn find(&mut self, pair: Pair) -> Seen {
        let limit = if pair.axes == Axes::Both { ACCEPT_DEG[1] } else { ACCEPT_DEG[0] };
        let mut seen = self.room.expose(pair.view);
        for _ in 1..SHOTS_MAX {
            let ends = pair.ends.map(|end| seen.touched.get(&end).copied());
            let [Some(nearer_detector), Some(nearer_source)] = ends else {
                // Toward whatever of it shows, or what else does.
                let shown = ends.iter().flatten().next().or_else(|| seen.touched.values().next()).copied();
                self.room.recentre(shown.unwrap_or(ImagePoint { across_mm: 0.0, down_mm: 0.0 }));
                seen = self.room.expose(pair.view);
                continue;
            };
            let middle = ImagePoint {
                across_mm: f64::midpoint(nearer_detector.across_mm, nearer_source.across_mm),
                down_mm: f64::midpoint(nearer_detector.down_mm, nearer_source.down_mm),
            };
            let off_centre = middle.across_mm.hypot(middle.down_mm) > CENTRED_MM;
            if off_centre && self.strategy != Strategy::Corrected {
                // By eye parallax looks like an error: what stands far from the middle is looked at again there.
                self.room.recentre(middle);
                seen = self.room.expose(pair.view);
                continue;
            }
            let sighting = self.sighting(pair, &seen, nearer_detector, nearer_source);
            let [down, across] = self.apparent(pair, nearer_detector, nearer_source);
            // Where the correction answers nothing, the eye decides.
            let corrected = if self.strategy == Strategy::Corrected { self.correct(&sighting, limit) } else { None };
            let step = corrected.unwrap_or_else(|| self.by_eye(pair, [down, across], limit));
            if step == Step::Accepted {
                return seen;
            }
            if off_centre {
                self.room.recentre(middle);
            }
            seen = self.room.expose(pair.view);
            if step == Step::Stopped {
                return seen;
            }
        }
        seen
    }

    fn sighting(&self, pair: Pair, seen: &Seen, nearer_detector: ImagePoint, nearer_source: ImagePoint) -> Sighting {
        Sighting {
            arm: self.arm,
            joints: seen.readings,
            distances: self.plan.distances,
            axes: pair.axes,
            nearer_detector,
            nearer_source,
            lever: self.plan.levers[pair.lever],
            depth: crate::carm::correction::Length {
                value: self.plan.distances.source_to_isocentre,
                sd: Millimetres(20.0),
            },
            touch_sd: self.plan.touch_sd,
        }
    }

    /// The gap as an eye sees it, in degrees of a usual lever: down and across the picture.
    fn apparent(&self, pair: Pair, nearer_detector: ImagePoint, nearer_source: ImagePoint) -> [f64; 2] {
        let life = self.plan.distances.source_to_isocentre.0 / self.plan.distances.source_to_detector.0;
        let lever = USUAL_LEVERS[pair.lever];
        let angle = |gap: f64| (gap * life / lever).clamp(-1.0, 1.0).asin().to_degrees();
        let down = angle(nearer_detector.down_mm - nearer_source.down_mm);
        let across = angle(nearer_detector.across_mm - nearer_source.across_mm);
        [down, if pair.axes == Axes::Both { across } else { 0.0 }]
    }

    /// Moves by the program's correction, if it gives one; accepted if the view is true enough as it is.
    fn correct(&mut self, sighting: &Sighting, limit: f64) -> Option<Step> {
        let correction = correct(sighting).ok()?;
        let share = self.belief.as_mut().map_or(1.0, |belief| belief.weigh(correction.sd.tilt.0));
        let limit = if self.belief.is_some() { WEIGHED_ACCEPT_DEG } else { limit };
        if correction.off_by.0 * share <= limit {
            return Some(Step::Accepted);
        }
        let mut step = Step::Moved;
        self.belief.iter_mut().for_each(Belief::moved);
        for joint in [Joint::Wag, Joint::Tilt, Joint::Orbit] {
            let by = (correction.turn.of(joint).0 * share).round();
            if by != 0.0 && !self.drive(joint, by) {
                step = Step::Stopped;
            }
        }
        Some(step)
    }

    /// Moves by what an eye makes of it; accepted if the view looks true enough as it is.
    fn by_eye(&mut self, pair: Pair, [down, across]: [f64; 2], limit: f64) -> Step {
        if down.hypot(across) <= limit {
            return Step::Accepted;
        }
        let mut step = Step::Moved;
        let (beam, axes) = self.arm.beam_and_axes(&self.room.readings());
        let pose = self.arm.pose(&self.room.readings(), crate::carm::Point::origin(), self.plan.distances);
        let first = if pair.axes == Axes::Both { Joint::Wag } else { Joint::Tilt };
        for (joint, apparent, axis) in
            [(first, down, pose.down.into_inner()), (Joint::Orbit, across, pose.across.into_inner())]
        {
            // Which way the joint carries the detector's end of the beam along this axis of the picture.
            let way = axes[joint as usize].cross(&beam).dot(&axis);
            if apparent.abs() < limit / 2.0 || way.abs() < 0.1 {
                continue;
            }
            let amount = match self.strategy {
                Strategy::MeanThenSteps => STEP_DEG * apparent.signum(),
                _ => self.room.eye(apparent),
            };
            if !self.drive(joint, (amount * way.signum()).round()) {
                step = Step::Stopped;
            }
        }
        step
    }

    /// The machine beside the pelvis as the lateral shows it, for inlet and outlet.
    fn re_aimed_arms(&mut self, seen: &Seen) -> [(Arm, Option<f64>); 2] {
        let as_it_lies = (self.arm, None);
        if !self.strategy.re_aimed() {
            self.centre_on_sacrum(seen);
            return [as_it_lies; 2];
        }
        let inlet = self.turn(seen, [Landmark::S1Cortex, Landmark::S2Cortex], self.plan.inlet);
        self.centre_on_sacrum(seen);
        if self.re_aim == ReAim::OneTurn {
            return [inlet.unwrap_or(as_it_lies); 2];
        }
        let planned = Angle { value: -self.plan.outlet.value, ..self.plan.outlet };
        let line = [Landmark::SymphysisTop, Landmark::S2Body];
        let outlet = self.turn(seen, line, planned).or_else(|| {
            // The symphysis lies outside the field: one more picture between it and the sacrum.
            let sacrum = seen.touched.get(&Landmark::S1Cortex).copied()?;
            let toward = toward_front(seen)?;
            self.room.recentre(ImagePoint {
                across_mm: sacrum.across_mm + toward[0] * HALFWAY_MM,
                down_mm: sacrum.down_mm + toward[1] * HALFWAY_MM,
            });
            let wider = self.room.expose(ViewName::Lateral);
            let arm = self.turn(&wider, line, planned);
            if let Some(back) = wider.touched.get(&Landmark::S1Cortex) {
                self.room.recentre(*back);
            }
            arm
        });
        [inlet.unwrap_or(as_it_lies), outlet.or(inlet).unwrap_or(as_it_lies)]
    }

    /// Brings the sacrum to the middle from the lateral, without a shot.
    fn centre_on_sacrum(&mut self, seen: &Seen) {
        let cortices = [Landmark::S1Cortex, Landmark::S2Cortex].map(|end| seen.touched.get(&end));
        if let [Some(upper), Some(lower)] = cortices {
            self.room.recentre(ImagePoint {
                across_mm: f64::midpoint(upper.across_mm, lower.across_mm),
                down_mm: f64::midpoint(upper.down_mm, lower.down_mm),
            });
        }
    }

    /// The machine beside the pelvis turned as that line shows it, and the line's own doubt, degrees.
    fn turn(&self, seen: &Seen, line: [Landmark; 2], planned: Angle) -> Option<(Arm, Option<f64>)> {
        let of = |landmark: Landmark| seen.touched.get(&landmark).copied();
        let touches = LateralTouches {
            line: [of(line[0])?, of(line[1])?],
            vertical: ProvenVertical::PlumbLine { above: of(Landmark::PlumbAbove)?, below: of(Landmark::PlumbBelow)? },
            head: seen.head,
            touch_sd: self.plan.touch_sd,
        };
        let placement = Placement::first();
        let position = self.plan.arm.lying.position;
        let turn = PelvicTurn::measure(position, planned, &touches, &placement).ok()?.at(&placement).ok()?;
        let own = (turn.sd.0.powi(2) - planned.sd.0.powi(2)).max(0.0).sqrt();
        Some((Arm { lying: Lying { turn: turn.value, ..self.plan.arm.lying }, ..self.plan.arm }, Some(own)))
    }
}

/// How far toward the symphysis the lateral is centred to show both, mm on the detector.
const HALFWAY_MM: f64 = 85.0;

/// Toward the front of the patient on a lateral picture, from the cortices: across the line away from the body of S2.
fn toward_front(seen: &Seen) -> Option<[f64; 2]> {
    let [front, back] = [Landmark::S1Cortex, Landmark::S2Body].map(|end| seen.touched.get(&end));
    let (front, back) = (front?, back?);
    let (across, down) = (front.across_mm - back.across_mm, front.down_mm - back.down_mm);
    let length = across.hypot(down).max(1.0);
    Some([across / length, down / length])
}

//! Scripted teams: how each places the pin, by eye alone or with the pin finding.
//!
//! Both look at the same touches. By eye each view corrects what it shows; with the finding the margins of the largest
//! tool on both views are put together, so that a turn that helps one view does not spoil the other. What it does not do:
//! it sees nothing but what [`super::room::Room`] gives.

use super::room::{Landmark, Seen};
use super::views::{Found, Team};
use crate::carm::{ImagePoint, Joints, Point, Pose, Vector, ViewName};
use crate::pin::{
    DeclaredBy, Edge, EdgeName, Finding, Frame, MARGIN_LIMIT, PinView, Scene, Seen as SeenEdge, Tool, ViewErrors, find,
};
use crate::units::{Degrees, Millimetres};

/// A pin as a team left it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PinDone {
    pub set: bool,
    /// Turned after it had gone in.
    pub redirections: u32,
    /// Findings that could be had and those that were held back.
    pub findings: [u32; 2],
}

/// A pin that would miss the middle by no more than this goes on, mm.
const GOOD_MM: f64 = 2.0;
/// Turns of a pin that has gone in, at most, and of one that has not.
const REDIRECTIONS_MAX: u32 = 3;
const AIMS_MAX: u32 = 3;
/// Shots to bring pin and edges into one picture, at most.
const CENTRINGS_MAX: u32 = 2;
/// One advance, mm; a shot follows each.
const ADVANCE_MM: f64 = 8.0;
/// The tip ends this far lateral to the foramen, mm.
const BESIDE_FORAMEN_MM: f64 = 3.0;
/// The tool reaches this far out from the tip, mm.
const TOOL_LENGTH_MM: f64 = 45.0;
/// Guide pin, mm.
const PIN_MM: f64 = 3.2;
/// What a team states of its views: a scale and an angle, one standard deviation, and the drift of a column that stays.
const SCALE_SD: f64 = 0.02;
const ANGLE_SD_DEG: f64 = 1.0;
const DRIFT_MM: f64 = 2.0;

/// Where the pin should go on one view: how far aside of its way, and how far ahead.
#[derive(Debug, Clone, Copy)]
struct Aside {
    /// mm at the patient, along `way`.
    by: f64,
    /// On the picture's plane, across the pin.
    way: Vector,
    /// mm at the patient.
    ahead: f64,
}

/// What the two views say.
struct Both {
    outlet: Aside,
    inlet: Aside,
}

impl Team<'_> {
    /// Sets, aims and drives the pin on the views found.
    pub fn place_pin(&mut self, found: &Found, finding: bool) -> PinDone {
        let mut done = PinDone::default();
        if !self.start(found) {
            return done;
        }
        done.set = true;
        let mut ahead = 0.0;
        for _ in 0..AIMS_MAX {
            let Some(both) = self.look(found, finding, &mut done) else { continue };
            ahead = both.outlet.ahead;
            if good(&both) {
                break;
            }
            self.turn_by(&both, finding);
        }
        self.drive_in(found, finding, ahead, &mut done);
        done
    }

    /// The start point on the lateral: in the middle between front and canal, and between ala and foramen.
    fn start(&mut self, found: &Found) -> bool {
        self.go_to(&found.lateral);
        for _ in 0..3 {
            let seen = self.room.expose(ViewName::Lateral);
            let bounds = [Landmark::FrontBorder, Landmark::CanalBorder, Landmark::AlarTop, Landmark::ForamenTop];
            let touched: Vec<ImagePoint> = bounds.iter().filter_map(|one| seen.touched.get(one).copied()).collect();
            let mean = |of: fn(&ImagePoint) -> f64| touched.iter().map(of).sum::<f64>() / touched.len().max(1) as f64;
            let at = ImagePoint { across_mm: mean(|at| at.across_mm), down_mm: mean(|at| at.down_mm) };
            if touched.len() == bounds.len() && self.room.set_pin(at) {
                return true;
            }
            self.room.recentre(at);
        }
        false
    }

    fn drive_in(&mut self, found: &Found, finding: bool, ahead: f64, done: &mut PinDone) {
        let mut left = ahead;
        let mut checked = false;
        // A pin that never seems to come near ends after what no pelvis is wide.
        for _ in 0..40 {
            if left <= BESIDE_FORAMEN_MM {
                break;
            }
            self.room.advance((left - BESIDE_FORAMEN_MM).clamp(0.5, ADVANCE_MM));
            let seen = self.room.expose(ViewName::OutletWorking);
            left = self.to_foramen(&seen).unwrap_or(left - ADVANCE_MM);
            if !checked && left < ahead / 2.0 {
                checked = true;
                let before = done.redirections;
                self.check(found, finding, done);
                if done.redirections > before {
                    left = ahead;
                    checked = done.redirections >= REDIRECTIONS_MAX;
                }
            }
        }
        let before = done.redirections;
        self.check(found, finding, done);
        if done.redirections > before {
            self.again(found, ahead);
        }
    }

    /// The way in once more after the last look, watched as before.
    fn again(&mut self, found: &Found, ahead: f64) {
        self.go_to(&found.outlet);
        let mut left = ahead;
        for _ in 0..20 {
            if left <= BESIDE_FORAMEN_MM {
                break;
            }
            self.room.advance((left - BESIDE_FORAMEN_MM).clamp(0.5, ADVANCE_MM));
            let seen = self.room.expose(ViewName::OutletWorking);
            left = self.to_foramen(&seen).unwrap_or(left - ADVANCE_MM);
        }
    }

    /// Looks on both views; a pin that goes astray is drawn back and turned.
    fn check(&mut self, found: &Found, finding: bool, done: &mut PinDone) {
        let Some(both) = self.look(found, finding, done) else { return };
        if !good(&both) && done.redirections < REDIRECTIONS_MAX {
            done.redirections += 1;
            self.turn_by(&both, finding);
        }
    }

    /// A picture of each view, the outlet last, and what they say.
    fn look(&mut self, found: &Found, finding: bool, done: &mut PinDone) -> Option<Both> {
        let edges = [[Landmark::CanalBorder, Landmark::FrontBorder], [Landmark::ForamenTop, Landmark::AlarTop]];
        let inlet = self.picture(&found.inlet, ViewName::InletBody, edges[0]);
        let outlet = self.picture(&found.outlet, ViewName::OutletWorking, edges[1]);
        let seen = [(ViewName::OutletWorking, &outlet), (ViewName::InletBody, &inlet)];
        let by_eye = Both { outlet: self.aside(&outlet, edges[1])?, inlet: self.aside(&inlet, edges[0])? };
        if !finding {
            return Some(by_eye);
        }
        let found = self.finding(seen, by_eye.outlet.ahead);
        let by_finding = found.as_ref().and_then(|found| by_margins(found, &by_eye));
        done.findings[usize::from(by_finding.is_none())] += 1;
        Some(by_finding.unwrap_or(by_eye))
    }

    /// A picture of a view with the pin's shank and both edges in it, centred anew as often as that takes.
    fn picture(&mut self, joints: &Joints, view: ViewName, edges: [Landmark; 2]) -> Seen {
        self.go_to(joints);
        let mut seen = self.room.expose(view);
        for _ in 0..CENTRINGS_MAX {
            let whole = shadow(&seen).is_some() && edges.iter().all(|edge| seen.touched.contains_key(edge));
            let shown = [Landmark::PinTip, Landmark::ForamenSide].map(|mark| seen.touched.get(&mark).copied());
            let Some(toward) = shown.into_iter().flatten().next().filter(|_| !whole) else { break };
            self.room.recentre(toward);
            seen = self.room.expose(view);
        }
        seen
    }

    /// How far the tip is from the foramen's lateral border, along the pin, mm at the patient.
    fn to_foramen(&self, seen: &Seen) -> Option<f64> {
        let (tip, along) = shadow(seen)?;
        let side = seen.touched.get(&Landmark::ForamenSide)?;
        Some(dot(minus(*side, tip), along) * self.life())
    }

    fn life(&self) -> f64 {
        self.plan.distances.source_to_isocentre.0 / self.plan.distances.source_to_detector.0
    }

    /// From the pin's way to the middle between two edges.
    fn aside(&self, seen: &Seen, edges: [Landmark; 2]) -> Option<Aside> {
        let (tip, along) = shadow(seen)?;
        let [from, to] = edges.map(|edge| seen.touched.get(&edge).copied());
        let (from, to) = (from?, to?);
        let across = [-along[1], along[0]];
        // Toward the second edge.
        let across = if dot(minus(to, from), across) < 0.0 { across.map(|part| -part) } else { across };
        let middle = minus(mean(from, to), tip);
        let pose = self.pose(&seen.readings);
        let way = pose.across.into_inner() * across[0] + pose.down.into_inner() * across[1];
        let ahead = self.to_foramen(seen).unwrap_or_else(|| dot(middle, along) * self.life());
        Some(Aside { by: dot(middle, across) * self.life(), way, ahead: ahead.max(0.0) })
    }

    fn pose(&self, readings: &Joints) -> Pose {
        self.plan.arm.pose(readings, Point::origin(), self.plan.distances)
    }

    /// The program's finding from both views and the edges touched on them.
    fn finding(&self, seen: [(ViewName, &Seen); 2], ahead: f64) -> Option<Finding> {
        let mut views = Vec::new();
        let mut edges = Vec::new();
        let named = [
            [(Landmark::ForamenTop, EdgeName::S1Foramen), (Landmark::AlarTop, EdgeName::AlarSlope)],
            [(Landmark::CanalBorder, EdgeName::SacralCanal), (Landmark::FrontBorder, EdgeName::FrontCortex)],
        ];
        for (number, ((name, picture), marks)) in seen.into_iter().zip(named).enumerate() {
            let touched = |landmark: Landmark| picture.touched.get(&landmark).copied();
            views.push(PinView {
                name,
                pose: self.pose(&picture.readings),
                isocentre: Point::origin(),
                errors: ViewErrors { touch: self.plan.touch_sd, scale: SCALE_SD, angle: Degrees(ANGLE_SD_DEG) },
                tip: touched(Landmark::PinTip)?,
                shank: vec![touched(Landmark::PinShank)?],
                pictured_width: None,
            });
            for (landmark, edge) in marks {
                let points = vec![touched(landmark)?];
                edges.push(Edge {
                    name: edge,
                    seen: vec![SeenEdge { view: number, profiled: true, points, closed: false }],
                });
            }
        }
        let frame = Frame::ColumnUnmoved { declared_by: DeclaredBy::Radiographer, drift: Millimetres(DRIFT_MM) };
        let frame = frame.common(&views);
        Some(find(&Scene {
            side: self.plan.operated,
            views,
            frame,
            pin_diameter: Millimetres(PIN_MM),
            tool: Some(Tool { diameter: self.plan.tool, length: Millimetres(TOOL_LENGTH_MM) }),
            margin_limit: MARGIN_LIMIT,
            joint: None,
            edges,
            further: vec![Millimetres(ahead.max(1.0))],
            midline: None,
        }))
    }

    /// Turns the pin about its start so that its tip goes where the views want it.
    fn turn_by(&mut self, both: &Both, finding: bool) {
        let lever = (self.room.depth() + both.outlet.ahead).max(15.0);
        let [head, front] = if finding { together(both) } else { self.each_for_itself(both) };
        let angle = |mm: f64| Degrees((mm / lever).atan().to_degrees().clamp(-20.0, 20.0));
        self.room.turn_pin(angle(head), angle(front));
    }

    /// By eye: the outlet corrects toward the head or feet, the inlet toward front or back, each as if alone.
    fn each_for_itself(&mut self, both: &Both) -> [f64; 2] {
        let head = both.outlet.by * both.outlet.way.z.signum();
        let front = both.inlet.by * -both.inlet.way.y.signum();
        [self.room.eye(head), self.room.eye(front)]
    }
}

/// How far toward head and front the tip must go for both views at once: what each view shows of both.
fn together(both: &Both) -> [f64; 2] {
    let [a, b] = [&both.outlet, &both.inlet].map(|aside| [aside.way.z, -aside.way.y, aside.by]);
    let determinant = a[0] * b[1] - a[1] * b[0];
    if determinant.abs() < 0.2 {
        return [a[2] * a[0].signum(), b[2] * b[1].signum()];
    }
    [(a[2] * b[1] - a[1] * b[2]) / determinant, (a[0] * b[2] - a[2] * b[0]) / determinant]
}

/// The margins of the finding where the pin would end, as what to move; `None` where it gives none.
fn by_margins(finding: &Finding, by_eye: &Both) -> Option<Both> {
    let ends = finding.further.first()?;
    let margin = |edge: EdgeName| ends.margins.iter().find(|one| one.edge == edge).map(|one| one.margin_mm.value);
    let outlet = (margin(EdgeName::AlarSlope)? - margin(EdgeName::S1Foramen)?) / 2.0;
    let inlet = (margin(EdgeName::FrontCortex)? - margin(EdgeName::SacralCanal)?) / 2.0;
    Some(Both { outlet: Aside { by: outlet, ..by_eye.outlet }, inlet: Aside { by: inlet, ..by_eye.inlet } })
}

fn good(both: &Both) -> bool {
    both.outlet.by.abs() <= GOOD_MM && both.inlet.by.abs() <= GOOD_MM
}

/// Tip and way of the pin on a picture.
fn shadow(seen: &Seen) -> Option<(ImagePoint, [f64; 2])> {
    let (tip, shank) = (seen.touched.get(&Landmark::PinTip)?, seen.touched.get(&Landmark::PinShank)?);
    let along = minus(*tip, *shank);
    let length = along[0].hypot(along[1]);
    (length > 5.0).then(|| (*tip, along.map(|part| part / length)))
}

fn minus(one: ImagePoint, other: ImagePoint) -> [f64; 2] {
    [one.across_mm - other.across_mm, one.down_mm - other.down_mm]
}

fn mean(one: ImagePoint, other: ImagePoint) -> ImagePoint {
    ImagePoint {
        across_mm: f64::midpoint(one.across_mm, other.across_mm),
        down_mm: f64::midpoint(one.down_mm, other.down_mm),
    }
}

fn dot(one: [f64; 2], other: [f64; 2]) -> f64 {
    one[0] * other[0] + one[1] * other[1]
}

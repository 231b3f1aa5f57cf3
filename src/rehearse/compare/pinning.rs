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
/// One that has gone in is drawn back if it would miss the middle by more than this, mm. Common practice, no source.
const ASTRAY_MM: f64 = 4.0;
/// Turns of a pin that has gone in, at most, and looks before it goes in.
const REDIRECTIONS_MAX: u32 = 3;
const AIMS_MAX: u32 = 3;
/// Shots to bring pin and edges into one picture, at most.
const CENTRINGS_MAX: u32 = 2;
/// One turn of the pin, at most, degrees.
const TURN_MAX_DEG: f64 = 20.0;
/// Advances after which a pin that never seems to come near is left.
const ADVANCES_MAX: usize = 20;
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

/// A view with the edges between which the pin should go.
type Between = (ViewName, [Landmark; 2]);
const ON_OUTLET: Between = (ViewName::OutletWorking, [Landmark::ForamenTop, Landmark::AlarTop]);
const ON_INLET: Between = (ViewName::InletBody, [Landmark::CanalBorder, Landmark::FrontBorder]);

impl Team<'_> {
    /// Sets, aims and drives the pin on the views found.
    pub fn place_pin(&mut self, found: &Found, finding: bool) -> PinDone {
        let mut done = PinDone::default();
        if !self.start(found) {
            return done;
        }
        done.set = true;
        let ahead = self.aim(found, finding, &mut done);
        self.drive_in(found, finding, ahead, &mut done);
        done
    }

    /// Turns the pin until it points where it should; how far it then has to go.
    fn aim(&mut self, found: &Found, finding: bool, done: &mut PinDone) -> f64 {
        if finding { self.aim_by_finding(found, done) } else { self.aim_by_eye(found) }
    }

    fn aim_by_finding(&mut self, found: &Found, done: &mut PinDone) -> f64 {
        let mut ahead = 0.0;
        for _ in 0..AIMS_MAX {
            let Some(both) = self.look(found, true, done) else { continue };
            ahead = both.outlet.ahead;
            if within(&both, GOOD_MM) {
                break;
            }
            self.turn_together(&both);
        }
        ahead
    }

    /// By eye each view corrects what it shows, in turn, until two pictures in a row are good.
    fn aim_by_eye(&mut self, found: &Found) -> f64 {
        let (mut ahead, mut good_in_row) = (0.0, 0);
        for look in 0..2 * AIMS_MAX {
            let outlet = look % 2 == 0;
            let ((view, edges), joints) = if outlet { (ON_OUTLET, found.outlet) } else { (ON_INLET, found.inlet) };
            let seen = self.picture(&joints, view, edges);
            let Some(aside) = self.aside(&seen, edges) else { continue };
            if outlet {
                ahead = aside.ahead;
            }
            if aside.by.abs() <= GOOD_MM {
                good_in_row += 1;
                if good_in_row == 2 {
                    break;
                }
                continue;
            }
            good_in_row = 0;
            self.turn_on_one(&aside);
        }
        ahead
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

    /// Drives the pin in, watched, with a look on both views half way and at the end; one that goes astray is drawn back,
    /// aimed and driven again.
    fn drive_in(&mut self, found: &Found, finding: bool, ahead: f64, done: &mut PinDone) {
        let mut way = ahead;
        loop {
            let half = way / 2.0;
            let left = self.watched(found, way, half);
            let astray = self.astray(found, finding, done);
            if !astray {
                self.watched(found, left, BESIDE_FORAMEN_MM);
            }
            if !(astray || self.astray(found, finding, done)) || done.redirections >= REDIRECTIONS_MAX {
                if astray {
                    self.watched(found, left, BESIDE_FORAMEN_MM);
                }
                return;
            }
            done.redirections += 1;
            self.draw_back();
            let again = self.aim(found, finding, done);
            way = if again > 0.0 { again } else { way };
        }
    }

    /// Advances on the outlet, a shot after each, until no more than `until` is left to the foramen; what is left.
    fn watched(&mut self, found: &Found, way: f64, until: f64) -> f64 {
        self.go_to(&found.outlet);
        let mut left = way;
        for _ in 0..ADVANCES_MAX {
            if left <= until {
                break;
            }
            let step = (left - until).clamp(0.5, ADVANCE_MM);
            self.room.advance(step);
            let seen = self.room.expose(ViewName::OutletWorking);
            left = self.to_foramen(&seen).unwrap_or(left - step);
        }
        left
    }

    /// Whether both views together say that the pin goes astray.
    fn astray(&mut self, found: &Found, finding: bool, done: &mut PinDone) -> bool {
        self.look(found, finding, done).is_some_and(|both| !within(&both, ASTRAY_MM))
    }

    /// Out until the pin can be turned.
    fn draw_back(&mut self) {
        self.room.turn_pin(Degrees(0.0), Degrees(0.0));
    }

    /// A picture of each view, the outlet last, and what they say.
    fn look(&mut self, found: &Found, finding: bool, done: &mut PinDone) -> Option<Both> {
        let inlet = self.picture(&found.inlet, ON_INLET.0, ON_INLET.1);
        let outlet = self.picture(&found.outlet, ON_OUTLET.0, ON_OUTLET.1);
        let seen = [(ON_OUTLET.0, &outlet), (ON_INLET.0, &inlet)];
        let by_eye = Both { outlet: self.aside(&outlet, ON_OUTLET.1)?, inlet: self.aside(&inlet, ON_INLET.1)? };
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
        self.arm.pose(readings, Point::origin(), self.plan.distances)
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

    /// Turns the pin about its start so that its tip goes where both views together want it.
    fn turn_together(&mut self, both: &Both) {
        let [head, front] = together(both);
        let ahead = both.outlet.ahead;
        self.room.turn_pin(self.turn_for(head, ahead), self.turn_for(front, ahead));
    }

    /// By eye: the tip goes along the picture, as if the other view saw nothing of it. What it sees is the cosine of the arc
    /// between the views, 0.39 at the published 67°.
    fn turn_on_one(&mut self, aside: &Aside) {
        let by = self.room.eye(aside.by);
        let [head, front] = [by * aside.way.z, -by * aside.way.y];
        self.room.turn_pin(self.turn_for(head, aside.ahead), self.turn_for(front, aside.ahead));
    }

    /// The turn that moves the tip aside by `mm` once it has gone `ahead` further.
    fn turn_for(&self, mm: f64, ahead: f64) -> Degrees {
        let lever = (self.room.depth() + ahead).max(15.0);
        Degrees((mm / lever).atan().to_degrees().clamp(-TURN_MAX_DEG, TURN_MAX_DEG))
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

fn within(both: &Both, mm: f64) -> bool {
    both.outlet.by.abs() <= mm && both.inlet.by.abs() <= mm
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

//! From a scene to a finding: what is caught, what is given with which ±, and what is not given and why.
//!
//! What it does not do: it stops nothing and hides nothing it left out.

use super::caught::{Caught, PoseFault};
use super::edge::Edge;
use super::evaluate::{Draw, Outputs, PAIRS, Scene};
use super::finding::{
    AtJoint, COVERAGE_PERCENT, CrossView, Finding, FrameUsed, Further, Gap, Heading, Margin, Measured, NotGiven, Place,
    Question, What, Why,
};
use super::frame::AnglesOnly;
use super::joint::{Crossing, Joint};
use super::line::Shadow;
use super::spread::{Covariance, propagate};
use crate::carm::{Direction, Point, Pose, Vector};

/// Standard deviations of the ± that holds in 95 of 100; 2.4477 where two directions share it.
///
/// Source: quantiles of the normal and of the chi distribution with two degrees of freedom, sqrt(-2 ln 0.05).
const SIGMAS: f64 = 1.959_964;
const SIGMAS_OF_TWO: f64 = 2.447_747;
/// A gap of more standard deviations than this is not explained.
const GAP_SIGMAS: f64 = 3.0;
/// Below this arc an error along the beams is more than 1/sin 15° = 3.9 times that of a touch: no position is given.
const ARC_MIN_DEG: f64 = 15.0;
/// Within this of square, a millimetre here is less than 0.09 mm there, and nothing is said.
const SQUARE_DEG: f64 = 5.0;
/// Nearer to the joint's plane than this, where the pin crosses it means nothing.
const ALONG_JOINT_DEG: f64 = 80.0;
/// A tip farther from the isocentre than this, mm, lies outside any patient.
const TIP_REACH_MM: f64 = 300.0;

/// What the touches say.
#[must_use]
pub fn find(scene: &Scene) -> Finding {
    let mut finding = empty(scene);
    finding.caught = impossible(scene);
    if finding.caught.is_empty() {
        let poses = scene.poses(&mut Draw::new(&[], &scene.views));
        finding.cross_views = cross_views(scene, &poses);
        finding.caught = misread(scene, &poses);
        fill(scene, &mut finding);
    }
    leave_out(scene, &mut finding);
    finding
}

fn empty(scene: &Scene) -> Finding {
    let frame = match &scene.frame {
        Err(why) => FrameUsed::AnglesOnly { why: why.clone() },
        Ok(common) => match common.declared_by() {
            Some(declared_by) => FrameUsed::ColumnUnmoved { declared_by },
            None => {
                let all: Vec<f64> = common.bundles().iter().flat_map(|b| b.residuals.iter().map(|r| r.1)).collect();
                let squares: f64 = all.iter().map(|residual| residual * residual).sum();
                FrameUsed::Landmarks { count: all.len(), residual_mm: rounded((squares / all.len() as f64).sqrt()) }
            }
        },
    };
    Finding {
        side: scene.side,
        views: scene.views.iter().map(|view| view.name).collect(),
        frame,
        coverage_percent: COVERAGE_PERCENT,
        tool_mm: scene.tool.map(|tool| rounded(tool.diameter.0)),
        margin_limit_mm: rounded(scene.margin_limit.0),
        joint: None,
        tip: None,
        heading: None,
        gaps: Vec::new(),
        margins: Vec::new(),
        further: Vec::new(),
        cross_views: Vec::new(),
        caught: Vec::new(),
        questions: Vec::new(),
        not_given: Vec::new(),
    }
}

fn impossible(scene: &Scene) -> Vec<Caught> {
    let faults = scene.views.iter().filter_map(|view| Some((view.name, view.fault()?)));
    faults.map(|(view, fault)| Caught::PoseImpossible { view, fault }).collect()
}

/// What the touches cannot give, or give the wrong way round.
fn misread(scene: &Scene, poses: &[Pose]) -> Vec<Caught> {
    let views = &scene.views;
    let mut shadows = Vec::new();
    for (view, pose) in views.iter().zip(poses) {
        match Shadow::of(pose, view.tip, &view.shank) {
            Some(shadow) => shadows.push(shadow),
            None => return vec![Caught::NoShadow { view: view.name }],
        }
    }
    if let [view] = &views[..] {
        return vec![Caught::OneViewOnly { view: view.name }];
    }
    let pairs: Vec<(usize, usize)> = PAIRS.into_iter().filter(|(_, second)| *second < views.len()).collect();
    let widest = |of: &dyn Fn(usize, usize) -> f64| {
        let all = pairs.iter().map(|(a, b)| (of(*a, *b), *a, *b));
        all.max_by(|one, other| one.0.total_cmp(&other.0)).expect("two views or more make a pair")
    };
    let (arc, first, second) = widest(&|a, b| arc_deg(&poses[a], &poses[b]));
    let (first, second) = (views[first].name, views[second].name);
    if arc < ARC_MIN_DEG {
        return vec![Caught::NearParallelViews { first, second, arc_deg: rounded(arc) }];
    }
    let crossed = |a: usize, b: usize| shadows[a].normal.cross(&shadows[b].normal).norm();
    let (sine, first, second) = widest(&crossed);
    if sine < ARC_MIN_DEG.to_radians().sin() {
        return vec![Caught::PinAlongBothBeams { first: views[first].name, second: views[second].name }];
    }
    super::orient::caught(scene, poses, &shadows).into_iter().collect()
}

/// Between the beam lines, degrees, 0 to 90.
fn arc_deg(one: &Pose, other: &Pose) -> f64 {
    one.beam().dot(&other.beam()).abs().min(1.0).acos().to_degrees()
}

fn cross_views(scene: &Scene, poses: &[Pose]) -> Vec<CrossView> {
    let pairs = PAIRS.into_iter().filter(|(_, second)| *second < poses.len());
    let crossed = pairs.filter_map(|(here, there)| {
        let arc = arc_deg(&poses[here], &poses[there]);
        let seen_mm = rounded(arc.to_radians().cos());
        let (here, there) = (scene.views[here].name, scene.views[there].name);
        (arc < 90.0 - SQUARE_DEG).then_some(CrossView { here, there, arc_deg: rounded(arc), seen_mm })
    });
    crossed.collect()
}

/// Gives what the touches give.
fn fill(scene: &Scene, finding: &mut Finding) {
    let flat_only = |caught: &Caught| {
        matches!(
            caught,
            Caught::OneViewOnly { .. } | Caught::NearParallelViews { .. } | Caught::PinAlongBothBeams { .. }
        )
    };
    if finding.held_back() {
        if finding.caught.iter().all(flat_only) {
            // A margin on one picture needs neither angle nor position.
            let alike = AnglesOnly::ViewsTooAlike;
            let why = scene.frame.as_ref().err().cloned().unwrap_or(alike);
            finding.frame = FrameUsed::AnglesOnly { why: why.clone() };
            let flat = Scene { frame: Err(why), ..scene.clone() };
            fill_margins(&flat, &propagate(&flat), finding);
        }
        return;
    }
    let found = propagate(scene);
    let tip = vector(&found.nominal, Outputs::TIP).map(Point::from);
    if let Some(tip) = tip {
        beside(scene, &tip, &found, finding);
        if finding.held_back() {
            return;
        }
        finding.tip = place(&found, 0.0);
    }
    finding.heading = heading(&found);
    finding.joint = at_joint(scene, &found);
    fill_margins(scene, &found, finding);
    if tip.is_some() {
        finding.further = further(scene, &found);
    }
    if let Some(joint) = &mut finding.joint {
        let off = joint.off_perpendicular_deg.value;
        if off > ALONG_JOINT_DEG {
            finding.caught.push(Caught::PinAlongJoint { off_perpendicular_deg: off });
            joint.past_mm = None;
        } else if let Some(past) = joint.past_mm.filter(|past| past.value <= 0.0) {
            finding.caught.push(Caught::TipBehindJoint { by_mm: -past.value });
        }
    }
}

/// What stands beside a position: gaps, landmarks, scale, and whether the tip is in the beam at all.
fn beside(scene: &Scene, tip: &Point, found: &Covariance, finding: &mut Finding) {
    let poses = scene.poses(&mut Draw::new(&[], &scene.views));
    for (view, pose) in scene.views.iter().zip(&poses) {
        let between = pose.magnification_at(tip).is_some_and(|magnification| magnification >= 1.0);
        if !between || (tip - scene.views[0].isocentre).norm() > TIP_REACH_MM {
            finding.caught.push(Caught::PoseImpossible { view: view.name, fault: PoseFault::TipOutside });
            return;
        }
        if let Some(width) = view.width_check(scene.pin_diameter, tip).filter(|width| !width.agrees) {
            let (pictured_mm, expected_mm) = (rounded(width.found.0), rounded(width.expected.0));
            finding.caught.push(Caught::ScaleDoubtful { view: view.name, pictured_mm, expected_mm });
        }
    }
    for (place, (first, second)) in PAIRS.into_iter().enumerate().filter(|(_, (_, second))| *second < poses.len()) {
        let (first, second) = (scene.views[first].name, scene.views[second].name);
        let gap_mm = rounded(found.nominal[Outputs::GAP + place].abs());
        let explained_mm = rounded(GAP_SIGMAS * found.sigma(Outputs::GAP + place));
        finding.gaps.push(Gap { first, second, gap_mm, explained_mm });
        if gap_mm > explained_mm {
            finding.caught.push(Caught::RaysMiss { first, second, gap_mm, explained_mm });
        }
    }
    let bundles = scene.frame.as_ref().map_or(&[][..], |common| common.bundles());
    for bundle in bundles.iter().filter(|bundle| !bundle.agrees()) {
        if let Some((number, residual)) = bundle.worst() {
            let residual_mm = rounded(residual);
            finding.caught.push(Caught::LandmarksDisagree { landmark: number + 1, residual_mm });
        }
    }
}

fn at_joint(scene: &Scene, found: &Covariance) -> Option<AtJoint> {
    let angle = found.nominal[Outputs::ANGLE];
    if angle.is_nan() {
        return None;
    }
    let mut plus_minus = angle_plus_minus(angle, found);
    let past_mm = measured(found, Outputs::PAST);
    if past_mm.is_none() {
        // The height of the crossing is not known, so every height of the joint must be covered.
        let axis = Direction::new_normalize(vector(&found.nominal, Outputs::AXIS)?);
        let joint = scene.joint.as_ref()?;
        let mut draw = Draw::new(&[], &scene.views);
        let poses = scene.poses(&mut draw);
        let normal = joint.meet(scene.side, &poses, None, &mut draw)?.normal;
        plus_minus += joint.spread(scene.side, &axis, &normal);
    }
    let share = |of: fn(f64) -> f64| {
        let at = |angle: f64| 100.0 * of(angle.clamp(0.0, 180.0).to_radians());
        let value = at(angle);
        let off = (at(angle + plus_minus) - value).abs().max((at(angle - plus_minus) - value).abs());
        Measured { value: rounded(value.abs()), plus_minus: rounded(off) }
    };
    let off_perpendicular_deg = Measured { value: rounded(angle), plus_minus: rounded(plus_minus) };
    Some(AtJoint { off_perpendicular_deg, along_percent: share(f64::sin), across_percent: share(f64::cos), past_mm })
}

/// The angle's ±. Close to the perpendicular the angle cannot fall below 0 and its own derivative says nothing; there the
/// widest tilt bounds it, and within one standard deviation of the perpendicular the circle that holds both tilts.
fn angle_plus_minus(angle: f64, found: &Covariance) -> f64 {
    let (u, v) = (Outputs::TILT, Outputs::TILT + 1);
    let (uu, uv, vv) = (found.between(u, u), found.between(u, v), found.between(v, v));
    let widest = (f64::midpoint(uu, vv) + (((uu - vv) / 2.0).powi(2) + uv * uv).sqrt()).sqrt();
    if angle < widest {
        SIGMAS_OF_TWO * widest
    } else if angle < 3.0 * widest {
        SIGMAS * widest
    } else {
        SIGMAS * found.sigma(Outputs::ANGLE)
    }
}

fn fill_margins(scene: &Scene, found: &Covariance, finding: &mut Finding) {
    finding.margins = margins(scene, found, 0);
    let short = finding.margins.iter().filter(|margin| margin.short);
    let limit_mm = finding.margin_limit_mm;
    let ask = |margin: &Margin| Question::ShortMargin { edge: margin.edge, margin_mm: margin.margin_mm, limit_mm };
    finding.questions = short.map(ask).collect();
}

/// Margins at a step, in the order of the edges.
fn margins(scene: &Scene, found: &Covariance, step: usize) -> Vec<Margin> {
    let margin = |(number, edge): (usize, &Edge)| {
        let margin_mm = measured(found, scene.margin_at(number, step))?;
        let views = edge.profiling().map(|seen| scene.views[seen.view].name).collect();
        let short = margin_mm.value < scene.margin_limit.0;
        Some(Margin { edge: edge.name, margin_mm, views, short })
    };
    scene.edges.iter().enumerate().filter_map(margin).collect()
}

fn further(scene: &Scene, found: &Covariance) -> Vec<Further> {
    let step = |(number, further): (usize, &crate::units::Millimetres)| {
        let past = measured(found, Outputs::PAST);
        let past_mm = past.map(|past| Measured { value: rounded(past.value + further.0), ..past });
        let margins = margins(scene, found, number + 1);
        Some(Further { further_mm: further.0, tip: place(found, further.0)?, past_mm, margins })
    };
    scene.further.iter().enumerate().filter_map(step).collect()
}

/// The tip after `further` mm along the pin.
fn place(found: &Covariance, further: f64) -> Option<Place> {
    let along = |coordinate: usize| {
        let (tip, axis) = (Outputs::TIP + coordinate, Outputs::AXIS + coordinate);
        let variance = found.between(tip, tip)
            + 2.0 * further * found.between(tip, axis)
            + further * further * found.between(axis, axis);
        finite(found.nominal[tip] + further * found.nominal[axis], variance.sqrt())
    };
    Some(Place { left_mm: along(0)?, posterior_mm: along(1)?, head_mm: along(2)? })
}

fn heading(found: &Covariance) -> Option<Heading> {
    let along = |coordinate: usize| measured(found, Outputs::AXIS + coordinate);
    Some(Heading { left: along(0)?, posterior: along(1)?, head: along(2)? })
}

fn measured(found: &Covariance, output: usize) -> Option<Measured> {
    finite(found.nominal[output], found.sigma(output))
}

fn finite(value: f64, sigma: f64) -> Option<Measured> {
    let all = value.is_finite() && sigma.is_finite();
    all.then(|| Measured { value: rounded(value), plus_minus: rounded(SIGMAS * sigma) })
}

fn vector(values: &[f64], at: usize) -> Option<Vector> {
    let vector = Vector::new(values[at], values[at + 1], values[at + 2]);
    vector.iter().all(|value| value.is_finite()).then_some(vector)
}

/// To a hundredth, so that a finding reads the same on every machine; never a negative zero.
fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

/// Names what is not given, and why.
fn leave_out(scene: &Scene, finding: &mut Finding) {
    let mut left_out = Vec::new();
    let held_back = finding.held_back();
    let positions = match &finding.frame {
        _ if held_back => Some(Why::Caught),
        FrameUsed::AnglesOnly { why } => Some(Why::AnglesOnly { why: why.clone() }),
        _ => None,
    };
    if finding.joint.is_none() {
        left_out.push(NotGiven { what: What::Angle, why: if held_back { Why::Caught } else { Why::NoJoint } });
    }
    if finding.tip.is_none() {
        left_out.push(NotGiven { what: What::Position, why: positions.clone().unwrap_or(Why::Caught) });
    }
    if finding.joint.is_some_and(|joint| joint.past_mm.is_none()) {
        let unknown = matches!(scene.joint, Some(Joint::Normals { crossing: Crossing::Unknown, .. }));
        let crossing = if unknown { Why::CrossingNotTouched } else { Why::Caught };
        left_out.push(NotGiven { what: What::PastJoint, why: positions.unwrap_or(crossing) });
    }
    for edge in &scene.edges {
        if finding.margins.iter().any(|margin| margin.edge == edge.name) {
            continue;
        }
        let why = match (scene.tool, edge.profiling().next()) {
            (None, _) => Why::NoTool,
            (_, None) => Why::NotProfiled,
            _ => Why::Caught,
        };
        left_out.push(NotGiven { what: What::Margin { edge: edge.name }, why });
    }
    finding.not_given = left_out;
}

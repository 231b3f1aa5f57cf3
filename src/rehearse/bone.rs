//! The bone around a pin: how far a round tool stands from the bone's surface and from what is hollow in it.
//!
//! The bone is the union of the skeleton's balls less those along foramina and canal; from places along the pin rays go
//! out at right angles and end where the bone does. Frame: patient (LPS), mm. What it does not do: it knows no picture
//! and no plan. Joint cartilage and gaps that a tool bridges count as bone.

use super::truth::index;
use crate::carm::{Direction, Point, Vector};
use crate::pelvis::{Ball, Bones};
use crate::pin::{EdgeName, PinLine};
use crate::units::Side;
use std::collections::BTreeMap;

/// Distance of the balls along sheets and strands, mm.
const STEP_MM: f64 = 2.5;
/// Beyond this, a surface is far, mm.
pub const FAR_MM: f64 = 15.0;
/// Rays around the pin.
const AROUND: u32 = 16;
/// Distance of the places along the pin from which rays go out, mm.
const ALONG_MM: f64 = 2.5;
/// Voids between the balls of one bone that are no surface, mm: twice the distance of the balls.
const VOID_MM: f64 = 2.0 * STEP_MM;

/// How far sacrum and ilium stand apart in the skeleton where they face each other, at most, mm; the surfaces of a picture
/// are drawn closer.
const JOINT_MM: f64 = 7.0;
/// How far what fills the joint reaches into either bone, mm.
const INTO_MM: f64 = 1.5;
/// Of the balls of either bone, one in so many is enough to fill the joint.
const EVERY: usize = 2;
/// The joint lies between these distances from the midline, mm.
const NEAR_MM: [f64; 2] = [28.0, 85.0];

/// Half the width of the S1 body, within which a dent is what is left of a disc, mm. Common practice, no source.
const BODY_HALF_MM: f64 = 25.0;

/// Sacrum and hip bone of one side.
#[derive(Debug, Clone)]
pub struct Bone {
    side: Side,
    sacrum: Vec<Ball>,
    hip: Vec<Ball>,
    /// What lies in the joint between them, across which a tool stays in bone.
    joint: Vec<Ball>,
    hollows: Vec<(EdgeName, Ball)>,
    /// Gap that counts as bone, mm.
    bridged: f64,
    front: Vector,
}

/// Where a tool along a pin comes nearest to each edge: mm from the tool's surface, negative outside the bone.
pub type Margins = BTreeMap<EdgeName, f64>;

/// Whether a tool that leaves the bone there endangers something: canal, foramina, front, ala and notch do. Behind lie
/// ligaments, and past the midline more bone.
#[must_use]
pub fn endangers(edge: EdgeName) -> bool {
    !matches!(edge, EdgeName::Other | EdgeName::Midline)
}

/// The least margin toward an edge that endangers something.
#[must_use]
pub fn least(margins: &Margins) -> Option<(EdgeName, f64)> {
    let dangers = margins.iter().filter(|(edge, _)| endangers(**edge));
    dangers.map(|(edge, margin)| (*edge, *margin)).min_by(|a, b| a.1.total_cmp(&b.1))
}

impl Bone {
    pub(super) fn of(bones: &Bones, side: Side, joint_gap_mm: f64) -> Self {
        let sacrum = &bones.sacrum;
        let group = |name: String, edge: EdgeName| {
            let points = sacrum.groups.get(&name).cloned().unwrap_or_default();
            let balls: Vec<[f64; 4]> = points.iter().map(|at| sacrum.points[*at]).collect();
            strand(&balls).into_iter().map(move |ball| (edge, ball)).collect::<Vec<_>>()
        };
        let foramina = [(1, EdgeName::S1Foramen), (2, EdgeName::S2Foramen), (3, EdgeName::S3Foramen)];
        let mut hollows = group("canal".to_owned(), EdgeName::SacralCanal);
        for (level, edge) in foramina {
            hollows.extend(group(format!("foramen_{level}_{side}"), edge));
        }
        // The dents of a dysmorphic ala; the flat gap between the bodies is no surface.
        let dents = bones.dents.iter().filter(|dent| dent.centre.x.abs() > BODY_HALF_MM);
        hollows.extend(dents.map(|dent| (EdgeName::FrontCortex, *dent)));
        let (sacrum, hip) = (sacrum.balls(STEP_MM), bones.hips[index(side)].balls(STEP_MM));
        let joint = joint(&sacrum, &hip, side);
        Self { side, sacrum, hip, joint, hollows, bridged: VOID_MM.max(joint_gap_mm + STEP_MM), front: -Vector::y() }
    }

    /// How far along `line`, from its tip backward (negative), it enters the sacrum; `None` if it does not.
    #[must_use]
    pub fn enters_sacrum(&self, line: &PinLine, length_mm: f64) -> Option<f64> {
        let start = line.at(-length_mm);
        let entries = self.sacrum.iter().filter_map(|ball| through(&start, &line.axis, ball));
        let first = entries.map(|(from, _)| from).fold(f64::INFINITY, f64::min);
        (first <= length_mm).then_some(first - length_mm)
    }

    /// The first place where a straight line from outside meets the hip bone, mm from `start`.
    #[must_use]
    pub fn meets_hip(&self, start: &Point, along: &Direction) -> Option<f64> {
        let entries = self.hip.iter().filter_map(|ball| through(start, along, ball));
        entries.map(|(from, _)| from).filter(|from| *from >= 0.0).reduce(f64::min)
    }

    /// Margins of a tool of `diameter_mm` along `line`, over the `length_mm` behind its tip.
    #[must_use]
    pub fn margins(&self, line: &PinLine, length_mm: f64, diameter_mm: f64) -> Margins {
        let near = Near::of(self, line, length_mm);
        let mut margins = Margins::new();
        let mut note = |edge: EdgeName, margin: f64| {
            let least = margins.entry(edge).or_insert(margin);
            *least = least.min(margin);
        };
        let radius = diameter_mm / 2.0;
        let mut back = 0.0;
        while back <= length_mm {
            let place = line.at(-back);
            for out in spokes(&line.axis) {
                let (edge, reach) = near.reach(&place, &out);
                note(edge.unwrap_or_else(|| self.surface(&out)), reach - radius);
            }
            back += ALONG_MM;
        }
        let (edge, ahead) = near.reach(&line.tip, &line.axis);
        note(edge.unwrap_or_else(|| self.surface(&line.axis)), ahead);
        margins
    }

    /// What the bone's surface is called where a ray leaves it.
    fn surface(&self, out: &Vector) -> EdgeName {
        let (forward, head) = (out.dot(&self.front), out.z);
        let lateral = if self.side == Side::Left { out.x } else { -out.x };
        if lateral.abs() > 0.8 {
            EdgeName::Midline
        } else if forward > head.abs() {
            EdgeName::FrontCortex
        } else if head > 0.0 && head > forward.abs() {
            EdgeName::AlarSlope
        } else if head < 0.0 && -head > forward.abs() {
            EdgeName::SciaticNotch
        } else {
            EdgeName::Other
        }
    }
}

/// The balls that lie near a pin.
struct Near {
    solid: Vec<Ball>,
    hollow: Vec<(EdgeName, Ball)>,
    bridged: f64,
}

impl Near {
    fn of(bone: &Bone, line: &PinLine, length_mm: f64) -> Self {
        let close = |ball: &Ball| {
            let along = (ball.centre - line.tip).dot(&line.axis).clamp(-length_mm, 0.0);
            (ball.centre - line.at(along)).norm() < ball.radius + FAR_MM
        };
        Self {
            solid: bone.sacrum.iter().chain(&bone.hip).chain(&bone.joint).filter(|ball| close(ball)).copied().collect(),
            hollow: bone.hollows.iter().filter(|(_, ball)| close(ball)).copied().collect(),
            bridged: bone.bridged,
        }
    }

    /// How far bone goes on from `place` along `out`, at most [`FAR_MM`], and what hollow ends it; negative outside.
    fn reach(&self, place: &Point, out: &Vector) -> (Option<EdgeName>, f64) {
        let out = Direction::new_unchecked(*out);
        let mut spans: Vec<(f64, f64)> = self.solid.iter().filter_map(|ball| through(place, &out, ball)).collect();
        spans.retain(|(_, to)| *to > -self.bridged);
        spans.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let mut reach = 0.0_f64;
        let mut inside = false;
        for (from, to) in spans {
            if from > reach + self.bridged {
                break;
            }
            inside = true;
            reach = reach.max(to);
        }
        let end = if inside { reach.min(FAR_MM) } else { -self.outside(place) };
        let hollow = self.hollow.iter().filter_map(|(edge, ball)| {
            let (from, to) = through(place, &out, ball)?;
            (to > 0.0).then(|| (*edge, if from <= 0.0 { (place - ball.centre).norm() - ball.radius } else { from }))
        });
        match hollow.min_by(|a, b| a.1.total_cmp(&b.1)) {
            Some((edge, from)) if from < end => (Some(edge), from),
            _ => (None, end),
        }
    }

    /// How far a place outside lies from bone.
    fn outside(&self, place: &Point) -> f64 {
        let gaps = self.solid.iter().map(|ball| (place - ball.centre).norm() - ball.radius);
        gaps.fold(FAR_MM, f64::min).max(0.0)
    }
}

/// Balls that fill the joint: between each ball of the sacrum's side and the nearest of the ilium, where the two face each
/// other across no more than [`JOINT_MM`]. Each reaches [`INTO_MM`] into both.
fn joint(sacrum: &[Ball], hip: &[Ball], side: Side) -> Vec<Ball> {
    let lateral = |ball: &Ball| if side == Side::Left { ball.centre.x } else { -ball.centre.x };
    let facing = hip.iter().step_by(EVERY).filter(|ball| lateral(ball) < NEAR_MM[1]);
    let mut facing: Vec<Ball> = facing.copied().collect();
    facing.sort_by(|a, b| a.centre.z.total_cmp(&b.centre.z));
    let widest = facing.iter().map(|ball| ball.radius).fold(0.0, f64::max);
    let sacral = sacrum.iter().step_by(EVERY).filter(|ball| lateral(ball) > NEAR_MM[0]);
    sacral.filter_map(|ball| fill(ball, &facing, widest)).collect()
}

/// The ball between `ball` and the nearest of `facing`, which are sorted by their height and no wider than `widest`.
fn fill(ball: &Ball, facing: &[Ball], widest: f64) -> Option<Ball> {
    let reach = ball.radius + widest + JOINT_MM;
    let first = facing.partition_point(|other| other.centre.z < ball.centre.z - reach);
    let level = facing[first..].iter().take_while(|other| other.centre.z <= ball.centre.z + reach);
    let mut nearest: Option<(f64, Vector)> = None;
    for other in level {
        let to = other.centre - ball.centre;
        let within = nearest.map_or(JOINT_MM, |(apart, _)| apart) + other.radius + ball.radius;
        if to.norm_squared() < within * within {
            nearest = Some((to.norm() - other.radius - ball.radius, to));
        }
    }
    let (apart, to) = nearest.filter(|(apart, _)| *apart >= 0.0)?;
    let centre = ball.centre + to.normalize() * (ball.radius + apart / 2.0);
    Some(Ball { centre, radius: apart / 2.0 + INTO_MM })
}

/// Where a ray enters and leaves a ball, mm from its start; both negative behind it.
fn through(start: &Point, along: &Direction, ball: &Ball) -> Option<(f64, f64)> {
    let to = ball.centre - start;
    let middle = to.dot(along);
    let half = ball.radius * ball.radius - (to.norm_squared() - middle * middle);
    (half > 0.0).then(|| (middle - half.sqrt(), middle + half.sqrt()))
}

/// Directions around an axis.
fn spokes(axis: &Direction) -> impl Iterator<Item = Vector> + use<> {
    let aside = if axis.x.abs() < 0.9 { Vector::x() } else { Vector::y() };
    let one = axis.cross(&aside).normalize();
    let other = axis.cross(&one);
    (0..AROUND).map(move |spoke| {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(spoke) / f64::from(AROUND)).sin_cos();
        one * cos + other * sin
    })
}

/// Balls along a strand, close enough to leave no gap.
fn strand(points: &[[f64; 4]]) -> Vec<Ball> {
    let ball = |[x, y, z, radius]: [f64; 4]| Ball { centre: Point::new(x, y, z), radius };
    let mut balls: Vec<Ball> = points.first().map(|first| ball(*first)).into_iter().collect();
    for pair in points.windows(2) {
        let (from, to) = (ball(pair[0]), ball(pair[1]));
        let parts = ((to.centre - from.centre).norm() / 1.0).ceil().max(1.0);
        let mut part = 1.0;
        while part <= parts {
            let share = part / parts;
            let centre = from.centre + (to.centre - from.centre) * share;
            balls.push(Ball { centre, radius: from.radius + (to.radius - from.radius) * share });
            part += 1.0;
        }
    }
    balls
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(hollow: Option<Ball>) -> Near {
        // Balls of 10 mm in a row along x: a rod of radius 10, flat enough between them at 1 mm.
        let solid = (-40..=40).map(|x| Ball { centre: Point::new(f64::from(x), 0.0, 0.0), radius: 10.0 }).collect();
        Near { solid, hollow: hollow.map(|ball| (EdgeName::S1Foramen, ball)).into_iter().collect(), bridged: 5.0 }
    }

    /// Source: the radius of a rod, and the near side of a ball in it.
    #[test]
    fn a_ray_ends_where_the_bone_or_a_hollow_does() {
        let (edge, reach) = block(None).reach(&Point::new(0.0, 2.0, 0.0), &Vector::y());
        assert!(edge.is_none() && (reach - 8.0).abs() < 0.02, "{reach}");
        let hole = Ball { centre: Point::new(0.0, 6.0, 0.0), radius: 2.5 };
        let (edge, reach) = block(Some(hole)).reach(&Point::new(0.0, 0.0, 0.0), &Vector::y());
        assert!(edge == Some(EdgeName::S1Foramen) && (reach - 3.5).abs() < 1e-9, "{reach}");
        let (_, outside) = block(None).reach(&Point::new(0.0, 40.0, 0.0), &Vector::y());
        assert!(outside < 0.0);
    }
}

//! From the average skeleton to one person's: each measure of a shape moves named parts.
//!
//! Frame: patient (LPS), mm, origin the centre of the S1 superior endplate. The last move turns the whole pelvis about
//! the x axis until the sacral slope is the person's.

use super::shape::Shape;
use super::skeleton::{Ball, BoneSkeleton, Skeleton};
use crate::carm::{Direction, Point, Rotation, Vector};

/// The skeletons of one person.
#[derive(Debug, Clone, PartialEq)]
pub struct Bones {
    pub sacrum: BoneSkeleton,
    /// Left, right.
    pub hips: [BoneSkeleton; 2],
    /// What a disc remnant between S1 and S2, and dents of a dysmorphic ala, take out of the sacrum.
    pub dents: Vec<Ball>,
}

/// Measures of the average skeleton beside `average.json`, mm.
const AVERAGE_WIDTH: f64 = 103.6;
const AVERAGE_HALF_ASIS: f64 = 114.6;
/// Where the hip bone begins to widen toward the ASIS, mm from the midline.
const ASIS_FROM: f64 = 45.0;
/// Points of the middle line between which the S1 and the S2 body lie.
const BODY_POINTS: [[usize; 2]; 2] = [[1, 4], [6, 8]];
/// The point of the front profile at the level of the S1-S2 disc.
const DISC: usize = 5;
/// Depth below the endplate to which the ala belongs to S1 alone, and from which no more, mm.
const UPPER_MM: [f64; 2] = [20.0, 60.0];
/// How far from the joint bone goes along with its turn, mm.
const JOINT_REACH_MM: f64 = 30.0;
/// [`Bones::apart_at_joint`] of the average skeleton.
const SEAT_MM: f64 = 4.55;
const SIDES: [&str; 2] = ["left", "right"];
/// How far the upper sacrum stands higher between the iliac bones in full dysmorphism, mm; common practice, no source.
const RISE: f64 = 12.0;

impl Bones {
    /// The skeletons of a person of that shape.
    ///
    /// # Panics
    /// Never: the average skeleton has both bones.
    #[must_use]
    pub fn of(shape: &Shape) -> Self {
        let average = Skeleton::average();
        let bone = |name: &str| average.bone(name).expect("the average skeleton has a hip and a sacrum").clone();
        let mut sacrum = bone("sacrum");
        let mut hips = [bone("hip"), bone("hip").mirrored()];
        size_sacrum(&mut sacrum, shape);
        for (hip, side) in hips.iter_mut().zip([1.0, -1.0]) {
            widen_hip(hip, shape, side);
        }
        let dents = dysmorphic(&mut sacrum, &mut hips, shape.dysmorphism);
        let mut bones = Self { sacrum, hips, dents };
        bones.turn_joints(shape.joint_turn);
        bones.set_width(shape.sacral_width);
        bones.set_corridors(shape);
        bones.set_conjugate(shape.conjugate);
        bones.set_incidence(shape.incidence);
        bones.seat_hips();
        let turn = (shape.slope - bones.slope()).to_radians();
        bones.turn(&Rotation::from_axis_angle(&Vector::x_axis(), turn));
        bones
    }

    /// Centre of the S1 superior endplate.
    #[must_use]
    pub fn endplate_centre(&self) -> Point {
        self.sacrum.places("endplate_centre")[0]
    }

    /// Outward normal of the S1 superior endplate, in the midsagittal plane.
    #[must_use]
    pub fn endplate_normal(&self) -> Direction {
        let along = self.sacrum.places("endplate_back")[0] - self.sacrum.places("endplate_front")[0];
        Direction::new_normalize(Vector::x().cross(&along))
    }

    /// Middle between the centres of the hips.
    #[must_use]
    pub fn hip_axis(&self) -> Point {
        let [left, right] = [0, 1].map(|side| self.hips[side].places("socket")[0]);
        nalgebra::center(&left, &right)
    }

    /// Sacral slope, degrees: of the endplate against the horizontal of a standing person, the plane of x and y.
    #[must_use]
    pub fn slope(&self) -> f64 {
        let normal = self.endplate_normal();
        (-normal.y).atan2(normal.z).to_degrees()
    }

    /// Pelvic incidence, degrees: between the endplate's perpendicular and the line from its centre to the hip axis.
    ///
    /// Source: definition of Duval-Beaupère and Legaye, from memory.
    #[must_use]
    pub fn incidence(&self) -> f64 {
        let line = self.hip_axis() - self.endplate_centre();
        let down = -self.endplate_normal().into_inner();
        // Positive when the hip axis lies in front of the perpendicular.
        (down.y * -line.z + down.z * line.y).atan2(down.y * line.y + down.z * line.z).to_degrees().abs()
    }

    /// Distance from promontory to the upper border of the symphysis, mm.
    #[must_use]
    pub fn conjugate(&self) -> f64 {
        (self.symphysis() - self.sacrum.places("promontory")[0]).norm()
    }

    /// Front and back end of the S1 superior endplate in the midline.
    #[must_use]
    pub fn endplate_front(&self) -> Point {
        self.sacrum.places("endplate_front")[0]
    }

    /// See [`Bones::endplate_front`].
    #[must_use]
    pub fn endplate_back(&self) -> Point {
        self.sacrum.places("endplate_back")[0]
    }

    /// Front cortex of S1 in the midline: the promontory, and the level of the S1-S2 disc.
    pub(super) fn front_of_s1(&self) -> [Point; 2] {
        [self.sacrum.places("promontory")[0], self.sacrum.places("front_profile")[DISC]]
    }

    /// Middle of the S1 and of the S2 body.
    #[must_use]
    pub fn bodies(&self) -> [Point; 2] {
        let line = self.sacrum.places("body");
        BODY_POINTS.map(|[from, to]| nalgebra::center(&line[from], &line[to]))
    }

    /// Greatest breadth of the sacrum, mm.
    #[must_use]
    pub fn sacral_width(&self) -> f64 {
        let (low, high) = self.sacrum.breadth();
        high - low
    }

    /// Promontory to tip of the sacrum, mm.
    #[must_use]
    pub fn sacral_height(&self) -> f64 {
        (self.sacrum.places("tip")[0] - self.sacrum.places("promontory")[0]).norm()
    }

    /// Distance of the ASISs, mm.
    #[must_use]
    pub fn inter_asis(&self) -> f64 {
        (self.hips[0].places("asis")[0] - self.hips[1].places("asis")[0]).norm()
    }

    /// Axis of the S1 corridor of a side: at the joint, at the body.
    #[must_use]
    pub fn upper_corridor(&self, side: usize) -> [Point; 2] {
        let places = self.sacrum.places(&format!("upper_corridor_{}", SIDES[side]));
        [places[0], places[1]]
    }

    /// Inclination of the S1 corridor's axis, degrees: from caudal and lateral up to cranial and medial, seen along the
    /// sacrum's own front-back line (coronal), and from behind and lateral forward to the middle, seen along its long
    /// axis (axial).
    ///
    /// Source of the definitions: Kaiser et al., JBJS Am 2014;96:e120, from memory.
    #[must_use]
    pub fn corridor_angles(&self, side: usize) -> [f64; 2] {
        let [joint, body] = self.upper_corridor(side);
        let (up, front) = self.sacral_axes();
        let way = body - joint;
        [way.dot(&up), way.dot(&front)].map(|rise| rise.atan2(way.x.abs()).to_degrees())
    }

    /// Up along the upper sacrum, from the S2 to the S1 body, and forward at right angles.
    fn sacral_axes(&self) -> (Vector, Vector) {
        let [upper, lower] = self.bodies();
        let up = (upper - lower).normalize();
        (up, Vector::x().cross(&up))
    }

    /// Shears the upper ala of each side until its corridor has the angles wanted: what lies lateral moves along the
    /// sacrum and front to back, the more the farther out, and less toward S3.
    fn set_corridors(&mut self, shape: &Shape) {
        let (up, front) = self.sacral_axes();
        let origin = self.endplate_centre();
        for side in [0, 1] {
            let [had, wanted] = [self.corridor_angles(side), shape.corridor[side]];
            let [joint, body] = self.upper_corridor(side);
            let outward = if side == 0 { 1.0 } else { -1.0 };
            let (inner, outer) = (body.x * outward, joint.x * outward);
            let by =
                [0, 1].map(|axis| (wanted[axis].to_radians().tan() - had[axis].to_radians().tan()) * (outer - inner));
            let moved = |point: Point, only_up: f64| {
                let share = ((point.x * outward - inner) / (outer - inner)).clamp(0.0, 1.4);
                let depth = -(point - origin).dot(&up);
                let level = 1.0 - ((depth - UPPER_MM[0]) / (UPPER_MM[1] - UPPER_MM[0])).clamp(0.0, 1.0);
                point - (up * by[0] * only_up + front * by[1]) * share * level
            };
            let foramina: Vec<usize> = self
                .sacrum
                .groups
                .iter()
                .filter(|(name, _)| name.starts_with("foramen"))
                .flat_map(|(_, points)| points.clone())
                .collect();
            let corridor = self.sacrum.groups[&format!("upper_corridor_{}", SIDES[side])].clone();
            self.sacrum.bend(|index, point| match () {
                () if foramina.contains(&index) => point,
                () if corridor.first() == Some(&index) => point - up * by[0] - front * by[1],
                () => moved(point, 1.0),
            });
        }
    }

    /// Turns each joint about the body's long axis, bone by bone, by moving what lies near it aside.
    fn turn_joints(&mut self, by: [f64; 2]) {
        let middle = [0, 1].map(|side| self.upper_corridor(side)[0]);
        for (side, outward) in [(0, 1.0), (1, -1.0)] {
            let (slope, middle) = (by[side].to_radians().tan(), middle[side]);
            let aside = |point: Point| {
                let near = (1.0 - (point.x * outward - middle.x * outward).abs() / JOINT_REACH_MM).max(0.0);
                point - Vector::x() * outward * slope * (point.y - middle.y) * near
            };
            self.sacrum.bend(|_, point| if point.x * outward > 0.0 { aside(point) } else { point });
            self.hips[side].bend(|_, point| aside(point));
        }
    }

    /// Stretches the sacrum across until its breadth is the one wanted; radii stay.
    fn set_width(&mut self, wanted: f64) {
        for _ in 0..4 {
            let (low, high) = self.sacrum.breadth();
            let widest = self.sacrum.points.iter().fold(0.0_f64, |most, point| most.max(point[0].abs()));
            let by = 1.0 + (wanted - (high - low)) / 2.0 / widest;
            self.sacrum.bend(|_, point| Point::new(point.x * by, point.y, point.z));
            self.dents.iter_mut().for_each(|dent| dent.centre.x *= by);
        }
    }

    /// Middle of the symphysis' upper border.
    pub(super) fn symphysis(&self) -> Point {
        let [left, right] = [0, 1].map(|side| self.hips[side].places("symphysis_top")[0]);
        nalgebra::center(&left, &right)
    }

    /// Moves the front of both hip bones along the conjugate, the more the nearer to the symphysis.
    fn set_conjugate(&mut self, wanted: f64) {
        let promontory = self.sacrum.places("promontory")[0];
        let along = self.symphysis() - promontory;
        let (length, way) = (along.norm(), along.normalize());
        for hip in &mut self.hips {
            hip.bend(|_, point| {
                let share = ((point - promontory).dot(&way) / length).clamp(0.0, 1.0);
                point + way * (wanted - length) * share
            });
        }
    }

    /// Half by turning the sacrum between the iliac bones, half by moving what lies below them forward or back.
    fn set_incidence(&mut self, wanted: f64) {
        let half = (wanted - self.incidence()) / 2.0;
        let middle =
            Point::origin() + self.sacrum.places("mass_left")[1].coords.component_mul(&Vector::new(0.0, 1.0, 1.0));
        let turn = Rotation::from_axis_angle(&Vector::x_axis(), half.to_radians());
        self.sacrum.bend(|_, point| middle + turn * (point - middle));
        self.dents.iter_mut().for_each(|dent| dent.centre = middle + turn * (dent.centre - middle));
        // The incidence grows as the hip axis moves forward; secant steps, since both are nearly linear.
        let mut step = -1.0;
        for _ in 0..12 {
            let before = self.incidence() - wanted;
            if before.abs() < 1e-9 {
                break;
            }
            self.shear(step);
            let after = self.incidence() - wanted;
            let slope = (after - before) / step;
            step = if slope == 0.0 { 0.0 } else { -after / slope };
        }
    }

    /// Moves the hip bones along y, in proportion to how far below the joint they lie; the hip axis by `mm`.
    fn shear(&mut self, mm: f64) {
        let (from, to) = (-30.0, self.hip_axis().z);
        for hip in &mut self.hips {
            hip.bend(|_, point| point + Vector::y() * mm * ((point.z - from) / (to - from)).max(0.0));
        }
    }

    /// Moves the hip bones to or from the midline, the symphysis and the ASISs aside, until the ilium stands as close to
    /// the joint's face of the sacrum as in the average skeleton.
    fn seat_hips(&mut self) {
        for side in [0, 1] {
            for _ in 0..3 {
                let by = (SEAT_MM - self.apart_at_joint(side)) * if side == 0 { 1.0 } else { -1.0 };
                self.hips[side].bend(|_, point| point + Vector::x() * by * behind(point.y).min(1.0) * beside(point.x));
            }
        }
    }

    /// Mean distance of the joint's outline on the sacrum from the ilium's, less their radii, mm; negative where they
    /// overlap before the joint is cut.
    fn apart_at_joint(&self, side: usize) -> f64 {
        let ilium = self.hips[side].balls_of("auricular");
        let sacrum = self.sacrum.balls_of(&format!("auricular_{}", SIDES[side]));
        let gap = |here: &Ball| {
            let between = |there: &Ball| (there.centre - here.centre).norm() - there.radius - here.radius;
            ilium.iter().map(between).fold(f64::INFINITY, f64::min)
        };
        sacrum.iter().map(gap).sum::<f64>() / sacrum.len() as f64
    }

    /// Turns everything about the origin, then sets the origin to the endplate's centre.
    fn turn(&mut self, turn: &Rotation) {
        let origin = turn * self.endplate_centre();
        let to = |point: Point| turn * point - origin.coords;
        self.sacrum.bend(|_, point| to(point));
        self.hips.iter_mut().for_each(|hip| hip.bend(|_, point| to(point)));
        self.dents.iter_mut().for_each(|dent| dent.centre = to(dent.centre));
    }
}

fn size_sacrum(sacrum: &mut BoneSkeleton, shape: &Shape) {
    let height = {
        let (top, tip) = (sacrum.places("promontory")[0], sacrum.places("tip")[0]);
        shape.sacral_height / (tip - top).norm()
    };
    sacrum.bend(|_, point| Point::new(point.x, point.y * height, point.z * height));
    mark_corridors(sacrum);
}

/// The axis of each side's S1 corridor: from the middle of the upper joint face to the body beside the endplate, above
/// the foramen.
fn mark_corridors(sacrum: &mut BoneSkeleton) {
    for (name, outward) in [("left", 1.0), ("right", -1.0)] {
        let mass = sacrum.places(&format!("mass_{name}"))[0];
        let body = sacrum.places("body")[2];
        let ends = [mass + Vector::x() * outward * 14.0, body + Vector::x() * outward * 10.0];
        let first = sacrum.points.len();
        sacrum.points.extend(ends.map(|end| [end.x, end.y, end.z, 0.5]));
        sacrum.groups.insert(format!("upper_corridor_{name}"), vec![first, first + 1]);
    }
}

/// Follows the sacrum's width at the joint, and the distance of the ASISs in front.
fn widen_hip(hip: &mut BoneSkeleton, shape: &Shape, side: f64) {
    let at_joint = (shape.sacral_width - AVERAGE_WIDTH) / 2.0;
    let half = f64::midpoint(shape.inter_asis, side * shape.wider_left);
    let at_asis = half - AVERAGE_HALF_ASIS - at_joint * behind(-60.0);
    hip.bend(|_, point| {
        let out = ((point.x.abs() - ASIS_FROM) / (AVERAGE_HALF_ASIS - ASIS_FROM)).max(0.0);
        Point::new(point.x + side * (at_joint * behind(point.y) * beside(point.x) + at_asis * out), point.y, point.z)
    });
}

/// 0 at the symphysis, 1 at the joint.
fn behind(y: f64) -> f64 {
    ((y + 60.0) / 95.0).clamp(0.0, 1.2)
}

/// 0 at the symphysis, 1 away from the midline.
fn beside(x: f64) -> f64 {
    ((x.abs() - 12.0) / 25.0).clamp(0.0, 1.0)
}

/// The published signs, each in proportion: upper sacrum level with the crests, mammillary processes, large and
/// misshapen upper foramina, a residual disc, a steep ala, tongue in groove, an indented front of the ala.
///
/// Source of the signs: Miller and Routt, JAAOS 2012;20:8. Their size in mm: common practice, no source.
fn dysmorphic(sacrum: &mut BoneSkeleton, hips: &mut [BoneSkeleton; 2], [left, right]: [f64; 2]) -> Vec<Ball> {
    let both = f64::midpoint(left, right);
    for hip in hips.iter_mut() {
        hip.bend(|_, point| point - Vector::z() * RISE * both);
    }
    let mut dents = residual_disc(sacrum, both);
    for (name, marked) in [("left", left), ("right", right)] {
        slope_ala(sacrum, name, marked);
        misshape_foramen(sacrum, name, marked);
        tongue(sacrum, name, marked);
        let front = sacrum.places(&format!("ala_front_{name}"));
        if marked > 0.25 {
            dents.push(Ball { centre: front[4] - Vector::y() * (9.0 - 3.0 * marked), radius: 2.0 + 5.0 * marked });
        }
    }
    dents
}

fn slope_ala(sacrum: &mut BoneSkeleton, name: &str, marked: f64) {
    let of = |group: &str| sacrum.groups.get(&format!("{group}_{name}")).cloned().unwrap_or_default();
    let (top, front) = (of("ala_top"), of("ala_front"));
    let mammillary = top.first().copied();
    sacrum.bend(|index, point| {
        let lateral = ((point.x.abs() - 24.0) / 24.0).clamp(0.0, 1.0);
        if Some(index) == mammillary {
            point + Vector::new(0.0, 0.0, 9.0) * marked
        } else if top.contains(&index) {
            point + Vector::new(0.0, -4.0, -13.0) * marked * lateral
        } else if front.contains(&index) {
            point + Vector::new(0.0, 3.0, -4.0) * marked * (1.0 - lateral)
        } else {
            point
        }
    });
    if let Some(index) = mammillary {
        sacrum.points[index][3] += 1.5 * marked;
    }
}

fn misshape_foramen(sacrum: &mut BoneSkeleton, name: &str, marked: f64) {
    let group = format!("foramen_1_{name}");
    sacrum.thicken(&group, 1.0 + 0.35 * marked);
    let points = sacrum.groups.get(&group).cloned().unwrap_or_default();
    // A second canal beside the first makes the hole oblong.
    let aside = Vector::new(if name == "left" { 5.0 } else { -5.0 }, 0.0, -1.5) * marked;
    let first = sacrum.points.len();
    let beside: Vec<[f64; 4]> = points
        .iter()
        .map(|index| sacrum.points[*index])
        .map(|[x, y, z, radius]| [x + aside.x, y + aside.y, z + aside.z, radius * 0.8])
        .collect();
    sacrum.points.extend(beside);
    let canal: Vec<usize> = (first..sacrum.points.len()).collect();
    sacrum.groups.insert(format!("{group}_beside"), canal.clone());
    sacrum.cavities.push(canal);
}

fn tongue(sacrum: &mut BoneSkeleton, name: &str, marked: f64) {
    let points = sacrum.groups.get(&format!("auricular_{name}")).cloned().unwrap_or_default();
    let outward = if name == "left" { 1.0 } else { -1.0 };
    let middle = points.last().copied();
    sacrum
        .bend(|index, point| if Some(index) == middle { point + Vector::x() * outward * 3.5 * marked } else { point });
}

/// A flat gap between the bodies of S1 and S2, wider with dysmorphism.
fn residual_disc(sacrum: &BoneSkeleton, marked: f64) -> Vec<Ball> {
    const LEVEL: usize = 5;
    let radius = 1.7 + 1.3 * marked;
    let [one, middle, other] = ["body_right", "body", "body_left"].map(|name| sacrum.places(name));
    let along = middle[LEVEL + 1] - middle[LEVEL - 1];
    let across = Direction::new_normalize(along.cross(&Vector::x()));
    let half = sacrum.groups["body"].get(LEVEL).map_or(8.0, |index| sacrum.points[*index][3]) * 0.75;
    let mut dents = Vec::new();
    for part in -4..=4 {
        let share = f64::from(part) / 4.0;
        let end = if share < 0.0 { one[LEVEL] } else { other[LEVEL] };
        let place = middle[LEVEL] + (end - middle[LEVEL]) * share.abs();
        for depth in -4..=4 {
            dents.push(Ball { centre: place + across.into_inner() * half * f64::from(depth) / 4.0, radius });
        }
    }
    dents
}

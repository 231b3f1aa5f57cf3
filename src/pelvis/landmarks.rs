//! Places that a view, a finding or a score refers to, from the same skeleton and surfaces as the pictures.
//!
//! Frame: patient (LPS), mm. Pairs are left, right. What it does not do: no judgement of what is near enough.

use super::bend::Bones;
use super::field::Field;
use super::mesh::Mesh;
use super::skeleton::Ball;
use crate::carm::{Angle, Direction, Point, SacralMeasurements, Vector, inlet_angle};
use crate::units::Degrees;

/// A place on a surface with the way out of the sacrum there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfacePoint {
    pub place: Point,
    pub normal: Direction,
    /// How much of the surface it stands for, mm².
    pub area_mm2: f64,
}

/// Places of one person.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmarks {
    pub endplate_centre: Point,
    pub endplate_normal: Direction,
    /// Front and back end of the S1 superior endplate in the midline.
    pub endplate_edges: [Point; 2],
    pub promontory: Point,
    /// Front cortex of S1 in the midline: the promontory, and the level of the S1-S2 disc.
    pub front_of_s1: [Point; 2],
    /// Front of the sacrum in the midline, from the promontory down.
    pub front_profile: Vec<Point>,
    /// Middle of the S1 and of the S2 body.
    pub bodies: [Point; 2],
    pub tip: Point,
    pub symphysis_top: Point,
    pub hip_centres: [Point; 2],
    pub asis: [Point; 2],
    pub psis: [Point; 2],
    pub ischial_spines: [Point; 2],
    pub notch_apex: [Point; 2],
    pub iliac_cortical_density: [Vec<Point>; 2],
    /// Middle line of each foramen, S1 to S4, from front to back with its radius in mm.
    pub foramina: [[Vec<Ball>; 4]; 2],
    /// Middle line of the sacral canal with its radius.
    pub canal: Vec<Ball>,
    /// Middle line of the L5 root: out between L5 and S1, over the inner third of the ala, down to the S1 foramen.
    pub fifth_lumbar_roots: [Vec<Point>; 2],
    /// Middle line of the S1 root: from the canal through the foramen to the front.
    pub first_sacral_roots: [Vec<Point>; 2],
    /// The front of each ala.
    pub alar_front: [Vec<SurfacePoint>; 2],
    /// The joint, halfway between sacrum and ilium where they are less than [`JOINT_MM`] apart; the normal points
    /// toward the ilium.
    pub joint: [Vec<SurfacePoint>; 2],
    /// Where the joint's front border ends below.
    pub joint_foot: [Point; 2],
    /// Where the S1 corridor begins at the joint and where it enters the body.
    pub upper_corridor: [[Point; 2]; 2],
}

/// Distance of sacrum and ilium within which they face each other in the joint, mm; the measure by which the figures of
/// the specimen were taken.
pub const JOINT_MM: f64 = 3.5;

/// Radius of the L5 root, mm; common practice, no source.
const ROOT_MM: f64 = 3.0;

const SIDES: [&str; 2] = ["left", "right"];

impl Landmarks {
    pub(super) fn of(bones: &Bones, sacrum: &Mesh, hips: &[Field; 2]) -> Self {
        let pair = |group: &str| [0, 1].map(|side| bones.hips[side].places(group)[0]);
        let line = |group: &str| bones.sacrum.balls_of(group);
        let foramina = SIDES.map(|side| [1, 2, 3, 4].map(|level| line(&format!("foramen_{level}_{side}"))));
        let canal = line("canal");
        let tops = pair("symphysis_top");
        let alar_front = [0, 1].map(|side| alar_front(bones, side));
        let first_sacral_roots = [0, 1].map(|side| first_sacral_root(&canal, &foramina[side][0]));
        Self {
            endplate_centre: bones.endplate_centre(),
            endplate_normal: bones.endplate_normal(),
            endplate_edges: [bones.endplate_front(), bones.endplate_back()],
            promontory: bones.sacrum.places("promontory")[0],
            front_of_s1: bones.front_of_s1(),
            front_profile: bones.sacrum.places("front_profile"),
            bodies: bones.bodies(),
            tip: bones.sacrum.places("tip")[0],
            symphysis_top: nalgebra::center(&tops[0], &tops[1]),
            hip_centres: pair("socket"),
            asis: pair("asis"),
            psis: pair("psis"),
            ischial_spines: pair("ischial_spine"),
            notch_apex: pair("notch_apex"),
            iliac_cortical_density: [0, 1].map(|side| bones.hips[side].places("iliac_cortical_density")),
            fifth_lumbar_roots: [0, 1]
                .map(|side| fifth_lumbar_root(bones, &alar_front[side], &foramina[side][0], side)),
            first_sacral_roots,
            joint: [0, 1].map(|side| joint(sacrum, &hips[side])),
            joint_foot: SIDES.map(|side| bones.sacrum.places(&format!("auricular_{side}"))[FOOT]),
            upper_corridor: [0, 1].map(|side| bones.upper_corridor(side)),
            alar_front,
            foramina,
            canal,
        }
    }

    /// What a plan would measure of this sacrum, known to the last bit.
    ///
    /// The front cortex runs from the promontory to the S1-S2 disc, the canal's front over the same height, the ala's
    /// front from its foremost row to the lower end of the joint, the body's axis from the middle of S1 to that of S2.
    #[must_use]
    pub fn measurements(&self) -> SacralMeasurements {
        let known = |value: Degrees| Some(Angle { value, sd: Degrees(0.0) });
        let wall = self.canal_front();
        let axis = inlet_angle(&self.bodies[0], &self.bodies[1]);
        SacralMeasurements {
            anterior_cortex: known(inlet_angle(&self.front_of_s1[0], &self.front_of_s1[1])),
            posterior_cortex: known(inlet_angle(&wall[0], &wall[1])),
            alar_surface: known(self.alar_angle()),
            symphysis_over_s2: known(-inlet_angle(&self.symphysis_top, &self.bodies[1])),
            endplate: known(Degrees(self.endplate_normal.y.abs().atan2(self.endplate_normal.z).to_degrees())),
            body_normal: known(Degrees(90.0 - axis.0)),
            turned_left: Degrees(0.0),
            leaned_left: Degrees(0.0),
        }
    }

    /// The canal's front wall over the height of S1: above, below.
    #[must_use]
    pub fn canal_front(&self) -> [Point; 2] {
        [1, 2].map(|at| {
            let along = self.canal[at + 1].centre - self.canal[at].centre;
            let back = Vector::x().cross(&along).normalize();
            let back = if back.y > 0.0 { back } else { -back };
            self.canal[at].centre - back * self.canal[at].radius
        })
    }

    /// The front of the ala of a side (0 left, 1 right): its foremost row, and the lower end of the joint.
    #[must_use]
    pub fn alar_line(&self, side: usize) -> [Point; 2] {
        [self.alar_front[side][FOREMOST].place, self.joint_foot[side]]
    }

    /// Mean over both sides: from the foremost row of the ala to the lower end of the joint's front border.
    fn alar_angle(&self) -> Degrees {
        let one = |side: usize| {
            let [front, foot] = self.alar_line(side);
            inlet_angle(&front, &foot).0
        };
        Degrees(f64::midpoint(one(0), one(1)))
    }
}

/// The middle point of the foremost row of the ala's front.
const FOREMOST: usize = 4;
/// The point of the auricular outline where the joint's front border ends below.
const FOOT: usize = 22;

/// [`inlet_angle`] as a plain number of degrees.
pub(super) fn inlet_to(one: &Point, other: &Point) -> f64 {
    inlet_angle(one, other).0
}

/// The front of the ala: the points of its sheet, moved out by their radius.
fn alar_front(bones: &Bones, side: usize) -> Vec<SurfacePoint> {
    let group = format!("ala_front_{}", SIDES[side]);
    let indices = bones.sacrum.groups.get(&group).cloned().unwrap_or_default();
    let normal = |index: usize| {
        let sheets = bones.sacrum.sheets.iter().filter(|sheet| sheet.contains(&index));
        let around = sheets.filter(|sheet| sheet.iter().all(|corner| indices.contains(corner)));
        let sum: Vector = around
            .map(|sheet| {
                let [a, b, c] = sheet.map(|corner| Point::from_slice(&bones.sacrum.points[corner][..3]));
                let across = (b - a).cross(&(c - a));
                if across.y > 0.0 { -across } else { across }
            })
            .sum();
        (Direction::new_normalize(sum), sum.norm() / 6.0)
    };
    let point = |index: &usize| {
        let (normal, area_mm2) = normal(*index);
        let [x, y, z, radius] = bones.sacrum.points[*index];
        SurfacePoint { place: Point::new(x, y, z) + normal.into_inner() * radius, normal, area_mm2 }
    };
    indices.iter().map(point).collect()
}

/// Source of its course: Ebraheim et al., Orthopedics 2000 (n = 7): 12 ± 5 mm behind the promontory on the lateral, over
/// the inner third of the ala on inlet and outlet. The points between: common practice, no source.
fn fifth_lumbar_root(bones: &Bones, front: &[SurfacePoint], foramen: &[Ball], side: usize) -> Vec<Point> {
    let out = if side == 0 { 1.0 } else { -1.0 };
    let (up, along) = (bones.endplate_normal().into_inner(), bones.endplate_back() - bones.endplate_front());
    let back = along.normalize();
    let leaves = bones.endplate_centre() + up * 10.0 + back * 12.0 + Vector::x() * out * 20.0;
    let over = |at: usize| front[at].place + front[at].normal.into_inner() * ROOT_MM;
    let joins = foramen[0].centre + (foramen[0].centre - foramen[1].centre).normalize() * 12.0;
    vec![leaves, over(0), over(3), over(6), joins]
}

fn first_sacral_root(canal: &[Ball], foramen: &[Ball]) -> Vec<Point> {
    let aside = Vector::x() * (foramen[0].centre.x.signum() * canal[1].radius * 0.6);
    let front = foramen[0].centre + (foramen[0].centre - foramen[1].centre).normalize() * 12.0;
    vec![
        canal[0].centre + aside,
        canal[1].centre + aside,
        foramen[2].centre,
        foramen[1].centre,
        foramen[0].centre,
        front,
    ]
}

fn joint(sacrum: &Mesh, hip: &Field) -> Vec<SurfacePoint> {
    let facing = |triangle: &[u32; 3]| {
        let [a, b, c] = sacrum.corners(*triangle);
        let middle = Point::from((a.coords + b.coords + c.coords) / 3.0);
        let twice = sacrum.normal(*triangle);
        let (normal, gap) = (Direction::try_new(twice, f64::EPSILON)?, hip.at(&middle));
        let place = middle + normal.into_inner() * (gap / 2.0);
        (gap < JOINT_MM).then(|| SurfacePoint { place, normal, area_mm2: twice.norm() / 2.0 })
    };
    sacrum.triangles.iter().filter_map(facing).collect()
}

//! The solids of one person: bones as shell and inside, soft tissue, gas, and the landmarks that belong to them.

use super::bend::Bones;
use super::field::{Field, Grid};
use super::landmarks::Landmarks;
use super::mesh::Mesh;
use super::polygonise::polygonise;
use super::shape::Shape;
use super::shapes;
use super::simplify::simplified;
use super::skeleton::{Ball, BoneSkeleton};
use crate::carm::{Direction, Point, Vector};

/// Cell of the grid from which surfaces are made, mm.
const CELL_MM: f64 = 3.2;
/// Width of the symphysis, mm; common practice, no source.
const SYMPHYSIS_MM: f64 = 4.0;
/// What a surface may lose to fewer triangles: the sum of squared distances from the planes it had, and the longest edge.
const ERROR_MM2: f64 = 0.25;
const INNER_ERROR_MM2: f64 = 0.08;
const EDGE_MM: f64 = 16.0;
/// Distance of the balls that fill a bone, mm.
const STEP_MM: f64 = 2.5;
/// Thickness of the compact shell: iliac bone, sacrum, others, mm. Density falls from ilium to sacrum (JOSR 2020); the
/// thicknesses are common practice, no source.
const SHELL_MM: [f64; 3] = [1.8, 1.2, 1.5];

/// A bone: its outer surface, and the surface of the spongy bone inside its shell.
#[derive(Debug, Clone, PartialEq)]
pub struct Bone {
    pub outer: Mesh,
    pub inner: Mesh,
}

/// A whole person, as far as the pelvis shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pelvis {
    pub sacrum: Bone,
    /// Left, right.
    pub hips: [Bone; 2],
    pub femora: [Bone; 2],
    pub fifth_lumbar: Bone,
    pub coccyx: Bone,
    /// The skin.
    pub envelope: Mesh,
    /// Bubbles in the bowel.
    pub gas: Vec<Mesh>,
    pub landmarks: Landmarks,
}

impl Pelvis {
    /// The person of that shape, without bowel gas. The sacrum comes first; the hip bones keep the joint's width from
    /// it, the femora theirs from the hip bones, L5 and the coccyx from the sacrum.
    #[must_use]
    pub fn of(shape: &Shape) -> Self {
        let bones = Bones::of(shape);
        let sacrum = sacrum_field(&bones);
        let hips = [0, 1].map(|side| {
            let mut field = bone_field(&bones.hips[side]);
            field.keep_beyond(if side == 0 { 1.0 } else { -1.0 }, SYMPHYSIS_MM / 2.0);
            field.carve(&sacrum, shape.joint_gap);
            field
        });
        let sacrum_solid = solid(&sacrum, SHELL_MM[1]);
        let landmarks = Landmarks::of(&bones, &sacrum_solid.outer, &hips);
        let femora = [0, 1].map(|side| bone_of(&femur(&bones.hips[side], side), &hips[side], 3.0));
        let fifth_lumbar = bone_of(&fifth_lumbar(&landmarks), &sacrum, 3.0);
        let coccyx = bone_of(&coccyx(&landmarks), &sacrum, 2.0);
        Self {
            hips: hips.map(|field| solid(&field, SHELL_MM[0])),
            sacrum: sacrum_solid,
            femora,
            fifth_lumbar,
            coccyx,
            envelope: envelope(shape),
            gas: Vec::new(),
            landmarks,
        }
    }

    /// Every bone.
    pub fn bones(&self) -> impl Iterator<Item = &Bone> {
        let single = [&self.sacrum, &self.fifth_lumbar, &self.coccyx];
        single.into_iter().chain(&self.hips).chain(&self.femora)
    }
}

/// The field of a skeleton, its cavities taken out.
fn bone_field(bone: &BoneSkeleton) -> Field {
    let balls = bone.balls(STEP_MM);
    let mut field = Field::of(&balls, Grid::around(&balls, CELL_MM));
    take_out(&mut field, &bone.hollows(STEP_MM / 2.0));
    field.smooth();
    field
}

fn sacrum_field(bones: &Bones) -> Field {
    let balls = bones.sacrum.balls(STEP_MM);
    let mut field = Field::of(&balls, Grid::around(&balls, CELL_MM));
    let mut hollows = bones.sacrum.hollows(STEP_MM / 2.0);
    hollows.extend_from_slice(&bones.dents);
    take_out(&mut field, &hollows);
    field.smooth();
    field
}

fn take_out(field: &mut Field, hollows: &[Ball]) {
    if !hollows.is_empty() {
        let hollow = Field::of(hollows, field.grid);
        field.carve(&hollow, 0.0);
    }
}

fn solid(field: &Field, shell_mm: f64) -> Bone {
    // The inside runs out to less than a millimetre where a bone is thin: there it may lose next to nothing.
    let surface = |level: f64| {
        let error = if level < 0.0 { INNER_ERROR_MM2 } else { ERROR_MM2 };
        simplified(&polygonise(field, level as f32), error, EDGE_MM)
    };
    Bone { outer: surface(0.0), inner: surface(-shell_mm) }
}

/// A bone of balls that keeps `margin_mm` from its neighbour.
fn bone_of(balls: &[Ball], neighbour: &Field, margin_mm: f64) -> Bone {
    let mut field = Field::of(balls, Grid::around(balls, CELL_MM));
    field.carve(neighbour, margin_mm);
    field.smooth();
    solid(&field, SHELL_MM[2])
}

/// Balls along a line between two, evenly.
fn strand(from: Ball, to: Ball) -> Vec<Ball> {
    let parts = ((to.centre - from.centre).norm() / STEP_MM).ceil().max(1.0) as usize;
    let at = |part: usize| {
        let share = part as f64 / parts as f64;
        Ball {
            centre: from.centre + (to.centre - from.centre) * share,
            radius: from.radius + (to.radius - from.radius) * share,
        }
    };
    (0..=parts).map(at).collect()
}

/// Head, neck, trochanter and the upper shaft. Sizes: common practice, no source.
fn femur(hip: &BoneSkeleton, side: usize) -> Vec<Ball> {
    let out = if side == 0 { 1.0 } else { -1.0 };
    let centre = hip.places("socket")[0];
    let at = |x: f64, y: f64, z: f64, radius: f64| Ball { centre: centre + Vector::new(out * x, y, z), radius };
    let (head, neck, trochanter) = (at(0.0, 0.0, 0.0, 19.5), at(28.0, 4.0, -22.0, 12.5), at(48.0, 10.0, -20.0, 11.0));
    let (upper, lower) = (at(44.0, 4.0, -46.0, 14.0), at(42.0, 2.0, -110.0, 13.0));
    [
        strand(head, head),
        strand(head, neck),
        strand(neck, trochanter),
        strand(neck, upper),
        strand(trochanter, upper),
        strand(upper, lower),
    ]
    .concat()
}

/// Body on a disc of 9 mm, pedicles, transverse and spinous processes. Sizes: common practice, no source.
fn fifth_lumbar(landmarks: &Landmarks) -> Vec<Ball> {
    let up = Direction::new_normalize(landmarks.endplate_normal.into_inner() + Vector::z() * 0.5);
    let front = Direction::new_normalize(Vector::x().cross(&up));
    let at = |x: f64, y: f64, z: f64, radius: f64| {
        let lift = landmarks.endplate_normal.into_inner() * 9.0;
        Ball {
            centre: landmarks.endplate_centre + lift + Vector::x() * x + front.into_inner() * y + up.into_inner() * z,
            radius,
        }
    };
    let mut balls = Vec::new();
    for z in [4.0, 9.0, 14.0, 19.0, 24.0] {
        for y in [-9.0, -3.0, 3.0, 9.0] {
            balls.extend(strand(at(-18.0, y, z, 5.0), at(18.0, y, z, 5.0)));
        }
    }
    for side in [-1.0, 1.0] {
        balls.extend(strand(at(side * 16.0, -12.0, 19.0, 6.0), at(side * 19.0, -26.0, 18.0, 6.5)));
        balls.extend(strand(at(side * 18.0, -20.0, 19.0, 5.5), at(side * 42.0, -26.0, 22.0, 4.5)));
        balls.extend(strand(at(side * 19.0, -26.0, 18.0, 6.5), at(side * 20.0, -32.0, 2.0, 5.5)));
        balls.extend(strand(at(side * 19.0, -28.0, 16.0, 5.0), at(0.0, -44.0, 12.0, 4.5)));
    }
    balls.extend(strand(at(0.0, -44.0, 12.0, 4.5), at(0.0, -64.0, 6.0, 4.5)));
    balls
}

/// Three segments that turn forward. Sizes: common practice, no source.
fn coccyx(landmarks: &Landmarks) -> Vec<Ball> {
    let at = |y: f64, z: f64, radius: f64| Ball { centre: landmarks.tip + Vector::new(0.0, y, z), radius };
    [strand(at(0.0, -8.0, 6.0), at(-2.0, -16.0, 5.0)), strand(at(-5.0, -23.0, 4.5), at(-12.0, -31.0, 3.5))].concat()
}

/// The trunk as an upright tube, deeper behind than in front of the endplate.
fn envelope(shape: &Shape) -> Mesh {
    const SECTORS: u32 = 64;
    const HEIGHTS: (f64, f64) = (-260.0, 190.0);
    const MIDDLE_Y: f64 = 8.0;
    let tube = shapes::rod(Point::new(0.0, 0.0, HEIGHTS.0), Point::new(0.0, 0.0, HEIGHTS.1), 1.0, SECTORS);
    tube.moved(|point| Point::new(point.x * shape.girth[0], MIDDLE_Y + point.y * shape.girth[1], point.z))
}

//! Bones as skeletons: points with a radius, joined to strands and sheets, whose balls fill the bone.
//!
//! A sheet is a triangle between three points, a strand a line over several; the radius runs evenly between them. The
//! bone is the union of all balls along sheets and strands, less those along its cavities (socket, canal, foramina).
//! A change of shape moves points and radii and nothing else, so that every shape keeps the same parts.
//! Frame: patient (LPS), mm. What it does not do: no surface (that is `field` and `polygonise`). What may never change:
//! the names of bones and groups.

use crate::carm::Point;
use crate::strict_json;
use serde::Deserialize;
use std::collections::BTreeMap;

/// The format of skeleton documents that this program reads.
pub const FORMAT: u32 = 1;

/// Largest skeleton document, bytes.
pub const MAX_BYTES: u64 = 1 << 20;

/// The skeletons of a pelvis.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Skeleton {
    pub brimline_skeleton: u32,
    /// Under which terms the figures may be used.
    pub notice: String,
    pub about: String,
    pub bones: Vec<BoneSkeleton>,
}

/// One bone. Indices count its points from 0.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoneSkeleton {
    pub name: String,
    /// x, y, z and radius, mm.
    pub points: Vec<[f64; 4]>,
    pub sheets: Vec<[usize; 3]>,
    pub strands: Vec<Vec<usize>>,
    /// Strands of what is hollow.
    pub cavities: Vec<Vec<usize>>,
    /// Points by what they are part of.
    pub groups: BTreeMap<String, Vec<usize>>,
}

/// A ball of the patient frame, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ball {
    pub centre: Point,
    pub radius: f64,
}

/// Why a skeleton cannot be used.
#[derive(Debug, PartialEq, thiserror::Error)]
pub enum SkeletonError {
    #[error(transparent)]
    NotReadable(#[from] strict_json::ReadError),
    #[error("bone {bone}: point {point} is named and there are {points}")]
    NoSuchPoint { bone: String, point: usize, points: usize },
    #[error("bone {bone}: point {point} is no finite place with a positive radius")]
    Point { bone: String, point: usize },
}

impl Skeleton {
    /// Reads a skeleton document.
    ///
    /// # Errors
    /// [`SkeletonError`], with the place of the fault.
    pub fn read(bytes: &[u8]) -> Result<Self, SkeletonError> {
        let skeleton: Self = strict_json::read(bytes, "brimline_skeleton", FORMAT, MAX_BYTES)?;
        skeleton.bones.iter().try_for_each(BoneSkeleton::check)?;
        Ok(skeleton)
    }

    /// The pelvis of average shape that stands beside this file: the left hip bone, `hip`, and the `sacrum`.
    #[must_use]
    pub fn average() -> Self {
        Self::read(include_bytes!("average.json")).expect("the skeleton beside this file is well formed")
    }

    /// The bone of that name.
    #[must_use]
    pub fn bone(&self, name: &str) -> Option<&BoneSkeleton> {
        self.bones.iter().find(|bone| bone.name == name)
    }
}

impl BoneSkeleton {
    fn check(&self) -> Result<(), SkeletonError> {
        let sound = |point: &[f64; 4]| point.iter().all(|part| part.is_finite()) && point[3] > 0.0;
        if let Some(point) = self.points.iter().position(|point| !sound(point)) {
            return Err(SkeletonError::Point { bone: self.name.clone(), point });
        }
        let lines = self.strands.iter().chain(&self.cavities).chain(self.groups.values());
        let mut named = self.sheets.iter().flatten().chain(lines.flatten());
        match named.find(|point| **point >= self.points.len()) {
            Some(&point) => {
                Err(SkeletonError::NoSuchPoint { bone: self.name.clone(), point, points: self.points.len() })
            }
            None => Ok(()),
        }
    }

    /// The same bone of the other side.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let mut other = self.clone();
        other.points.iter_mut().for_each(|point| point[0] = -point[0]);
        other
    }

    /// Moves every point; `by` is told the point's index.
    pub fn bend(&mut self, by: impl Fn(usize, Point) -> Point) {
        for (index, point) in self.points.iter_mut().enumerate() {
            let moved = by(index, Point::new(point[0], point[1], point[2]));
            point[..3].copy_from_slice(moved.coords.as_slice());
        }
    }

    /// Multiplies the radius of the points of a group.
    pub fn thicken(&mut self, group: &str, by: f64) {
        for index in self.groups.get(group).into_iter().flatten() {
            self.points[*index][3] *= by;
        }
    }

    /// Places of the points of a group, in their order.
    #[must_use]
    pub fn places(&self, group: &str) -> Vec<Point> {
        let place = |index: &usize| Point::from_slice(&self.points[*index][..3]);
        self.groups.get(group).into_iter().flatten().map(place).collect()
    }

    /// The points of a group with their radius, in their order.
    #[must_use]
    pub fn balls_of(&self, group: &str) -> Vec<Ball> {
        let ball = |index: &usize| mixed(&[self.points[*index]], &[1.0]);
        self.groups.get(group).into_iter().flatten().map(ball).collect()
    }

    /// How far the bone's substance reaches along x: least, greatest, mm.
    #[must_use]
    pub fn breadth(&self) -> (f64, f64) {
        let used = self.sheets.iter().flatten().chain(self.strands.iter().flatten());
        used.map(|index| self.points[*index])
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), [x, _, _, radius]| {
                (low.min(x - radius), high.max(x + radius))
            })
    }

    /// Balls of the bone's substance, no farther apart than `step_mm`.
    #[must_use]
    pub fn balls(&self, step_mm: f64) -> Vec<Ball> {
        let mut balls = Vec::new();
        for sheet in &self.sheets {
            self.fill(*sheet, step_mm, &mut balls);
        }
        for strand in &self.strands {
            self.string(strand, step_mm, &mut balls);
        }
        balls
    }

    /// Balls of the bone's cavities, no farther apart than `step_mm`.
    #[must_use]
    pub fn hollows(&self, step_mm: f64) -> Vec<Ball> {
        let mut balls = Vec::new();
        for cavity in &self.cavities {
            self.string(cavity, step_mm, &mut balls);
        }
        balls
    }

    fn fill(&self, sheet: [usize; 3], step_mm: f64, balls: &mut Vec<Ball>) {
        let [a, b, c] = sheet.map(|index| self.points[index]);
        let longest = apart(a, b).max(apart(b, c)).max(apart(c, a));
        let parts = (longest / step_mm).ceil().max(1.0) as usize;
        for one in 0..=parts {
            for other in 0..=parts - one {
                let shares = [one, other, parts - one - other].map(|part| part as f64 / parts as f64);
                balls.push(mixed(&[a, b, c], &shares));
            }
        }
    }

    fn string(&self, strand: &[usize], step_mm: f64, balls: &mut Vec<Ball>) {
        balls.extend(strand.first().map(|index| mixed(&[self.points[*index]], &[1.0])));
        for pair in strand.windows(2) {
            let (a, b) = (self.points[pair[0]], self.points[pair[1]]);
            let parts = (apart(a, b) / step_mm).ceil().max(1.0) as usize;
            balls.extend(
                (1..=parts).map(|part| part as f64 / parts as f64).map(|part| mixed(&[a, b], &[1.0 - part, part])),
            );
        }
    }
}

fn apart(a: [f64; 4], b: [f64; 4]) -> f64 {
    (Point::from_slice(&a[..3]) - Point::from_slice(&b[..3])).norm()
}

fn mixed(points: &[[f64; 4]], shares: &[f64]) -> Ball {
    let part = |axis: usize| points.iter().zip(shares).map(|(point, share)| point[axis] * share).sum();
    Ball { centre: Point::new(part(0), part(1), part(2)), radius: part(3) }
}

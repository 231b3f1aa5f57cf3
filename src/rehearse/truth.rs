//! What is really there: the model person's landmarks, the beam line of each true view, and the bone around a pin.
//!
//! It is read by whoever scores and draws, never by whoever chooses what to do next: a trainee sees pictures, a scripted
//! team touches and displays. Frame: patient (LPS), mm. What it does not do: no picture, no judgement. A model is no
//! patient.

use super::bone::Bone;
use crate::carm::correction::Axes;
use crate::carm::space::left;
use crate::carm::{Direction, Point, Rotation, Vector, ViewName};
use crate::pelvis::{Ball, Bones, Shape};
use crate::units::Side;
use std::sync::OnceLock;

/// A true view: the pair of places that it lays over each other, and the beam line through them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrueView {
    pub view: ViewName,
    /// Toward the front of the patient; toward his left for a lateral.
    pub line: Direction,
    /// The end of the pair that `line` points to, and the other; `None` for a view without a pair.
    pub pair: Option<[Point; 2]>,
    /// Which differences between the two count.
    pub axes: Axes,
}

/// How far a beam is from a true view, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Off {
    /// In the plane of what the view must lay over itself: up and down the picture.
    pub head_foot: f64,
    /// Across the picture.
    pub across: f64,
    /// What counts for the view: the head-foot part for cortical lines, both for points.
    pub counts: f64,
}

/// One person as he is.
#[derive(Debug, Clone)]
pub struct Truth {
    bones: Bones,
    /// From the pelvis' own axes to the patient frame.
    askew: Rotation,
    joint_gap: f64,
    /// Worked out once it is asked for: left, right.
    bone: [OnceLock<Bone>; 2],
}

/// Shares of the front profile's length, from the promontory, at which the middles of S1 and S2 lie: 14 and 42 of 115 mm
/// on the average skeleton, bodies of 28.0 and 29.7 mm. Source of the bodies' heights: Korean sacra, as published.
pub(super) const CORTEX: [f64; 2] = [0.125, 0.365];

impl Truth {
    /// The person of that shape, lying straight.
    #[must_use]
    pub fn of(shape: &Shape) -> Self {
        Self::askew(shape, Rotation::identity())
    }

    /// The same, turned or leaning against the table's axes.
    #[must_use]
    pub fn askew(shape: &Shape, askew: Rotation) -> Self {
        Self::of_bones(Bones::of(shape), shape.joint_gap, askew)
    }

    /// A person of these bones, whatever shape they come from.
    #[must_use]
    pub fn of_bones(mut bones: Bones, joint_gap_mm: f64, askew: Rotation) -> Self {
        let to = |point: Point| askew * point;
        bones.sacrum.bend(|_, point| to(point));
        bones.hips.iter_mut().for_each(|hip| hip.bend(|_, point| to(point)));
        bones.dents.iter_mut().for_each(|dent| dent.centre = to(dent.centre));
        Self { bones, askew, joint_gap: joint_gap_mm, bone: [OnceLock::new(), OnceLock::new()] }
    }

    /// The bone of one side that a pin may pass.
    #[must_use]
    pub fn bone(&self, side: Side) -> &Bone {
        self.bone[index(side)].get_or_init(|| Bone::of(&self.bones, side, self.joint_gap))
    }

    /// Toward the patient's left in the pelvis' own axes.
    #[must_use]
    pub fn left(&self) -> Direction {
        self.askew * left()
    }

    /// A place of the front of the sacrum in the midline, by its share of the profile from the promontory.
    #[must_use]
    pub fn front_at(&self, share: f64) -> Point {
        let profile = self.bones.sacrum.places("front_profile");
        let whole: f64 = profile.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum();
        let mut left = whole * share;
        for pair in profile.windows(2) {
            let length = (pair[1] - pair[0]).norm();
            if left <= length {
                return pair[0] + (pair[1] - pair[0]) * (left / length);
            }
            left -= length;
        }
        profile[profile.len() - 1]
    }

    /// The middle of the S2 body.
    #[must_use]
    pub fn s2_body(&self) -> Point {
        let front = self.front_at(CORTEX[1]);
        let bodies = self.bones.sacrum.places("body");
        let nearest = |a: &&Point, b: &&Point| (*a - front).norm().total_cmp(&(*b - front).norm());
        *bodies.iter().min_by(nearest).expect("the sacrum has bodies")
    }

    /// The upper border of the symphysis, in the midline.
    #[must_use]
    pub fn symphysis_top(&self) -> Point {
        let [one, other] = [0, 1].map(|side| self.bones.hips[side].places("symphysis_top")[0]);
        nalgebra::center(&one, &other)
    }

    /// The notches' apices, left and right.
    #[must_use]
    pub fn notches(&self) -> [Point; 2] {
        [0, 1].map(|side| self.bones.hips[side].places("notch_apex")[0])
    }

    /// The iliac cortical density of a side.
    #[must_use]
    pub fn density(&self, side: Side) -> Vec<Point> {
        self.bones.hips[index(side)].places("iliac_cortical_density")
    }

    /// The opening of a side's anterior foramen; `level` 1 to 4.
    #[must_use]
    pub fn foramen(&self, side: Side, level: u8) -> Vec<Ball> {
        self.balls(&format!("foramen_{level}_{side}"))
    }

    /// Balls along the sacral canal.
    #[must_use]
    pub fn canal(&self) -> Vec<Ball> {
        self.balls("canal")
    }

    /// Balls whose outlines make the front of the sacrum on a picture: ala of the side and body.
    #[must_use]
    pub fn front(&self, side: Side) -> Vec<Ball> {
        [self.balls(&format!("ala_front_{side}")), self.balls("body")].concat()
    }

    /// Balls whose outlines make its upper border.
    #[must_use]
    pub fn top(&self, side: Side) -> Vec<Ball> {
        [self.balls(&format!("ala_top_{side}")), self.balls("endplate")].concat()
    }

    fn balls(&self, group: &str) -> Vec<Ball> {
        let sacrum = &self.bones.sacrum;
        let index = sacrum.groups.get(group).into_iter().flatten();
        let ball = |[x, y, z, radius]: [f64; 4]| Ball { centre: Point::new(x, y, z), radius };
        index.map(|index| ball(sacrum.points[*index])).collect()
    }

    /// The front of the canal behind S1: where its first two stretches touch, from above down.
    fn canal_front(&self) -> [Point; 2] {
        let canal = self.canal();
        let along = canal[2].centre - canal[1].centre;
        let forward = Direction::new_normalize(self.left().cross(&along));
        let forward = if forward.y > 0.0 { -forward } else { forward };
        [1, 2].map(|at| canal[at].centre + forward.into_inner() * canal[at].radius)
    }

    /// The true view of that name; `None` for the inlet of the ala, whose published angle the model does not reproduce.
    #[must_use]
    pub fn view(&self, view: ViewName) -> Option<TrueView> {
        let places = |group: &str| self.bones.sacrum.places(group)[0];
        let cortex = CORTEX.map(|share| self.front_at(share));
        let pair = match view {
            ViewName::InletBody => cortex,
            ViewName::InletCanal => self.canal_front(),
            ViewName::OutletWorking => [self.symphysis_top(), self.s2_body()],
            ViewName::OutletEndplate => [places("endplate_front"), places("endplate_back")],
            ViewName::Lateral => self.notches(),
            ViewName::OutletEnFace => {
                return Some(without_pair(view, self.left().cross(&(cortex[0] - cortex[1]))));
            }
            ViewName::Ap => return Some(without_pair(view, self.askew * -Vector::y())),
            ViewName::InletAla => return None,
        };
        let axes = if view == ViewName::Lateral { Axes::Both } else { Axes::HeadFoot };
        let along = pair[0] - pair[1];
        // What runs across the patient is a line, not a point: its own lateral part says nothing.
        let along = if axes == Axes::Both { along } else { along - self.left().into_inner() * along.dot(&self.left()) };
        Some(TrueView { view, line: Direction::new_normalize(along), pair: Some(pair), axes })
    }

    /// How far `beam`, either way round, is from a true view.
    #[must_use]
    pub fn off(&self, view: ViewName, beam: &Direction) -> Option<Off> {
        let truth = self.view(view)?;
        let beam = if beam.dot(&truth.line) < 0.0 { -*beam } else { *beam };
        // The axis about which the view's head-foot part turns: across the patient, or front to back at the lateral.
        let around = if truth.axes == Axes::Both { self.askew * Vector::y_axis() } else { self.left() };
        let up = Direction::new_normalize(around.cross(&truth.line));
        // At right angles to the line: of an uneven pelvis the notches do not stand straight across.
        let aside = truth.line.cross(&up);
        let ahead = beam.dot(&truth.line);
        let head_foot = beam.dot(&up).atan2(ahead).to_degrees();
        let across = beam.dot(&aside).atan2(ahead).to_degrees();
        let counts = if truth.axes == Axes::Both { head_foot.hypot(across) } else { head_foot.abs() };
        Some(Off { head_foot, across, counts })
    }
}

/// Left 0, right 1.
pub(super) fn index(side: Side) -> usize {
    match side {
        Side::Left => 0,
        Side::Right => 1,
    }
}

fn without_pair(view: ViewName, line: Vector) -> TrueView {
    let line = if line.y > 0.0 { -line } else { line };
    TrueView { view, line: Direction::new_normalize(line), pair: None, axes: Axes::HeadFoot }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Degrees;

    fn degrees_from_front_back(line: &Direction) -> f64 {
        line.z.atan2(-line.y).to_degrees()
    }

    /// Source: Tanoglu et al., J Orthop Res 2023 (anterior cortex 22.5 ± 9.5°, posterior cortex 46.5 ± 9.3°, endplate
    /// 40.3 ± 7.6°); Pekmezci et al., J Orthop Trauma 2014 (symphysis over S2, 43.7°); Ricci et al., J Bone Joint Surg Am
    /// 2010 (perpendicular to S1, 63°). The model is built on one specimen and a mean shape; it must lie within one
    /// standard deviation of each series.
    #[test]
    fn the_average_persons_views_lie_where_the_series_have_them() {
        let truth = Truth::of(&Shape::average());
        let published = [
            (ViewName::InletBody, 22.5, 9.5),
            (ViewName::InletCanal, 46.5, 9.3),
            (ViewName::OutletEndplate, -40.3, 7.6),
            (ViewName::OutletWorking, -43.7, 6.0),
            (ViewName::OutletEnFace, -63.0, 9.5),
        ];
        for (view, mean, spread) in published {
            let found = degrees_from_front_back(&truth.view(view).expect("a pair").line);
            assert!((found - mean).abs() < spread, "{view}: {found:.1} for {mean}");
        }
        assert!(truth.view(ViewName::InletAla).is_none());
    }

    #[test]
    fn a_beam_along_a_true_view_is_off_by_nothing_and_a_turned_one_by_its_turn() {
        let truth = Truth::askew(&Shape::of_seed(4), Rotation::from_euler_angles(0.0, 0.05, -0.08));
        for view in [ViewName::InletBody, ViewName::OutletWorking, ViewName::Lateral, ViewName::Ap] {
            let line = truth.view(view).expect("known").line;
            for beam in [line, -line] {
                assert!(truth.off(view, &beam).expect("known").counts < 1e-9, "{view}");
            }
        }
        // Stretched and sheared, as no measure of an even pelvis is.
        let mut uneven = Bones::of(&Shape::of_seed(4));
        let warp = nalgebra::Matrix3::new(1.0, 0.02, 0.05, 0.07, 1.0, -0.03, -0.04, 0.06, 1.0);
        uneven.sacrum.bend(|_, point| warp * point);
        uneven.hips.iter_mut().for_each(|hip| hip.bend(|_, point| warp * point));
        let uneven = Truth::of_bones(uneven, 2.0, Rotation::identity());
        let line = uneven.view(ViewName::Lateral).expect("known").line;
        assert!(line.y.abs() > 0.05 && line.z.abs() > 0.03, "{line:?}");
        assert!(uneven.off(ViewName::Lateral, &-line).expect("known").counts < 1e-9);
        for axis in [Vector::y_axis(), Vector::z_axis()] {
            let aside = Direction::new_normalize(line.cross(&line.cross(&axis)));
            let turned = Rotation::from_axis_angle(&aside, Degrees(3.0).radians()) * line;
            assert!((uneven.off(ViewName::Lateral, &turned).expect("known").counts - 3.0).abs() < 0.01);
        }
        let line = truth.view(ViewName::InletBody).expect("known").line;
        let turned = Rotation::from_axis_angle(&truth.left(), Degrees(3.0).radians()) * line;
        let off = truth.off(ViewName::InletBody, &turned).expect("known");
        assert!((off.counts - 3.0).abs() < 1e-9 && off.across.abs() < 1e-9, "{off:?}");
    }
}

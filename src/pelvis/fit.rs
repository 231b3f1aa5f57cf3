//! A model fitted to what a plan measured of one sacrum, so that a target picture resembles it.
//!
//! Each measured angle sets the measure of the shape that it belongs to; everything else is the average, and is named as
//! that. What it does not do: it is no picture of the patient, and it judges no measurement. A measure beyond what the
//! model was built for is held at its border and named.

use super::bend::Bones;
use super::landmarks::inlet_to;
use super::shape::{CORRIDOR, DYSMORPHIC_FROM, INCIDENCE, SLOPE, Shape, Spread, usual_corridor};
use crate::anatomy::{Anatomy, Angle, SideAnatomy};
use crate::units::Side;

/// A measure stays within so many standard deviations of its published mean, as every drawn person's does.
const WITHIN: f64 = 3.0;
/// Of a side that a plan calls dysmorphic: the middle of the scale's upper half.
const MARKED: f64 = f64::midpoint(DYSMORPHIC_FROM, 1.0);
/// Halvings of the span of incidence: far below a hundredth of a degree.
const HALVINGS: u32 = 14;

/// What a plan holds of one patient that the model can follow.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Known {
    pub anatomy: Anatomy,
    /// Judged dysmorphic: left, right; `None`: nobody judged that side.
    pub dysmorphic: [Option<bool>; 2],
    /// Front to back through the trunk, mm.
    pub thickness_mm: Option<f64>,
}

/// A shape, and what of it is this patient's.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    pub shape: Shape,
    /// Taken from the patient, in words.
    pub measured: Vec<String>,
    /// Not measured: those of the average.
    pub typical: Vec<String>,
    /// Measured beyond what the model can follow, and held at its border.
    pub held: Vec<String>,
}

impl Fitted {
    /// The average, moved to what is known.
    #[must_use]
    pub fn to(known: &Known) -> Self {
        let (measured, typical, held) = (Vec::new(), Vec::new(), Vec::new());
        let mut fitted = Self { shape: Shape::average(), measured, typical, held };
        for side in [Side::Left, Side::Right] {
            fitted.side(known, side);
        }
        fitted.depth(known.thickness_mm);
        fitted.slope(&known.anatomy);
        fitted.incidence(&known.anatomy);
        fitted
    }

    /// Notes a measure and brings it within what the model follows.
    fn take(&mut self, name: &str, value: f64, within: Spread) -> f64 {
        let (from, to) = (within.mean - WITHIN * within.deviation, within.mean + WITHIN * within.deviation);
        let list = if (from..=to).contains(&value) { &mut self.measured } else { &mut self.held };
        list.push(name.to_owned());
        value.clamp(from, to)
    }

    fn side(&mut self, known: &Known, side: Side) {
        let (at, word) = if side == Side::Left { (0, "left") } else { (1, "right") };
        let judged = known.dysmorphic[at];
        let list = if judged.is_some() { &mut self.measured } else { &mut self.typical };
        list.push(format!("form of the {word} ala"));
        self.shape.dysmorphism[at] = if judged == Some(true) { MARKED } else { 0.0 };
        let own = known.anatomy.side(side);
        let angle = |of: fn(&SideAnatomy) -> Option<Angle>| own.and_then(of).map(|angle| angle.deg);
        let angles = [angle(|side| side.s1_coronal), angle(|side| side.s1_axial)];
        for (axis, (angle, plane)) in angles.into_iter().zip(["coronal", "axial"]).enumerate() {
            let name = format!("{word} {plane} S1 corridor");
            let usual = usual_corridor(axis, self.shape.dysmorphism[at]);
            self.shape.corridor[at][axis] = match angle {
                Some(deg) => self.take(&name, deg, CORRIDOR[axis]),
                None => {
                    self.typical.push(name);
                    usual
                }
            };
        }
    }

    fn depth(&mut self, thickness_mm: Option<f64>) {
        match thickness_mm {
            Some(thickness) => {
                let half = Spread { mean: self.shape.girth[1], deviation: 15.0 };
                self.shape.girth[1] = self.take("thickness of the trunk", thickness / 2.0, half);
            }
            None => self.typical.push("thickness of the trunk".to_owned()),
        }
    }

    /// The slope follows the first of the sacrum's own lines that was measured: they turn together.
    fn slope(&mut self, anatomy: &Anatomy) {
        let midline = anatomy.midline;
        if let Some(angle) = midline.s1_endplate {
            self.shape.slope = self.take("slope of the S1 endplate", -angle.deg, SLOPE);
            return;
        }
        let bones = Bones::of(&self.shape);
        let front = bones.front_of_s1();
        if let Some(angle) = midline.s1_anterior_cortex {
            let slope = self.shape.slope + inlet_to(&front[0], &front[1]) - angle.deg;
            self.shape.slope = self.take("slope, from the front cortex of S1", slope, SLOPE);
            return;
        }
        let body = bones.bodies();
        if let Some(angle) = midline.s1_body_normal {
            let slope = self.shape.slope + inlet_to(&body[0], &body[1]) - 90.0 - angle.deg;
            self.shape.slope = self.take("slope, from the S1 body", slope, SLOPE);
            return;
        }
        self.typical.push("slope of the sacrum".to_owned());
    }

    /// Incidence turns the hip bones against the sacrum: it follows the line from S2 to the symphysis.
    fn incidence(&mut self, anatomy: &Anatomy) {
        let Some(wanted) = anatomy.midline.s2_to_symphysis else {
            self.typical.push("lie of the symphysis".to_owned());
            return;
        };
        let reached = |incidence: f64| {
            let bones = Bones::of(&Shape { incidence, ..self.shape });
            inlet_to(&bones.symphysis(), &bones.bodies()[1])
        };
        let [mut low, mut high] = [-1.0, 1.0].map(|by| INCIDENCE.mean + by * WITHIN * INCIDENCE.deviation);
        let rises = reached(high) > reached(low);
        let (least, most) = (reached(low).min(reached(high)), reached(low).max(reached(high)));
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            let half = if (reached(middle) < wanted.deg) == rises { &mut low } else { &mut high };
            *half = middle;
        }
        self.shape.incidence = f64::midpoint(low, high);
        let list = if (least..=most).contains(&wanted.deg) { &mut self.measured } else { &mut self.held };
        list.push("lie of the symphysis".to_owned());
    }
}

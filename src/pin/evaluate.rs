//! One evaluation of everything that is found, with every error drawn.
//!
//! A scene and a list of standard normal numbers go in, a list of results comes out; zeros give the finding itself. The
//! Jacobian and Monte Carlo both call it, so that they judge the same thing. What it does not do: it names nothing and
//! judges nothing; what does not exist is NaN.

use super::edge::Edge;
use super::frame::{AnglesOnly, CommonFrame, turned};
use super::joint::{Joint, JointPoint, Met};
use super::line::{PinLine, Shadow, axis, closest_approach, gap};
use super::tool::Tool;
use super::view::PinView;
use crate::carm::{Direction, ImagePoint, Point, Pose, Rotation, Vector};
use crate::units::{Millimetres, Side};

/// Most views at once.
pub(super) const VIEWS_MAX: usize = 4;
/// Without a common frame a margin takes the pin at the isocentre's depth, to within this, mm, one standard deviation:
/// half of a sacrum from front to back. Common practice, no source.
const FLAT_DEPTH_MM: f64 = 30.0;
/// A margin below this asks, unless the site sets another.
///
/// Source: the safety margin of a virtual placement study in 72 cadaver CTs, BMC Musculoskelet Disord 2019;20,
/// s12891-019-2771-1.
pub const MARGIN_LIMIT: Millimetres = Millimetres(5.0);

/// Everything a finding rests on. Views are numbered by their place in `views`.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// The side the plan says.
    pub side: Side,
    /// One to four.
    pub views: Vec<PinView>,
    /// The common frame, or why there is none.
    pub frame: Result<CommonFrame, AnglesOnly>,
    pub pin_diameter: Millimetres,
    /// The largest tool planned along this pin. Without one there are no margins.
    pub tool: Option<Tool>,
    pub margin_limit: Millimetres,
    pub joint: Option<Joint>,
    pub edges: Vec<Edge>,
    /// How far the pin might go on, in order.
    pub further: Vec<Millimetres>,
    /// A place of the patient's midline, on the view of that number.
    pub midline: Option<(usize, ImagePoint)>,
}

/// Errors, drawn one after the other.
pub(super) struct Draw<'a> {
    /// Standard normal; what lies beyond its end is 0.
    normal: &'a [f64],
    pub drawn: usize,
    touch: [f64; VIEWS_MAX],
    scale: [f64; VIEWS_MAX],
}

impl<'a> Draw<'a> {
    pub fn new(normal: &'a [f64], views: &[PinView]) -> Self {
        let mut draw = Self { normal, drawn: 0, touch: [0.0; VIEWS_MAX], scale: [1.0; VIEWS_MAX] };
        for (number, view) in views.iter().take(VIEWS_MAX).enumerate() {
            draw.touch[number] = view.errors.touch.0;
            draw.scale[number] = 1.0 + draw.next(view.errors.scale);
        }
        draw
    }

    /// The next error, of this standard deviation.
    pub fn next(&mut self, sigma: f64) -> f64 {
        let value = self.normal.get(self.drawn).map_or(0.0, |normal| normal * sigma);
        self.drawn += 1;
        value
    }

    /// A small turn about all three axes, `sigma` in radians.
    pub fn turn(&mut self, sigma: f64) -> Rotation {
        Rotation::from_scaled_axis(Vector::new(self.next(sigma), self.next(sigma), self.next(sigma)))
    }

    /// A touch on view number `view`, off by its scale and its own error.
    pub fn touch_on(&mut self, view: usize, at: ImagePoint) -> ImagePoint {
        let (scale, sigma) = (self.scale[view], self.touch[view]);
        ImagePoint {
            across_mm: at.across_mm * scale + self.next(sigma),
            down_mm: at.down_mm * scale + self.next(sigma),
        }
    }
}

/// What one evaluation gives, by place in a list.
pub struct Outputs;

impl Outputs {
    /// Tip: x, y, z, mm.
    pub const TIP: usize = 0;
    /// Axis: x, y, z, of length one.
    pub const AXIS: usize = 3;
    /// Gap of the tip's rays for each pair of views, mm, signed.
    pub const GAP: usize = 6;
    /// Between the pin and the joint's perpendicular, degrees.
    pub const ANGLE: usize = 12;
    /// The same as two signed tilts, degrees.
    pub const TILT: usize = 13;
    /// Of the pin past the joint, mm.
    pub const PAST: usize = 15;
    /// Margins: for each edge, now and at each further step, mm.
    pub const MARGINS: usize = 16;
}

/// Every pair of views, in the order of their gaps.
pub(super) const PAIRS: [(usize, usize); 6] = [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)];

/// Touches of the pin on one view, errors included.
pub(super) struct Touched {
    pub tip: ImagePoint,
    pub shank: Vec<ImagePoint>,
}

impl Scene {
    /// How many results one evaluation gives.
    #[must_use]
    pub fn outputs(&self) -> usize {
        Outputs::MARGINS + self.edges.len() * (1 + self.further.len())
    }

    /// Where in the results the margin of an edge stands; `step` 0 is now, 1 the first further step.
    #[must_use]
    pub fn margin_at(&self, edge: usize, step: usize) -> usize {
        Outputs::MARGINS + edge * (1 + self.further.len()) + step
    }

    /// How many errors one evaluation draws.
    #[must_use]
    pub fn errors(&self) -> usize {
        let mut draw = Draw::new(&[], &self.views);
        let mut out = vec![f64::NAN; self.outputs()];
        self.run(&mut draw, &mut out);
        draw.drawn
    }

    /// Everything, with the errors that these standard normal numbers stand for; what is missing of them is 0.
    pub fn evaluate(&self, normal: &[f64], out: &mut [f64]) {
        out.fill(f64::NAN);
        self.run(&mut Draw::new(normal, &self.views), out);
    }

    /// The poses as they are used: in one frame if there is one.
    pub(super) fn poses(&self, draw: &mut Draw<'_>) -> Vec<Pose> {
        match &self.frame {
            Ok(common) => common.place(&self.views, draw),
            Err(_) => turned(&self.views, draw),
        }
    }

    pub(super) fn touched(&self, draw: &mut Draw<'_>) -> Vec<Touched> {
        let touched = |(number, view): (usize, &PinView)| Touched {
            tip: draw.touch_on(number, view.tip),
            shank: view.shank.iter().map(|at| draw.touch_on(number, *at)).collect(),
        };
        self.views.iter().enumerate().map(touched).collect()
    }

    fn run(&self, draw: &mut Draw<'_>, out: &mut [f64]) {
        let poses = self.poses(draw);
        let touched = self.touched(draw);
        let pairs = poses.iter().zip(&touched);
        let shadows: Option<Vec<Shadow>> = pairs.map(|(pose, at)| Shadow::of(pose, at.tip, &at.shank)).collect();
        let axis = shadows.as_deref().and_then(axis);
        let line = self.line(&poses, &touched, axis, out);
        let met = axis.and_then(|axis| self.met(&poses, line.as_ref(), &axis, draw));
        if let Some((axis, met)) = axis.zip(met) {
            put_angle(&axis, &met, out);
        }
        self.margins(&poses, &touched, line.as_ref(), draw, out);
    }

    /// Tip, axis and gaps; a line only where there is a common frame.
    fn line(&self, poses: &[Pose], touched: &[Touched], axis: Option<Direction>, out: &mut [f64]) -> Option<PinLine> {
        let axis = axis?;
        out[Outputs::AXIS..Outputs::AXIS + 3].copy_from_slice(axis.as_slice());
        self.frame.as_ref().ok()?;
        let rays: Vec<_> = poses.iter().zip(touched).map(|(pose, at)| pose.ray(at.tip)).collect();
        for (place, (first, second)) in PAIRS.into_iter().enumerate() {
            if second < rays.len() {
                out[Outputs::GAP + place] = gap(&rays[first], &rays[second]).unwrap_or(f64::NAN);
            }
        }
        let tip = closest_approach(&rays)?.point;
        out[Outputs::TIP..Outputs::TIP + 3].copy_from_slice(tip.coords.as_slice());
        Some(PinLine { tip, axis })
    }

    fn met(&self, poses: &[Pose], line: Option<&PinLine>, axis: &Direction, draw: &mut Draw<'_>) -> Option<Met> {
        let joint = self.joint.as_ref()?;
        let touched = |point: &JointPoint| matches!(point, JointPoint::Touched { .. });
        if line.is_none() && matches!(joint, Joint::Surface { points } if points.iter().any(touched)) {
            return None;
        }
        let met = joint.meet(self.side, poses, line, draw)?;
        // Held as a check that the axis the joint is met with is the one reported.
        debug_assert!(line.is_none_or(|line| line.axis == *axis));
        Some(met)
    }

    fn margins(
        &self,
        poses: &[Pose],
        touched: &[Touched],
        line: Option<&PinLine>,
        draw: &mut Draw<'_>,
        out: &mut [f64],
    ) {
        let Some(tool) = &self.tool else { return };
        let flat: Vec<Option<PinLine>> = match line {
            Some(_) => Vec::new(),
            None => (0..poses.len()).map(|view| self.flat(view, poses, touched, draw)).collect(),
        };
        for (number, edge) in self.edges.iter().enumerate() {
            for seen in edge.profiling() {
                let pose = &poses[seen.view];
                let places = seen.places(pose, draw);
                let Some(pin) = line.or_else(|| flat.get(seen.view)?.as_ref()) else { continue };
                // How far a step goes on a flat picture is not known.
                let steps = if line.is_some() { self.further.len() } else { 0 };
                for step in 0..=steps {
                    let further = if step == 0 { 0.0 } else { self.further[step - 1].0 };
                    let ahead = PinLine { tip: pin.at(further), axis: pin.axis };
                    let found = seen.margin(&ahead, tool, pose, &places).unwrap_or(f64::NAN);
                    let place = &mut out[self.margin_at(number, step)];
                    *place = place.min(found);
                }
            }
        }
    }

    /// The pin as one view shows it, taken to lie across the beam at the isocentre's depth.
    fn flat(&self, view: usize, poses: &[Pose], touched: &[Touched], draw: &mut Draw<'_>) -> Option<PinLine> {
        let pose = &poses[view];
        let beam = pose.beam();
        let depth = (self.views[view].isocentre - self.views[view].pose.source).dot(&self.views[view].pose.beam())
            + draw.next(FLAT_DEPTH_MM);
        let place = |at: ImagePoint| -> Point {
            let ray = pose.ray(at);
            ray.origin + ray.direction.into_inner() * (depth / ray.direction.dot(&beam))
        };
        let (tip, shank) = (place(touched[view].tip), place(*touched[view].shank.first()?));
        Some(PinLine { tip, axis: Direction::try_new(tip - shank, 1e-6)? })
    }
}

/// Angle to the joint's perpendicular, its two tilts, and the length past the joint.
fn put_angle(axis: &Direction, met: &Met, out: &mut [f64]) {
    let angle = axis.angle(&met.normal);
    let head_ward =
        Direction::try_new(Vector::z() - met.normal.into_inner() * met.normal.z, 1e-9).unwrap_or(Vector::x_axis());
    let other = met.normal.cross(&head_ward);
    // Degrees per unit of sine; finite where the pin stands on the joint.
    let scale = if angle < 1e-9 { 1.0 } else { angle / angle.sin() }.to_degrees();
    out[Outputs::ANGLE] = angle.to_degrees();
    out[Outputs::TILT] = axis.dot(&head_ward) * scale;
    out[Outputs::TILT + 1] = axis.dot(&other) * scale;
    out[Outputs::PAST] = met.past.unwrap_or(f64::NAN);
}

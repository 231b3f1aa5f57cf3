//! What a flat picture shows of a pin beside the edges that the view profiles, true view or not.
//!
//! Edges are outlines of the bone's balls as they are projected: with the beam off the true view another part of the
//! bone stands out in front, and a pin that has left the bone seems to lie in it. Distances are life size at the tip.
//! What it does not do: it looks at no pixel, and knows no third dimension; that is [`super::bone`].

use super::truth::Truth;
use crate::carm::{ImagePoint, Point, Pose, ViewName};
use crate::pelvis::Ball;
use crate::pin::{EdgeName, PinLine};
use crate::units::Side;

/// The distance of a tool's surface from one edge on one picture, mm, negative beyond it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apparent {
    pub edge: EdgeName,
    pub mm: f64,
}

/// A round shadow, mm on the detector.
#[derive(Debug, Clone, Copy)]
struct Disc {
    across: f64,
    down: f64,
    radius: f64,
}

/// Distance of the places along the pin, mm.
const ALONG_MM: f64 = 2.5;

/// A picture of one side with a pin in it.
pub struct Picture<'a> {
    pub truth: &'a Truth,
    pub side: Side,
    pub pose: &'a Pose,
}

impl Picture<'_> {
    /// What `view` shows of a tool along the last `length_mm` of `line`.
    #[must_use]
    pub fn margins(&self, view: ViewName, line: &PinLine, length_mm: f64, diameter_mm: f64) -> Vec<Apparent> {
        let mut tool = Vec::new();
        let mut back = 0.0;
        while back <= length_mm {
            tool.extend(self.pose.project(&line.at(-back)));
            back += ALONG_MM;
        }
        let Some(life) = self.pose.magnification_at(&line.tip) else { return Vec::new() };
        let edges = self.edges(view).into_iter().filter_map(|(edge, discs, toward)| {
            let least = tool.iter().filter_map(|at| toward.gap(at, &discs)).reduce(f64::min)?;
            Some(Apparent { edge, mm: least / life - diameter_mm / 2.0 })
        });
        edges.collect()
    }

    /// The edges that `view` is taken for.
    fn edges(&self, view: ViewName) -> Vec<(EdgeName, Vec<Disc>, Toward)> {
        let (truth, side) = (self.truth, self.side);
        match view {
            ViewName::InletBody | ViewName::InletCanal | ViewName::InletAla => {
                let front = self.way(&Point::new(0.0, -50.0, 0.0));
                let canal: Vec<Ball> = truth.canal().into_iter().take(3).collect();
                vec![
                    (EdgeName::FrontCortex, self.discs(&truth.front(side)), Toward::Border(front)),
                    (EdgeName::SacralCanal, self.discs(&canal), Toward::Round),
                ]
            }
            ViewName::OutletWorking | ViewName::OutletEndplate | ViewName::OutletEnFace => {
                let head = self.way(&Point::new(0.0, 0.0, 50.0));
                let opening = |level| self.discs(&truth.foramen(side, level)[..2]);
                vec![
                    (EdgeName::S1Foramen, opening(1), Toward::Round),
                    (EdgeName::S2Foramen, opening(2), Toward::Round),
                    (EdgeName::AlarSlope, self.discs(&truth.top(side)), Toward::Border(head)),
                ]
            }
            ViewName::Lateral => {
                vec![(EdgeName::SacralCanal, self.discs(&truth.canal()), Toward::Round)]
            }
            ViewName::Ap => Vec::new(),
        }
    }

    /// Which way on the picture leads from the origin toward `place`, of length one.
    fn way(&self, place: &Point) -> [f64; 2] {
        let ends = [Point::origin(), *place].map(|point| self.pose.project(&point));
        let [Some(from), Some(to)] = ends else { return [0.0, -1.0] };
        let (across, down) = (to.across_mm - from.across_mm, to.down_mm - from.down_mm);
        let length = across.hypot(down).max(f64::EPSILON);
        [across / length, down / length]
    }

    fn discs(&self, balls: &[Ball]) -> Vec<Disc> {
        let disc = |ball: &Ball| {
            let at = self.pose.project(&ball.centre)?;
            let radius = ball.radius * self.pose.magnification_at(&ball.centre)?;
            Some(Disc { across: at.across_mm, down: at.down_mm, radius })
        };
        balls.iter().filter_map(disc).collect()
    }
}

/// How an edge bounds a tool.
enum Toward {
    /// The outermost outline in this way on the picture.
    Border([f64; 2]),
    /// A round opening.
    Round,
}

impl Toward {
    /// From a place of the tool to the edge, mm on the detector; `None` where the edge does not stand beside it.
    fn gap(&self, at: &ImagePoint, discs: &[Disc]) -> Option<f64> {
        let gaps = discs.iter().filter_map(|disc| {
            let (across, down) = (disc.across - at.across_mm, disc.down - at.down_mm);
            match self {
                Self::Round => Some(across.hypot(down) - disc.radius),
                Self::Border([x, y]) => {
                    let (along, aside) = (across * x + down * y, down * x - across * y);
                    let rise = disc.radius * disc.radius - aside * aside;
                    (rise > 0.0).then(|| along + rise.sqrt())
                }
            }
        });
        match self {
            Self::Round => gaps.reduce(f64::min),
            Self::Border(_) => gaps.reduce(f64::max),
        }
    }
}

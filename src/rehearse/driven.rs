//! The guide pin that is driven: it advances, it bends, and a drill over it carries it along when nobody looks.
//!
//! The pin starts at the outer table of the hip bone. A bend is a curve away from the straight line that grows with the
//! square of the depth. What it does not do: no force is felt or reckoned. How much a pin bends and is carried: common
//! practice, no source; that it happens is counted (NICE IPG578: 43 pins bound, bent or broken and 14 advanced among 204
//! complaints).

use super::chance::Chance;
use crate::carm::{Direction, Point, Rotation, Vector};
use crate::pin::PinLine;
use crate::units::Degrees;

/// A pin in place.
#[derive(Debug, Clone, PartialEq)]
pub struct DrivenPin {
    /// Where it stands on the outer table.
    pub entry: Point,
    /// The way it was set out.
    pub axis: Direction,
    /// From the entry to the tip along `axis`, mm.
    pub depth: f64,
    /// How far the tip is bent aside at a depth of 50 mm.
    pub bow: Vector,
    /// Advanced since the pin was last seen, mm.
    pub unseen: f64,
    /// How far a drill has gone along it, mm.
    pub drilled: f64,
    /// Drilled since the pin was last seen, mm.
    pub drilled_unseen: f64,
}

/// Why the pin does not do what is asked.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PinRefusal {
    #[error("no pin is set")]
    NoPin,
    #[error("the pin stands {depth_mm:.0} mm deep: withdraw it to {FREE_MM} mm before it is turned")]
    Buried { depth_mm: f64 },
    #[error("a drill goes along the pin no further than the pin: {depth_mm:.0} mm")]
    DrillBeyondPin { depth_mm: f64 },
    #[error("from there no bone is met: the pin would stand outside the patient")]
    OutsidePatient,
    #[error("{mm} mm is no length to go (0.1 to 60)")]
    Length { mm: f64 },
}

/// A pin no deeper than this can be turned in place, mm. Common practice, no source.
pub const FREE_MM: f64 = 5.0;
/// Advanced further than this without being seen is a blind advance, mm. Common practice, no source.
pub const BLIND_MM: f64 = 10.0;
/// A bow beyond this binds a drill, mm at 50 mm. Common practice, no source.
pub const BINDS_MM: f64 = 3.0;
/// Standard deviation of the bow that 10 mm of advance add, mm at 50 mm.
const BENDS_MM: f64 = 0.25;
/// Share of passes of 10 mm by a drill that carry a pin along, straight and bent.
const CARRIED: [f64; 2] = [0.15, 0.6];
/// How far, at most, mm: watched and not.
const CARRIED_MM: [f64; 2] = [1.0, 8.0];
/// The depth at which a bow is stated, mm.
const BOW_AT_MM: f64 = 50.0;

impl DrivenPin {
    #[must_use]
    pub fn set(entry: Point, axis: Direction) -> Self {
        Self { entry, axis, depth: 0.0, bow: Vector::zeros(), unseen: 0.0, drilled: 0.0, drilled_unseen: 0.0 }
    }

    /// Where the pin runs at `depth` from its entry.
    #[must_use]
    pub fn at(&self, depth: f64) -> Point {
        let bent = if depth > 0.0 { (depth / BOW_AT_MM).powi(2) } else { 0.0 };
        self.entry + self.axis.into_inner() * depth + self.bow * bent
    }

    /// The pin at its tip, as a straight line there.
    #[must_use]
    pub fn line(&self) -> PinLine {
        let tip = self.at(self.depth);
        let along = self.axis.into_inner() + self.bow * (2.0 * self.depth.max(0.0) / BOW_AT_MM.powi(2));
        PinLine { tip, axis: Direction::new_normalize(along) }
    }

    /// Whether it is bent enough to bind a drill.
    #[must_use]
    pub fn bent(&self) -> bool {
        self.bow.norm() > BINDS_MM
    }

    /// Advances; what is not seen on the way adds up.
    ///
    /// # Errors
    /// [`PinRefusal::Length`].
    pub fn advance(&mut self, mm: f64, chance: &mut Chance) -> Result<(), PinRefusal> {
        length(mm)?;
        let aside = Vector::new(chance.normal(1.0), chance.normal(1.0), chance.normal(1.0));
        let aside = aside - self.axis.into_inner() * aside.dot(&self.axis);
        self.bow += aside * (BENDS_MM * (mm / 10.0).sqrt());
        self.depth += mm;
        self.unseen += mm;
        Ok(())
    }

    /// Draws the pin back; out of the bone it is straight again.
    ///
    /// # Errors
    /// [`PinRefusal::Length`].
    pub fn withdraw(&mut self, mm: f64) -> Result<(), PinRefusal> {
        length(mm)?;
        self.depth = (self.depth - mm).max(0.0);
        self.unseen = 0.0;
        if self.depth <= FREE_MM && !self.bent() {
            self.bow = Vector::zeros();
        }
        Ok(())
    }

    /// Turns the pin about its entry, first by `up` about `across`, then by `aside` about `other`.
    ///
    /// # Errors
    /// [`PinRefusal::Buried`].
    pub fn turn(&mut self, turns: [(Direction, Degrees); 2]) -> Result<(), PinRefusal> {
        if self.depth > FREE_MM {
            return Err(PinRefusal::Buried { depth_mm: self.depth });
        }
        for (about, by) in turns {
            self.axis = Rotation::from_axis_angle(&about, by.radians()) * self.axis;
        }
        Ok(())
    }

    /// Drills along the pin by `mm`; returns how far the pin went with the drill.
    ///
    /// # Errors
    /// [`PinRefusal`].
    pub fn drill(&mut self, mm: f64, chance: &mut Chance) -> Result<f64, PinRefusal> {
        length(mm)?;
        if self.drilled + mm > self.depth + 1e-9 {
            return Err(PinRefusal::DrillBeyondPin { depth_mm: self.depth });
        }
        let mut carried = 0.0;
        let mut left = mm;
        while left > 0.0 {
            let step = left.min(10.0);
            let watched = self.drilled_unseen < BLIND_MM;
            if chance.whether(CARRIED[usize::from(self.bent())] * step / 10.0) {
                carried += chance.between(0.0, CARRIED_MM[usize::from(!watched)]);
            }
            self.drilled += step;
            self.drilled_unseen += step;
            left -= step;
        }
        self.depth += carried;
        self.unseen += carried;
        Ok(carried)
    }

    /// The pin was seen on a picture.
    pub fn seen(&mut self) {
        self.unseen = 0.0;
        self.drilled_unseen = 0.0;
    }
}

fn length(mm: f64) -> Result<(), PinRefusal> {
    if (0.1..=60.0).contains(&mm) { Ok(()) } else { Err(PinRefusal::Length { mm }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pin() -> DrivenPin {
        DrivenPin::set(Point::new(60.0, 20.0, 0.0), -Vector::x_axis())
    }

    #[test]
    fn a_pin_advances_bends_a_little_and_is_turned_only_when_free() {
        let (mut pin, mut chance) = (pin(), Chance::of(1, 1));
        pin.advance(40.0, &mut chance).unwrap();
        let line = pin.line();
        assert!((line.tip.x - 20.0).abs() < 1.0 && pin.bow.norm() > 0.0 && pin.unseen > BLIND_MM);
        let turn = [(Vector::y_axis(), Degrees(3.0)), (Vector::z_axis(), Degrees(0.0))];
        assert!(matches!(pin.turn(turn), Err(PinRefusal::Buried { .. })));
        pin.withdraw(38.0).unwrap();
        pin.turn(turn).unwrap();
        assert!((pin.axis.angle(&-Vector::x_axis()).to_degrees() - 3.0).abs() < 1e-9);
        assert!(pin.advance(f64::NAN, &mut chance).is_err() && pin.advance(61.0, &mut chance).is_err());
    }

    #[test]
    fn a_drill_carries_an_unwatched_pin_further_than_a_watched_one() {
        let carried = |watched: bool, bent: bool| {
            let runs = (0..400).map(|seed| {
                let (mut pin, mut chance) = (pin(), Chance::of(seed, 2));
                pin.advance(40.0, &mut chance).unwrap();
                pin.bow = if bent { Vector::new(0.0, 4.0, 0.0) } else { Vector::zeros() };
                let mut sum = 0.0;
                for _ in 0..4 {
                    if watched {
                        pin.seen();
                    }
                    sum += pin.drill(10.0, &mut chance).unwrap();
                }
                sum
            });
            runs.sum::<f64>() / 400.0
        };
        assert!(carried(false, false) > 3.0 * carried(true, false));
        assert!(carried(false, true) > 2.0 * carried(false, false));
    }

    #[test]
    fn a_drill_never_goes_beyond_the_pin() {
        let (mut pin, mut chance) = (pin(), Chance::of(1, 1));
        pin.advance(20.0, &mut chance).unwrap();
        assert!(matches!(pin.drill(25.0, &mut chance), Err(PinRefusal::DrillBeyondPin { .. })));
    }
}

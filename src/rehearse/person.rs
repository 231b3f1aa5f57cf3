//! Who lies on the table: a model person of a stated kind, drawn from a seed.
//!
//! What it does not do: no picture. What may never change: the person that kind, side and seed give.

use super::chance::Chance;
use crate::carm::Point;
use crate::case::PersonKind;
use crate::pelvis::{Ball, Pelvis, Shape, shapes};
use crate::units::{Millimetres, Side};

/// A model person.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    pub shape: Shape,
    /// Bubbles in the bowel, patient frame.
    pub gas: Vec<Ball>,
}

/// Stream of draws for whatever the shape does not hold.
const STREAM: u64 = 11;
/// Half width and half depth of a thin and of a large trunk, mm. Common practice, no source.
const THIN_MM: [f64; 2] = [152.0, 92.0];
const LARGE_MM: [f64; 2] = [225.0, 155.0];
/// Rings and sectors of a bubble.
const BUBBLE: (u32, u32) = (10, 16);

impl Person {
    /// The person of that kind and seed; `operated` is the marked side of one who is dysmorphic on one side alone.
    #[must_use]
    pub fn of(kind: PersonKind, operated: Side, seed: u32) -> Self {
        let mut chance = Chance::of(u64::from(seed), STREAM);
        let mut shape = Shape::of_seed(u64::from(seed));
        let slight = [chance.between(0.0, 0.2), chance.between(0.0, 0.2)];
        let marked = chance.between(0.6, 1.0);
        shape.dysmorphism = match (kind, operated) {
            (PersonKind::DysmorphicBothSides, _) => [marked, (marked - 0.1).max(0.5)],
            (PersonKind::DysmorphicOneSide, Side::Left) => [marked, slight[1]],
            (PersonKind::DysmorphicOneSide, Side::Right) => [slight[0], marked],
            _ => slight,
        };
        match kind {
            PersonKind::Thin => shape.girth = THIN_MM,
            PersonKind::Large => shape.girth = LARGE_MM,
            _ => {}
        }
        let gas = if kind == PersonKind::BowelGas { bubbles(&mut chance) } else { Vec::new() };
        Self { shape, gas }
    }

    /// How thick the trunk is from front to back.
    #[must_use]
    pub fn thickness(&self) -> Millimetres {
        Millimetres(2.0 * self.shape.girth[1])
    }

    /// The solids, for pictures; they take a moment to build.
    #[must_use]
    pub fn solids(&self) -> Pelvis {
        let mut pelvis = Pelvis::of(&self.shape);
        pelvis.gas = self.gas.iter().map(|ball| shapes::ball(ball.centre, ball.radius, BUBBLE.0, BUBBLE.1)).collect();
        pelvis
    }
}

/// Gas before the sacrum, no two bubbles in each other. Sizes and places: common practice, no source.
fn bubbles(chance: &mut Chance) -> Vec<Ball> {
    let mut gas: Vec<Ball> = Vec::new();
    for _ in 0..40 {
        let centre = Point::new(chance.between(-55.0, 55.0), chance.between(-75.0, -25.0), chance.between(-50.0, 25.0));
        let ball = Ball { centre, radius: chance.between(7.0, 16.0) };
        let apart = |other: &Ball| (other.centre - ball.centre).norm() > other.radius + ball.radius + 1.0;
        if gas.iter().all(apart) {
            gas.push(ball);
        }
    }
    gas
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_gives_the_same_person_and_a_kind_its_mark() {
        let of = |kind| Person::of(kind, Side::Right, 5);
        assert_eq!(of(PersonKind::Normal), of(PersonKind::Normal));
        let one_side = of(PersonKind::DysmorphicOneSide).shape.dysmorphism;
        assert!(one_side[1] >= 0.5 && one_side[0] < 0.25, "{one_side:?}");
        assert!(of(PersonKind::DysmorphicBothSides).shape.dysmorphism.iter().all(|side| *side >= 0.5));
        assert!(of(PersonKind::Thin).thickness().0 < of(PersonKind::Large).thickness().0);
        assert!(of(PersonKind::BowelGas).gas.len() >= 4 && of(PersonKind::Large).gas.is_empty());
    }

    #[test]
    fn gas_is_closed_and_lies_apart() {
        let person = Person::of(PersonKind::BowelGas, Side::Left, 9);
        let solids = person.solids();
        assert_eq!(solids.gas.len(), person.gas.len());
        assert!(solids.gas.iter().all(|bubble| bubble.closed().is_ok()));
    }
}

//! Left against right.
//!
//! Source: 29.8 % of dysmorphic pelves are asymmetric (J Orthop Trauma 2025, n = 220): neither side stands for the other.

use super::{Anatomy, Level, Score, Sign, compare};
use crate::units::Side;
use serde::Serialize;

/// One way in which the sides differ, or cannot be compared.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Asymmetry {
    /// Nothing is known of that side.
    NotMeasured { side: Side },
    /// The scores differ by more than the ± of their difference.
    Score { left: Score, right: Score },
    /// The widths differ by more than the ± of their difference.
    Corridor { level: Level, left_mm: f64, right_mm: f64 },
    /// Signs present on one side and absent on the other.
    Signs { count: usize },
}

impl Asymmetry {
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::NotMeasured { side } => {
                format!("The {side} side is not measured; 30 % of dysmorphic pelves are asymmetric.")
            }
            Self::Score { left, right } => {
                format!("The scores differ: left {:.1}, right {:.1}.", left.points, right.points)
            }
            Self::Corridor { level, left_mm, right_mm } => {
                format!("The {} corridors differ: left {left_mm:.1} mm, right {right_mm:.1} mm.", level.word())
            }
            Self::Signs { count } => format!("Signs present on one side and absent on the other: {count}."),
        }
    }
}

/// How the sides differ.
#[must_use]
pub fn asymmetry(anatomy: &Anatomy) -> Vec<Asymmetry> {
    let (left, right) = match (anatomy.side(Side::Left), anatomy.side(Side::Right)) {
        (Some(left), Some(right)) => (left, right),
        (Some(_), None) => return vec![Asymmetry::NotMeasured { side: Side::Right }],
        (None, Some(_)) => return vec![Asymmetry::NotMeasured { side: Side::Left }],
        (None, None) => return Vec::new(),
    };
    let mut found = Vec::new();
    if let (Some(l), Some(r)) = (Score::of_side(left), Score::of_side(right))
        && (l.points - r.points).abs() > l.plus_minus.hypot(r.plus_minus)
    {
        found.push(Asymmetry::Score { left: l, right: r });
    }
    for corridor in &left.corridors {
        let Some(other) = right.corridors.iter().find(|other| other.level == corridor.level) else { continue };
        let (l, r) = (corridor.width, other.width);
        if (l.mm - r.mm).abs() > l.plus_minus_mm.hypot(r.plus_minus_mm) {
            found.push(Asymmetry::Corridor { level: corridor.level, left_mm: l.mm, right_mm: r.mm });
        }
    }
    let (l, r) = (compare(&left.readers), compare(&right.readers));
    let across = |present: &[Sign], absent: &[Sign]| present.iter().filter(|sign| absent.contains(sign)).count();
    let count = across(&l.present, &r.absent) + across(&r.present, &l.absent);
    if count > 0 {
        found.push(Asymmetry::Signs { count });
    }
    found
}

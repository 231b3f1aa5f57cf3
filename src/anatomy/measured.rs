//! A measured number with its uncertainty. Every ± of this module is one standard deviation.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// ± of an angle typed from somebody's measurement tool. Common practice, no source.
pub const TYPED_ANGLE_PLUS_MINUS_DEG: f64 = 2.0;
/// ± of a length typed from somebody's measurement tool. Common practice, no source.
pub const TYPED_LENGTH_PLUS_MINUS_MM: f64 = 1.0;

/// How a number came here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Means {
    /// Read elsewhere and typed.
    #[default]
    Typed,
    /// Touched on an imported picture.
    Touched,
}

/// An angle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Angle {
    /// Degrees.
    pub deg: f64,
    /// One standard deviation, degrees.
    pub plus_minus_deg: f64,
    #[serde(default)]
    pub means: Means,
}

impl Angle {
    #[must_use]
    pub fn touched(deg: f64, plus_minus_deg: f64) -> Self {
        Self { deg, plus_minus_deg, means: Means::Touched }
    }

    #[must_use]
    pub fn typed(deg: f64) -> Self {
        Self { deg, plus_minus_deg: TYPED_ANGLE_PLUS_MINUS_DEG, means: Means::Typed }
    }
}

impl fmt::Display for Angle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1}° ± {:.1}°", self.deg, self.plus_minus_deg)
    }
}

/// A length in the patient.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Length {
    /// Millimetres.
    pub mm: f64,
    /// One standard deviation, millimetres.
    pub plus_minus_mm: f64,
    #[serde(default)]
    pub means: Means,
}

impl Length {
    #[must_use]
    pub fn touched(mm: f64, plus_minus_mm: f64) -> Self {
        Self { mm, plus_minus_mm, means: Means::Touched }
    }

    #[must_use]
    pub fn typed(mm: f64) -> Self {
        Self { mm, plus_minus_mm: TYPED_LENGTH_PLUS_MINUS_MM, means: Means::Typed }
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} mm ± {:.1} mm", self.mm, self.plus_minus_mm)
    }
}

/// Where a number with its ± lies against a line.
pub(super) enum Against {
    Below,
    /// Within its ± of the line.
    Near,
    Above,
}

pub(super) fn against(value: f64, plus_minus: f64, line: f64) -> Against {
    if (value - line).abs() <= plus_minus {
        Against::Near
    } else if value < line {
        Against::Below
    } else {
        Against::Above
    }
}

//! Quantities, units and sides, and the only place where one unit becomes another.
//!
//! What it is for: a number never travels without its unit. What it does not do: no formatting for a
//! language, no plausibility (that is `dose` and the pathway's ranges). What may never change: the
//! codes of [`Unit`], which stand in journals and records.

mod radiation;

pub use radiation::{
    AirKermaUnit, GrayCm2, KermaAreaUnit, Kilovolts, Micrograys, Milliamperes, Milligray, Millisieverts, Seconds,
};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::ops::Neg;

/// A side of the patient, never of the room or of the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    Left,
    Right,
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Left => "left",
            Self::Right => "right",
        })
    }
}

/// A length, millimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Millimetres(pub f64);

/// An angle, degrees.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Degrees(pub f64);

impl Degrees {
    /// The angle of `radians`.
    #[must_use]
    pub fn from_radians(radians: f64) -> Self {
        Self(radians.to_degrees())
    }

    /// The angle in radians, which are only ever an argument of a formula.
    #[must_use]
    pub fn radians(self) -> f64 {
        self.0.to_radians()
    }
}

impl Neg for Degrees {
    type Output = Self;

    fn neg(self) -> Self {
        Self(-self.0)
    }
}

/// Units a measure may be entered in, written as their UCUM codes.
///
/// Source: The Unified Code for Units of Measure, <https://ucum.org/ucum>.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
pub enum Unit {
    #[serde(rename = "mm")]
    Millimetre,
    #[serde(rename = "deg")]
    Degree,
    #[serde(rename = "s")]
    Second,
    #[serde(rename = "min")]
    Minute,
    #[serde(rename = "mL")]
    Millilitre,
    #[serde(rename = "mGy")]
    Milligray,
    #[serde(rename = "Gy.cm2")]
    GraySquareCentimetre,
    #[serde(rename = "cGy.cm2")]
    CentigraySquareCentimetre,
    #[serde(rename = "uGy.m2")]
    MicrograySquareMetre,
    /// UCUM "/s", pulses per second.
    #[serde(rename = "/s")]
    PerSecond,
    /// A pure number, UCUM "1".
    #[serde(rename = "1")]
    One,
}

impl Unit {
    /// A kerma-area product in Gy·cm²; nothing if the unit is of another quantity.
    ///
    /// 1 Gy·cm² = 100 cGy·cm² = 100 µGy·m². Source: the definitions of the prefixes.
    #[must_use]
    pub fn in_gray_square_centimetres(self, value: f64) -> Option<f64> {
        match self {
            Self::GraySquareCentimetre => Some(value),
            Self::CentigraySquareCentimetre | Self::MicrograySquareMetre => Some(value / 100.0),
            _ => None,
        }
    }

    /// The unit as a reader writes it, not the UCUM code.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Degree => "°",
            Self::Second => "s",
            Self::Minute => "min",
            Self::Millilitre => "mL",
            Self::Milligray => "mGy",
            Self::GraySquareCentimetre => "Gy·cm²",
            Self::CentigraySquareCentimetre => "cGy·cm²",
            Self::MicrograySquareMetre => "µGy·m²",
            Self::PerSecond => "pulses/s",
            Self::One => "",
        }
    }
}

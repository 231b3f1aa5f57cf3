//! Quantities of radiation, each in one unit, and how every unit that a machine or a file uses becomes it.
//!
//! What it does not do: no guess at a unit that was not named, no plausibility. What may never change: the unit
//! each quantity is kept in, since it stands bare in journals and records.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::{Add, Sub};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize, JsonSchema)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
                // Begins at plus zero, so that an empty sum never prints as minus zero.
                values.fold(Self(0.0), Add::add)
            }
        }
    };
}

quantity! {
    /// Kerma-area product (PKA, also called dose area product), Gy·cm².
    GrayCm2
}
quantity! {
    /// Air kerma at the machine's reference point, mGy.
    Milligray
}
quantity! {
    /// A duration, seconds.
    Seconds
}
quantity! {
    /// Peak tube voltage, kV.
    Kilovolts
}
quantity! {
    /// Tube current, mA.
    Milliamperes
}
quantity! {
    /// Effective dose of a patient, mSv: a population average.
    Millisieverts
}
quantity! {
    /// Air kerma of scattered radiation, µGy.
    Micrograys
}

/// Units a kerma-area product is shown or sent in, written as their UCUM codes.
///
/// Source: UCUM; who uses which: PS3.16 TID 10003B (Gy.m2), PS3.3 (0018,115E) (dGy.cm2), consoles (cGy.cm2, uGy.m2).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
pub enum KermaAreaUnit {
    #[serde(rename = "Gy.m2")]
    GraySquareMetre,
    #[serde(rename = "Gy.cm2")]
    GraySquareCentimetre,
    #[serde(rename = "dGy.cm2")]
    DecigraySquareCentimetre,
    #[serde(rename = "cGy.cm2")]
    CentigraySquareCentimetre,
    #[serde(rename = "mGy.cm2")]
    MilligraySquareCentimetre,
    #[serde(rename = "uGy.m2")]
    MicrograySquareMetre,
}

impl KermaAreaUnit {
    /// Every one of them.
    pub const ALL: [Self; 6] = [
        Self::GraySquareMetre,
        Self::GraySquareCentimetre,
        Self::DecigraySquareCentimetre,
        Self::CentigraySquareCentimetre,
        Self::MilligraySquareCentimetre,
        Self::MicrograySquareMetre,
    ];

    /// What one of this unit is in Gy·cm².
    ///
    /// A whole number or a whole number's inverse, so that conversion rounds once.
    /// Source: SI prefixes, 1 m² = 10⁴ cm².
    fn gray_cm2(self) -> Scale {
        match self {
            Self::GraySquareMetre => Scale::Times(10_000.0),
            Self::GraySquareCentimetre => Scale::Times(1.0),
            Self::DecigraySquareCentimetre => Scale::Per(10.0),
            Self::CentigraySquareCentimetre | Self::MicrograySquareMetre => Scale::Per(100.0),
            Self::MilligraySquareCentimetre => Scale::Per(1_000.0),
        }
    }

    /// The unit of that UCUM code. UCUM's own spellings of the same product are read too.
    #[must_use]
    pub fn of_ucum(code: &str) -> Option<Self> {
        Some(match code {
            "Gy.m2" => Self::GraySquareMetre,
            "Gy.cm2" => Self::GraySquareCentimetre,
            "dGy.cm2" => Self::DecigraySquareCentimetre,
            "cGy.cm2" => Self::CentigraySquareCentimetre,
            "mGy.cm2" => Self::MilligraySquareCentimetre,
            "uGy.m2" => Self::MicrograySquareMetre,
            _ => return None,
        })
    }

    /// The unit as a reader writes it.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::GraySquareMetre => "Gy·m²",
            Self::GraySquareCentimetre => "Gy·cm²",
            Self::DecigraySquareCentimetre => "dGy·cm²",
            Self::CentigraySquareCentimetre => "cGy·cm²",
            Self::MilligraySquareCentimetre => "mGy·cm²",
            Self::MicrograySquareMetre => "µGy·m²",
        }
    }
}

impl GrayCm2 {
    /// What a figure in that unit is in Gy·cm².
    #[must_use]
    pub fn of(value: f64, unit: KermaAreaUnit) -> Self {
        Self(unit.gray_cm2().to_base(value))
    }

    /// The figure in that unit.
    #[must_use]
    pub fn in_unit(self, unit: KermaAreaUnit) -> f64 {
        unit.gray_cm2().of_base(self.0)
    }
}

/// Units an air kerma is shown or sent in, written as their UCUM codes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
pub enum AirKermaUnit {
    #[serde(rename = "Gy")]
    Gray,
    #[serde(rename = "cGy")]
    Centigray,
    #[serde(rename = "mGy")]
    Milligray,
    #[serde(rename = "uGy")]
    Microgray,
}

impl AirKermaUnit {
    /// Every one of them.
    pub const ALL: [Self; 4] = [Self::Gray, Self::Centigray, Self::Milligray, Self::Microgray];

    fn milligray(self) -> Scale {
        match self {
            Self::Gray => Scale::Times(1_000.0),
            Self::Centigray => Scale::Times(10.0),
            Self::Milligray => Scale::Times(1.0),
            Self::Microgray => Scale::Per(1_000.0),
        }
    }

    /// The unit of that UCUM code.
    #[must_use]
    pub fn of_ucum(code: &str) -> Option<Self> {
        Some(match code {
            "Gy" => Self::Gray,
            "cGy" => Self::Centigray,
            "mGy" => Self::Milligray,
            "uGy" => Self::Microgray,
            _ => return None,
        })
    }

    /// The unit as a reader writes it.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Gray => "Gy",
            Self::Centigray => "cGy",
            Self::Milligray => "mGy",
            Self::Microgray => "µGy",
        }
    }
}

impl Milligray {
    /// What a figure in that unit is in mGy.
    #[must_use]
    pub fn of(value: f64, unit: AirKermaUnit) -> Self {
        Self(unit.milligray().to_base(value))
    }

    /// The figure in that unit.
    #[must_use]
    pub fn in_unit(self, unit: AirKermaUnit) -> f64 {
        unit.milligray().of_base(self.0)
    }
}

impl Seconds {
    /// Of minutes, decimal: 1.5 is a minute and a half.
    #[must_use]
    pub fn of_minutes(minutes: f64) -> Self {
        Self(minutes * 60.0)
    }

    /// Of milliseconds.
    #[must_use]
    pub fn of_milliseconds(ms: f64) -> Self {
        Self(ms / 1_000.0)
    }

    /// Of a console's reading in minutes and seconds, "min:s"; `seconds` below 60.
    #[must_use]
    pub fn of_min_s(minutes: u32, seconds: f64) -> Option<Self> {
        (0.0..60.0).contains(&seconds).then(|| Self(f64::from(minutes) * 60.0 + seconds))
    }

    /// Minutes, decimal.
    #[must_use]
    pub fn minutes(self) -> f64 {
        self.0 / 60.0
    }
}

/// A factor that is exact: a whole number to multiply or to divide by.
#[derive(Clone, Copy)]
enum Scale {
    Times(f64),
    Per(f64),
}

impl Scale {
    fn to_base(self, value: f64) -> f64 {
        match self {
            Self::Times(factor) => value * factor,
            Self::Per(factor) => value / factor,
        }
    }

    fn of_base(self, value: f64) -> f64 {
        match self {
            Self::Times(factor) => value / factor,
            Self::Per(factor) => value * factor,
        }
    }
}

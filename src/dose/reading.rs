//! What a console showed at one of the named moments, in whichever unit it shows.

use crate::units::{AirKermaUnit, GrayCm2, KermaAreaUnit, Milligray, Seconds};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where a figure comes from. It never travels without this.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// Read from the machine's console by somebody.
    Console,
    /// From the machine's own report.
    Report,
    /// Computed here.
    Estimate,
}

impl Source {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Console => "console",
            Self::Report => "report",
            Self::Estimate => "estimate",
        }
    }
}

/// When a console is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Moment {
    Opening,
    AfterScouts,
    AfterPins,
    AfterImplants,
    End,
}

impl Moment {
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Opening => "at opening",
            Self::AfterScouts => "after the scouts",
            Self::AfterPins => "after the pins",
            Self::AfterImplants => "after the implants",
            Self::End => "at the end",
        }
    }
}

/// A kerma-area product as a console shows it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShownKermaArea {
    pub value: f64,
    pub unit: KermaAreaUnit,
}

impl ShownKermaArea {
    #[must_use]
    pub fn quantity(self) -> GrayCm2 {
        GrayCm2::of(self.value, self.unit)
    }
}

/// An air kerma as a console shows it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShownAirKerma {
    pub value: f64,
    pub unit: AirKermaUnit,
}

impl ShownAirKerma {
    #[must_use]
    pub fn quantity(self) -> Milligray {
        Milligray::of(self.value, self.unit)
    }
}

/// Running totals of one machine at one moment. What the console does not show is `None`, never zero.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// The machine as the room calls it.
    pub machine: String,
    pub moment: Moment,
    /// When it was read, milliseconds since the case was opened.
    pub at_ms: u64,
    pub source: Source,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kerma_area_product: Option<ShownKermaArea>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_air_kerma: Option<ShownAirKerma>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluoroscopy_time: Option<Seconds>,
    /// Exposures as the machine counts them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shots: Option<u32>,
    /// Somebody was asked about an implausible figure, looked again, and said that it stands so on the console.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub confirmed: bool,
}

impl Reading {
    /// The figures in the units of this program.
    #[must_use]
    pub fn figures(&self) -> Figures {
        Figures {
            kerma_area_product: self.kerma_area_product.map(ShownKermaArea::quantity),
            reference_air_kerma: self.reference_air_kerma.map(ShownAirKerma::quantity),
            fluoroscopy_time: self.fluoroscopy_time,
            shots: self.shots,
        }
    }
}

/// What a case or a part of it cost, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Figures {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kerma_area_product: Option<GrayCm2>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_air_kerma: Option<Milligray>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluoroscopy_time: Option<Seconds>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shots: Option<u32>,
}

impl Figures {
    /// Figure by figure; what one side does not know the sum does not know.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self {
            kerma_area_product: self.kerma_area_product.zip(other.kerma_area_product).map(|(a, b)| a + b),
            reference_air_kerma: self.reference_air_kerma.zip(other.reference_air_kerma).map(|(a, b)| a + b),
            fluoroscopy_time: self.fluoroscopy_time.zip(other.fluoroscopy_time).map(|(a, b)| a + b),
            shots: self.shots.zip(other.shots).map(|(a, b)| a.saturating_add(b)),
        }
    }
}

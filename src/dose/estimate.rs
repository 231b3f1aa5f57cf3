//! Effective dose, named as what it is: an average over a population, from a coefficient set that is named with it.
//!
//! What it deliberately does not do: no risk, no individual dose, no range across sets (ICRP 60 and ICRP 103 are
//! different quantities), no dose to the skin. The sets are data in `coefficients.json`.

use super::{Entrance, Figures};
use crate::strict_json::{self, ReadError};
use crate::units::{AirKermaUnit, GrayCm2, Milligray, Millisieverts};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Version of the data's form.
const FORMAT: u32 = 1;
/// Largest file of coefficients accepted, bytes.
pub const COEFFICIENTS_MAX_BYTES: u64 = 64 << 10;
const BUILT_IN: &[u8] = include_bytes!("coefficients.json");
/// The set in force if a site names no other.
pub const DEFAULT_SET: &str = "icrp-103";
/// Below this nothing is said about the skin.
///
/// Source: skin dose needs backscatter, table, reference point and overlap of fields; reactions are not seen below
/// 2 Gy (Balter 2010), half of which leaves room for those.
pub const SKIN_SILENT_BELOW: Milligray = Milligray(1_000.0);

/// Coefficient sets that come with the program or that a site keeps.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DoseCoefficients {
    /// Version of the form, 1.
    pub brimline_dose_coefficients: u32,
    pub sets: Vec<CoefficientSet>,
}

/// One publication's coefficients.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CoefficientSet {
    pub id: String,
    pub title: String,
    pub source: String,
    /// Not checked against the publication's own text: marked so wherever it is used, until a site confirms it.
    pub from_memory: bool,
    #[serde(rename = "use")]
    pub meant_for: MeantFor,
    pub coefficients: Vec<Coefficient>,
}

/// What a set is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MeantFor {
    Estimate,
    /// To read older papers; never to estimate a case.
    ReadingOldLiterature,
}

/// Effective dose per kerma-area product for a beam that enters there.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coefficient {
    pub entrance: Entrance,
    pub msv_per_gy_cm2: f64,
}

/// An estimated effective dose.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EffectiveDose {
    /// Of what has a coefficient.
    pub value: Millisieverts,
    /// Id of the coefficient set.
    pub set: String,
    /// The coefficients stand from memory and no site has confirmed them.
    pub from_memory: bool,
    /// Kerma-area product that this set has no coefficient for, left out of `value`.
    pub left_out: GrayCm2,
}

/// Why there is no estimate.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EstimateError {
    #[error("no coefficient set \"{0}\"")]
    NoSet(String),
    #[error("the coefficient set \"{0}\" is for reading older papers, not for estimating")]
    NotForEstimates(String),
    #[error("the coefficient set \"{0}\" has no coefficient for any of these beams")]
    NoCoefficient(String),
}

impl DoseCoefficients {
    /// The sets that come with the program.
    #[must_use]
    pub fn built_in() -> Self {
        Self::read(BUILT_IN).expect("the built-in coefficients are held by a test")
    }

    /// Reads coefficient sets.
    ///
    /// # Errors
    /// [`ReadError`] names the place; a coefficient lies above 0 and below 5 mSv per Gy·cm².
    pub fn read(bytes: &[u8]) -> Result<Self, ReadError> {
        let read: Self = strict_json::read(bytes, "brimline_dose_coefficients", FORMAT, COEFFICIENTS_MAX_BYTES)?;
        for (number, set) in read.sets.iter().enumerate() {
            for (at, one) in set.coefficients.iter().enumerate() {
                if !(one.msv_per_gy_cm2 > 0.0 && one.msv_per_gy_cm2 < 5.0) {
                    return Err(ReadError::Content {
                        place: format!("sets[{number}].coefficients[{at}].msv_per_gy_cm2"),
                        reason: "above 0 and below 5".to_owned(),
                    });
                }
            }
        }
        Ok(read)
    }

    /// The set of that id.
    #[must_use]
    pub fn set(&self, id: &str) -> Option<&CoefficientSet> {
        self.sets.iter().find(|set| set.id == id)
    }

    /// Effective dose of parts of a case, each with where its beam entered. `confirmed`: ids of the sets that the
    /// site has checked against the publication.
    ///
    /// # Errors
    /// [`EstimateError`].
    pub fn effective_dose(
        &self,
        id: &str,
        parts: &[(GrayCm2, Entrance)],
        confirmed: &[String],
    ) -> Result<EffectiveDose, EstimateError> {
        let set = self.set(id).ok_or_else(|| EstimateError::NoSet(id.to_owned()))?;
        if set.meant_for != MeantFor::Estimate {
            return Err(EstimateError::NotForEstimates(id.to_owned()));
        }
        let (mut value, mut left_out, mut any) = (Millisieverts(0.0), GrayCm2(0.0), parts.is_empty());
        for (area, entrance) in parts {
            match set.coefficients.iter().find(|one| one.entrance == *entrance) {
                Some(one) => {
                    value = value + Millisieverts(area.0 * one.msv_per_gy_cm2);
                    any = true;
                }
                None => left_out = left_out + *area,
            }
        }
        let from_memory = set.from_memory && !confirmed.iter().any(|one| one == id);
        let dose = EffectiveDose { value, set: id.to_owned(), from_memory, left_out };
        any.then_some(dose).ok_or_else(|| EstimateError::NoCoefficient(id.to_owned()))
    }
}

impl EffectiveDose {
    /// The words on the screen.
    #[must_use]
    pub fn words(&self) -> String {
        let set = match self.set.as_str() {
            "icrp-103" => "ICRP 103",
            other => other,
        };
        let left_out = if self.left_out.0 > 0.0 {
            format!("; without {:.2} Gy·cm² that no coefficient is known for", self.left_out.0)
        } else {
            String::new()
        };
        let memory = if self.from_memory { "; coefficients from memory, not confirmed by this site" } else { "" };
        let value = self.value.0;
        format!("about {value:.2} mSv effective dose by {set}: population average, not this patient{left_out}{memory}")
    }
}

/// What is said about the skin: nothing below 1 Gy of reference air kerma, and never a number.
#[must_use]
pub fn skin_words(figures: &Figures) -> Option<String> {
    let kerma = figures.reference_air_kerma.filter(|kerma| *kerma >= SKIN_SILENT_BELOW)?;
    let gray = kerma.in_unit(AirKermaUnit::Gray);
    Some(format!("Reference air kerma {gray:.1} Gy: a medical physicist estimates the skin dose."))
}

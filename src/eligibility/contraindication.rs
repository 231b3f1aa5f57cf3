//! What stands against surgery: the union of what the policies name.
//!
//! Source: payer guideline CMM-611, read in its summary; severe osteoporosis, pregnancy, allergy and a sacrum without
//! corridor are from memory. Each is shown; none of them stops anything here.

use super::Facts;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One thing that stands against surgery.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Contraindication {
    ShortHistory,
    ActiveInfection,
    Tumour,
    AcuteFracture,
    SystemicInflammatoryArthropathy,
    GeneralisedPainDisorder,
    NeuralCompression,
    UnmanagedPsychiatricOrSubstance,
    BilateralSameDay,
    SevereOsteoporosis,
    Pregnancy,
    ImplantMetalAllergy,
    NoCorridor,
}

impl Contraindication {
    pub const ALL: [Self; 13] = [
        Self::ShortHistory,
        Self::ActiveInfection,
        Self::Tumour,
        Self::AcuteFracture,
        Self::SystemicInflammatoryArthropathy,
        Self::GeneralisedPainDisorder,
        Self::NeuralCompression,
        Self::UnmanagedPsychiatricOrSubstance,
        Self::BilateralSameDay,
        Self::SevereOsteoporosis,
        Self::Pregnancy,
        Self::ImplantMetalAllergy,
        Self::NoCorridor,
    ];

    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::ShortHistory => "symptoms for less than 6 months",
            Self::ActiveInfection => "active infection",
            Self::Tumour => "tumour",
            Self::AcuteFracture => "acute fracture",
            Self::SystemicInflammatoryArthropathy => "systemic inflammatory arthropathy",
            Self::GeneralisedPainDisorder => "generalised pain disorder",
            Self::NeuralCompression => "neural compression or radiculopathy as the cause",
            Self::UnmanagedPsychiatricOrSubstance => "unmanaged psychiatric illness or substance use",
            Self::BilateralSameDay => "both sides on the same day (a payer's rule)",
            Self::SevereOsteoporosis => "severe osteoporosis",
            Self::Pregnancy => "pregnancy",
            Self::ImplantMetalAllergy => "allergy to the implant's metal",
            Self::NoCorridor => "no bony corridor for an implant",
        }
    }

    #[must_use]
    pub fn from_memory(self) -> bool {
        matches!(self, Self::SevereOsteoporosis | Self::Pregnancy | Self::ImplantMetalAllergy | Self::NoCorridor)
    }
}

/// Whether it stands against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    Present,
    Absent,
    NotAsked,
}

/// One contraindication, looked up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Against {
    pub what: Contraindication,
    pub standing: Standing,
}

/// Months of symptoms below which the history is short. Source: payer guideline CMM-611, summary.
const HISTORY_MONTHS: f64 = 6.0;

/// Every contraindication with what is known of it; what was stated comes before what follows from another fact.
pub(super) fn against(facts: &Facts) -> Vec<Against> {
    let standing = |what: Contraindication| {
        let derived = match what {
            Contraindication::ShortHistory => facts.symptom_months.map(|months| months < HISTORY_MONTHS),
            Contraindication::BilateralSameDay => facts.bilateral_same_day,
            _ => None,
        };
        match facts.contraindications.get(&what).copied().or(derived) {
            Some(true) => Standing::Present,
            Some(false) => Standing::Absent,
            None => Standing::NotAsked,
        }
    };
    Contraindication::ALL.into_iter().map(|what| Against { what, standing: standing(what) }).collect()
}

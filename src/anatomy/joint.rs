//! The sacroiliac joint's own angles at some heights, as measured on the plan's pictures: it twists from head to foot.
//!
//! What it does not do: it judges no pin; a height of which something is missing says nothing.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where along the joint, in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum JointLevel {
    Lower,
    Middle,
    Upper,
}

impl JointLevel {
    pub const ALL: [Self; 3] = [Self::Lower, Self::Middle, Self::Upper];

    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Lower => "lower",
            Self::Middle => "middle",
            Self::Upper => "upper",
        }
    }
}

/// The joint at one height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JointAt {
    pub level: JointLevel,
    /// Above the centre of the S1 superior endplate, mm; negative below it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<f64>,
    /// Positive with the front edge farther lateral, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axial_deg: Option<f64>,
    /// Positive with the cranial edge farther lateral, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coronal_deg: Option<f64>,
}

impl JointAt {
    /// A height of which nothing is known yet.
    #[must_use]
    pub fn empty(level: JointLevel) -> Self {
        Self { level, height_mm: None, axial_deg: None, coronal_deg: None }
    }

    /// Height, axial and coronal angle, where all three are known.
    #[must_use]
    pub fn whole(&self) -> Option<[f64; 3]> {
        Some([self.height_mm?, self.axial_deg?, self.coronal_deg?])
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.height_mm.is_none() && self.axial_deg.is_none() && self.coronal_deg.is_none()
    }
}

//! Where a step happens: once a case, once a side, or once an implant.

use super::StepId;
use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// How often a step is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Scope {
    /// Once in the case.
    #[default]
    Case,
    /// Once for each operated side.
    Side,
    /// Once for each implant of each operated side.
    Implant,
}

/// Number of an implant on its side, counted from 1 in the order they were planned or added.
pub type ImplantNumber = u8;

/// One step at one side and implant: where a check is answered and a shot is counted.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Place {
    pub step: StepId,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub implant: Option<ImplantNumber>,
}

impl Place {
    #[must_use]
    pub fn of_case(step: &str) -> Self {
        Self { step: step.to_owned(), side: None, implant: None }
    }

    #[must_use]
    pub fn of_side(step: &str, side: Side) -> Self {
        Self { step: step.to_owned(), side: Some(side), implant: None }
    }

    #[must_use]
    pub fn of_implant(step: &str, side: Side, implant: ImplantNumber) -> Self {
        Self { step: step.to_owned(), side: Some(side), implant: Some(implant) }
    }

    /// Whether the two concern the same side and implant, an unnamed one concerning all.
    #[must_use]
    pub fn concerns(&self, other: &Self) -> bool {
        let side = self.side.is_none() || other.side.is_none() || self.side == other.side;
        let implant = self.implant.is_none() || other.implant.is_none() || self.implant == other.implant;
        side && implant
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.step)?;
        if let Some(side) = self.side {
            write!(f, ", {side}")?;
        }
        if let Some(implant) = self.implant {
            write!(f, ", implant {implant}")?;
        }
        Ok(())
    }
}

//! When a step, a check or a caution applies. Structured, no expression language.

use super::CheckId;
use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Which operation is planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Procedure {
    Primary,
    Revision,
}

/// The antibiotic before incision, by how long before it must start.
///
/// Source: 60 minutes, 120 for vancomycin or a fluoroquinolone: common practice of surgical prophylaxis
/// guidelines, from memory; a site's policy decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum AntibioticCover {
    /// Given within 60 minutes before the incision.
    Standard,
    /// Vancomycin or a fluoroquinolone: begun within 120 minutes before the incision.
    LongInfusion,
    /// Held back until deep samples are taken, in a revision.
    WithheldForCultures,
}

/// What the plan says that conditions can ask. A side's own facts are asked at that side's places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Facts {
    pub procedure: Procedure,
    pub sides: Vec<Side>,
    /// Sides whose sacrum is dysmorphic, or not known to be normal.
    pub dysmorphic: Vec<Side>,
    pub nerves_monitored: bool,
    pub antibiotic: AntibioticCover,
    /// The implant system used compresses the joint.
    pub compressing: bool,
    /// A lumbosacral transitional vertebra was seen or not excluded.
    pub transitional: bool,
}

/// All members given must hold. An answer not yet given does not hold.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Condition {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub procedure: Option<Procedure>,
    /// The sacrum of this place's side (any operated side, at a place of the whole case).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dysmorphic: Option<bool>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bilateral: Option<bool>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nerves_monitored: Option<bool>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub antibiotic: Option<AntibioticCover>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compressing: Option<bool>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub transitional: Option<bool>,
    /// Choice checks and the option they must have been answered with, at a place that concerns this one.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub answers: BTreeMap<CheckId, String>,
}

impl Condition {
    /// Whether the plan's part of the condition holds at `side` (`None`: the whole case).
    #[must_use]
    pub fn holds_in_plan(&self, facts: &Facts, side: Option<Side>) -> bool {
        let dysmorphic = match side {
            Some(side) => facts.dysmorphic.contains(&side),
            None => !facts.dysmorphic.is_empty(),
        };
        asks(self.procedure, facts.procedure)
            && asks(self.dysmorphic, dysmorphic)
            && asks(self.bilateral, facts.sides.len() > 1)
            && asks(self.nerves_monitored, facts.nerves_monitored)
            && asks(self.antibiotic, facts.antibiotic)
            && asks(self.compressing, facts.compressing)
            && asks(self.transitional, facts.transitional)
    }
}

/// A member left out asks nothing.
fn asks<T: PartialEq + Copy>(wanted: Option<T>, is: T) -> bool {
    wanted.is_none_or(|wanted| wanted == is)
}

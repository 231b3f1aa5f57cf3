//! The published policies as data.

use super::{Kind, Rule};
use serde::Deserialize;
use std::sync::LazyLock;

/// How sure a threshold is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sure {
    /// Read in the source's own words.
    Read,
    /// Read there, but not the whole passage.
    ReadInPart,
    /// Read in a source that quotes the original.
    Quoted,
    /// From memory, firm.
    FromMemory,
    /// From memory, not firm: decides nothing until a site confirms it.
    Unsure,
}

impl Sure {
    /// Whether the threshold may decide anything without a site's word.
    #[must_use]
    pub fn decides(self) -> bool {
        self != Self::Unsure
    }

    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Read => "read in the source",
            Self::ReadInPart => "read in the source in part",
            Self::Quoted => "read in a source that quotes it",
            Self::FromMemory => "from memory",
            Self::Unsure => "from memory, not firm",
        }
    }
}

/// One policy.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Policy {
    /// Stands in plans and never changes.
    pub id: String,
    pub name: String,
    pub source: String,
    /// What a reader must know before using it.
    pub notes: Vec<String>,
    pub criteria: Vec<Criterion>,
}

/// One criterion of one policy.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Criterion {
    pub rule: Rule,
    pub sure: Sure,
    #[serde(default)]
    pub note: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    policies: Vec<Policy>,
}

static POLICIES: LazyLock<Vec<Policy>> = LazyLock::new(|| {
    let document: Document =
        serde_json::from_str(include_str!("policies.json")).expect("the built-in policies are well-formed");
    document.policies
});

/// Every built-in policy.
#[must_use]
pub fn policies() -> &'static [Policy] {
    &POLICIES
}

/// The policy of that identifier.
#[must_use]
pub fn policy(id: &str) -> Option<&'static Policy> {
    policies().iter().find(|policy| policy.id == id)
}

impl Policy {
    /// The criterion of that kind, if the policy asks it.
    #[must_use]
    pub fn criterion(&self, kind: Kind) -> Option<&Criterion> {
        self.criteria.iter().find(|criterion| criterion.rule.kind() == kind)
    }
}

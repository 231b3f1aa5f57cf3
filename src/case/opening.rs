//! The first event of a case.

use super::Exercise;
use crate::dose::DoseConfigured;
use crate::people::{PersonId, Role};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The journal format this program writes and the newest it reads.
pub const FORMAT: u32 = 1;

/// Line 1 of a journal: what the case is made of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Format version of the journal, 1.
    pub brimline_journal: u32,
    /// Version of the program that opened it.
    pub program: String,
    pub kind: CaseKind,
    /// What a rehearsal on the synthetic machine rehearses; a live case has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exercise: Option<Exercise>,
    /// Random identifier of the case (UUID v4): it encodes no time.
    pub case: String,
    pub pathway: String,
    pub pathway_version: String,
    /// Lower-case hex SHA-256 of the bytes of `pathway.json`.
    pub pathway_digest: String,
    /// Lower-case hex SHA-256 of the bytes of `plan.json`.
    pub plan_digest: String,
    /// 256 random bits, hex, never exported: the record's chain value cannot be guessed from likely contents.
    pub nonce: String,
    /// The site's name, if settings give one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    pub team: BTreeMap<Role, PersonId>,
    pub configured: Configured,
    /// The damaged journal this one continues, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub continues: Option<Continues>,
}

/// The last good line of a journal that was damaged behind it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Continues {
    pub seq: u64,
    pub sum: String,
}

/// Whether it is an operation or an exercise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CaseKind {
    Live,
    Rehearsal,
}

/// The limits in force for this case.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Configured {
    /// Answers within this many milliseconds of each other are a burst. Common practice, no source.
    pub burst_ms: u64,
    /// From this many answers on.
    pub burst_answers: u32,
    /// An answer this long after its step was left is late, milliseconds. Common practice, no source.
    pub late_ms: u64,
    /// Sets of coefficients and levels for the dose.
    #[serde(default)]
    pub dose: DoseConfigured,
}

impl Default for Configured {
    fn default() -> Self {
        Self { burst_ms: 2_000, burst_answers: 3, late_ms: 300_000, dose: DoseConfigured::default() }
    }
}

//! Qualitative signs of a dysmorphic upper sacrum, by one reader or two.
//!
//! Source: Miller and Routt, J Am Acad Orthop Surg 2012;20:8. Readers agree on them poorly: kappa 0.26 to 0.59, agreement
//! 70 to 81 % (Kaiser et al., J Bone Joint Surg Am 2014;96:e120, who used five). So nothing follows from a count here.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Sign {
    ColinearWithCrests,
    MammillaryBodies,
    MisshapenForamina,
    ResidualDisc,
    AcuteAlarSlope,
    TongueInGroove,
    AlarIndentation,
}

impl Sign {
    pub const ALL: [Self; 7] = [
        Self::ColinearWithCrests,
        Self::MammillaryBodies,
        Self::MisshapenForamina,
        Self::ResidualDisc,
        Self::AcuteAlarSlope,
        Self::TongueInGroove,
        Self::AlarIndentation,
    ];

    /// What is seen, and where.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::ColinearWithCrests => "upper sacrum level with the iliac crests on the outlet",
            Self::MammillaryBodies => "mammillary bodies",
            Self::MisshapenForamina => "upper anterior foramina large, misshapen, not round",
            Self::ResidualDisc => "residual disc between S1 and S2",
            Self::AcuteAlarSlope => "acute alar slope on outlet and lateral",
            Self::TongueInGroove => "tongue-in-groove joint on CT",
            Self::AlarIndentation => "indented anterior alar cortex on the inlet",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    Present,
    Absent,
    /// Looked for, and not clear.
    Unclear,
}

impl Seen {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Present => "present",
            Self::Absent => "absent",
            Self::Unclear => "unclear",
        }
    }
}

/// What one reader saw on one side; a sign that is missing here was not looked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reader {
    /// Who read, as the plan calls them; no patient identifier.
    pub reader: String,
    pub signs: BTreeMap<Sign, Seen>,
}

/// What readers say together.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Compared {
    pub readers: usize,
    /// Seen by everybody who looked; with one reader, by that one.
    pub present: Vec<Sign>,
    pub absent: Vec<Sign>,
    /// Everybody who looked found it unclear.
    pub unclear: Vec<Sign>,
    /// Looked for by two, who do not say the same.
    pub disagreed: Vec<(Sign, Seen, Seen)>,
    pub not_looked_for: Vec<Sign>,
}

/// Puts one reader or two together.
#[must_use]
pub fn compare(readers: &[Reader]) -> Compared {
    let mut compared = Compared { readers: readers.len(), ..Compared::default() };
    for sign in Sign::ALL {
        let seen: Vec<Seen> = readers.iter().filter_map(|reader| reader.signs.get(&sign).copied()).collect();
        match seen[..] {
            [] => compared.not_looked_for.push(sign),
            [first, second, ..] if first != second => compared.disagreed.push((sign, first, second)),
            [Seen::Present, ..] => compared.present.push(sign),
            [Seen::Absent, ..] => compared.absent.push(sign),
            [Seen::Unclear, ..] => compared.unclear.push(sign),
        }
    }
    compared
}

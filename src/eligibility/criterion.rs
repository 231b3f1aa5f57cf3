//! A criterion's rule, and what judging it found.

use super::{Care, Diagnosis, ImagingKind, ProvocationTest, Region};
use serde::{Deserialize, Serialize};

/// What a policy asks.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Rule {
    /// At least so many tests positive; with no list, of whichever were done.
    ProvocationTests {
        at_least: usize,
        of: Vec<ProvocationTest>,
    },
    FortinFinger {
        no_equal_tenderness_elsewhere: bool,
    },
    /// So many blocks, each with at least that relief.
    BlockRelief {
        at_least_percent: f64,
        blocks: usize,
    },
    FailedCare {
        at_least_months: f64,
        includes: Vec<Care>,
    },
    Imaging {
        wanted: Vec<StudyWanted>,
        #[serde(default)]
        at_most_months_old: Option<f64>,
    },
    OtherCausesExcluded,
    DiagnosisConfirmed {
        of: Vec<Diagnosis>,
    },
    SeverityScored,
    NicotineFree {
        cotinine_at_most_ng_per_ml: f64,
    },
    OneSideADay,
    NoGeneralisedPain,
    TrainedSurgeon,
    LateralTransarticular,
}

/// One study that must be at hand.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StudyWanted {
    pub any_of: Vec<ImagingKind>,
    pub region: Region,
}

/// The kinds of criteria, in the order they are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    ProvocationTests,
    FortinFinger,
    BlockRelief,
    FailedCare,
    Imaging,
    OtherCausesExcluded,
    DiagnosisConfirmed,
    SeverityScored,
    NicotineFree,
    OneSideADay,
    NoGeneralisedPain,
    TrainedSurgeon,
    LateralTransarticular,
}

impl Kind {
    pub const ALL: [Self; 13] = [
        Self::ProvocationTests,
        Self::FortinFinger,
        Self::BlockRelief,
        Self::FailedCare,
        Self::Imaging,
        Self::OtherCausesExcluded,
        Self::DiagnosisConfirmed,
        Self::SeverityScored,
        Self::NicotineFree,
        Self::OneSideADay,
        Self::NoGeneralisedPain,
        Self::TrainedSurgeon,
        Self::LateralTransarticular,
    ];

    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::ProvocationTests => "Provocation tests",
            Self::FortinFinger => "Fortin finger",
            Self::BlockRelief => "Relief by block",
            Self::FailedCare => "Failed non-operative care",
            Self::Imaging => "Imaging",
            Self::OtherCausesExcluded => "Other causes excluded",
            Self::DiagnosisConfirmed => "Diagnosis confirmed",
            Self::SeverityScored => "Severity scored",
            Self::NicotineFree => "Free of nicotine",
            Self::OneSideADay => "One side a day",
            Self::NoGeneralisedPain => "No generalised pain disorder",
            Self::TrainedSurgeon => "Trained surgeon with image guidance",
            Self::LateralTransarticular => "Lateral transarticular approach",
        }
    }
}

impl Rule {
    #[must_use]
    pub fn kind(&self) -> Kind {
        match self {
            Self::ProvocationTests { .. } => Kind::ProvocationTests,
            Self::FortinFinger { .. } => Kind::FortinFinger,
            Self::BlockRelief { .. } => Kind::BlockRelief,
            Self::FailedCare { .. } => Kind::FailedCare,
            Self::Imaging { .. } => Kind::Imaging,
            Self::OtherCausesExcluded => Kind::OtherCausesExcluded,
            Self::DiagnosisConfirmed { .. } => Kind::DiagnosisConfirmed,
            Self::SeverityScored => Kind::SeverityScored,
            Self::NicotineFree { .. } => Kind::NicotineFree,
            Self::OneSideADay => Kind::OneSideADay,
            Self::NoGeneralisedPain => Kind::NoGeneralisedPain,
            Self::TrainedSurgeon => Kind::TrainedSurgeon,
            Self::LateralTransarticular => Kind::LateralTransarticular,
        }
    }
}

/// What judging one criterion came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judged {
    Met,
    Unmet,
    /// Something is not known, or the threshold is not sure enough to decide.
    Unknown,
    /// This policy says nothing on it.
    NotAsked,
}

impl Judged {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::Unmet => "not met",
            Self::Unknown => "unknown",
            Self::NotAsked => "not asked",
        }
    }
}

/// One criterion, judged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    pub kind: Kind,
    pub judged: Judged,
    /// What was found.
    pub found: String,
    /// What the policy asks, and how sure that is; empty if it asks nothing.
    pub asked: String,
}

//! What is known of a patient, as a plan keeps it. What was not asked is absent, never "no".

use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use thiserror::Error;

use super::Contraindication;

/// Everything that a policy may ask.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Facts {
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sides: Vec<SideFacts>,
    /// Months of non-operative care without enough relief.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failed_care_months: Option<f64>,
    /// What that care was; absent if nobody asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub care: Option<Vec<Care>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub imaging: Option<Vec<Imaging>>,
    /// Imaging and examination exclude other causes of the pain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub other_causes_excluded: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub diagnosis: Option<Diagnosis>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nicotine: Option<Nicotine>,
    /// Both sides are meant for the same day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bilateral_same_day: Option<bool>,
    /// Severity was scored, by a disability index or a pain scale.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub severity_scored: Option<bool>,
    /// The surgeon regularly uses image guidance and had training in the procedure.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub surgeon_trained: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub approach: Option<Approach>,
    /// Months since the pain began.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub symptom_months: Option<f64>,
    /// What stands against surgery: present or not; absent if nobody asked.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub contraindications: BTreeMap<Contraindication, bool>,
    /// Probability before the tests, from and to, percent; [`super::PRIOR_PERCENT`] if absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub prior_percent: Option<[f64; 2]>,
}

/// What is known of one side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SideFacts {
    pub side: Side,
    /// The tests done; a test that is missing here was not done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tests: Vec<TestDone>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fortin: Option<Fortin>,
    /// Diagnostic blocks of this joint, in the order they were given; absent if nobody asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blocks: Option<Vec<Block>>,
}

/// Provocation tests.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ProvocationTest {
    Distraction,
    Compression,
    ThighThrust,
    /// Flexion, abduction, external rotation; Patrick's test.
    Faber,
    /// With the hip of the painful side extended.
    Gaenslen,
    /// With the hip of the other side extended.
    GaenslenOther,
    SacralThrust,
    PosteriorProvocation,
}

impl ProvocationTest {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Distraction => "distraction",
            Self::Compression => "compression",
            Self::ThighThrust => "thigh thrust",
            Self::Faber => "FABER",
            Self::Gaenslen => "Gaenslen",
            Self::GaenslenOther => "Gaenslen, other side",
            Self::SacralThrust => "sacral thrust",
            Self::PosteriorProvocation => "posterior provocation",
        }
    }
}

/// One test done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TestDone {
    pub test: ProvocationTest,
    pub positive: bool,
}

/// Where one finger points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fortin {
    /// The finger points to the sacral sulcus below the posterior superior spine, which is tender.
    pub positive: bool,
    /// Somewhere else is as tender; absent if nobody asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub equal_tenderness_elsewhere: Option<bool>,
}

/// One block of the joint.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Block {
    /// Share of the pain relieved, percent, 0 to 100.
    pub relief_percent: f64,
    /// Into the joint under an image; absent if nobody knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub image_guided: Option<bool>,
}

/// Non-operative care.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Care {
    Medication,
    ActivityModification,
    Bracing,
    ActiveExercise,
    HomeProgramme,
    ManualTherapy,
    Injection,
}

impl Care {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Medication => "medication",
            Self::ActivityModification => "activity modification",
            Self::Bracing => "bracing",
            Self::ActiveExercise => "active exercise",
            Self::HomeProgramme => "home programme",
            Self::ManualTherapy => "manual therapy",
            Self::Injection => "injection",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ImagingKind {
    PlainFilm,
    Ct,
    Mri,
}

impl ImagingKind {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::PlainFilm => "plain film",
            Self::Ct => "CT",
            Self::Mri => "MRI",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Region {
    SacroiliacJoint,
    LumbarSpine,
    Hip,
    Pelvis,
}

impl Region {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::SacroiliacJoint => "sacroiliac joint",
            Self::LumbarSpine => "lumbar spine",
            Self::Hip => "hip",
            Self::Pelvis => "pelvis",
        }
    }
}

/// One study at hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Imaging {
    pub kind: ImagingKind,
    pub regions: Vec<Region>,
    /// Months since it was taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub months_old: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Diagnosis {
    DegenerativeSacroiliitis,
    JointDisruption,
    Other,
}

impl Diagnosis {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::DegenerativeSacroiliitis => "degenerative sacroiliitis",
            Self::JointDisruption => "sacroiliac joint disruption",
            Self::Other => "another diagnosis",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Nicotine {
    /// By the patient's word.
    pub free: bool,
    /// In blood or urine as the laboratory gives it, ng/mL.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cotinine_ng_per_ml: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Approach {
    LateralTransarticular,
    Posterior,
    Other,
}

/// Why facts are refused.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FactsError {
    #[error("{place}: {value} is outside {from} to {to}")]
    OutOfRange { place: String, value: f64, from: f64, to: f64 },
    #[error("{place}: stands twice")]
    Twice { place: String },
    #[error("{place}: more than {max}")]
    TooMany { place: String, max: usize },
    #[error("prior_percent: the first may not be above the second")]
    PriorReversed,
}

/// Ten blocks and twenty studies are more than any patient brings; common practice, no source.
const BLOCKS_MAX: usize = 10;
const STUDIES_MAX: usize = 20;
/// A hundred years.
const MONTHS_MAX: f64 = 1_200.0;
/// Ten times what heavy smokers reach; from memory.
const COTININE_MAX: f64 = 10_000.0;

impl Facts {
    /// What is known of that side.
    #[must_use]
    pub fn side(&self, side: Side) -> Option<&SideFacts> {
        self.sides.iter().find(|facts| facts.side == side)
    }

    /// Judges every number and list.
    ///
    /// # Errors
    /// [`FactsError`] names the place below the facts.
    pub fn check(&self) -> Result<(), FactsError> {
        within("failed_care_months", self.failed_care_months, 0.0, MONTHS_MAX)?;
        within("symptom_months", self.symptom_months, 0.0, MONTHS_MAX)?;
        let cotinine = self.nicotine.and_then(|nicotine| nicotine.cotinine_ng_per_ml);
        within("nicotine.cotinine_ng_per_ml", cotinine, 0.0, COTININE_MAX)?;
        let studies = self.imaging.as_deref().unwrap_or_default();
        at_most("imaging", studies.len(), STUDIES_MAX)?;
        for (at, study) in studies.iter().enumerate() {
            within(&format!("imaging[{at}].months_old"), study.months_old, 0.0, MONTHS_MAX)?;
            at_most(&format!("imaging[{at}].regions"), study.regions.len(), STUDIES_MAX)?;
        }
        at_most("care", self.care.as_ref().map_or(0, Vec::len), STUDIES_MAX)?;
        if let Some([from, to]) = self.prior_percent {
            within("prior_percent[0]", Some(from), 0.0, 100.0)?;
            within("prior_percent[1]", Some(to), 0.0, 100.0)?;
            if from > to {
                return Err(FactsError::PriorReversed);
            }
        }
        self.check_sides()
    }

    fn check_sides(&self) -> Result<(), FactsError> {
        for (at, side) in self.sides.iter().enumerate() {
            let place = |member: &str| format!("sides[{at}].{member}");
            if self.sides[..at].iter().any(|earlier| earlier.side == side.side) {
                return Err(FactsError::Twice { place: place("side") });
            }
            for (number, done) in side.tests.iter().enumerate() {
                if side.tests[..number].iter().any(|earlier| earlier.test == done.test) {
                    return Err(FactsError::Twice { place: place(&format!("tests[{number}].test")) });
                }
            }
            let blocks = side.blocks.as_deref().unwrap_or_default();
            at_most(&place("blocks"), blocks.len(), BLOCKS_MAX)?;
            for (number, block) in blocks.iter().enumerate() {
                let place = place(&format!("blocks[{number}].relief_percent"));
                within(&place, Some(block.relief_percent), 0.0, 100.0)?;
            }
        }
        Ok(())
    }
}

fn within(place: &str, value: Option<f64>, from: f64, to: f64) -> Result<(), FactsError> {
    match value {
        Some(value) if !(from..=to).contains(&value) => {
            Err(FactsError::OutOfRange { place: place.to_owned(), value, from, to })
        }
        _ => Ok(()),
    }
}

fn at_most(place: &str, count: usize, max: usize) -> Result<(), FactsError> {
    if count > max { Err(FactsError::TooMany { place: place.to_owned(), max }) } else { Ok(()) }
}

//! Addenda: what became known after a record was signed. An addendum is a signed document of its own that names the
//! digest of the record's payload; the record itself never changes.

use super::canonical::{integer, is_digest};
use super::claim::Claim;
use super::disclosure::SD_ALG;
use super::payload::Who;
use super::signed::Document;
use super::{RecordError, Unsigned, UnsignedAddendum};
use crate::people::is_thumbprint;
use crate::ports::Randomness;
use crate::units::Side;
use serde::{Deserialize, Serialize};

/// The addendum format this program writes and the newest it reads.
const FORMAT: u32 = 1;

/// A late finding about one record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Addendum {
    /// Format version, 1.
    pub brimline_addendum: u32,
    #[serde(rename = "_sd_alg")]
    sd_alg: String,
    /// Lower-case hex SHA-256 of the record's payload.
    pub of: String,
    /// Milliseconds since the record's case was opened, by the wall clock.
    #[serde(with = "integer")]
    pub after_ms: u64,
    pub about: AddendumKind,
    pub signers: Vec<Who>,
    /// In the signers' own words.
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub note: Claim<String>,
}

/// What the addendum adds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum AddendumKind {
    /// The nerves examined in recovery.
    RecoveryExamination { findings: Vec<NerveFinding> },
    /// Something in the record is wrong; the note says what is right.
    Correction {
        /// Number of the journal's event that is corrected, as the record gives it.
        #[serde(with = "integer")]
        seq: u64,
    },
    /// A dose report that came after the case was closed.
    LateDoseReport {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kerma_area_product_gy_cm2: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reference_air_kerma_mgy: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        irradiation_events: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        fluoroscopy_s: Option<f64>,
    },
}

/// One nerve root of one side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NerveFinding {
    pub side: Side,
    pub root: NerveRoot,
    /// Muscle power from 0 to 5. Source: Medical Research Council scale, from memory.
    pub power: u8,
    pub sensation: Sensation,
}

/// The roots a pin can reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum NerveRoot {
    L5,
    S1,
}

/// Sensation against the baseline taken before the operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sensation {
    Unchanged,
    Reduced,
    Absent,
}

impl Document for Addendum {
    const TYPE: &'static str = "brimline-addendum+sd-jwt";
    const VERSION: &'static str = "brimline_addendum";
    const NEWEST: u32 = FORMAT;

    fn signers(&self) -> &[Who] {
        &self.signers
    }

    fn sd_alg(&self) -> &str {
        &self.sd_alg
    }
}

/// Highest grade of muscle power.
const POWER_MAX: u8 = 5;

/// Builds an addendum to the record with that payload digest.
///
/// # Errors
/// [`RecordError`] if the digest, a signer or a finding is not well formed.
pub fn addend(
    of: &str,
    after_ms: u64,
    about: AddendumKind,
    note: Option<String>,
    signers: Vec<Who>,
    random: &dyn Randomness,
) -> Result<UnsignedAddendum, RecordError> {
    if !is_digest(of) {
        return Err(RecordError::NotADigest { what: "of" });
    }
    if let Some(who) = signers.iter().find(|who| !is_thumbprint(&who.kid.0)) {
        return Err(RecordError::NotAThumbprint(who.kid.0.clone()));
    }
    if let AddendumKind::RecoveryExamination { findings } = &about
        && let Some(finding) = findings.iter().find(|finding| finding.power > POWER_MAX)
    {
        return Err(RecordError::Unwritable(format!("muscle power goes from 0 to {POWER_MAX}, not {}", finding.power)));
    }
    let sd_alg = SD_ALG.to_owned();
    let of = of.to_owned();
    let note = Claim::of(note);
    Unsigned::new(&Addendum { brimline_addendum: FORMAT, sd_alg, of, after_ms, about, signers, note }, random)
}

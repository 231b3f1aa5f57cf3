//! The payload of a record, as it reads once disclosed claims are put back.
//!
//! Times are relative to the opening of the case. Nothing outside the claims encodes a date or an identity.

use super::canonical::{integer, signed_integer};
use super::claim::Claim;
use super::findings::{MoveEntry, PinFindingEntry, ReAimEntry, ViewFindingEntry};
use super::place::{OverrideEntry, PlaceEntry};
use super::radiation::RadiationEntry;
use super::signed::Document;
use crate::case::{CaseKind, Configured, Elapsed, Exercise, Outcome};
use crate::pathway::{AntibioticCover, Place, Procedure};
use crate::people::{Actor, PersonId, Role};
use crate::plan::SacrumShape;
use crate::units::Side;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The record format this program writes and the newest it reads.
pub const FORMAT: u32 = 1;

/// Everything a record says of a case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// Format version, 1.
    pub brimline_record: u32,
    #[serde(rename = "_sd_alg")]
    pub(super) sd_alg: String,
    pub kind: CaseKind,
    /// What a rehearsal on the synthetic machine rehearsed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exercise: Option<Exercise>,
    pub outcome: Outcome,
    /// Version of the program that opened the case.
    pub program: String,
    pub pathway: PathwayName,
    pub plan: PlanDigest,
    pub patient: PatientClaims,
    pub configured: Configured,
    /// Gates passed by spoken word, in the order they were passed.
    pub overrides: Vec<OverrideEntry>,
    /// Every place of the case with its checks, in the order of the pathway.
    pub places: Vec<PlaceEntry>,
    /// View corrections given, in order; left out where there were none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub view_findings: Vec<ViewFindingEntry>,
    /// Pin findings, in order; left out where there were none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pin_findings: Vec<PinFindingEntry>,
    /// Re-aims of the plan, in order; left out where there were none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub re_aims: Vec<ReAimEntry>,
    /// Moves of patient or table that somebody entered, in order; left out where there were none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub moves: Vec<MoveEntry>,
    pub shots: Shots,
    /// Readings, settings, reports and images of the machine.
    #[serde(default, skip_serializing_if = "RadiationEntry::is_empty")]
    pub radiation: RadiationEntry,
    pub c_arm: CArm,
    /// Implants of each side, those added during the case included.
    pub implants: Vec<ImplantCount>,
    pub remarks: Vec<Remark>,
    pub stops: Vec<Reasoned>,
    pub pauses: Vec<Reasoned>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub incision: Option<Time>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closure: Option<Time>,
    /// How often the program was started again on the case.
    pub returns: u32,
    pub clock_jumps_ms: Vec<signed_integer::Signed>,
    /// Who held a role at the end, and everybody who held one before.
    pub team: Vec<StaffMember>,
    /// The last good line of a damaged journal that this case's journal continues.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub continues: Option<Closing>,
    pub closing: Closing,
    /// Whose signatures make the record complete, in the order they stand.
    pub signers: Vec<Who>,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub case_id: Claim<String>,
    /// RFC 3339, offset kept.
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub opened_at: Claim<String>,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub site: Claim<String>,
}

impl Record {
    /// Signers' roles that stand under one key, in pairs: their signatures are not independent of each other.
    #[must_use]
    pub fn signers_together(&self) -> Vec<(Role, Role)> {
        let pairs = self.signers.iter().enumerate();
        let pairs = pairs.flat_map(|(index, one)| self.signers[index + 1..].iter().map(move |other| (one, other)));
        pairs.filter(|(one, other)| one.kid == other.kid).map(|(one, other)| (one.role, other.role)).collect()
    }
}

impl Document for Record {
    const TYPE: &'static str = "brimline-record+sd-jwt";
    const VERSION: &'static str = "brimline_record";
    const NEWEST: u32 = FORMAT;

    fn signers(&self) -> &[Who] {
        &self.signers
    }

    fn sd_alg(&self) -> &str {
        &self.sd_alg
    }
}

/// A role and the thumbprint of who held it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Who {
    pub role: Role,
    pub kid: PersonId,
}

impl From<&Actor> for Who {
    fn from(actor: &Actor) -> Self {
        Self { role: actor.role, kid: actor.person.clone() }
    }
}

impl fmt::Display for Who {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.role, self.kid)
    }
}

/// Time since the case was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Time {
    #[serde(with = "integer")]
    pub ms: u64,
    /// A gap before it was measured by the wall clock alone.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_wall: bool,
}

impl From<Elapsed> for Time {
    fn from(elapsed: Elapsed) -> Self {
        Self { ms: elapsed.ms, by_wall: elapsed.by_wall }
    }
}

/// Which pathway was followed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PathwayName {
    pub id: String,
    pub version: String,
    /// Lower-case hex SHA-256 of the bytes of `pathway.json`.
    pub digest: String,
}

/// What was planned, in so far as it decides what is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanDigest {
    pub procedure: Procedure,
    pub sides: Vec<PlannedSide>,
    pub nerves_monitored: bool,
    pub antibiotic: AntibioticCover,
    pub compressing: bool,
    pub transitional: bool,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub label: Claim<String>,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub cautions: Claim<Vec<String>>,
    /// Of the bytes of `plan.json`, which holds the patient's name: a claim, since names can be guessed.
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub plan_digest: Claim<String>,
}

/// What was planned on one side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedSide {
    pub side: Side,
    pub sacrum: SacrumShape,
    pub implants: Vec<PlannedImplant>,
}

/// One planned implant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedImplant {
    pub diameter_mm: f64,
    pub length_mm: f64,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub level: Claim<String>,
}

/// Who was operated on: claims only.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PatientClaims {
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub patient_name: Claim<String>,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub patient_number: Claim<String>,
    /// Years.
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub patient_age: Claim<u8>,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub patient_weight_kg: Claim<f64>,
}

/// Shots of the case; a place's own stand with the place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shots {
    /// Corrections applied: the sum over the places.
    pub total: u32,
    pub run_seconds: f64,
    pub entries: Vec<ShotEntry>,
    pub corrections: Vec<Correction>,
    pub moved: Vec<MovedShots>,
}

/// One tap, read-out or run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShotEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    pub shots: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seconds: Option<f64>,
}

/// A correction of a place's count; both numbers are kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    pub from: u32,
    pub to: u32,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub reason: Claim<String>,
}

/// Shots taken over from another case (positive) or handed on (negative).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MovedShots {
    pub shots: signed_integer::Signed,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub other_case: Claim<String>,
}

/// The C-arm, as the room calls it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CArm {
    pub swaps: u32,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub c_arm_name: Claim<String>,
}

/// How many implants a side has.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ImplantCount {
    pub side: Side,
    pub implants: u8,
}

/// A note or a deviation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Remark {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    pub by: Who,
    pub deviation: bool,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub note: Claim<String>,
}

/// A stop or a pause.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reasoned {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub reason: Claim<String>,
}

/// Somebody who took part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StaffMember {
    pub role: Role,
    pub kid: PersonId,
    /// Held the role when the case ended.
    pub at_end: bool,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub staff_name: Claim<String>,
}

/// A line of a journal: its number and its chain value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Closing {
    #[serde(with = "integer")]
    pub seq: u64,
    /// Lower-case hex SHA-256.
    pub sum: String,
}

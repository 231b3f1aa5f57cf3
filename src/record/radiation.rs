//! Radiation in a record: readings, settings, reports and images of the machine, and what they come to.
//!
//! The machines stand as numbers, counted in the order they came in; what the room calls them is a claim. A reading that
//! answered a check stands here alone: this list is the only place of a figure that was read. What may never change:
//! the meaning of the members, and that nothing here encodes a date or an identity outside a claim.

use super::canonical::integer;
use super::claim::Claim;
use super::payload::{Time, Who};
use crate::case::{Case, LoggedReading, MachineSetting, Radiation, StatedPose};
use crate::dose::reconcile::Brief;
use crate::dose::{EffectiveDose, Figures, Finding, Moment, NoPose, Shown, SizeBand, Source};
use crate::pathway::Place;
use serde::{Deserialize, Serialize};

/// All of it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RadiationEntry {
    /// Band of the patient's size by which cases are compared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<SizeBand>,
    /// What the case cost, if anything is known of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub total: Option<TotalEntry>,
    /// Effective dose as a population average.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub effective_dose: Option<EffectiveDose>,
    pub machines: Vec<MachineEntry>,
    /// In the order they were taken.
    pub readings: Vec<ReadingEntry>,
    /// What in the readings asks for a second look; positions are those in `readings` that count.
    pub findings: Vec<Finding>,
    pub settings: Vec<SettingEntry>,
    pub reports: Vec<ReportEntry>,
    pub images: Vec<ImageEntry>,
}

/// What the case cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TotalEntry {
    pub source: Source,
    pub figures: Figures,
    /// A counter was set back meanwhile.
    pub at_least: bool,
}

/// A machine that was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineEntry {
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub c_arm_name: Claim<String>,
}

/// One reading of a console.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    /// When it was taken; a correction stands at the time of what it corrects.
    pub at: Time,
    pub by: Who,
    /// Position in `machines`.
    pub machine: u32,
    pub moment: Moment,
    pub shown: Shown,
    /// An implausible figure was looked at again and stands so on the console.
    pub confirmed: bool,
    /// Number of the event that corrected it: it counts no more.
    #[serde(default, with = "optional", skip_serializing_if = "Option::is_none")]
    pub replaced_by: Option<u64>,
}

/// A setting of the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SettingEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    pub setting: MachineSetting,
}

/// A dose report of the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReportEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub figures: Figures,
    pub events: u32,
    /// What its reader found missing or contradictory.
    pub faults: u32,
    /// A person said that it belongs to the case; otherwise patient number and time agreed.
    pub by_person: bool,
    /// A later report of the same study and machine stands for it.
    pub superseded: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reconciled: Option<Brief>,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub object_uid: Claim<String>,
}

/// An image of the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ImageEntry {
    #[serde(with = "integer")]
    pub seq: u64,
    pub at: Time,
    pub place: Place,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pose: Option<StatedPose>,
    /// Why there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_pose: Option<NoPose>,
    /// How many frames, where there is more than one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frames: Option<u32>,
    pub by_person: bool,
    #[serde(default, skip_serializing_if = "Claim::is_withheld")]
    pub object_uid: Claim<String>,
}

impl RadiationEntry {
    /// Whether it says nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

pub(super) fn radiation(case: &Case) -> RadiationEntry {
    let (radiation, configured) = (&case.state().radiation, &case.state().configured().dose);
    let machines = machines(radiation);
    let total = radiation.figures().map(|(figures, source, at_least)| TotalEntry { source, figures, at_least });
    RadiationEntry {
        size: case.plan().patient.size(),
        total,
        effective_dose: radiation.effective_dose(configured).and_then(Result::ok),
        readings: radiation.readings.iter().map(|one| reading(one, &machines)).collect(),
        findings: radiation.account().findings,
        settings: settings(radiation),
        reports: reports(radiation),
        images: images(radiation),
        machines: machines.into_iter().map(|name| MachineEntry { c_arm_name: Claim::of(Some(name)) }).collect(),
    }
}

/// Names in the order the machines came in.
fn machines(radiation: &Radiation) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for one in &radiation.readings {
        if !names.contains(&one.reading.machine) {
            names.push(one.reading.machine.clone());
        }
    }
    names
}

fn reading(one: &LoggedReading, machines: &[String]) -> ReadingEntry {
    let LoggedReading { seq, at, by, reading, replaced_by, .. } = one;
    let machine = machines.iter().position(|name| *name == reading.machine).unwrap_or_default();
    ReadingEntry {
        seq: *seq,
        at: Time { ms: reading.at_ms, by_wall: at.by_wall },
        by: Who::from(by),
        machine: u32::try_from(machine).unwrap_or(u32::MAX),
        moment: reading.moment,
        shown: Shown {
            kerma_area_product: reading.kerma_area_product,
            reference_air_kerma: reading.reference_air_kerma,
            fluoroscopy_time: reading.fluoroscopy_time,
            shots: reading.shots,
        },
        confirmed: reading.confirmed,
        replaced_by: *replaced_by,
    }
}

fn settings(radiation: &Radiation) -> Vec<SettingEntry> {
    let entry = |one: &crate::case::Logged<crate::case::MachineSet>| SettingEntry {
        seq: one.seq,
        at: one.at.into(),
        place: one.what.place.clone(),
        setting: one.what.setting,
    };
    radiation.settings.iter().map(entry).collect()
}

fn reports(radiation: &Radiation) -> Vec<ReportEntry> {
    let standing: Vec<u64> = radiation.standing_reports().iter().map(|one| one.seq).collect();
    let entry = |one: &crate::case::Logged<crate::case::JoinedReport>| ReportEntry {
        seq: one.seq,
        figures: one.what.figures,
        events: one.what.events,
        faults: one.what.faults,
        by_person: one.what.by_person,
        superseded: !standing.contains(&one.seq),
        reconciled: radiation.reconciled.get(&one.seq).map(|brief| brief.what.clone()),
        object_uid: Claim::of(one.what.uid.clone()),
    };
    radiation.reports.iter().map(entry).collect()
}

fn images(radiation: &Radiation) -> Vec<ImageEntry> {
    let entry = |one: &crate::case::Logged<crate::case::ReceivedImage>| ImageEntry {
        seq: one.seq,
        at: one.at.into(),
        place: one.what.place.clone(),
        pose: one.what.pose,
        no_pose: one.what.no_pose,
        frames: one.what.frames,
        by_person: one.what.by_person,
        object_uid: Claim::of(one.what.uid.clone()),
    };
    radiation.images.iter().map(entry).collect()
}

/// An optional count or number of an event, in the shape of every other one.
mod optional {
    use super::integer;
    use serde::{Deserialize, Deserializer, Serializer};

    #[allow(clippy::ref_option, reason = "the shape serde asks for")]
    pub fn serialize<S: Serializer>(value: &Option<u64>, serializer: S) -> Result<S::Ok, S::Error> {
        match value {
            Some(value) => integer::serialize(value, serializer),
            None => serializer.serialize_none(),
        }
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<u64>, D::Error> {
        #[derive(Deserialize)]
        struct Whole(#[serde(with = "integer")] u64);
        Ok(Option::<Whole>::deserialize(deserializer)?.map(|whole| whole.0))
    }
}

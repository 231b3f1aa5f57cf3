//! Radiation of a case: what consoles showed, how the machine was set, and what the machine's report added.
//!
//! One list of readings holds every figure that was read, whether it answered a check of the pathway or was entered
//! beside one. Nothing is refused for being implausible and nothing is dropped: a corrected reading stays and is marked.
//! What it does not do: it reads no report and lays no clocks on each other (`dose` does), and no figure here stops a
//! case.

mod apply;
mod decide;
mod estimate;
mod sum;

pub(super) use apply::{answered, apply, reopened};
pub(super) use decide::{decide, measured};

use super::Elapsed;
use crate::dose::reconcile::Brief;
use crate::dose::{Figures, MachineTime, Moment, NoPose, Reading, Shown};
use crate::pathway::{CheckId, Place};
use crate::people::Actor;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The machine where nobody named one.
pub const UNNAMED_MACHINE: &str = "C-arm";

/// A console was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConsoleRead {
    /// The machine as the room calls it.
    pub machine: String,
    pub moment: Moment,
    pub shown: Shown,
    /// Somebody was asked about an implausible figure, looked again, and said that it stands so.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub confirmed: bool,
    /// Number of the event whose reading was wrong; both are kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<u64>,
}

/// What of the machine was changed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "set", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum MachineSetting {
    /// Pulses per second.
    PulseRate { per_s: f64 },
    /// Without pulses.
    Continuous,
    /// 0: the whole field; each step a smaller one, enlarged.
    Magnification { step: u8 },
    /// The leaves drawn in on what is looked at, or opened again.
    Collimation { drawn_in: bool },
}

impl MachineSetting {
    /// Whether both set the same thing.
    #[must_use]
    pub fn same_thing(self, other: Self) -> bool {
        let thing = |setting| match setting {
            Self::PulseRate { .. } | Self::Continuous => 0,
            Self::Magnification { .. } => 1,
            Self::Collimation { .. } => 2,
        };
        thing(self) == thing(other)
    }

    /// In words.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::PulseRate { per_s } => format!("{per_s} pulses a second"),
            Self::Continuous => "continuous".to_owned(),
            Self::Magnification { step: 0 } => "whole field".to_owned(),
            Self::Magnification { step } => format!("magnified {step}"),
            Self::Collimation { drawn_in: true } => "drawn in".to_owned(),
            Self::Collimation { drawn_in: false } => "leaves open".to_owned(),
        }
    }
}

/// The machine was set, while the team was there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineSet {
    pub place: Place,
    pub setting: MachineSetting,
}

/// A dose report of the machine now belongs to the case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JoinedReport {
    /// Its file in the case's `reports` folder.
    pub file: String,
    /// Lower-case hex SHA-256 of that file.
    pub sha256: String,
    /// SOP Instance UID.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uid: Option<String>,
    /// Study and device, if it names both: a later report of the same stands for the earlier.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// Its totals, as it states them.
    pub figures: Figures,
    /// Irradiation events it lists.
    pub events: u32,
    /// What its reader found missing or contradictory.
    pub faults: u32,
    /// A person said that it belongs here; otherwise patient number and time agreed.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_person: bool,
}

/// A report's events were attributed to the steps of the case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reconciled {
    /// Number of the event that joined the report.
    pub report: u64,
    pub brief: Brief,
}

/// How the machine stood for an image, as its file states it: many mobile machines state room angles or none.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StatedPose {
    /// Positioner primary angle, degrees, positive toward the patient's left.
    pub primary_deg: f64,
    /// Positioner secondary angle, degrees, positive cranial.
    pub secondary_deg: f64,
}

/// An image of the machine now belongs to the case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReceivedImage {
    /// Where the team was when it came.
    pub place: Place,
    /// Its file in the case's `images` folder.
    pub file: String,
    /// Lower-case hex SHA-256 of that file.
    pub sha256: String,
    /// SOP Instance UID.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uid: Option<String>,
    /// When it was made, by the machine's clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub made: Option<MachineTime>,
    /// Of every one of its frames.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pose: Option<StatedPose>,
    /// Why there is no pose, where its file was asked for one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_pose: Option<NoPose>,
    /// How many frames, where there is more than one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frames: Option<u32>,
    /// A person said that it belongs here; otherwise patient number and time agreed.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_person: bool,
}

/// What concerns radiation and is asked of a case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum RadiationCommand {
    /// `machine`: the one of the case if left out.
    ReadConsole {
        moment: Moment,
        #[serde(default)]
        machine: Option<String>,
        shown: Shown,
        #[serde(default)]
        confirmed: bool,
        #[serde(default)]
        replaces: Option<u64>,
    },
    SetMachine {
        setting: MachineSetting,
    },
    /// The pedal was let go: the shot that event counted was a run.
    TimeShot {
        shot: u64,
        seconds: f64,
    },
    JoinReport {
        report: Box<JoinedReport>,
    },
    Reconcile {
        reconciled: Box<Reconciled>,
    },
    TakeImage {
        file: String,
        sha256: String,
        #[serde(default)]
        uid: Option<String>,
        #[serde(default)]
        made: Option<MachineTime>,
        #[serde(default)]
        pose: Option<StatedPose>,
        #[serde(default)]
        no_pose: Option<NoPose>,
        #[serde(default)]
        frames: Option<u32>,
        #[serde(default)]
        by_person: bool,
    },
}

/// A reading as the case holds it.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggedReading {
    pub seq: u64,
    pub at: Elapsed,
    pub by: Actor,
    pub reading: Reading,
    /// The check that it answered, if any.
    pub check: Option<(Place, CheckId)>,
    /// Number of the event that corrected it or reopened its check: it counts no more.
    pub replaced_by: Option<u64>,
}

/// Something of the radiation with when it was logged.
#[derive(Debug, Clone, PartialEq)]
pub struct Logged<T> {
    pub seq: u64,
    pub at: Elapsed,
    pub what: T,
}

/// Everything of the radiation that the events tell, shots aside.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Radiation {
    /// In the order they were taken.
    pub readings: Vec<LoggedReading>,
    pub settings: Vec<Logged<MachineSet>>,
    pub reports: Vec<Logged<JoinedReport>>,
    /// The latest reconciliation of each report, by the number of the event that joined it.
    pub reconciled: BTreeMap<u64, Logged<Brief>>,
    pub images: Vec<Logged<ReceivedImage>>,
}

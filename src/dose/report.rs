//! A dose report as plain data: what a reader of the machine's own report hands over, and what `dose read --json`
//! prints. No DICOM type, code or unit appears here; what the report left out is `None`, never zero.

use super::ReportFault;
use crate::units::{GrayCm2, Kilovolts, Milliamperes, Milligray, Seconds};
use chrono::{FixedOffset, NaiveDateTime};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The format this program writes and the newest it reads.
pub const FORMAT: u32 = 1;

/// The machine's report of one procedure, or of a part of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DoseReport {
    /// Format version, 1.
    pub brimline_dose_report: u32,
    pub kind: ReportKind,
    /// Identifies this report: SOP Instance UID.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uid: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub study_uid: Option<String>,
    /// What the totals are accumulated over, in the report's words ("Study", "Series", "Performed Procedure Step").
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scope: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scope_uid: Option<String>,
    /// The hospital's number of the patient as the machine has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub patient_number: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accession_number: Option<String>,
    /// When the report was written, by the machine's clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub written: Option<MachineTime>,
    /// Begin of what it covers, if it says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub covers_from: Option<MachineTime>,
    /// End of what it covers, if it says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub covers_to: Option<MachineTime>,
    pub device: Device,
    /// Accumulated totals, one entry a plane; empty if the report has none.
    #[serde(default)]
    pub planes: Vec<PlaneTotals>,
    /// In the report's order; empty if it holds totals alone.
    #[serde(default)]
    pub events: Vec<IrradiationEvent>,
    /// What its reader found missing or contradictory. The figures are kept as they were read.
    #[serde(default)]
    pub faults: Vec<ReportFault>,
}

/// What kind of object it came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ReportKind {
    /// X-Ray Radiation Dose SR, TID 10001.
    XRayRadiationDose,
    /// Enhanced X-Ray Radiation Dose SR, TID 10040.
    EnhancedXRayRadiationDose,
}

/// The machine.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Device {
    /// Device Observer UID: one machine, for as long as it lives.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uid: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub manufacturer: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub model: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
}

/// A date and time by the machine's clock, with its zone where the report names one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MachineTime {
    /// Local date and time, "2026-03-10T08:05:00" with a fraction where there is one.
    #[schemars(with = "String")]
    pub local: NaiveDateTime,
    /// Minutes to add to UTC for the local time; absent where neither the value nor the object names a zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset_min: Option<i16>,
}

impl MachineTime {
    /// Milliseconds since 1970-01-01 UTC, a missing zone taken as `assumed`.
    #[must_use]
    pub fn utc_ms(&self, assumed: FixedOffset) -> i64 {
        let offset_s = self.offset_min.map_or_else(|| assumed.local_minus_utc(), |minutes| i32::from(minutes) * 60);
        self.local.and_utc().timestamp_millis() - i64::from(offset_s) * 1_000
    }
}

/// Which X-ray plane of the machine.
///
/// Source: PS3.16 CID 10003.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Plane {
    Single,
    A,
    B,
    /// Totals over all planes together.
    All,
}

/// Accumulated totals of one plane.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaneTotals {
    /// `None` where the report does not say.
    pub plane: Option<Plane>,
    /// Kerma-area product in all, Gy·cm².
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kerma_area_product: Option<GrayCm2>,
    /// Reference air kerma in all, mGy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_air_kerma: Option<Milligray>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluoroscopy_kerma_area_product: Option<GrayCm2>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluoroscopy_air_kerma: Option<Milligray>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluoroscopy_time: Option<Seconds>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub acquisition_kerma_area_product: Option<GrayCm2>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub acquisition_air_kerma: Option<Milligray>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub acquisition_time: Option<Seconds>,
    /// Radiographic frames in all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frames: Option<u64>,
    /// Number of irradiation events, where the report states one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub events: Option<u64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_point: Option<ReferencePoint>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub calibrations: Vec<Calibration>,
}

/// Where the reference air kerma holds.
///
/// Source: PS3.16 CID 10025.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ReferencePoint {
    /// 15 cm from the isocentre toward the source.
    IsocentreTowardSource,
    /// 30 cm in front of the image input surface: the usual one of a C-arm on wheels.
    InFrontOfImageInput,
    /// 1 cm above the table top.
    AboveTableTop,
    /// 30 cm above the table top.
    #[serde(rename = "above-table-top-30-cm")]
    AboveTableTop30Cm,
    /// 15 cm from the table's centre line.
    FromTableCentreLine,
    /// Another code's meaning, or free text.
    Other(String),
}

/// A calibration of the dose display, as the report states it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Calibration {
    /// What the figures would have to be multiplied by; they are never multiplied here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub factor: Option<f64>,
    /// Percent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty_percent: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<MachineTime>,
}

/// One irradiation event: one actuation of the switch, however many pulses.
///
/// Source: PS3.16 TID 10003, 10003A, 10003B, 10003C.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct IrradiationEvent {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uid: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub started: Option<MachineTime>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plane: Option<Plane>,
    #[serde(default, rename = "type", skip_serializing_if = "Option::is_none")]
    pub event_type: Option<EventType>,
    /// The machine's own word for it: protocol or acquisition mode.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub protocol: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kerma_area_product: Option<GrayCm2>,
    /// At the reference point, mGy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_air_kerma: Option<Milligray>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_point: Option<ReferencePoint>,
    /// From the first to the last pulse.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duration: Option<Seconds>,
    /// Pulsed, if `Some(true)`; continuous, if `Some(false)`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pulsed: Option<bool>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pulses: Option<u64>,
    /// Pulses per second.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pulse_rate: Option<f64>,
    /// Mean width of a pulse, ms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pulse_width_ms: Option<f64>,
    /// Time the beam was on, ms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure_time_ms: Option<f64>,
    /// Mean over the pulses where the report gives several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tube_voltage: Option<Kilovolts>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tube_current: Option<Milliamperes>,
    /// Degrees, positive toward the patient's left, as the report states it; many mobile machines state room angles.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub primary_angle_deg: Option<f64>,
    /// Degrees, positive cranial.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub secondary_angle_deg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub primary_end_angle_deg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub secondary_end_angle_deg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub column_angle_deg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source_to_detector_mm: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source_to_isocentre_mm: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source_to_reference_point_mm: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source_to_table_mm: Option<f64>,
    /// Area of the collimated field at the detector, cm².
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub field_area_cm2: Option<f64>,
    /// Copper or aluminium in the beam, for instance "Cu 0.1 mm".
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub filters: Vec<String>,
    /// SOP Instance UIDs of saved images: a saved run is still one event.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub images: Vec<String>,
}

/// What kind of irradiation it was.
///
/// Source: PS3.16 CID 10002.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EventType {
    Fluoroscopy,
    StationaryAcquisition,
    SteppingAcquisition,
    RotationalAcquisition,
    /// Another code's meaning.
    Other(String),
}

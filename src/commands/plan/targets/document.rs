//! The document of `plan targets`: format 1, read strictly.
//!
//! What may never change: the meaning of format 1.

use crate::carm::clearance::{ArmProfile, Clearance, ClearanceError, TableAndPatient};
use crate::carm::{
    AimError, Angle, Arm, ImagePoint, Joints, LateralTouches, MachineScale, PelvicTurn, PictureSide, Placement,
    ProvenVertical, SacralLine, SacralMeasurements, TargetError, Tube, ViewTarget, view_targets,
};
use crate::commands::plan::setup::{AngleValue, Setup, judge_scale};
use crate::commands::plan::{DocumentError, MAX_BYTES, plausible};
use crate::settings::MachineSettings;
use crate::strict_json::{self, one_line};
use crate::units::{Degrees, Millimetres, Side};
use serde::Deserialize;
use thiserror::Error;

/// The format this program reads.
pub const FORMAT: u32 = 1;

/// The document.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    #[serde(rename = "brimline_targets")]
    _format: u32,
    arm: Setup,
    /// Where the image receptor goes for the lateral; left out: away from the stand.
    receptor: Option<Side>,
    #[serde(default)]
    measured: Measured,
    /// The machine's learnt scale, to say what its displays will read.
    scale: Option<MachineScale>,
    /// One true lateral on the table, to re-aim by.
    lateral: Option<Lateral>,
    clearance: Option<Around>,
}

/// Angles from the front-back line, supine, each positive in its own view's sense.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Measured {
    anterior_cortex: Option<AngleValue>,
    posterior_cortex: Option<AngleValue>,
    alar_surface: Option<AngleValue>,
    symphysis_over_s2: Option<AngleValue>,
    endplate: Option<AngleValue>,
    body_normal: Option<AngleValue>,
    #[serde(default)]
    turned_left_deg: f64,
    #[serde(default)]
    leaned_left_deg: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Lateral {
    /// Which planned line was touched.
    line: SacralLine,
    touched: [Touch; 2],
    vertical: Vertical,
    head: PictureSide,
    touch_sd_mm: f64,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
struct Touch {
    across_mm: f64,
    down_mm: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
enum Vertical {
    PlumbLine { above: Touch, below: Touch },
    TableEdge { one: Touch, other: Touch },
    ArmRoll { leans_right_deg: f64, sd_deg: f64 },
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(clippy::struct_field_names, reason = "in a document a number's name ends in its unit")]
struct Around {
    receptor_distance_mm: Option<f64>,
    receptor_half_width_mm: Option<f64>,
    tube_distance_mm: Option<f64>,
    tube_half_width_mm: Option<f64>,
    table_thickness_mm: Option<f64>,
    patient_thickness_mm: f64,
    half_width_mm: Option<f64>,
    isocentre_height_mm: f64,
}

/// A document that holds.
pub struct Read {
    arm: Arm,
    receptor: Side,
    measured: SacralMeasurements,
    scale: Option<MachineScale>,
    scale_note: Option<String>,
    lateral: Option<(Angle, LateralTouches)>,
    clearance: Option<(ArmProfile, TableAndPatient)>,
}

/// What is printed.
pub struct Answer {
    /// As re-aimed.
    pub arm: Arm,
    pub scale: Option<MachineScale>,
    /// Where the scale comes from, or why there is none, where the document has none of its own.
    pub scale_note: Option<String>,
    pub turn: Option<Angle>,
    pub targets: Vec<ViewTarget>,
    pub clearance: Option<Clearance>,
}

/// Why a document that holds has no answer.
#[derive(Debug, Error)]
pub enum Refused {
    #[error("lateral: {0}")]
    Aim(#[from] AimError),
    #[error("clearance: {0}")]
    Clearance(#[from] ClearanceError),
    #[error(transparent)]
    Target(#[from] TargetError),
}

/// Reads the document as it stands.
///
/// # Errors
/// [`DocumentError`] names the place.
pub fn read(bytes: &[u8]) -> Result<Read, DocumentError> {
    read_of_site(bytes, &MachineSettings::default())
}

/// Reads the document. What it leaves out of the machine comes from the site's settings, where they say it.
///
/// # Errors
/// [`DocumentError`] names the place.
pub fn read_of_site(bytes: &[u8], site: &MachineSettings) -> Result<Read, DocumentError> {
    let document: Document = strict_json::read(bytes, "brimline_targets", FORMAT, MAX_BYTES)?;
    let arm = document.arm.arm()?;
    let measured = document.measured.judge()?;
    if let Some(scale) = &document.scale {
        judge_scale(scale, &arm)?;
    }
    let lateral = document.lateral.map(|lateral| lateral.judge(&measured)).transpose()?;
    if lateral.is_some() && document.arm.turned_back_deg != 0.0 {
        let reason = "the lateral measures this turn; leave one of them out".to_owned();
        return Err(DocumentError::Contradiction { place: "arm.turned_back_deg", reason });
    }
    let away = match arm.stand {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
    };
    let receptor = document.receptor.unwrap_or(away);
    let clearance = document.clearance.map(|around| around.judge(site)).transpose()?;
    let (scale, scale_note) = match document.scale {
        Some(scale) => (Some(scale), None),
        None => of_site(site, &arm),
    };
    Ok(Read { arm, receptor, measured, scale, scale_note, lateral, clearance })
}

/// The scale that the site learnt, and a word on it; nothing of a site that learnt none.
fn of_site(site: &MachineSettings, arm: &Arm) -> (Option<MachineScale>, Option<String>) {
    let Some(scale) = MachineScale::of_site(site) else { return (None, None) };
    let machine = site.name.as_ref().map(|name| format!(" of {}", one_line(name))).unwrap_or_default();
    match scale.readings(arm, &Joints::default()) {
        Ok(_) => (Some(scale), Some(format!("Displays{machine} as the site learnt them."))),
        Err(fault) => (None, Some(format!("No displays{machine}: {fault}."))),
    }
}

impl Read {
    /// The targets as the document asks for them.
    ///
    /// # Errors
    /// [`Refused`] says what stands in the way.
    pub fn answer(&self) -> Result<Answer, Refused> {
        // A document speaks of one placement of the patient: what was touched in it holds for what is answered.
        let placement = Placement::first();
        let (mut arm, mut turn) = (self.arm, None);
        if let Some((planned, touched)) = &self.lateral {
            let measured = PelvicTurn::measure(self.arm.lying.position, *planned, touched, &placement)?;
            arm = measured.re_aim(&self.arm, &placement)?;
            turn = Some(measured.at(&placement)?);
        }
        let targets = view_targets(&self.measured, &arm, self.receptor)?;
        let under = arm.tube == Tube::Under;
        let clearance = self.clearance.map(|(profile, around)| Clearance::of(&profile, &around, under)).transpose()?;
        Ok(Answer { arm, scale: self.scale, scale_note: self.scale_note.clone(), turn, targets, clearance })
    }
}

impl Measured {
    fn judge(&self) -> Result<SacralMeasurements, DocumentError> {
        let angle = |name: &str, value: &Option<AngleValue>| {
            value.map(|value| value.judge(&format!("measured.{name}"), 0.0, 90.0)).transpose()
        };
        plausible("measured.turned_left_deg", self.turned_left_deg, -45.0, 45.0)?;
        plausible("measured.leaned_left_deg", self.leaned_left_deg, -45.0, 45.0)?;
        Ok(SacralMeasurements {
            anterior_cortex: angle("anterior_cortex", &self.anterior_cortex)?,
            posterior_cortex: angle("posterior_cortex", &self.posterior_cortex)?,
            alar_surface: angle("alar_surface", &self.alar_surface)?,
            symphysis_over_s2: angle("symphysis_over_s2", &self.symphysis_over_s2)?,
            endplate: angle("endplate", &self.endplate)?,
            body_normal: angle("body_normal", &self.body_normal)?,
            turned_left: Degrees(self.turned_left_deg),
            leaned_left: Degrees(self.leaned_left_deg),
        })
    }
}

impl Lateral {
    fn judge(self, measured: &SacralMeasurements) -> Result<(Angle, LateralTouches), DocumentError> {
        let Some(planned) = self.line.planned(measured) else {
            let reason = "the plan did not measure this line, so it shows no turn".to_owned();
            return Err(DocumentError::Contradiction { place: "lateral.line", reason });
        };
        plausible("lateral.touch_sd_mm", self.touch_sd_mm, 0.0, 20.0)?;
        let touch_sd = Millimetres(self.touch_sd_mm);
        let line = [self.touched[0].judge("lateral.touched[0]")?, self.touched[1].judge("lateral.touched[1]")?];
        let vertical = self.vertical.judge()?;
        Ok((planned, LateralTouches { line, vertical, head: self.head, touch_sd }))
    }
}

impl Touch {
    fn judge(self, place: &str) -> Result<ImagePoint, DocumentError> {
        plausible(format!("{place}.across_mm"), self.across_mm, -500.0, 500.0)?;
        plausible(format!("{place}.down_mm"), self.down_mm, -500.0, 500.0)?;
        Ok(ImagePoint { across_mm: self.across_mm, down_mm: self.down_mm })
    }
}

impl Vertical {
    fn judge(self) -> Result<ProvenVertical, DocumentError> {
        let place = |name: &str| format!("lateral.vertical.{name}");
        Ok(match self {
            Self::PlumbLine { above, below } => ProvenVertical::PlumbLine {
                above: above.judge(&place("plumb-line.above"))?,
                below: below.judge(&place("plumb-line.below"))?,
            },
            Self::TableEdge { one, other } => ProvenVertical::TableEdge {
                one: one.judge(&place("table-edge.one"))?,
                other: other.judge(&place("table-edge.other"))?,
            },
            Self::ArmRoll { leans_right_deg, sd_deg } => {
                let leans = AngleValue { deg: leans_right_deg, sd_deg };
                ProvenVertical::ArmRoll { leans_right: leans.judge(&place("arm-roll"), -180.0, 180.0)? }
            }
        })
    }
}

impl Around {
    fn judge(&self, site: &MachineSettings) -> Result<(ArmProfile, TableAndPatient), DocumentError> {
        let length = |name: &str, value: f64| {
            plausible(format!("clearance.{name}"), value, 0.0, 1500.0).map(|()| Millimetres(value))
        };
        let of_machine = |name: &str, value: Option<f64>| match value.or_else(|| site.length_mm(name)) {
            Some(value) => length(name, value),
            None => {
                let reason = format!("{name} stands neither here nor in the site's settings");
                Err(DocumentError::Contradiction { place: "clearance", reason })
            }
        };
        let arm = ArmProfile {
            receptor_distance: of_machine("receptor_distance_mm", self.receptor_distance_mm)?,
            receptor_half_width: of_machine("receptor_half_width_mm", self.receptor_half_width_mm)?,
            tube_distance: of_machine("tube_distance_mm", self.tube_distance_mm)?,
            tube_half_width: of_machine("tube_half_width_mm", self.tube_half_width_mm)?,
        };
        let around = TableAndPatient {
            table_thickness: of_machine("table_thickness_mm", self.table_thickness_mm)?,
            patient_thickness: length("patient_thickness_mm", self.patient_thickness_mm)?,
            half_width: of_machine("half_width_mm", self.half_width_mm)?,
            isocentre_height: length("isocentre_height_mm", self.isocentre_height_mm)?,
        };
        Ok((arm, around))
    }
}

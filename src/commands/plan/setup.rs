//! What the documents of `plan` share: the machine beside the patient, its scale, angles and lengths.

use super::{DocumentError, plausible};
use crate::carm::correction::Length;
use crate::carm::{Angle, Arm, Joints, Lying, MachineScale, PatientPosition, Tube};
use crate::units::{Degrees, Millimetres, Side};
use serde::{Deserialize, Serialize};

/// The machine beside the patient.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setup {
    pub position: PatientPosition,
    pub tube: Tube,
    /// The patient's side on which the stand is.
    pub stand: Side,
    /// From square to the table, anticlockwise seen from above.
    #[serde(default)]
    pub off_square_deg: f64,
    /// How much further back the pelvis is turned than in the plan.
    #[serde(default)]
    pub turned_back_deg: f64,
}

impl Setup {
    pub fn arm(&self) -> Result<Arm, DocumentError> {
        plausible("arm.off_square_deg", self.off_square_deg, -45.0, 45.0)?;
        plausible("arm.turned_back_deg", self.turned_back_deg, -45.0, 45.0)?;
        let lying = Lying { position: self.position, turn: Degrees(self.turned_back_deg) };
        Ok(Arm { lying, tube: self.tube, stand: self.stand, off_square: Degrees(self.off_square_deg) })
    }
}

/// The set-up in words: "Prone, tube under the table, stand on the patient's right, arm square to the table".
pub fn in_words(arm: &Arm) -> String {
    let position = match arm.lying.position {
        PatientPosition::Supine => "Supine",
        PatientPosition::Prone => "Prone",
    };
    let tube = match arm.tube {
        Tube::Under => "under",
        Tube::Over => "over",
    };
    let square = match arm.off_square.0 {
        0.0 => "arm square to the table".to_owned(),
        off => format!("arm {:.0}° off square", off.abs()),
    };
    format!("{position}, tube {tube} the table, stand on the patient's {}, {square}", arm.stand)
}

/// Joint angles, or readings of the machine's displays.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(clippy::struct_field_names, reason = "in a document a number's name ends in its unit")]
pub struct JointAngles {
    #[serde(default)]
    pub wag_deg: f64,
    #[serde(default)]
    pub tilt_deg: f64,
    #[serde(default)]
    pub orbit_deg: f64,
}

impl JointAngles {
    pub fn of(joints: &Joints) -> Self {
        Self { wag_deg: joints.wag.0, tilt_deg: joints.tilt.0, orbit_deg: joints.orbit.0 }
    }

    pub fn joints(self) -> Joints {
        Joints { wag: Degrees(self.wag_deg), tilt: Degrees(self.tilt_deg), orbit: Degrees(self.orbit_deg) }
    }

    pub fn judge(&self, place: &str) -> Result<(), DocumentError> {
        let all = [("wag_deg", self.wag_deg), ("tilt_deg", self.tilt_deg), ("orbit_deg", self.orbit_deg)];
        all.into_iter().try_for_each(|(name, value)| plausible(format!("{place}.{name}"), value, -360.0, 360.0))
    }
}

/// Refuses a scale that was learnt otherwise, or whose zeros are none.
pub fn judge_scale(scale: &MachineScale, arm: &Arm) -> Result<(), DocumentError> {
    let zeros = [("wag", scale.wag), ("tilt", scale.tilt), ("orbit", scale.orbit)];
    for (name, joint) in zeros {
        plausible(format!("scale.{name}.zero_deg"), joint.zero_deg, -360.0, 360.0)?;
    }
    let learnt = scale.readings(arm, &Joints::default());
    learnt.map(|_| ()).map_err(|fault| DocumentError::Contradiction { place: "scale.tube", reason: fault.to_string() })
}

/// An angle and its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AngleValue {
    pub deg: f64,
    pub sd_deg: f64,
}

impl AngleValue {
    pub fn judge(&self, place: &str, from: f64, to: f64) -> Result<Angle, DocumentError> {
        plausible(format!("{place}.deg"), self.deg, from, to)?;
        plausible(format!("{place}.sd_deg"), self.sd_deg, 0.0, 45.0)?;
        Ok(Angle { value: Degrees(self.deg), sd: Degrees(self.sd_deg) })
    }
}

/// A length and its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LengthValue {
    pub mm: f64,
    pub sd_mm: f64,
}

impl LengthValue {
    pub fn length(self) -> Length {
        Length { value: Millimetres(self.mm), sd: Millimetres(self.sd_mm) }
    }

    pub fn judge(&self, place: &str, from: f64, to: f64) -> Result<(), DocumentError> {
        plausible(format!("{place}.mm"), self.mm, from, to)?;
        plausible(format!("{place}.sd_mm"), self.sd_mm, 0.0, to)
    }
}

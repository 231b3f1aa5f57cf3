//! What the C-arm's view targets start from: how the structures that a view profiles lie in the mid-sagittal plane.
//!
//! An **inclination** is the angle, in the sagittal plane, from the patient's posterior-to-anterior axis to the line,
//! positive when its anterior end lies nearer the head. It is the DICOM secondary angle of a beam along the line with the
//! detector in front of the patient: an anterior S1 cortex of +22° is profiled by a beam of secondary +22°, an endplate of
//! -40° by one of -40°. All of it holds for the patient as pictured, usually supine on a CT table.

use super::{Anatomy, Angle, Length};
use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Measured on the mid-sagittal picture.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Midline {
    /// Inclination of the anterior cortex of S1; usually positive.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s1_anterior_cortex: Option<Angle>,
    /// Inclination of the anterior cortex of S2.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s2_anterior_cortex: Option<Angle>,
    /// Inclination of the posterior cortex of the S1 body, the front of the canal; usually positive.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s1_posterior_cortex: Option<Angle>,
    /// Inclination of the S1 superior endplate; usually negative.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s1_endplate: Option<Angle>,
    /// Inclination of the line through the S1 body at right angles to its front, along which a beam sees it en face;
    /// usually negative.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s1_body_normal: Option<Angle>,
    /// Inclination of the line from the S2 body to the upper border of the symphysis; usually negative.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s2_to_symphysis: Option<Angle>,
    /// Distance along the sacrum between the places on S1 and S2 whose cortices are brought together, the lever of the
    /// inlet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s1_to_s2: Option<Length>,
    /// Distance from the S2 body to the upper border of the symphysis, the lever of the outlet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s2_to_symphysis_distance: Option<Length>,
}

impl Midline {
    /// Every angle with its name in the document.
    #[must_use]
    pub fn angles(&self) -> [(&'static str, Option<Angle>); 6] {
        [
            ("s1_anterior_cortex", self.s1_anterior_cortex),
            ("s2_anterior_cortex", self.s2_anterior_cortex),
            ("s1_posterior_cortex", self.s1_posterior_cortex),
            ("s1_endplate", self.s1_endplate),
            ("s1_body_normal", self.s1_body_normal),
            ("s2_to_symphysis", self.s2_to_symphysis),
        ]
    }

    /// Every length with its name in the document.
    #[must_use]
    pub fn lengths(&self) -> [(&'static str, Option<Length>); 2] {
        [("s1_to_s2", self.s1_to_s2), ("s2_to_symphysis_distance", self.s2_to_symphysis_distance)]
    }
}

/// What the targets of one side start from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViewInputs {
    pub side: Side,
    pub midline: Midline,
    /// Inclination of the anterior alar surface of that side.
    pub anterior_ala: Option<Angle>,
    /// Inclination of the superior alar surface of that side.
    pub superior_ala: Option<Angle>,
}

impl Anatomy {
    /// What the view targets of a side start from; absent is what was not measured.
    #[must_use]
    pub fn view_inputs(&self, side: Side) -> ViewInputs {
        let of_side = self.side(side);
        ViewInputs {
            side,
            midline: self.midline,
            anterior_ala: of_side.and_then(|side| side.anterior_ala),
            superior_ala: of_side.and_then(|side| side.superior_ala),
        }
    }
}

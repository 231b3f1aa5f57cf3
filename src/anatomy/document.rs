//! The anatomy as a plan keeps it, and the bounds of what is plausible.

use super::{Angle, Corridor, JointAt, JointLevel, Length, Midline, Reader, Transitional};
use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Everything measured of one sacrum.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Anatomy {
    /// Absent if nobody asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub transitional: Option<Transitional>,
    pub midline: Midline,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sides: Vec<SideAnatomy>,
}

/// What was measured on one side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SideAnatomy {
    pub side: Side,
    /// One reader or two.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readers: Vec<Reader>,
    /// Axis of the upper segment's corridor on the coronal reformat along the outlet, from lateral to medial, against the
    /// line between the crests; positive toward the head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub s1_coronal: Option<Angle>,
    /// The same axis on the axial reformat along the inlet, against the transverse line; positive to the front.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub s1_axial: Option<Angle>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corridors: Vec<Corridor>,
    /// Anterior foramina counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foramina: Option<u8>,
    /// Inclination of the anterior alar surface, see [`Midline`] for the sign.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anterior_ala: Option<Angle>,
    /// Inclination of the superior alar surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub superior_ala: Option<Angle>,
    /// The joint's angles at some heights, each level once.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub joint: Vec<JointAt>,
}

/// Why an anatomy is refused. The place is below the anatomy.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AnatomyError {
    #[error("{place}: {value} is outside {from} to {to}")]
    OutOfRange { place: String, value: f64, from: f64, to: f64 },
    #[error("{place}: stands twice")]
    Twice { place: String },
    #[error("{place}: more than {max}")]
    TooMany { place: String, max: usize },
    #[error("{place}: heights rise from the lower to the upper one")]
    Heights { place: String },
    #[error("{place}: 1 to {max} characters")]
    Name { place: String, max: usize },
}

const READERS_MAX: usize = 2;
const READER_NAME_MAX: usize = 40;
/// A right angle: no structure of a view is named beyond it.
const INCLINATION_DEG: f64 = 90.0;
/// Wider than the published extremes, -18° to 36°. Source of those: unselected cadaver sacra.
const SCORE_ANGLE_DEG: f64 = 60.0;
/// ± that is no measurement any more; common practice, no source.
const PLUS_MINUS_DEG: f64 = 30.0;
const PLUS_MINUS_MM: f64 = 20.0;
/// Wider than any sacral body; common practice, no source.
const CORRIDOR_MM: f64 = 60.0;
/// From the sacrum to the symphysis no pelvis has more; common practice, no source.
const LEVER_MM: f64 = 250.0;
/// Farther from the S1 endplate no joint reaches; common practice, no source.
const JOINT_HEIGHT_MM: f64 = 150.0;
/// Fewer and more are not described; common practice, no source.
const FORAMINA: [u8; 2] = [2, 6];

impl Anatomy {
    #[must_use]
    pub fn side(&self, side: Side) -> Option<&SideAnatomy> {
        self.sides.iter().find(|anatomy| anatomy.side == side)
    }

    /// Judges every number and list.
    ///
    /// # Errors
    /// [`AnatomyError`] with the place below the anatomy.
    pub fn check(&self) -> Result<(), AnatomyError> {
        for (name, angle) in self.midline.angles() {
            check_angle(&format!("midline.{name}"), angle, INCLINATION_DEG)?;
        }
        for (name, length) in self.midline.lengths() {
            check_length(&format!("midline.{name}"), length, LEVER_MM)?;
        }
        for (at, side) in self.sides.iter().enumerate() {
            if self.sides[..at].iter().any(|earlier| earlier.side == side.side) {
                return Err(AnatomyError::Twice { place: format!("sides[{at}].side") });
            }
            side.check(&format!("sides[{at}]"))?;
        }
        Ok(())
    }
}

impl SideAnatomy {
    /// A side of which nothing is known yet.
    #[must_use]
    pub fn empty(side: Side) -> Self {
        Self {
            side,
            readers: Vec::new(),
            s1_coronal: None,
            s1_axial: None,
            corridors: Vec::new(),
            foramina: None,
            anterior_ala: None,
            superior_ala: None,
            joint: Vec::new(),
        }
    }

    /// The joint at that level, as far as it is known.
    #[must_use]
    pub fn joint_at(&self, level: JointLevel) -> JointAt {
        self.joint.iter().find(|at| at.level == level).copied().unwrap_or_else(|| JointAt::empty(level))
    }

    fn check_joint(&self, place: &str) -> Result<(), AnatomyError> {
        for (at, joint) in self.joint.iter().enumerate() {
            let place = format!("{place}.joint[{at}]");
            if self.joint[..at].iter().any(|earlier| earlier.level == joint.level) {
                return Err(AnatomyError::Twice { place: format!("{place}.level") });
            }
            let numbers = [
                ("height_mm", joint.height_mm, JOINT_HEIGHT_MM),
                ("axial_deg", joint.axial_deg, SCORE_ANGLE_DEG),
                ("coronal_deg", joint.coronal_deg, SCORE_ANGLE_DEG),
            ];
            for (name, value, limit) in numbers {
                within(&format!("{place}.{name}"), value.unwrap_or_default(), -limit, limit)?;
            }
        }
        let mut whole: Vec<_> = self.joint.iter().filter_map(|at| Some((at.level, at.whole()?[0]))).collect();
        whole.sort_by_key(|(level, _)| *level);
        let rises = whole.windows(2).all(|pair| pair[0].1 < pair[1].1);
        if rises { Ok(()) } else { Err(AnatomyError::Heights { place: format!("{place}.joint") }) }
    }

    fn check(&self, place: &str) -> Result<(), AnatomyError> {
        if self.readers.len() > READERS_MAX {
            return Err(AnatomyError::TooMany { place: format!("{place}.readers"), max: READERS_MAX });
        }
        for (at, reader) in self.readers.iter().enumerate() {
            let place = format!("{place}.readers[{at}].reader");
            if reader.reader.is_empty() || reader.reader.chars().count() > READER_NAME_MAX {
                return Err(AnatomyError::Name { place, max: READER_NAME_MAX });
            }
            if self.readers[..at].iter().any(|earlier| earlier.reader == reader.reader) {
                return Err(AnatomyError::Twice { place });
            }
        }
        check_angle(&format!("{place}.s1_coronal"), self.s1_coronal, SCORE_ANGLE_DEG)?;
        check_angle(&format!("{place}.s1_axial"), self.s1_axial, SCORE_ANGLE_DEG)?;
        check_angle(&format!("{place}.anterior_ala"), self.anterior_ala, INCLINATION_DEG)?;
        check_angle(&format!("{place}.superior_ala"), self.superior_ala, INCLINATION_DEG)?;
        for (at, corridor) in self.corridors.iter().enumerate() {
            let place = format!("{place}.corridors[{at}]");
            if self.corridors[..at].iter().any(|earlier| earlier.level == corridor.level) {
                return Err(AnatomyError::Twice { place: format!("{place}.level") });
            }
            check_length(&format!("{place}.width"), Some(corridor.width), CORRIDOR_MM)?;
        }
        self.check_joint(place)?;
        let [few, many] = FORAMINA.map(f64::from);
        within(&format!("{place}.foramina"), self.foramina.map_or(few, f64::from), few, many)
    }
}

fn check_angle(place: &str, angle: Option<Angle>, limit: f64) -> Result<(), AnatomyError> {
    let Some(angle) = angle else { return Ok(()) };
    within(&format!("{place}.deg"), angle.deg, -limit, limit)?;
    within(&format!("{place}.plus_minus_deg"), angle.plus_minus_deg, 0.0, PLUS_MINUS_DEG)
}

fn check_length(place: &str, length: Option<Length>, limit: f64) -> Result<(), AnatomyError> {
    let Some(length) = length else { return Ok(()) };
    within(&format!("{place}.mm"), length.mm, 0.0, limit)?;
    within(&format!("{place}.plus_minus_mm"), length.plus_minus_mm, 0.0, PLUS_MINUS_MM)
}

fn within(place: &str, value: f64, from: f64, to: f64) -> Result<(), AnatomyError> {
    if value.is_finite() && (from..=to).contains(&value) {
        return Ok(());
    }
    Err(AnatomyError::OutOfRange { place: place.to_owned(), value, from, to })
}

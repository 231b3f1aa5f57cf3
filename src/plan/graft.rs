//! Graft volumes: what drilling yields, what the cavity holds, and what was collected and put in beside them.
//!
//! A drilled hole is a cylinder, or a ring where a pin or a core stays in it. Harvested bone is looser than bone: its
//! volume is the hole's times a packing factor that the plan must state. Holes of one drilling do not overlap; where they
//! do, the real volume is smaller, and whoever plans it enters fewer passes. Every ± is one standard deviation.

use super::PlanError;
use super::read::{TOOLS_MAX, at_most, plausible};
use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::f64::consts::FRAC_PI_4;
use std::fmt;

/// ± of a depth read off a drill, mm. Common practice, no source.
const DEPTH_PLUS_MINUS_MM: f64 = 1.0;
const MM3_PER_ML: f64 = 1_000.0;

/// Bone taken and put in on one side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Graft {
    pub side: Side,
    /// Drilling whose bone is kept.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub harvest: Vec<Drilling>,
    /// Volume of the harvested bone, loose, over that of the bone it came from.
    pub packing_factor: f64,
    /// Drilling that makes the cavity to be filled.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cavity: Vec<Drilling>,
    /// What of the implants lies in the cavity.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub implants: Vec<ImplantInCavity>,
    /// Measured in a syringe, mL.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub collected_ml: Option<f64>,
    /// Put in, whatever it was, mL.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub injected_ml: Option<f64>,
}

/// Holes of one size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Drilling {
    /// Millimetres.
    pub diameter_mm: f64,
    /// Millimetres of bone.
    pub depth_mm: f64,
    /// Holes beside each other, 1 to 12.
    pub passes: u32,
    /// Of what stays in the middle: a pin, or the core of a hollow drill. Millimetres, below `diameter_mm`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inner_diameter_mm: Option<f64>,
}

/// A solid cylinder of implant in the cavity.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ImplantInCavity {
    /// Millimetres.
    pub diameter_mm: f64,
    /// Of the part that lies in the cavity, millimetres.
    pub length_mm: f64,
}

/// A volume.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Volume {
    pub ml: f64,
    /// One standard deviation.
    pub plus_minus_ml: f64,
}

impl fmt::Display for Volume {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} mL ± {:.1} mL", self.ml, self.plus_minus_ml)
    }
}

/// What the geometry gives, and what it asks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GraftVolumes {
    /// Loose bone that the harvest drilling yields.
    pub harvest: Volume,
    /// What the cavity holds beside the implants; never below 0.
    pub cavity: Volume,
    pub question: Option<GraftQuestion>,
}

/// What the team is asked. It stops nothing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum GraftQuestion {
    /// More was put in than the cavity holds.
    MoreThanTheCavityHolds { injected_ml: f64, cavity: Volume },
    /// The implants are larger than the cavity: one of the two is entered wrongly.
    ImplantsLargerThanTheCavity,
}

impl GraftQuestion {
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::MoreThanTheCavityHolds { injected_ml, cavity } => format!(
                "{injected_ml:.1} mL went in, and the drilled cavity holds {cavity}: where is the rest? Look at the \
                 foramina and the front of the sacrum on the image."
            ),
            Self::ImplantsLargerThanTheCavity => {
                "The implants are larger than the cavity they lie in: check diameters and depths.".to_owned()
            }
        }
    }
}

impl Drilling {
    fn area_mm2(&self) -> f64 {
        let inner = self.inner_diameter_mm.unwrap_or(0.0);
        FRAC_PI_4 * (self.diameter_mm * self.diameter_mm - inner * inner)
    }

    /// Volume of bone; the depths of its passes are read off the same drill and err together.
    #[must_use]
    pub fn volume(&self) -> Volume {
        let area = self.area_mm2() * f64::from(self.passes);
        Volume { ml: area * self.depth_mm / MM3_PER_ML, plus_minus_ml: area * DEPTH_PLUS_MINUS_MM / MM3_PER_ML }
    }
}

impl ImplantInCavity {
    fn ml(&self) -> f64 {
        FRAC_PI_4 * self.diameter_mm * self.diameter_mm * self.length_mm / MM3_PER_ML
    }
}

impl Graft {
    /// Volumes and the question they raise.
    #[must_use]
    pub fn volumes(&self) -> GraftVolumes {
        let bone = sum(&self.harvest);
        let harvest =
            Volume { ml: bone.ml * self.packing_factor, plus_minus_ml: bone.plus_minus_ml * self.packing_factor };
        let drilled = sum(&self.cavity);
        let implants: f64 = self.implants.iter().map(ImplantInCavity::ml).sum();
        let cavity = Volume { ml: (drilled.ml - implants).max(0.0), plus_minus_ml: drilled.plus_minus_ml };
        GraftVolumes { harvest, cavity, question: self.question(drilled.ml < implants, cavity) }
    }

    fn question(&self, implants_larger: bool, cavity: Volume) -> Option<GraftQuestion> {
        if implants_larger && !self.cavity.is_empty() {
            return Some(GraftQuestion::ImplantsLargerThanTheCavity);
        }
        let injected_ml = self.injected_ml.filter(|injected| *injected > cavity.ml && !self.cavity.is_empty())?;
        Some(GraftQuestion::MoreThanTheCavityHolds { injected_ml, cavity })
    }

    /// Volumes in words, a line each.
    #[must_use]
    pub fn text(&self) -> String {
        let volumes = self.volumes();
        let measured = |ml: Option<f64>| ml.map_or("not measured".to_owned(), |ml| format!("{ml:.1} mL"));
        let mut lines = vec![
            format!("Graft, {} side", self.side),
            format!(
                "  Harvest from drilling {} (packing factor {}); collected {}",
                volumes.harvest,
                self.packing_factor,
                measured(self.collected_ml)
            ),
            format!("  Cavity less implants {}; put in {}", volumes.cavity, measured(self.injected_ml)),
        ];
        lines.extend(volumes.question.map(|question| format!("  {}", question.words())));
        lines.push("± is one standard deviation of the depth alone.".to_owned());
        lines.push("Advisory: the surgeon's reading of the image decides.".to_owned());
        lines.join("\n") + "\n"
    }

    /// # Errors
    /// [`PlanError`] with the place of what is not plausible.
    pub(super) fn judge(&self, place: &str) -> Result<(), PlanError> {
        plausible(&format!("{place}.packing_factor"), "packing factor (0.5 to 3)", self.packing_factor, 0.5, 3.0)?;
        for (member, drillings) in [("harvest", &self.harvest), ("cavity", &self.cavity)] {
            at_most(&format!("{place}.{member}"), drillings.len(), TOOLS_MAX)?;
            for (index, drilling) in drillings.iter().enumerate() {
                drilling.judge(&format!("{place}.{member}[{index}]"))?;
            }
        }
        at_most(&format!("{place}.implants"), self.implants.len(), TOOLS_MAX)?;
        for (index, implant) in self.implants.iter().enumerate() {
            let place = format!("{place}.implants[{index}]");
            plausible(&format!("{place}.diameter_mm"), "diameter in mm (1 to 20)", implant.diameter_mm, 1.0, 20.0)?;
            plausible(&format!("{place}.length_mm"), "length in mm (1 to 200)", implant.length_mm, 1.0, 200.0)?;
        }
        for (member, ml) in [("collected_ml", self.collected_ml), ("injected_ml", self.injected_ml)] {
            plausible(&format!("{place}.{member}"), "volume in mL (0 to 100)", ml.unwrap_or(0.0), 0.0, 100.0)?;
        }
        Ok(())
    }
}

impl Drilling {
    fn judge(&self, place: &str) -> Result<(), PlanError> {
        plausible(&format!("{place}.diameter_mm"), "diameter in mm (1 to 20)", self.diameter_mm, 1.0, 20.0)?;
        plausible(&format!("{place}.depth_mm"), "depth in mm (1 to 150)", self.depth_mm, 1.0, 150.0)?;
        plausible(&format!("{place}.passes"), "count of passes (1 to 12)", f64::from(self.passes), 1.0, 12.0)?;
        let inner = self.inner_diameter_mm.unwrap_or(0.0);
        if inner.is_nan() || inner < 0.0 || inner >= self.diameter_mm {
            let reason = "what stays in the middle is narrower than the hole";
            return Err(PlanError::Graft { place: format!("{place}.inner_diameter_mm"), reason });
        }
        Ok(())
    }
}

/// Drillings of different size are read off different drills and err apart.
fn sum(drillings: &[Drilling]) -> Volume {
    drillings.iter().map(Drilling::volume).fold(Volume::default(), |sum, volume| Volume {
        ml: sum.ml + volume.ml,
        plus_minus_ml: sum.plus_minus_ml.hypot(volume.plus_minus_ml),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drilling(diameter_mm: f64, depth_mm: f64, passes: u32, inner_diameter_mm: Option<f64>) -> Drilling {
        Drilling { diameter_mm, depth_mm, passes, inner_diameter_mm }
    }

    fn graft() -> Graft {
        Graft {
            side: Side::Left,
            harvest: vec![drilling(10.0, 30.0, 1, Some(3.2))],
            packing_factor: 1.3,
            cavity: vec![drilling(10.0, 40.0, 2, None)],
            implants: vec![ImplantInCavity { diameter_mm: 7.0, length_mm: 40.0 }],
            collected_ml: Some(2.5),
            injected_ml: Some(3.0),
        }
    }

    /// Source: cylinder and ring of solid geometry, worked by hand: pi/4 · 100 · 30 = 2,356 mm³; less pi/4 · 10.24 · 30 =
    /// 241 mm³.
    #[test]
    fn a_cylinder_and_a_ring_have_their_volumes() {
        let cylinder = drilling(10.0, 30.0, 1, None).volume();
        assert!((cylinder.ml - 2.356).abs() < 5e-4 && (cylinder.plus_minus_ml - 0.0785).abs() < 5e-5);
        assert!((drilling(10.0, 30.0, 1, Some(3.2)).volume().ml - 2.115).abs() < 5e-4);
        assert!((drilling(10.0, 30.0, 3, None).volume().ml - 7.069).abs() < 5e-4);
    }

    /// Source: worked by hand: 2 · pi/4 · 100 · 40 less pi/4 · 49 · 40 = 6,283 - 1,539 = 4,744 mm³; 2.115 · 1.3 = 2.749.
    #[test]
    fn the_cavity_is_what_was_drilled_less_the_implant_and_harvest_is_packed() {
        let volumes = graft().volumes();
        assert!((volumes.cavity.ml - 4.744).abs() < 5e-4, "{}", volumes.cavity);
        assert!((volumes.harvest.ml - 2.749).abs() < 1e-3, "{}", volumes.harvest);
        assert_eq!(volumes.question, None);
    }

    #[test]
    fn more_than_the_cavity_holds_is_asked_about() {
        let asked = |injected_ml| Graft { injected_ml: Some(injected_ml), ..graft() }.volumes().question;
        assert_eq!(asked(4.7), None);
        assert!(matches!(asked(4.8), Some(GraftQuestion::MoreThanTheCavityHolds { .. })));
        let unknown = Graft { cavity: Vec::new(), implants: Vec::new(), injected_ml: Some(9.0), ..graft() };
        assert_eq!(unknown.volumes().question, None, "without a cavity there is nothing to hold it against");
        let large = vec![ImplantInCavity { diameter_mm: 15.0, length_mm: 60.0 }];
        assert_eq!(
            Graft { implants: large, ..graft() }.volumes().question,
            Some(GraftQuestion::ImplantsLargerThanTheCavity)
        );
    }
}

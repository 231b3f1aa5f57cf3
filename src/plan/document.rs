//! The plan document, kept as `plan.json` in the case's folder.

use super::{Graft, PlannedTool};
use crate::anatomy::{Anatomy, ViewInputs};
use crate::carm::{Angle, SacralMeasurements, ViewName};
use crate::dose::SizeBand;
use crate::eligibility::Facts as EligibilityFacts;
use crate::pathway::{AntibioticCover, Facts, Procedure};
use crate::people::{PersonId, Role};
use crate::units::{Degrees, Side};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The format this program writes and the newest it reads.
pub const FORMAT: u32 = 2;

/// The plan of one case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Format version, 1 or 2; what came with 2 is said at its member.
    pub brimline_plan: u32,
    /// Short label of the case on screen, for instance "0412"; no patient identifier.
    pub label: String,
    /// Identifier of the pathway to follow.
    pub pathway: String,
    pub procedure: Procedure,
    pub patient: Patient,
    pub sides: Vec<SidePlan>,
    #[serde(default)]
    pub nerves_monitored: bool,
    pub antibiotic: AntibioticCover,
    /// The implants planned compress the joint.
    #[serde(default)]
    pub compressing: bool,
    /// A transitional vertebra was seen, or not excluded by counting.
    #[serde(default)]
    pub transitional: bool,
    /// Name of the C-arm as the room calls it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub c_arm: Option<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub views: Vec<ViewPlan>,
    /// Read aloud at the start and shown with the side.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// Who is meant to take which role.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub team: Vec<TeamMember>,
    /// Format 2. Facts, and the policy they are judged under.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eligibility: Option<EligibilityPlan>,
    /// Format 2. The sacrum as measured, each side apart.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anatomy: Option<Anatomy>,
    /// Format 2. Pins, drills and what else goes in beside the implants.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tools: Vec<PlannedTool>,
    /// Format 2. Bone taken and put in, once a side at most.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub graft: Vec<Graft>,
}

/// What is known of the indication, and the policy in force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EligibilityPlan {
    /// Identifier of the policy.
    pub policy: String,
    pub facts: EligibilityFacts,
}

/// Who is operated on. Disclosed in the record only by a disclosure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Patient {
    pub name: String,
    /// The hospital's number.
    pub number: String,
    /// Years.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age: Option<u8>,
    /// Kilograms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight_kg: Option<f64>,
    /// Format 2. Thickness in the beam of the AP view, centimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness_cm: Option<f64>,
}

impl Patient {
    /// Band of size by which cases are compared: of the thickness where it was measured, else of the weight.
    #[must_use]
    pub fn size(&self) -> Option<SizeBand> {
        let thickness = self.thickness_cm.and_then(SizeBand::of_thickness);
        thickness.or_else(|| self.weight_kg.and_then(SizeBand::of_weight))
    }
}

/// The shape of the upper sacrum on one side, as the plan judges it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SacrumShape {
    Normal,
    Dysmorphic,
    /// Nobody has judged it: treated as dysmorphic by every condition.
    NotJudged,
}

/// What is planned on one side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SidePlan {
    pub side: Side,
    pub sacrum: SacrumShape,
    /// In the order they are meant to be placed; at least one.
    pub implants: Vec<ImplantPlan>,
}

/// One planned implant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ImplantPlan {
    /// Where, for instance "S1, upper".
    pub level: String,
    /// Millimetres.
    pub diameter_mm: f64,
    /// Millimetres.
    pub length_mm: f64,
}

/// The planned machine position of one view, as the room's scale reads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ViewPlan {
    pub view: ViewName,
    /// Degrees from vertical; which end moves is said in `words`.
    pub tilt_deg: f64,
    /// How the room says it, for instance "tilt, receptor toward the feet".
    pub words: String,
}

/// Who takes which role.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TeamMember {
    pub role: Role,
    pub person: PersonId,
}

impl Plan {
    /// The facts that conditions of a pathway ask.
    #[must_use]
    pub fn facts(&self) -> Facts {
        Facts {
            procedure: self.procedure,
            sides: self.sides.iter().map(|side| side.side).collect(),
            dysmorphic: self
                .sides
                .iter()
                .filter(|side| side.sacrum != SacrumShape::Normal)
                .map(|side| side.side)
                .collect(),
            nerves_monitored: self.nerves_monitored,
            antibiotic: self.antibiotic,
            compressing: self.compressing,
            transitional: self.transitional,
        }
    }

    /// What the view targets of a side start from; everything absent where no anatomy was measured.
    #[must_use]
    pub fn view_inputs(&self, side: Side) -> ViewInputs {
        self.anatomy.as_ref().map_or_else(|| Anatomy::default().view_inputs(side), |anatomy| anatomy.view_inputs(side))
    }

    /// What the plan measured of the sacrum, each angle in its view's own sense: an outlet's inclination is negative, its
    /// angle positive. The alar surface is that of the first planned side.
    #[must_use]
    pub fn sacral_measurements(&self) -> SacralMeasurements {
        let Some(side) = self.sides.first() else { return SacralMeasurements::default() };
        let inputs = self.view_inputs(side.side);
        let midline = inputs.midline;
        let angle = |told: Option<crate::anatomy::Angle>, sense: f64| {
            told.map(|told| Angle { value: Degrees(sense * told.deg), sd: Degrees(told.plus_minus_deg) })
        };
        SacralMeasurements {
            anterior_cortex: angle(midline.s1_anterior_cortex, 1.0),
            posterior_cortex: angle(midline.s1_posterior_cortex, 1.0),
            alar_surface: angle(inputs.anterior_ala, 1.0),
            symphysis_over_s2: angle(midline.s2_to_symphysis, -1.0),
            endplate: angle(midline.s1_endplate, -1.0),
            body_normal: angle(midline.s1_body_normal, -1.0),
            ..SacralMeasurements::default()
        }
    }

    /// The widest of everything that is planned to go in on that side, mm: margins run from its surface. `None` if
    /// nothing is planned there.
    #[must_use]
    pub fn largest_tool_mm(&self, side: Side) -> Option<f64> {
        let implants = self.side(side)?.implants.iter().map(|implant| implant.diameter_mm);
        implants.chain(self.tools.iter().map(|tool| tool.diameter_mm)).max_by(f64::total_cmp)
    }

    /// The plan of that side, if it is operated on.
    #[must_use]
    pub fn side(&self, side: Side) -> Option<&SidePlan> {
        self.sides.iter().find(|plan| plan.side == side)
    }
}

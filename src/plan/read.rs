//! Reading a plan from bytes: bounded, strict, one clear error.

use super::{FORMAT, Plan};
use crate::anatomy::AnatomyError;
use crate::eligibility::FactsError;
use crate::strict_json::{self, ReadError};
use thiserror::Error;

/// The largest plan accepted, bytes.
pub const MAX_BYTES: u64 = 1 << 20;

/// Why bytes are not a plan.
#[derive(Debug, Error)]
pub enum PlanError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    #[error("sides: at least one side is operated on, each named once")]
    Sides,
    #[error("sides[{index}].implants: between 1 and {max} implants")]
    Implants { index: usize, max: usize },
    #[error("{place}: {value} is not a plausible {what}")]
    Implausible { place: String, what: &'static str, value: f64 },
    #[error("label: 1 to 16 characters")]
    Label,
    #[error("patient.name and patient.number: neither may be empty")]
    Patient,
    #[error("team: the role {0} is named twice")]
    RoleTwice(crate::people::Role),
    #[error("{member}: belongs to format 2, and the document says 1")]
    OfFormat2 { member: &'static str },
    #[error("eligibility.facts.{0}")]
    Facts(FactsError),
    #[error("anatomy.{0}")]
    Anatomy(AnatomyError),
    #[error("{place}: {min} to {max} characters")]
    Name { place: String, min: usize, max: usize },
    #[error("{place}: at most {max}")]
    TooMany { place: String, max: usize },
    #[error("{place}: {reason}")]
    Graft { place: String, reason: &'static str },
}

/// Most implants planned on one side.
const IMPLANTS_MAX: usize = 6;

/// Most tools, and most drillings of one kind on one side; common practice, no source.
pub(super) const TOOLS_MAX: usize = 12;
/// Characters of a policy's identifier and of a tool's name.
const NAME_MAX: usize = 60;

/// Reads a plan.
///
/// # Errors
/// [`PlanError`] names the place in the document.
pub fn read(bytes: &[u8]) -> Result<Plan, PlanError> {
    let plan: Plan = strict_json::read(bytes, "brimline_plan", FORMAT, MAX_BYTES)?;
    judge(&plan)?;
    Ok(plan)
}

fn judge(plan: &Plan) -> Result<(), PlanError> {
    if plan.label.is_empty() || plan.label.chars().count() > 16 {
        return Err(PlanError::Label);
    }
    if plan.patient.name.is_empty() || plan.patient.number.is_empty() {
        return Err(PlanError::Patient);
    }
    let twice = plan.sides.len() == 2 && plan.sides[0].side == plan.sides[1].side;
    if plan.sides.is_empty() || plan.sides.len() > 2 || twice {
        return Err(PlanError::Sides);
    }
    for (index, side) in plan.sides.iter().enumerate() {
        if side.implants.is_empty() || side.implants.len() > IMPLANTS_MAX {
            return Err(PlanError::Implants { index, max: IMPLANTS_MAX });
        }
        for (number, implant) in side.implants.iter().enumerate() {
            let place = |member: &str| format!("sides[{index}].implants[{number}].{member}");
            plausible(&place("diameter_mm"), "diameter in mm (4 to 20)", implant.diameter_mm, 4.0, 20.0)?;
            plausible(&place("length_mm"), "length in mm (15 to 200)", implant.length_mm, 15.0, 200.0)?;
        }
    }
    for (index, view) in plan.views.iter().enumerate() {
        plausible(&format!("views[{index}].tilt_deg"), "tilt in degrees (-90 to 90)", view.tilt_deg, -90.0, 90.0)?;
    }
    for (index, member) in plan.team.iter().enumerate() {
        if plan.team[..index].iter().any(|earlier| earlier.role == member.role) {
            return Err(PlanError::RoleTwice(member.role));
        }
    }
    judge_format(plan)?;
    judge_format_2(plan)
}

/// A document of format 1 holds what format 1 has.
fn judge_format(plan: &Plan) -> Result<(), PlanError> {
    let later = [
        ("eligibility", plan.eligibility.is_some()),
        ("anatomy", plan.anatomy.is_some()),
        ("tools", !plan.tools.is_empty()),
        ("graft", !plan.graft.is_empty()),
    ];
    match later.into_iter().find(|(_, present)| *present && plan.brimline_plan < 2) {
        Some((member, _)) => Err(PlanError::OfFormat2 { member }),
        None => Ok(()),
    }
}

fn judge_format_2(plan: &Plan) -> Result<(), PlanError> {
    if let Some(eligibility) = &plan.eligibility {
        name("eligibility.policy", &eligibility.policy)?;
        eligibility.facts.check().map_err(PlanError::Facts)?;
    }
    if let Some(anatomy) = &plan.anatomy {
        anatomy.check().map_err(PlanError::Anatomy)?;
    }
    at_most("tools", plan.tools.len(), TOOLS_MAX)?;
    for (index, tool) in plan.tools.iter().enumerate() {
        name(&format!("tools[{index}].name"), &tool.name)?;
        plausible(&format!("tools[{index}].diameter_mm"), "diameter in mm (0.5 to 20)", tool.diameter_mm, 0.5, 20.0)?;
    }
    for (index, graft) in plan.graft.iter().enumerate() {
        let place = format!("graft[{index}]");
        if plan.graft[..index].iter().any(|earlier| earlier.side == graft.side) {
            return Err(PlanError::Graft { place: format!("{place}.side"), reason: "stands twice" });
        }
        graft.judge(&place)?;
    }
    Ok(())
}

fn name(place: &str, name: &str) -> Result<(), PlanError> {
    if (1..=NAME_MAX).contains(&name.chars().count()) {
        return Ok(());
    }
    Err(PlanError::Name { place: place.to_owned(), min: 1, max: NAME_MAX })
}

pub(super) fn at_most(place: &str, count: usize, max: usize) -> Result<(), PlanError> {
    if count > max { Err(PlanError::TooMany { place: place.to_owned(), max }) } else { Ok(()) }
}

pub(super) fn plausible(place: &str, what: &'static str, value: f64, from: f64, to: f64) -> Result<(), PlanError> {
    if value.is_finite() && (from..=to).contains(&value) {
        return Ok(());
    }
    Err(PlanError::Implausible { place: place.to_owned(), what, value })
}

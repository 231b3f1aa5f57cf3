//! Reading a plan from bytes: bounded, strict, one clear error.

use super::{FORMAT, Plan};
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
}

/// Most implants planned on one side.
const IMPLANTS_MAX: usize = 6;

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
    Ok(())
}

fn plausible(place: &str, what: &'static str, value: f64, from: f64, to: f64) -> Result<(), PlanError> {
    if value.is_finite() && (from..=to).contains(&value) {
        return Ok(());
    }
    Err(PlanError::Implausible { place: place.to_owned(), what, value })
}

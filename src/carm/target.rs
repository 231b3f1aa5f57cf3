//! View targets: from what was measured on this sacrum to the beam, the joints and the words of each view.
//!
//! A target is a beam line in the patient's sagittal plane, turned with the sacrum where it stands askew. What it does not
//! do: it measures nothing, it never names a view from a sign, and where nothing was measured it offers the mean of a
//! named series, marked as that. Everything is advisory.

use super::arm::{Arm, ArmError, Joints};
use super::positioner::PositionerAngles;
use super::space::{Direction, Point, Rotation, Vector, head, left, posterior};
use super::view_name::ViewName;
use super::views::{ViewSheet, mis_shown, view_sheets};
use super::words::Move;
use crate::units::{Degrees, Side};
use thiserror::Error;

/// An angle with its standard uncertainty, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Angle {
    pub value: Degrees,
    pub sd: Degrees,
}

/// What the views need of one sacrum, as measured with the patient supine on a level table.
///
/// Every angle lies in the sacrum's own sagittal plane and is counted from the front-back line (the vertical, supine), in
/// the view's own sense: inlet positive with the front end toward the head, outlet positive with the front end toward the
/// feet. `None`: not measured.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SacralMeasurements {
    /// Inlet: the anterior cortex of S1.
    pub anterior_cortex: Option<Angle>,
    /// Inlet: the posterior cortex of S1, the front of the canal.
    pub posterior_cortex: Option<Angle>,
    /// Inlet: the anterior surface of the ala.
    pub alar_surface: Option<Angle>,
    /// Outlet: the line from the S2 body to the upper border of the symphysis.
    pub symphysis_over_s2: Option<Angle>,
    /// Outlet: the S1 superior endplate.
    pub endplate: Option<Angle>,
    /// Outlet: the perpendicular to the S1 body.
    pub body_normal: Option<Angle>,
    /// How far the sacrum's front is turned toward the patient's left about the long axis of the body.
    pub turned_left: Degrees,
    /// How far the sacrum's head end leans toward the patient's left.
    pub leaned_left: Degrees,
}

impl SacralMeasurements {
    /// What was measured for `view`; AP and lateral need no angle.
    #[must_use]
    pub fn of(&self, view: ViewName) -> Option<Angle> {
        match view {
            ViewName::InletBody => self.anterior_cortex,
            ViewName::InletCanal => self.posterior_cortex,
            ViewName::InletAla => self.alar_surface,
            ViewName::OutletWorking => self.symphysis_over_s2,
            ViewName::OutletEndplate => self.endplate,
            ViewName::OutletEnFace => self.body_normal,
            ViewName::Ap | ViewName::Lateral => None,
        }
    }

    /// From the sacrum's own axes to the patient frame.
    fn stance(&self) -> Rotation {
        // About z a positive turn takes the front (-y) to the left (x); about y a positive turn takes the head (z) there.
        Rotation::from_axis_angle(&posterior(), self.leaned_left.radians())
            * Rotation::from_axis_angle(&head(), self.turned_left.radians())
    }

    /// The beam line of a view at `inlet` in the sacrum's sagittal plane (outlet negative), toward the front.
    fn sagittal(&self, inlet: Degrees) -> Direction {
        let (sin, cos) = inlet.radians().sin_cos();
        self.stance() * Direction::new_normalize(Vector::new(0.0, -cos, sin))
    }
}

/// The angle of the line through two places, projected on the sagittal plane, from the front-back line: inlet positive,
/// outlet negative, -90 to 90. For the measurements above, from touches on a midsagittal image.
#[must_use]
pub fn inlet_angle(one: &Point, other: &Point) -> Degrees {
    let along = other - one;
    let forward = if along.y > 0.0 { -along } else { along };
    Degrees::from_radians(forward.z.atan2(-forward.y))
}

/// What a target rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum Basis {
    /// This patient's own measurement.
    Measured,
    /// The axes of the sacrum alone.
    Axes,
    /// The mean of a series, which mis-shows this share of people at the view's tolerance; `None`: no spread published.
    Mean { study: String, mis_shown: Option<f64> },
}

/// One view to reach. Advisory.
#[derive(Debug, Clone, PartialEq)]
pub struct ViewTarget {
    pub view: ViewName,
    /// From source to detector on the machine as set up.
    pub beam: Direction,
    pub positioner: PositionerAngles,
    pub joints: Joints,
    /// From a vertical beam, in whole degrees.
    pub moves: Vec<Move>,
    pub basis: Basis,
    /// From the front-back line of the sacrum, in the view's own sense; `None` for AP and lateral.
    pub angle: Option<Degrees>,
    /// Standard uncertainty of the angle, if known.
    pub sd: Option<Degrees>,
    /// What must be superimposed, the tolerance, and what has been published.
    pub sheet: ViewSheet,
}

/// Why a view has no target.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum TargetError {
    #[error("{view}: {value}° is not plausible (0 to 90)")]
    Implausible { view: ViewName, value: f64 },
    #[error("turn or lean of the sacrum: {value}° is not plausible (-45 to 45)")]
    Askew { value: f64 },
    #[error("{view}: {fault}")]
    Unreachable { view: ViewName, fault: ArmError },
}

/// Largest turn or lean of a sacrum that is believed, degrees. Common practice, no source.
const ASKEW_MAX_DEG: f64 = 45.0;

/// The target of one view; `receptor`: the side of the image receptor for a lateral.
///
/// # Errors
/// [`TargetError`].
pub fn view_target(
    sheet: ViewSheet,
    measured: &SacralMeasurements,
    arm: &Arm,
    receptor: Side,
) -> Result<ViewTarget, TargetError> {
    let view = sheet.view;
    for askew in [measured.turned_left.0, measured.leaned_left.0] {
        if !(-ASKEW_MAX_DEG..=ASKEW_MAX_DEG).contains(&askew) {
            return Err(TargetError::Askew { value: askew });
        }
    }
    let Line { direction, basis, angle, sd } = line_of(&sheet, measured)?;
    let beam = arm.receptor_end(direction, receptor);
    let joints =
        if view == ViewName::Lateral { arm.by_wag(&beam, Degrees(0.0)) } else { arm.by_tilt(&beam, Degrees(0.0)) };
    let joints = joints.map_err(|fault| TargetError::Unreachable { view, fault })?;
    let (positioner, moves) = (PositionerAngles::of(&beam), Move::to(arm, &joints));
    Ok(ViewTarget { view, beam, positioner, joints, moves, basis, angle, sd, sheet })
}

/// The targets of all views that have a measurement, need none, or have a published mean to begin with.
///
/// # Errors
/// [`TargetError`] of the first view at fault.
pub fn view_targets(measured: &SacralMeasurements, arm: &Arm, receptor: Side) -> Result<Vec<ViewTarget>, TargetError> {
    view_sheets().into_iter().map(|sheet| view_target(sheet, measured, arm, receptor)).collect()
}

/// A view's beam line and what it rests on.
struct Line {
    direction: Direction,
    basis: Basis,
    angle: Option<Degrees>,
    sd: Option<Degrees>,
}

fn line_of(sheet: &ViewSheet, measured: &SacralMeasurements) -> Result<Line, TargetError> {
    let view = sheet.view;
    let along_axes = |direction| Ok(Line { direction, basis: Basis::Axes, angle: None, sd: None });
    match view {
        ViewName::Ap => return along_axes(measured.sagittal(Degrees(0.0))),
        ViewName::Lateral => return along_axes(measured.stance() * left()),
        _ => {}
    }
    let (own, basis, sd) = match (measured.of(view), &sheet.start) {
        (Some(angle), _) => (angle.value, Basis::Measured, Some(angle.sd)),
        (None, Some(start)) => {
            let missed = start.sd_deg.map(|sd| mis_shown(sd, sheet.tolerance_deg));
            let basis = Basis::Mean { study: start.study.clone(), mis_shown: missed };
            (Degrees(start.deg), basis, start.sd_deg.map(Degrees))
        }
        (None, None) => (Degrees(f64::NAN), Basis::Axes, None),
    };
    if !(0.0..=90.0).contains(&own.0) {
        return Err(TargetError::Implausible { view, value: own.0 });
    }
    let outlet = matches!(view, ViewName::OutletWorking | ViewName::OutletEndplate | ViewName::OutletEnFace);
    Ok(Line { direction: measured.sagittal(if outlet { -own } else { own }), basis, angle: Some(own), sd })
}

#[cfg(test)]
mod tests;

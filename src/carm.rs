//! The C-arm: views, beams, the machine's joints, view targets, view corrections and clearance.
//!
//! What it is for: what the team sees and what the machine must do, in the patient frame. What it does not do: it knows
//! no pathway, no case and no image; anatomy comes in as plain measurements. Everything here is advisory and carries its
//! uncertainty. What may never change: the view names, which stand in pathways, journals and records, and the sign
//! conventions of [`space`], which stand beside every measurement kept.

mod aim;
mod arm;
pub mod clearance;
pub mod correction;
mod lying;
mod pose;
mod positioner;
mod re_aim;
mod scale;
pub mod space;
mod target;
mod view_name;
mod views;
mod words;

pub use aim::{AimError, LateralTouches, PelvicTurn, PictureSide, Placement, ProvenVertical, TURN_MAX_DEG};
pub use arm::{Arm, ArmError, Distances, Joint, Joints, Tube};
pub use lying::{Lying, PatientPosition};
pub use pose::{ImagePoint, Pose, Ray, magnification};
pub use positioner::PositionerAngles;
pub use re_aim::{ReAim, SacralLine, VerticalProof};
pub use scale::{Counts, JointScale, MachineScale, ScaleError};
pub use space::{Direction, Point, Rotation, Vector};
pub use target::{Angle, Basis, SacralMeasurements, TargetError, ViewTarget, inlet_angle, view_target, view_targets};
pub use view_name::ViewName;
pub use views::{Published, Start, ViewSheet, mis_shown, view_sheets};
pub use words::{Move, MoveKind, WORDS_FORMAT, WORDS_MAX_BYTES, Words, WordsError};

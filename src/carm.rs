//! The C-arm: views, beams, the machine's joints, view targets, view corrections and clearance.
//!
//! What it is for: what the team sees and what the machine must do, in the patient frame. What it does not do: it knows
//! no pathway, no case and no image; anatomy comes in as plain measurements. Everything here is advisory and carries its
//! uncertainty. What may never change: the view names, which stand in pathways, journals and records, and the sign
//! conventions of [`space`], which stand beside every measurement kept.

mod pose;
mod positioner;
pub mod space;
mod view_name;

pub use pose::{ImagePoint, Pose, Ray, magnification};
pub use positioner::PositionerAngles;
pub use space::{Direction, Point, Rotation, Vector};
pub use view_name::ViewName;

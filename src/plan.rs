//! A case's plan: who, which side, what shape, what is meant to be used.
//!
//! What it does not do: it computes nothing and reads no file. What may never change: the meaning of format 1.

mod document;
mod read;

pub use document::{FORMAT, ImplantPlan, Patient, Plan, SacrumShape, SidePlan, TeamMember, ViewPlan};
pub use read::{MAX_BYTES, PlanError, read};

//! A case's plan: who, which side, what shape, what is meant to be used; eligibility, anatomy, tools and graft with it.
//!
//! What it does not do: it reads no file and knows no pathway's steps. What may never change: the meaning of formats 1
//! and 2.

mod document;
mod graft;
mod read;
mod tools;

pub use document::{EligibilityPlan, FORMAT, ImplantPlan, Patient, Plan, SacrumShape, SidePlan, TeamMember, ViewPlan};
pub use graft::{Drilling, Graft, GraftQuestion, GraftVolumes, ImplantInCavity, Volume};
pub use read::{MAX_BYTES, PlanError, read};
pub use tools::{PlannedTool, ToolKind};

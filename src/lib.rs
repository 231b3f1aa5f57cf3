//! Brimline walks an operating team through a percutaneous fusion of the sacroiliac joint under fluoroscopy.
//!
//! The core is a fold: a touch becomes a command, the case answers with events or a refusal, events are durable
//! before the screen says "saved", and the state is the fold of the events. The same core serves the tablet, a
//! scripted run and the tests. Core modules name no window, file, clock, environment or ambient randomness; what
//! they need of the world comes through [`ports`].

pub mod adapters;
pub mod anatomy;
pub mod carm;
pub mod case;
pub mod commands;
pub mod dose;
pub mod eligibility;
pub mod fluoro;
pub mod journal;
pub mod open_case;
pub mod pathway;
pub mod pelvis;
pub mod people;
pub mod pin;
pub mod plan;
pub mod ports;
#[cfg(feature = "tablet")]
pub mod presenter;
pub mod record;
pub mod rehearse;
pub mod review;
pub mod settings;
pub mod strict_json;
pub mod units;

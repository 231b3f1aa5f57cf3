//! One file per command of the program. Each takes what it needs of the world as ports and returns an exit code.
//!
//! Result on standard output, diagnostics on standard error, `-` for the standard streams. What it does not do: no
//! window, no rule of the trade; it reads, calls the core, and prints.

pub mod arguments;
pub mod cast;
pub mod dose;
pub mod pathway;
pub mod people;
pub mod perform;
pub mod plan;
pub mod receive;
pub mod redact;
pub mod rehearse;
pub mod review;
pub mod script;
pub mod show;
mod start;
pub mod store;
pub mod verify;
mod world;

pub use start::{Outside, Start, run};
pub use world::{BAD_INPUT, COULD_NOT, NO, World, YES};

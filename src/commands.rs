//! One file per command of the program: arguments in, text and an exit code out.
//!
//! Results go to standard output, diagnostics to standard error. Exit: 0 done or yes; 1 no; 2 usage or bad input;
//! 3 could not.

pub mod people;
pub mod redact;
pub mod show;
pub mod verify;
mod world;

pub use world::{BAD_INPUT, COULD_NOT, NO, World, YES};

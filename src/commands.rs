//! One file per command of the program. Each takes what it needs of the world as ports and returns an exit code.

pub mod exit;
pub mod script;

//! Exit codes of every command.

/// Done, or yes.
pub const DONE: u8 = 0;
/// No: invalid, refused, faults found.
pub const NO: u8 = 1;
/// Wrong usage or bad input.
pub const BAD_INPUT: u8 = 2;
/// Could not: disk, lock, network.
pub const COULD_NOT: u8 = 3;

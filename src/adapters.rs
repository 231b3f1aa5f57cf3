//! All input and output: files, clock, randomness, keys. Implements the ports; holds no rule.

pub mod clock;
pub mod files;
pub mod images;
pub mod randomness;

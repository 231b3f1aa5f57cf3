//! All input and output: files, clock, randomness, keys. Implements the ports; holds no rule.

pub mod clock;
pub mod dataset;
pub mod dose_report;
pub mod files;
pub mod images;
pub mod randomness;
pub mod receiver;

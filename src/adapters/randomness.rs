//! The system's source of unpredictable bytes.

use crate::ports::Randomness;
use std::io;

/// The operating system's generator.
#[derive(Debug, Default, Clone, Copy)]
pub struct SystemRandomness;

impl Randomness for SystemRandomness {
    fn fill(&self, bytes: &mut [u8]) -> io::Result<()> {
        getrandom::fill(bytes).map_err(|fault| io::Error::other(fault.to_string()))
    }
}

//! The sum of a line: SHA-256 in lower-case hex.

use sha2::{Digest, Sha256};
use std::fmt;

/// SHA-256 of some bytes. Shown as 64 lower-case hex digits.
///
/// Source: FIPS 180-4.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Sum([u8; 32]);

impl Sum {
    /// What line 1 names as the sum before it.
    pub const NONE: Self = Self([0; 32]);

    /// The sum of these bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// 64 lower-case hex digits.
    #[must_use]
    pub fn hex(&self) -> [u8; 64] {
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut hex = [0; 64];
        for (pair, byte) in hex.chunks_exact_mut(2).zip(self.0) {
            pair[0] = DIGITS[usize::from(byte >> 4)];
            pair[1] = DIGITS[usize::from(byte & 15)];
        }
        hex
    }
}

/// A sum over bytes that come bit by bit.
#[derive(Default)]
pub(super) struct Summing(Sha256);

impl Summing {
    pub fn take(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    /// The sum of all that was taken.
    pub fn so_far(&self) -> Sum {
        Sum(self.0.clone().finalize().into())
    }
}

impl fmt::Display for Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(str::from_utf8(&self.hex()).expect("hex digits are ASCII"))
    }
}

impl fmt::Debug for Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// A line of a journal, by number and sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChainPoint {
    /// Counted from 1.
    pub seq: u64,
    pub sum: Sum,
}

//! Sums of the chain.

use sha2::{Digest, Sha256};
use std::fmt;

/// SHA-256 of a line's bytes before its own sum (FIPS 180-4), shown as 64 lower-case hex digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Sum(pub [u8; 32]);

impl Sum {
    /// What the first line names as the sum before it.
    pub const NONE: Self = Self([0; 32]);

    /// The sum of a line's bytes before `,"sum"`.
    #[must_use]
    pub fn of(body: &[u8]) -> Self {
        Self(Sha256::digest(body).into())
    }

    /// Reads 64 lower-case hex digits.
    #[must_use]
    pub fn from_hex(hex: &[u8]) -> Option<Self> {
        if hex.len() != 64 {
            return None;
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(hex.chunks_exact(2)) {
            *byte = (digit(pair[0])? << 4) | digit(pair[1])?;
        }
        Some(Self(bytes))
    }

    /// The 64 digits, as bytes of ASCII.
    #[must_use]
    pub fn hex(&self) -> [u8; 64] {
        let mut hex = [0; 64];
        for (pair, byte) in hex.chunks_exact_mut(2).zip(self.0) {
            pair[0] = DIGITS[usize::from(byte >> 4)];
            pair[1] = DIGITS[usize::from(byte & 15)];
        }
        hex
    }
}

const DIGITS: &[u8; 16] = b"0123456789abcdef";

fn digit(ascii: u8) -> Option<u8> {
    match ascii {
        b'0'..=b'9' => Some(ascii - b'0'),
        b'a'..=b'f' => Some(ascii - b'a' + 10),
        _ => None,
    }
}

impl fmt::Display for Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(std::str::from_utf8(&self.hex()).expect("hex digits are ASCII"))
    }
}

/// A line of a chain: its number and its sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChainPoint {
    pub seq: u64,
    pub sum: Sum,
}

impl ChainPoint {
    /// Before the first line.
    pub const NONE: Self = Self { seq: 0, sum: Sum::NONE };
}

//! Passcodes: what one must look like, and how a wrong one slows the next try.

use std::fmt;
use thiserror::Error;
use zeroize::Zeroizing;

/// Fewest digits. Common practice, no source; the key also needs the secret of the device.
const DIGITS_MIN: usize = 6;
/// Most digits.
const DIGITS_MAX: usize = 32;

/// Why digits are not a passcode.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum PasscodeError {
    #[error("a passcode has between {min} and {max} digits, not {found}")]
    Length { found: usize, min: usize, max: usize },
    #[error("a passcode has digits only: character {position} is none")]
    NotDigit { position: usize },
    #[error("a passcode of one digit repeated is no secret")]
    OneDigit,
}

/// A passcode that keeps the policy; wiped when dropped, never printed.
pub struct Passcode(Zeroizing<String>);

impl Passcode {
    /// # Errors
    /// [`PasscodeError`] names what the policy asks for.
    pub fn new(text: &str) -> Result<Self, PasscodeError> {
        if let Some(position) = text.chars().position(|c| !c.is_ascii_digit()) {
            return Err(PasscodeError::NotDigit { position: position + 1 });
        }
        let found = text.len();
        if !(DIGITS_MIN..=DIGITS_MAX).contains(&found) {
            return Err(PasscodeError::Length { found, min: DIGITS_MIN, max: DIGITS_MAX });
        }
        if text.bytes().all(|digit| Some(digit) == text.bytes().next()) {
            return Err(PasscodeError::OneDigit);
        }
        Ok(Self(Zeroizing::new(text.to_owned())))
    }

    pub(super) fn digits(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Passcode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Passcode(..)")
    }
}

/// Longest wait after a wrong passcode, milliseconds. Common practice, no source.
const WAIT_MAX_MS: u64 = 60_000;

/// How a wrong passcode slows the next try: 1, 2, 4 .. 60 seconds. One per person; it holds nothing else back.
///
/// Times are of a clock that goes on through suspend; after a restart of that clock at most one full wait is left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct PasscodeDelay {
    wrong: u32,
    last_wrong_ms: u64,
}

impl PasscodeDelay {
    /// Milliseconds until the next try is taken; 0: now.
    #[must_use]
    pub fn wait_ms(&self, now_ms: u64) -> u64 {
        let Some(doublings) = self.wrong.checked_sub(1) else { return 0 };
        let wait = 1_000_u64.checked_shl(doublings.min(16)).unwrap_or(WAIT_MAX_MS).min(WAIT_MAX_MS);
        match now_ms.checked_sub(self.last_wrong_ms) {
            Some(gone) => wait.saturating_sub(gone),
            None => wait,
        }
    }

    /// Notes a wrong passcode.
    pub fn wrong(&mut self, now_ms: u64) {
        self.wrong = self.wrong.saturating_add(1);
        self.last_wrong_ms = now_ms;
    }

    /// Notes the right one: the next try is free again.
    pub fn right(&mut self) {
        *self = Self::default();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_passcode_is_at_least_six_digits_and_not_one_repeated() {
        assert!(Passcode::new("482913").is_ok());
        assert_eq!(Passcode::new("48291").unwrap_err(), PasscodeError::Length { found: 5, min: 6, max: 32 });
        assert_eq!(Passcode::new("4829a3").unwrap_err(), PasscodeError::NotDigit { position: 5 });
        assert_eq!(Passcode::new("000000").unwrap_err(), PasscodeError::OneDigit);
        assert_eq!(format!("{:?}", Passcode::new("482913").unwrap()), "Passcode(..)");
    }

    #[test]
    fn each_wrong_passcode_doubles_the_wait_up_to_a_minute() {
        let mut delay = PasscodeDelay::default();
        assert_eq!(delay.wait_ms(0), 0);
        let mut waits = Vec::new();
        for _ in 0..9 {
            delay.wrong(10_000);
            waits.push(delay.wait_ms(10_000) / 1_000);
        }
        assert_eq!(waits, [1, 2, 4, 8, 16, 32, 60, 60, 60]);
        assert_eq!(delay.wait_ms(69_999), 1);
        assert_eq!(delay.wait_ms(70_000), 0);
        delay.right();
        assert_eq!(delay.wait_ms(10_000), 0);
    }

    #[test]
    fn a_clock_that_started_again_leaves_one_wait_at_most() {
        let mut delay = PasscodeDelay::default();
        delay.wrong(u64::MAX);
        assert_eq!(delay.wait_ms(0), 1_000);
    }
}

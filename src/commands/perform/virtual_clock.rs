//! The script's own time.

use crate::ports::{Clock, Moment};
use chrono::{DateTime, FixedOffset, TimeDelta};
use std::sync::atomic::{AtomicI64, Ordering};

/// How long the machine had run when the case was opened, milliseconds.
const RUNNING_MS: i64 = 600_000;

/// A clock that stands still until it is told where to go.
pub struct VirtualClock {
    opened_at: DateTime<FixedOffset>,
    now_ms: AtomicI64,
    /// Time since opening at which the boot clock read zero.
    boot_zero_ms: AtomicI64,
}

impl VirtualClock {
    pub fn new(opened_at: DateTime<FixedOffset>) -> Self {
        Self { opened_at, now_ms: AtomicI64::new(0), boot_zero_ms: AtomicI64::new(-RUNNING_MS) }
    }

    /// Moves to a time since opening.
    pub fn go_to(&self, ms: i64) {
        self.now_ms.store(ms, Ordering::Release);
    }

    /// The machine starts again: its boot clock begins at zero.
    pub fn restart(&self) {
        self.boot_zero_ms.store(self.now_ms.load(Ordering::Acquire), Ordering::Release);
    }
}

impl Clock for VirtualClock {
    fn now(&self) -> Moment {
        let now_ms = self.now_ms.load(Ordering::Acquire);
        let boot_ms = now_ms - self.boot_zero_ms.load(Ordering::Acquire);
        Moment { at: self.opened_at + TimeDelta::milliseconds(now_ms), boot_ms: u64::try_from(boot_ms).unwrap_or(0) }
    }
}

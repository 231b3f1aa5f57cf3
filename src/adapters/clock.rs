//! The system's clocks.

use crate::ports::{Clock, Moment};
use chrono::Local;
use rustix::time::{ClockId, clock_gettime};

/// Wall clock with the local offset, and the clock that goes on through suspend.
#[derive(Debug, Default, Clone, Copy)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> Moment {
        let boot = clock_gettime(ClockId::Boottime);
        let ms = boot.tv_sec.saturating_mul(1_000).saturating_add(boot.tv_nsec / 1_000_000);
        Moment { at: Local::now().fixed_offset(), boot_ms: u64::try_from(ms).unwrap_or(0) }
    }
}

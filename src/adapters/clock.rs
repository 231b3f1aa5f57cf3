//! The system's clocks.

use crate::ports::{Clock, Moment};
use rustix::time::{ClockId, clock_gettime};

/// Local wall clock, and a clock that goes on through suspend and starts again at boot.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemClock;

/// Source: `clock_gettime(2)`: `CLOCK_BOOTTIME` includes the time the system is suspended.
#[cfg(target_os = "linux")]
const SINCE_BOOT: ClockId = ClockId::Boottime;
#[cfg(not(target_os = "linux"))]
const SINCE_BOOT: ClockId = ClockId::Monotonic;

impl Clock for SystemClock {
    fn now(&self) -> Moment {
        let boot = clock_gettime(SINCE_BOOT);
        let seconds = u64::try_from(boot.tv_sec).unwrap_or(0);
        let ms = u64::try_from(boot.tv_nsec).unwrap_or(0) / 1_000_000;
        Moment { at: chrono::Local::now().fixed_offset(), boot_ms: seconds * 1_000 + ms }
    }
}

//! Time since opening, from two clocks.
//!
//! Within one boot the boot clock counts, whatever happens to the wall clock. Across a reboot only the wall
//! clock is left; every time after such a gap is marked.

use super::Stamp;

/// Time since the case was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Elapsed {
    /// Milliseconds, 0 or more.
    pub ms: u64,
    /// A gap before it was measured by the wall clock alone.
    pub by_wall: bool,
}

/// Turns stamps into time since opening; fed with every event in order.
#[derive(Debug, Clone, Default)]
pub struct Timeline {
    last: Option<Stamp>,
    elapsed: Elapsed,
}

/// Two processes ran in one boot if their clocks agree within this; a reboot takes longer and restarts one.
const SAME_BOOT_MS: i64 = 5_000;

impl Timeline {
    /// Time since opening of a stamp, not before that of the last event.
    #[must_use]
    pub fn at(&self, stamp: &Stamp) -> Elapsed {
        let Some(last) = &self.last else { return Elapsed::default() };
        let wall_ms = (stamp.at - last.at).num_milliseconds();
        let boot_ms = signed(stamp.boot_ms) - signed(last.boot_ms);
        let same_boot = stamp.process == last.process || (boot_ms >= 0 && (wall_ms - boot_ms).abs() <= SAME_BOOT_MS);
        let gap_ms = if same_boot { boot_ms } else { wall_ms };
        let gap_ms = u64::try_from(gap_ms).unwrap_or(0);
        Elapsed { ms: self.elapsed.ms.saturating_add(gap_ms), by_wall: self.elapsed.by_wall || !same_boot }
    }

    /// Moves on to an event's stamp and returns its time since opening.
    pub fn advance(&mut self, stamp: &Stamp) -> Elapsed {
        self.elapsed = self.at(stamp);
        self.last = Some(stamp.clone());
        self.elapsed
    }

    /// The stamp of the last event.
    #[must_use]
    pub fn last(&self) -> Option<&Stamp> {
        self.last.as_ref()
    }

    /// Time since opening of the last event.
    #[must_use]
    pub fn elapsed(&self) -> Elapsed {
        self.elapsed
    }
}

fn signed(ms: u64) -> i64 {
    i64::try_from(ms).unwrap_or(i64::MAX)
}

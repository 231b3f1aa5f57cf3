//! How far the writer is: shared between an open case and its writer thread.

use chrono::{DateTime, FixedOffset};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// Most events held in memory while the disk cannot take them.
pub const UNSAVED_MAX: u64 = 10_000;

/// Called whenever the save state may have changed, from the writer's thread. It returns quickly, issues no command
/// and asks nothing of the case: it wakes whoever shows the state.
pub type Notify = Arc<dyn Fn() + Send + Sync>;

/// Whether everything issued would survive a crash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SaveState {
    /// Every event is durable.
    Saved,
    /// Events are on their way; nothing has failed.
    Saving,
    /// The disk is full or failing: `pending` events stand in memory alone, and a crash would lose them.
    NotSaved { pending: u64, since: DateTime<FixedOffset>, reason: String },
    /// Damage was found: nothing is written until the team continues in a new journal.
    ReadOnly,
}

/// What the writer tells. The mutex guards a few words and is never held over a disk operation.
pub(super) struct Saving {
    /// Events queued and not acknowledged by the disk.
    held: AtomicU64,
    /// Events found on opening that a sync has not vouched for yet.
    doubtful: AtomicU64,
    /// Number of the last event known to be durable.
    saved_seq: AtomicU64,
    failing: AtomicBool,
    failure: Mutex<Option<Failure>>,
    progress: Condvar,
    notify: Notify,
}

/// One wait at most, so that no time overflows; waiting goes on after it.
const WAIT_MAX: Duration = Duration::from_hours(1);

struct Failure {
    since: DateTime<FixedOffset>,
    reason: String,
}

impl Saving {
    /// `saved`: events known to be durable; `doubtful`: events behind them that were read and must be vouched for.
    pub fn new(saved: u64, doubtful: u64, notify: Notify) -> Self {
        Self {
            held: AtomicU64::new(0),
            doubtful: AtomicU64::new(doubtful),
            saved_seq: AtomicU64::new(saved),
            failing: AtomicBool::new(false),
            failure: Mutex::new(None),
            progress: Condvar::new(),
            notify,
        }
    }

    pub fn hold(&self, events: u64) {
        self.held.fetch_add(events, Ordering::AcqRel);
    }

    pub fn held(&self) -> u64 {
        self.held.load(Ordering::Acquire)
    }

    pub fn saved_seq(&self) -> u64 {
        self.saved_seq.load(Ordering::Acquire)
    }

    /// The disk acknowledged that many of the events held, and everything before them.
    pub fn acknowledge(&self, events: u64) {
        let mut failure = self.lock();
        let vouched = self.doubtful.swap(0, Ordering::AcqRel);
        self.saved_seq.fetch_add(vouched + events, Ordering::AcqRel);
        self.held.fetch_sub(events, Ordering::AcqRel);
        if self.pending() == 0 {
            self.forget(&mut failure);
        }
        drop(failure);
        self.tell();
    }

    /// Everything taken over by the writer is written; what is on its way now has not failed.
    pub fn recovered(&self) {
        if self.failing.load(Ordering::Acquire) {
            let mut failure = self.lock();
            self.forget(&mut failure);
            drop(failure);
            self.tell();
        }
    }

    fn forget(&self, failure: &mut Option<Failure>) {
        *failure = None;
        self.failing.store(false, Ordering::Release);
    }

    /// The disk failed; `since` counts from the first failure in a row.
    pub fn fail(&self, now: DateTime<FixedOffset>, reason: String) {
        let mut failure = self.lock();
        let since = failure.as_ref().map_or(now, |earlier| earlier.since);
        *failure = Some(Failure { since, reason });
        self.failing.store(true, Ordering::Release);
        drop(failure);
        self.tell();
    }

    pub fn state(&self) -> SaveState {
        if self.failing.load(Ordering::Acquire) {
            let failure = self.lock();
            if let Some(Failure { since, reason }) = failure.as_ref() {
                let pending = self.pending();
                return SaveState::NotSaved { pending, since: *since, reason: reason.clone() };
            }
        }
        if self.pending() == 0 { SaveState::Saved } else { SaveState::Saving }
    }

    /// Waits until everything is saved, the disk fails, or the time is over.
    pub fn wait(&self, longest: Duration) -> SaveState {
        let end = Instant::now().checked_add(longest);
        let mut failure = self.lock();
        while self.pending() > 0 && failure.is_none() {
            let left = end.map_or(WAIT_MAX, |end| end.saturating_duration_since(Instant::now()).min(WAIT_MAX));
            if left.is_zero() {
                break;
            }
            failure = self.progress.wait_timeout(failure, left).unwrap_or_else(PoisonError::into_inner).0;
        }
        drop(failure);
        self.state()
    }

    fn pending(&self) -> u64 {
        self.held() + self.doubtful.load(Ordering::Acquire)
    }

    fn tell(&self) {
        self.progress.notify_all();
        (self.notify)();
    }

    fn lock(&self) -> MutexGuard<'_, Option<Failure>> {
        self.failure.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

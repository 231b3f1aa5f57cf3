//! What is saved and what waits, shared between the case and its writer without a lock.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicI32, AtomicU64, Ordering};

/// Most events kept in memory while the disk takes none.
pub const UNSAVED_MAX: u64 = 10_000;

/// Called whenever the saved state may have changed; from the writer's thread.
pub type Notify = Arc<dyn Fn() + Send + Sync>;

/// Whether everything issued is durable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SaveState {
    Saved,
    /// On its way to the disk.
    Saving,
    /// The disk refuses. Entries count on in memory; a crash now would lose them.
    NotSaved {
        pending: u64,
        reason: String,
    },
    /// Damage was found: nothing is written until the team continues in a new journal.
    ReadOnly,
}

/// Progress of the writer.
#[derive(Debug, Default)]
pub(super) struct Progress {
    acknowledged: AtomicU64,
    /// Error number of the system; 0: no trouble; -1: trouble without a number.
    trouble: AtomicI32,
}

impl Progress {
    pub fn starting_at(seq: u64) -> Self {
        Self { acknowledged: AtomicU64::new(seq), trouble: AtomicI32::new(0) }
    }

    pub fn acknowledged(&self) -> u64 {
        self.acknowledged.load(Ordering::Acquire)
    }

    pub fn acknowledge(&self, seq: u64) {
        self.trouble.store(0, Ordering::Release);
        self.acknowledged.store(seq, Ordering::Release);
    }

    pub fn trouble(&self, fault: &io::Error) {
        self.trouble.store(fault.raw_os_error().unwrap_or(-1), Ordering::Release);
    }

    /// The state, given the last event issued.
    pub fn state(&self, issued: u64) -> SaveState {
        let pending = issued.saturating_sub(self.acknowledged());
        if pending == 0 {
            return SaveState::Saved;
        }
        match self.trouble.load(Ordering::Acquire) {
            0 => SaveState::Saving,
            -1 => SaveState::NotSaved { pending, reason: "the disk refuses".to_owned() },
            number => SaveState::NotSaved { pending, reason: words(number) },
        }
    }
}

fn words(number: i32) -> String {
    let fault = io::Error::from_raw_os_error(number);
    match fault.kind() {
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk takes no writing".to_owned(),
        _ => fault.to_string(),
    }
}

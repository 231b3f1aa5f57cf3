//! What an open case needs of the world.

use crate::ports::{Clock, Disk, Randomness};
use std::sync::Arc;
use std::time::Duration;

/// The ports of an open case, shared by all that are open.
#[derive(Clone)]
pub struct World {
    pub clock: Arc<dyn Clock>,
    pub randomness: Arc<dyn Randomness>,
    pub disk: Arc<dyn Disk>,
    pub retry: RetryPause,
}

impl World {
    #[must_use]
    pub fn new(clock: Arc<dyn Clock>, randomness: Arc<dyn Randomness>, disk: Arc<dyn Disk>) -> Self {
        Self { clock, randomness, disk, retry: RetryPause::default() }
    }
}

/// How long the writer pauses after a failed write: doubled with each failure from `first` up to `most`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RetryPause {
    pub first: Duration,
    pub most: Duration,
}

impl Default for RetryPause {
    fn default() -> Self {
        Self { first: Duration::from_millis(100), most: Duration::from_secs(5) }
    }
}

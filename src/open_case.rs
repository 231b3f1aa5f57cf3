//! One open case: core, journal and ports, used by tablet, commands, rehearsal and tests alike.
//!
//! Invariants: a touch never waits for the disk; nothing is shown as saved before it is durable; one process at a
//! time holds a case. What it deliberately does not do: it draws nothing and decides nothing.

mod create;
mod error;
mod held;
mod reopen;
mod saving;
mod writer;

pub use create::CreateCase;
pub use error::{IssueError, OpenError};
pub use held::OpenCase;
pub use reopen::{Reopened, TailFound};
pub use saving::{Notify, SaveState, UNSAVED_MAX};

use crate::ports::{Clock, Disk, Randomness};
use std::sync::Arc;

/// What the program needs of the world.
#[derive(Clone)]
pub struct World {
    pub clock: Arc<dyn Clock>,
    pub randomness: Arc<dyn Randomness>,
    pub disk: Arc<dyn Disk>,
}

/// File names inside a case's folder.
pub mod names {
    pub const PATHWAY: &str = "pathway.json";
    pub const PLAN: &str = "plan.json";
    pub const JOURNAL: &str = "journal.jsonl";
    pub const RECORD: &str = "record.json";
    pub const LOCK: &str = "in-use.lock";
    pub const IMAGES: &str = "images";
    pub const REPORTS: &str = "reports";

    /// Name of the n-th journal of a case: further ones continue a damaged one.
    #[must_use]
    pub fn journal(number: u32) -> String {
        if number == 1 { JOURNAL.to_owned() } else { format!("journal-{number}.jsonl") }
    }
}

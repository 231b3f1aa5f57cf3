//! One open case: the case, its journal on a disk, and the clock, used by tablet, commands, rehearsal and tests alike.
//!
//! A command is stamped, decided and applied to the state at once; its lines go to one writer thread, which owns the
//! file: an append is one write and one sync. Nothing here waits for the disk while a case runs, and nothing is called
//! saved before its sync returned. A failed sync is never tried again on the same descriptor: the writer opens the file
//! anew, cuts it to the last acknowledged byte and appends again. While the disk is full or failing, up to
//! [`UNSAVED_MAX`] events are held in memory and [`SaveState::NotSaved`] says so; a crash would lose those.
//!
//! A case is a folder: `pathway.json`, `plan.json`, `journal.jsonl` (`journal-2.jsonl` and on, where an earlier one
//! was damaged), `record.json`, `images/`, `reports/`, `in-use.lock`, and torn tails set aside
//! (`journal.jsonl.torn-1`). A journal that continues a damaged one stands alone: it repeats the good events with
//! their times, and its first line names the damaged journal's last good `{seq, sum}`.
//!
//! What it does not do: no decision about the operation (that is `case`), no bytes (that is `journal`), no key or
//! signature. What may never change: the names in the folder, and that a line is never edited.

mod addenda;
pub mod arrivals;
mod create;
mod error;
mod issue;
mod look;
mod move_shots;
pub mod names;
mod new_journal;
mod reopen;
mod saving;
mod sign_off;
mod writer;

pub use addenda::{addenda, write_addendum};
pub use create::CreateCase;
pub use error::{IssueError, OpenError};
pub use issue::OpenCase;
pub use look::{CaseOnDisk, look};
pub use move_shots::{MoveError, MovingJob, TakenOver};
pub use reopen::{Reopened, TailFound};
pub use saving::{Notify, SaveState, UNSAVED_MAX};
pub use sign_off::{SignError, SigningJob, Written, meaning};

use crate::ports::{Clock, Disk, Randomness};
use std::sync::Arc;

/// What the program needs of the world, shared by all cases that are open.
#[derive(Clone)]
pub struct World {
    pub clock: Arc<dyn Clock>,
    pub randomness: Arc<dyn Randomness>,
    pub disk: Arc<dyn Disk>,
}

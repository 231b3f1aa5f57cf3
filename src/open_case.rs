//! One open case: the case, its journal on a disk, and the clock, used by tablet, commands, rehearsal and tests alike.
//!
//! A command is stamped, decided and applied to the state at once; its lines go to one writer thread, which owns the
//! file: an append is one write and one sync. Nothing here waits for the disk while a case runs, and nothing is called
//! saved before its sync returned. A failed sync is never tried again on the same descriptor: the writer opens the file
//! anew, cuts it to the last acknowledged byte and appends again. While the disk is full or failing, up to
//! [`HELD_EVENTS_MAX`] events are held in memory and [`SaveState::NotSaved`] says so; a crash would lose those.
//!
//! A case is a folder: `pathway.json`, `plan.json`, `journal.jsonl` (`journal-2.jsonl` and on, where an earlier one
//! was damaged), `record.json`, `images/`, `reports/`, `lock`, and torn tails set aside
//! (`journal.jsonl.torn-1`). A journal that continues a damaged one stands alone: it repeats the good events with
//! their times, and its first line names the damaged journal's last good `{seq, sum}`.
//!
//! What it does not do: no decision about the operation (that is `case`), no bytes (that is `journal`), no key or
//! signature. What may never change: the names in the folder, and that a line is never edited.

mod create;
mod damaged;
mod error;
mod folder;
mod issue;
mod look;
mod reopen;
mod saving;
mod world;
mod writer;

pub use create::CreateCase;
pub use damaged::DamagedCase;
pub use error::{IssueError, OpenError};
pub use folder::{IMAGES, PATHWAY, PLAN, RECORD, REPORTS};
pub use issue::{HELD_EVENTS_MAX, OpenCase};
pub use look::{CaseOnDisk, look};
pub use reopen::Reopened;
pub use saving::SaveState;
pub use world::{RetryPause, World};

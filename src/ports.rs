//! Ports: what the program needs of the world, as traits. `adapters` implements them; tests bring their own.

pub mod image;
pub mod picture;
mod receiver;
mod reports;

pub use receiver::{Arrival, ArrivalKind, ReceiveError, Receiver, Receiving, Reception, Told};
pub use reports::{ReportReader, Unread};

use chrono::{DateTime, FixedOffset};
use std::io;
use std::path::Path;

/// Two clocks read together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moment {
    /// Wall clock with its offset.
    pub at: DateTime<FixedOffset>,
    /// Milliseconds of a clock that goes on through suspend.
    pub boot_ms: u64,
}

/// The time.
pub trait Clock: Send + Sync {
    fn now(&self) -> Moment;
}

/// Unpredictable bytes.
pub trait Randomness: Send + Sync {
    /// # Errors
    /// If the system's source fails; nothing may go on with weaker bytes.
    fn fill(&self, bytes: &mut [u8]) -> io::Result<()>;
}

/// Files and folders. New folders are 0700, new files 0600, and both are durable when the call returns.
pub trait Disk: Send + Sync {
    /// Reads a whole file.
    ///
    /// # Errors
    /// `InvalidData` if it holds more than `max_bytes`; what the system says otherwise.
    fn read(&self, path: &Path, max_bytes: u64) -> io::Result<Vec<u8>>;

    /// Reads at most `max_bytes` from the begin of a file.
    ///
    /// # Errors
    /// What the system says.
    fn read_begin(&self, path: &Path, max_bytes: usize) -> io::Result<Vec<u8>> {
        let mut whole = self.read(path, u64::MAX)?;
        whole.truncate(max_bytes);
        Ok(whole)
    }

    /// Removes a file; the folder is synced, so that it does not come back.
    ///
    /// # Errors
    /// `Unsupported` where the disk cannot; what the system says otherwise.
    fn remove(&self, path: &Path) -> io::Result<()> {
        let _ = path;
        Err(io::ErrorKind::Unsupported.into())
    }

    /// Replaces a file as a whole: a new file beside it, synced, renamed over it, the folder synced.
    ///
    /// # Errors
    /// What the system says; the old file is then untouched.
    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;

    /// Begins a file that nobody sees under its name before it is whole. `beside`: where it stands until then, in the
    /// folder of its later name; what stood there is lost. `None` where the disk can write files only as a whole.
    ///
    /// # Errors
    /// What the system says.
    fn draft(&self, beside: &Path) -> io::Result<Option<Box<dyn Draft>>> {
        let _ = beside;
        Ok(None)
    }

    /// Creates a folder and those above it that are missing, each synced into its parent.
    ///
    /// # Errors
    /// What the system says.
    fn create_folder(&self, path: &Path) -> io::Result<()>;

    /// Names in a folder, sorted.
    ///
    /// # Errors
    /// What the system says.
    fn list(&self, path: &Path) -> io::Result<Vec<String>>;

    /// Opens a file to append to. With `new` the file must not exist yet, and its folder is synced.
    ///
    /// # Errors
    /// What the system says.
    fn open_append(&self, path: &Path, new: bool) -> io::Result<Box<dyn AppendFile>>;

    /// Writes, in place, bytes that the file seems to hold already, and makes them durable.
    ///
    /// What a reader sees may stand in memory alone if the process before failed to sync it, and no later sync
    /// vouches for it; writing the same bytes again does, and a crash meanwhile changes nothing. A disk that
    /// cannot write in place replaces the file by itself.
    ///
    /// # Errors
    /// `InvalidInput` if the file is shorter than what is written over; what the system says otherwise.
    fn write_over(&self, path: &Path, offset: u64, bytes: &[u8]) -> io::Result<()> {
        let mut whole = self.read(path, u64::MAX)?;
        let from = usize::try_from(offset).unwrap_or(usize::MAX);
        let there = whole.get_mut(from..).and_then(|rest| rest.get_mut(..bytes.len()));
        there.ok_or(io::ErrorKind::InvalidInput)?.copy_from_slice(bytes);
        self.replace(path, &whole)
    }

    /// Holds a lock file until the value is dropped.
    ///
    /// # Errors
    /// `WouldBlock` if another process holds it.
    fn lock(&self, path: &Path) -> io::Result<Box<dyn Send>>;
}

/// A file that is being written; dropped before it is put in its place, it is removed.
pub trait Draft: Send {
    /// Appends all the bytes. Nothing of it is durable yet, but its way to the disk begins.
    ///
    /// # Errors
    /// What the system says. How much was written is then unknown, and the draft is of no more use.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Appends the rest and makes the whole durable under this name, in place of what stood there: synced, renamed, the
    /// folder synced.
    ///
    /// # Errors
    /// What the system says; the old file is then untouched, unless only the last sync failed.
    fn put(self: Box<Self>, rest: &[u8], path: &Path) -> io::Result<()>;
}

/// A file that only grows.
pub trait AppendFile: Send {
    /// Appends the bytes with one write; a short write is an error.
    ///
    /// # Errors
    /// What the system says. How much was written is then unknown.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Makes everything appended durable. Never call it again on this file after it failed.
    ///
    /// # Errors
    /// What the system says.
    fn sync(&mut self) -> io::Result<()>;

    /// Length in bytes.
    ///
    /// # Errors
    /// What the system says.
    fn length(&self) -> io::Result<u64>;

    /// Cuts the file to that length.
    ///
    /// # Errors
    /// What the system says.
    fn cut(&mut self, length: u64) -> io::Result<()>;
}

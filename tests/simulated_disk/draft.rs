//! A simulated file that has not its name yet.

use super::{Fate, SimAppend, SimDisk, SimFile, failed};
use brimline::ports::{AppendFile, Draft};
use std::io::{self, ErrorKind};
use std::path::Path;

pub struct SimDraft(SimAppend);

impl SimDraft {
    pub fn begin(disk: &SimDisk, beside: &Path) -> io::Result<Self> {
        let mut state = disk.alive()?;
        if state.fate() != Fate::Done {
            return Err(failed("open failed"));
        }
        state.files.insert(beside.to_owned(), SimFile::default());
        Ok(Self(SimAppend { disk: disk.clone(), path: beside.to_owned() }))
    }
}

impl Draft for SimDraft {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.append(bytes)
    }

    fn put(mut self: Box<Self>, rest: &[u8], path: &Path) -> io::Result<()> {
        self.0.append(rest)?;
        self.0.sync()?;
        let mut state = self.0.disk.alive()?;
        let fate = state.fate();
        // Renamed or not, the folder not synced: either name may be found.
        if fate == Fate::Done || state.chance.one_in(2) {
            let file = state.files.remove(&self.0.path).ok_or(ErrorKind::NotFound)?;
            state.files.insert(path.to_owned(), file);
        }
        if fate == Fate::Done { Ok(()) } else { Err(failed("put failed")) }
    }
}

impl Drop for SimDraft {
    fn drop(&mut self) {
        if let Ok(mut state) = self.0.disk.alive() {
            state.files.remove(&self.0.path);
        }
    }
}

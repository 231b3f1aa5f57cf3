//! A disk in memory and a world around it, to run commands without a window or a file.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::Counted;
use brimline::commands::World;
use brimline::ports::{AppendFile, Disk};
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

#[derive(Default)]
pub struct MemoryDisk {
    pub files: Mutex<BTreeMap<PathBuf, Vec<u8>>>,
    /// Every write fails.
    pub full: bool,
}

impl Disk for MemoryDisk {
    fn read(&self, path: &Path, max_bytes: u64) -> io::Result<Vec<u8>> {
        let files = self.files.lock().unwrap();
        let bytes = files.get(path).ok_or(io::ErrorKind::NotFound)?;
        if bytes.len() as u64 > max_bytes { Err(io::ErrorKind::InvalidData.into()) } else { Ok(bytes.clone()) }
    }

    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        if self.full {
            return Err(io::ErrorKind::StorageFull.into());
        }
        self.files.lock().unwrap().insert(path.to_owned(), bytes.to_vec());
        Ok(())
    }

    fn create_folder(&self, _path: &Path) -> io::Result<()> {
        Ok(())
    }

    fn list(&self, _path: &Path) -> io::Result<Vec<String>> {
        Err(io::ErrorKind::Unsupported.into())
    }

    fn open_append(&self, _path: &Path, _new: bool) -> io::Result<Box<dyn AppendFile>> {
        Err(io::ErrorKind::Unsupported.into())
    }

    fn lock(&self, _path: &Path) -> io::Result<Box<dyn Send>> {
        Err(io::ErrorKind::Unsupported.into())
    }
}

/// What a command answered.
#[derive(Debug)]
pub struct Answer {
    pub code: u8,
    pub out: String,
    pub err: String,
}

/// Runs a command on a disk, with that standard input.
pub fn run(disk: &MemoryDisk, random: &Counted, input: &[u8], command: impl FnOnce(&mut World<'_>) -> u8) -> Answer {
    let (mut input, mut out, mut err) = (input, Vec::new(), Vec::new());
    let store = PathBuf::from("/store");
    let code = command(&mut World { disk, random, store, input: &mut input, out: &mut out, err: &mut err });
    Answer { code, out: String::from_utf8(out).unwrap(), err: String::from_utf8(err).unwrap() }
}

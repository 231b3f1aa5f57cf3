//! The real disk.
//!
//! Invariants: folders are created 0700 and files 0600, whatever the process's mask allows; a new name is durable
//! because its folder is synced; a replaced file is either the old or the new one, whole.

use crate::ports::{AppendFile, Disk, Draft};
use rustix::fs::{Advice, FlockOperation, OFlags, fadvise, flock};
use rustix::io::Errno;
use std::fs::{DirBuilder, File, OpenOptions};
use std::io::{self, ErrorKind, Read, Write};
use std::num::NonZeroU64;
use std::os::unix::fs::{DirBuilderExt, FileExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

const FOLDER_MODE: u32 = 0o700;
const FILE_MODE: u32 = 0o600;

/// Files and folders of the system.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn read(&self, path: &Path, max_bytes: u64) -> io::Result<Vec<u8>> {
        let file = File::open(path)?;
        let mut bytes = Vec::new();
        let expected = file.metadata()?.len().min(max_bytes);
        bytes.try_reserve(usize::try_from(expected).unwrap_or(0))?;
        file.take(max_bytes.saturating_add(1)).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > max_bytes {
            return Err(io::Error::new(ErrorKind::InvalidData, format!("more than {max_bytes} bytes")));
        }
        Ok(bytes)
    }

    fn read_begin(&self, path: &Path, max_bytes: usize) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        File::open(path)?.take(max_bytes as u64).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)?;
        sync_folder_of(path)
    }

    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let name = path.file_name().ok_or(ErrorKind::InvalidInput)?;
        let mut beside = name.to_owned();
        beside.push(".new");
        Box::new(RealDraft::begin(&path.with_file_name(beside))?).put(bytes, path)
    }

    fn draft(&self, beside: &Path) -> io::Result<Option<Box<dyn Draft>>> {
        Ok(Some(Box::new(RealDraft::begin(beside)?)))
    }

    fn create_folder(&self, path: &Path) -> io::Result<()> {
        if path.is_dir() {
            return Ok(());
        }
        if let Some(above) = above(path) {
            self.create_folder(above)?;
        }
        match DirBuilder::new().mode(FOLDER_MODE).create(path) {
            Err(fault) if fault.kind() == ErrorKind::AlreadyExists && path.is_dir() => Ok(()),
            Err(fault) => Err(fault),
            Ok(()) => sync_folder_of(path),
        }
    }

    fn list(&self, path: &Path) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for entry in std::fs::read_dir(path)? {
            names.push(entry?.file_name().to_string_lossy().into_owned());
        }
        names.sort_unstable();
        Ok(names)
    }

    fn open_append(&self, path: &Path, new: bool) -> io::Result<Box<dyn AppendFile>> {
        let mut options = OpenOptions::new();
        options.append(true).mode(FILE_MODE).custom_flags(no_follow());
        let file = if new { options.create_new(true).open(path)? } else { options.open(path)? };
        if new {
            sync_folder_of(path)?;
        }
        Ok(Box::new(RealFile(file)))
    }

    fn write_over(&self, path: &Path, offset: u64, bytes: &[u8]) -> io::Result<()> {
        let file = OpenOptions::new().write(true).custom_flags(no_follow()).open(path)?;
        if file.metadata()?.len() < offset.saturating_add(bytes.len() as u64) {
            return Err(io::Error::new(ErrorKind::InvalidInput, "the file is shorter than what was read from it"));
        }
        file.write_all_at(bytes, offset)?;
        file.sync_all()
    }

    fn lock(&self, path: &Path) -> io::Result<Box<dyn Send>> {
        let mut options = OpenOptions::new();
        let file = options.write(true).create(true).truncate(false).mode(FILE_MODE).custom_flags(no_follow());
        let file = file.open(path)?;
        match flock(&file, FlockOperation::NonBlockingLockExclusive) {
            Ok(()) => Ok(Box::new(Held(file))),
            Err(Errno::WOULDBLOCK) => Err(ErrorKind::WouldBlock.into()),
            Err(fault) => Err(fault.into()),
        }
    }
}

/// A lock that is held. Closing its file would not always end it: a process that is being started holds a copy of every
/// open file until it becomes its program, and a lock lasts as long as any copy.
struct Held(File);

impl Drop for Held {
    fn drop(&mut self) {
        // What cannot be unlocked is unlocked when its last copy closes.
        let _ = flock(&self.0, FlockOperation::Unlock);
    }
}

/// Our files are never links; a link put in their place is not followed.
fn no_follow() -> i32 {
    i32::try_from(OFlags::NOFOLLOW.bits()).expect("a flag of open(2) fits its argument")
}

/// A file that has not its name yet.
struct RealDraft {
    file: File,
    /// Where it stands; `None` once it has its name.
    beside: Option<PathBuf>,
    length: u64,
}

impl RealDraft {
    fn begin(beside: &Path) -> io::Result<Self> {
        let mut options = OpenOptions::new();
        let options = options.write(true).create(true).truncate(true).mode(FILE_MODE).custom_flags(no_follow());
        Ok(Self { file: options.open(beside)?, beside: Some(beside.to_owned()), length: 0 })
    }
}

impl Draft for RealDraft {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.file.write_all(bytes)?;
        // Said to be of no more use in memory, what was written starts on its way at once, and nobody waits for it. It
        // is advice: without it the last sync takes longer, and no more.
        let _ = fadvise(&self.file, self.length, NonZeroU64::new(bytes.len() as u64), Advice::DontNeed);
        self.length += bytes.len() as u64;
        Ok(())
    }

    fn put(mut self: Box<Self>, rest: &[u8], path: &Path) -> io::Result<()> {
        self.file.write_all(rest)?;
        self.file.sync_all()?;
        let beside = self.beside.as_deref().ok_or(ErrorKind::InvalidInput)?;
        std::fs::rename(beside, path)?;
        self.beside = None;
        sync_folder_of(path)
    }
}

impl Drop for RealDraft {
    fn drop(&mut self) {
        if let Some(beside) = &self.beside {
            // What was begun is of no use; the fault that matters is the one before.
            let _ = std::fs::remove_file(beside);
        }
    }
}

fn above(path: &Path) -> Option<&Path> {
    path.parent().filter(|above| !above.as_os_str().is_empty())
}

fn sync_folder_of(path: &Path) -> io::Result<()> {
    let here = PathBuf::from(".");
    File::open(above(path).unwrap_or(&here))?.sync_all()
}

/// A file opened to append to.
struct RealFile(File);

impl AppendFile for RealFile {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        loop {
            match self.0.write(bytes) {
                Ok(count) if count == bytes.len() => return Ok(()),
                Ok(count) => {
                    let short = format!("{count} of {} bytes written; the disk may be full", bytes.len());
                    return Err(io::Error::new(ErrorKind::WriteZero, short));
                }
                // Nothing was written yet.
                Err(fault) if fault.kind() == ErrorKind::Interrupted => {}
                Err(fault) => return Err(fault),
            }
        }
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }

    fn length(&self) -> io::Result<u64> {
        self.0.metadata().map(|metadata| metadata.len())
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.0.set_len(length)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lock_ends_with_its_holder_whoever_else_has_a_copy_of_its_file() {
        let there = tempfile::tempdir().expect("a folder");
        let path = there.path().join("in-use.lock");
        let file = File::create(&path).expect("made");
        flock(&file, FlockOperation::NonBlockingLockExclusive).expect("free");
        let copy = file.try_clone().expect("copied");
        let held = Held(file);
        assert_eq!(RealDisk.lock(&path).err().expect("held").kind(), ErrorKind::WouldBlock);
        drop(held);
        drop(RealDisk.lock(&path).expect("free again"));
        drop(copy);
    }
}

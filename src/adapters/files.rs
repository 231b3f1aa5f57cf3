//! Files and folders on a real disk. Folders 0700, files 0600; what is new is synced into its folder.

use crate::ports::{AppendFile, Disk};
use rustix::fs::{FlockOperation, flock};
use std::fs::{DirBuilder, File, OpenOptions};
use std::io::{self, Read, Write};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::Path;

/// The disk of this machine.
#[derive(Debug, Default, Clone, Copy)]
pub struct RealDisk;

const FOLDER_MODE: u32 = 0o700;
const FILE_MODE: u32 = 0o600;

impl Disk for RealDisk {
    fn read(&self, path: &Path, max_bytes: u64) -> io::Result<Vec<u8>> {
        let file = File::open(path)?;
        let mut bytes = Vec::new();
        file.take(max_bytes.saturating_add(1)).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > max_bytes {
            return Err(io::Error::new(io::ErrorKind::InvalidData, format!("more than {max_bytes} bytes")));
        }
        Ok(bytes)
    }

    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let name = path.file_name().ok_or(io::ErrorKind::InvalidInput)?;
        let mut beside = name.to_owned();
        beside.push(".new");
        let beside = path.with_file_name(beside);
        let written = write_new(&beside, bytes).and_then(|()| std::fs::rename(&beside, path));
        if written.is_err() {
            let _ = std::fs::remove_file(&beside);
        }
        written?;
        sync_folder(folder_of(path))
    }

    fn create_folder(&self, path: &Path) -> io::Result<()> {
        if path.as_os_str().is_empty() || path.is_dir() {
            return Ok(());
        }
        let above = folder_of(path);
        self.create_folder(above)?;
        match DirBuilder::new().mode(FOLDER_MODE).create(path) {
            Err(fault) if fault.kind() != io::ErrorKind::AlreadyExists || !path.is_dir() => return Err(fault),
            _ => {}
        }
        sync_folder(above)
    }

    fn list(&self, path: &Path) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for entry in std::fs::read_dir(path)? {
            if let Ok(name) = entry?.file_name().into_string() {
                names.push(name);
            }
        }
        names.sort();
        Ok(names)
    }

    fn open_append(&self, path: &Path, new: bool) -> io::Result<Box<dyn AppendFile>> {
        let mut options = OpenOptions::new();
        options.append(true).create_new(new).mode(FILE_MODE);
        let file = options.open(path)?;
        if new {
            sync_folder(folder_of(path))?;
        }
        Ok(Box::new(RealAppend { file }))
    }

    fn lock(&self, path: &Path) -> io::Result<Box<dyn Send>> {
        let file = OpenOptions::new().write(true).create(true).truncate(false).mode(FILE_MODE).open(path)?;
        flock(&file, FlockOperation::NonBlockingLockExclusive)?;
        Ok(Box::new(file))
    }
}

fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create(true).truncate(true).mode(FILE_MODE).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

fn sync_folder(path: &Path) -> io::Result<()> {
    File::open(path)?.sync_all()
}

struct RealAppend {
    file: File,
}

impl AppendFile for RealAppend {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let written = self.file.write(bytes)?;
        if written == bytes.len() { Ok(()) } else { Err(io::ErrorKind::StorageFull.into()) }
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_data()
    }

    fn length(&self) -> io::Result<u64> {
        Ok(self.file.metadata()?.len())
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.file.set_len(length)
    }
}

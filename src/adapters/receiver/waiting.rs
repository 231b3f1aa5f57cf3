//! The list of what waits for a case or a person, read from the files themselves.

use super::keeper::BEGIN;
use super::object;
use crate::ports::{Arrival, Disk};
use chrono::{DateTime, Utc};
use std::io;
use std::path::Path;

/// What waits in the folder, oldest first: names begin with the time. None if the folder does not exist yet.
pub(super) fn waiting(disk: &dyn Disk, folder: &Path) -> io::Result<Vec<Arrival>> {
    let names = match disk.list(folder) {
        Err(fault) if fault.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        names => names?,
    };
    let ours = names.iter().filter_map(|name| object::of_name(name).map(|(received, uid)| (name, received, uid)));
    Ok(ours.map(|(name, received, uid)| from_disk(disk, folder, name, received, uid)).collect())
}

/// A file that cannot be read waits as one of unknown kind: it must not hide the others.
fn from_disk(disk: &dyn Disk, folder: &Path, name: &str, received: DateTime<Utc>, uid: &str) -> Arrival {
    let begin = disk.read_begin(&folder.join(name), BEGIN).unwrap_or_default();
    of_file(&begin, name, uid, received)
}

/// What a file is, from its begin.
pub(super) fn of_file(begin: &[u8], name: &str, uid: &str, received: DateTime<Utc>) -> Arrival {
    object::arrival(begin, name, uid, received)
}

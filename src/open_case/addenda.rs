//! Addenda in a case's folder: files beside the record, numbered from 1, each written once and never changed.

use super::{OpenError, World, create, names};
use crate::record;
use std::io;
use std::path::{Path, PathBuf};

/// Most addenda read of one case; a folder with more was not filled by hand.
const ADDENDA_MAX: u32 = 999;

/// Names and bytes of the addenda of a case, in the order they were written; a file that cannot be read has the reason
/// in place of its bytes.
///
/// # Errors
/// What the system says of the folder.
pub fn addenda(world: &World, folder: &Path) -> io::Result<Vec<(String, io::Result<Vec<u8>>)>> {
    let there = world.disk.list(folder)?;
    let named = (1..=ADDENDA_MAX).map(names::addendum).filter(|name| there.contains(name));
    Ok(named.map(|name| (name.clone(), world.disk.read(&folder.join(name), record::MAX_BYTES))).collect())
}

/// Writes a signed addendum under the next free number, durable when this returns.
///
/// # Errors
/// [`OpenError::InUse`] while another process has the case, [`OpenError::Disk`] otherwise; no file was changed.
pub fn write_addendum(world: &World, folder: &Path, bytes: &[u8]) -> Result<PathBuf, OpenError> {
    let _lock = create::lock(world, folder)?;
    let failed = |path: &Path, source| OpenError::Disk { path: path.to_owned(), source };
    let there = world.disk.list(folder).map_err(|source| failed(folder, source))?;
    let free = (1..=ADDENDA_MAX).map(names::addendum).find(|name| !there.contains(name));
    let full = || failed(folder, io::Error::other(format!("there are {ADDENDA_MAX} addenda already")));
    let path = folder.join(free.ok_or_else(full)?);
    world.disk.replace(&path, bytes).map_err(|source| failed(&path, source))?;
    Ok(path)
}

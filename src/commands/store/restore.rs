//! `brimline store restore`: nothing is written before every file of the backup is as it was.

use super::super::review::ReviewPorts;
use super::super::{BAD_INPUT, NO, World};
use super::backup::put;
use super::check;
use super::manifest::{FILE_MAX, Manifest, digest};
use std::path::Path;

pub(super) fn run(folder: &Path, world: &mut World<'_>, ports: &ReviewPorts) -> Result<u8, u8> {
    let store = world.store.clone();
    if world.disk.list(&store).is_ok_and(|names| !names.is_empty()) {
        let line = format_args!("{}: the store is not empty; restore into a new one", store.display());
        return Err(world.fail(BAD_INPUT, line));
    }
    let manifest = Manifest::read(folder, world)?;
    for entry in &manifest.files {
        let path = folder.join(&entry.path);
        let bytes = world.read(&path, FILE_MAX)?;
        if bytes.len() as u64 != entry.bytes || digest(&bytes) != entry.sha256 {
            let line = format_args!("{}: not what the backup's list says; nothing was restored", path.display());
            return Err(world.fail(NO, line));
        }
    }
    for entry in &manifest.files {
        let bytes = world.read(&folder.join(&entry.path), FILE_MAX)?;
        put(&store, Path::new(&entry.path), &bytes, world)?;
    }
    world.say(format_args!("{} files restored; now they are checked", manifest.files.len()))?;
    check::run(world, ports)
}

//! `brimline store backup`: a hot copy with a manifest.

use super::super::review::{Place, ReviewPorts, index_path, refuse};
use super::super::{BAD_INPUT, COULD_NOT, World, YES};
use super::manifest::{Entry, FILE_MAX, Manifest, NAME, files};
use std::path::Path;

pub(super) fn run(folder: &Path, world: &mut World<'_>, ports: &ReviewPorts) -> Result<u8, u8> {
    if world.disk.list(folder).is_ok_and(|names| !names.is_empty()) {
        return Err(world.fail(BAD_INPUT, format_args!("{}: the folder is not empty", folder.display())));
    }
    if folder.starts_with(&world.store) {
        return Err(world.fail(BAD_INPUT, format_args!("{}: it lies inside the store", folder.display())));
    }
    let store = world.store.clone();
    let mut entries = Vec::new();
    for below in files(&store, world)? {
        let bytes = world.read(&store.join(&below), FILE_MAX)?;
        put(folder, &below, &bytes, world)?;
        entries.push(Entry::of(slashed(&below), &bytes));
    }
    entries.extend(index(folder, world, ports)?);
    let count = entries.len();
    let manifest = serde_json::to_vec_pretty(&Manifest::of(entries));
    let manifest = manifest.map_err(|fault| world.fail(COULD_NOT, format_args!("the manifest: {fault}")))?;
    world.write(&folder.join(NAME), &manifest)?;
    world.say(format_args!("{count} files in {}; the device secret is not among them", folder.display()))?;
    Ok(YES)
}

/// The index as it stands at one moment, if there is one.
fn index(folder: &Path, world: &mut World<'_>, ports: &ReviewPorts) -> Result<Option<Entry>, u8> {
    let path = index_path(&world.store);
    let there = path
        .parent()
        .is_some_and(|above| world.disk.list(above).is_ok_and(|names| names.iter().any(|name| name == "index.sqlite")));
    if !there {
        return Ok(None);
    }
    let mut index = (ports.open)(&Place::File { path, create: false }).map_err(|fault| refuse(&fault, world))?;
    let copy = index_path(folder);
    make(&copy, world)?;
    index.copy_to(&copy).map_err(|fault| refuse(&fault, world))?;
    let bytes = world.read(&copy, FILE_MAX)?;
    Ok(Some(Entry::of("review/index.sqlite".to_owned(), &bytes)))
}

/// Writes a file with the folders above it.
pub(super) fn put(folder: &Path, below: &Path, bytes: &[u8], world: &mut World<'_>) -> Result<(), u8> {
    let path = folder.join(below);
    make(&path, world)?;
    world.write(&path, bytes)
}

fn make(path: &Path, world: &mut World<'_>) -> Result<(), u8> {
    let Some(above) = path.parent() else { return Ok(()) };
    let made = world.disk.create_folder(above);
    made.map_err(|fault| world.fail(COULD_NOT, format_args!("{}: {fault}", above.display())))
}

fn slashed(path: &Path) -> String {
    path.components().map(|part| part.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/")
}

//! The list of a backup's files, each with its length and digest.

use super::super::{BAD_INPUT, COULD_NOT, World};
use crate::strict_json;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::path::{Component, Path, PathBuf};

/// The manifest's own name.
pub(super) const NAME: &str = "backup.json";
/// The format written and the newest read.
const FORMAT: u32 = 1;
/// The largest manifest read, bytes.
const MAX_BYTES: u64 = 64 << 20;
/// The largest file of a store, bytes.
pub(super) const FILE_MAX: u64 = 16 << 30;
/// What a backup leaves out: the secret that opens keys, and what belongs to a running process.
const LEFT_OUT: [&str; 3] = ["device.secret", "in-use.lock", "index.sqlite-shm"];
/// How deep folders are looked into.
const DEPTH_MAX: usize = 8;

/// The list.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Manifest {
    /// Format version, 1.
    pub(super) brimline_backup: u32,
    pub(super) files: Vec<Entry>,
}

/// One file.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Entry {
    /// Path within the store, written with `/`.
    pub(super) path: String,
    pub(super) bytes: u64,
    /// Lower-case hex SHA-256.
    pub(super) sha256: String,
}

impl Manifest {
    pub(super) fn of(files: Vec<Entry>) -> Self {
        Self { brimline_backup: FORMAT, files }
    }

    /// The manifest of a backup's folder.
    pub(super) fn read(folder: &Path, world: &mut World<'_>) -> Result<Self, u8> {
        let path = folder.join(NAME);
        let bytes = world.read(&path, MAX_BYTES)?;
        let bad = |world: &mut World<'_>, why: &dyn std::fmt::Display| {
            world.fail(BAD_INPUT, format_args!("{}: {why}", path.display()))
        };
        let read = strict_json::read::<Self>(&bytes, "brimline_backup", FORMAT, MAX_BYTES);
        let manifest = read.map_err(|fault| bad(world, &fault))?;
        if let Some(entry) = manifest.files.iter().find(|entry| !is_within(&entry.path)) {
            let why = format!("\"{}\" leads out of the store", entry.path);
            return Err(bad(world, &why));
        }
        Ok(manifest)
    }
}

impl Entry {
    pub(super) fn of(path: String, bytes: &[u8]) -> Self {
        Self { path, bytes: bytes.len() as u64, sha256: digest(bytes) }
    }
}

/// Lower-case hex SHA-256.
pub(super) fn digest(bytes: &[u8]) -> String {
    use std::fmt::Write;
    Sha256::digest(bytes).iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("a string takes everything");
        text
    })
}

/// A path that goes down only.
fn is_within(path: &str) -> bool {
    !path.is_empty() && Path::new(path).components().all(|part| matches!(part, Component::Normal(_)))
}

/// Every file under a folder that a backup holds, as paths below it, sorted.
pub(super) fn files(folder: &Path, world: &mut World<'_>) -> Result<Vec<PathBuf>, u8> {
    let mut out = Vec::new();
    walk(folder, Path::new(""), 0, world, &mut out)?;
    Ok(out)
}

fn walk(root: &Path, below: &Path, depth: usize, world: &mut World<'_>, out: &mut Vec<PathBuf>) -> Result<(), u8> {
    let here = root.join(below);
    let Ok(names) = world.disk.list(&here) else {
        if depth > 0 {
            out.push(below.to_owned());
        }
        return Ok(());
    };
    if depth > DEPTH_MAX {
        return Err(world.fail(COULD_NOT, format_args!("{}: folders lie too deep", here.display())));
    }
    let kept = names.iter().filter(|name| !LEFT_OUT.contains(&name.as_str()) && !name.starts_with("index.sqlite"));
    kept.map(|name| below.join(name)).try_for_each(|path| walk(root, &path, depth + 1, world, out))
}

//! What the tablet reads of the store for Review: the index as it stands, the store's own records brought into it, and
//! one record of it.
//!
//! The same import as the command's, over the same index; the tablet has no other way to a figure.

use super::super::{COULD_NOT, World};
use super::import::{Tally, take_all};
use super::{IndexArgs, ReviewPorts, index_path, open, refuse, roster};
use crate::record::{self, VerifiedRecord};
use crate::review::Cache;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// The index that the settings name, else the store's own.
const OWN: IndexArgs = IndexArgs { index: None, roster: None };

/// How far an import is; read by one thread while another goes on.
#[derive(Debug, Default)]
pub struct Progress {
    done: AtomicUsize,
    of: AtomicUsize,
    stopped: AtomicBool,
}

impl Progress {
    /// Files done, and all of them; nought of nought before they are counted.
    #[must_use]
    pub fn read(&self) -> (usize, usize) {
        (self.done.load(Ordering::Relaxed), self.of.load(Ordering::Relaxed))
    }

    /// Asks the import to end after what it has begun; what was kept stays.
    pub fn stop(&self) {
        self.stopped.store(true, Ordering::Relaxed);
    }

    /// Whether it is to go on.
    fn set(&self, done: usize, of: usize) -> bool {
        self.done.store(done, Ordering::Relaxed);
        self.of.store(of, Ordering::Relaxed);
        !self.stopped.load(Ordering::Relaxed)
    }
}

/// What an import left behind.
pub struct Gathered {
    /// Nothing where the import changed no row.
    pub cache: Option<Cache>,
    pub tally: Tally,
}

/// The rows of the index as it stands; an empty cache if the store has none of its own yet.
///
/// # Errors
/// An exit code, after one line on standard error.
pub fn look(world: &mut World<'_>, ports: &ReviewPorts) -> Result<Cache, u8> {
    let path = index_path(&world.store);
    let names = path.parent().map(|above| world.disk.list(above).unwrap_or_default()).unwrap_or_default();
    if ports.service.is_none()
        && !names.iter().any(|name| path.file_name().is_some_and(|wanted| wanted == name.as_str()))
    {
        return Ok(Cache::default());
    }
    open(&OWN, false, world, ports)?.cache().map_err(|fault| refuse(&fault, world))
}

/// Brings the store's own cases into its index.
///
/// # Errors
/// An exit code, after one line on standard error.
pub fn bring_in(world: &mut World<'_>, ports: &ReviewPorts, progress: &Progress) -> Result<Gathered, u8> {
    let cases = world.store.join("cases");
    let none = world.disk.list(&cases).is_ok_and(|names| names.is_empty());
    if none || world.disk.list(&cases).is_err_and(|fault| fault.kind() == std::io::ErrorKind::NotFound) {
        return Ok(Gathered { cache: None, tally: Tally::default() });
    }
    let roster = roster(&OWN, world)?;
    let mut index = open(&OWN, true, world, ports)?;
    let mut told = |done, of| progress.set(done, of);
    let tally = take_all(&[cases], &roster, &mut *index, world, ports.threads, &mut told)?;
    let changed = tally.new + tally.extended > 0;
    let cache = if changed { Some(index.cache().map_err(|fault| refuse(&fault, world))?) } else { None };
    Ok(Gathered { cache, tally })
}

/// One record of the index, verified again.
///
/// # Errors
/// An exit code, after one line on standard error.
pub fn one(world: &mut World<'_>, ports: &ReviewPorts, digest: &str) -> Result<VerifiedRecord, u8> {
    let roster = roster(&OWN, world)?;
    let stored = open(&OWN, false, world, ports)?.get(digest).map_err(|fault| refuse(&fault, world))?;
    let Some(stored) = stored else {
        return Err(world.fail(COULD_NOT, format_args!("{digest}: the index does not hold it any more")));
    };
    record::verify(&stored.record, &roster)
        .map_err(|fault| world.fail(COULD_NOT, format_args!("{digest}: it does not verify: {fault}")))
}

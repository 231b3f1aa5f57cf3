//! The one owner of the `received` folder: it alone gives names there, knows what is there, and removes what is old.
//!
//! One object at a time is made durable; the threads of other senders wait with theirs.

use super::early::{Written, draft_name, is_draft};
use super::object::{self, of_name};
use super::{FOLDER, waiting};
use crate::open_case::intake::ASIDE;
use crate::ports::{Clock, Disk, ReceiveError, Reception, Told};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::HashSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// What is read of an object to say what it is.
pub(super) const BEGIN: usize = 64 << 10;

/// What became of an object.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Kept {
    Durable,
    Again,
    NoSpace,
    Failed(String),
}

pub(super) struct Keeper {
    folder: PathBuf,
    pub disk: Arc<dyn Disk>,
    clock: Arc<dyn Clock>,
    tell: Arc<dyn Fn(Told) + Send + Sync>,
    known: Mutex<HashSet<String>>,
    drafts: AtomicU64,
}

/// Makes the folder ready: what is older than the retention is removed, and what is there is known.
pub(super) fn open(reception: &Reception) -> Result<Keeper, ReceiveError> {
    let folder = reception.store.join(FOLDER);
    let disk = reception.disk.clone();
    let ready = disk.create_folder(&folder).and_then(|()| {
        let now = reception.clock.now().at.to_utc();
        remove_older(&*disk, &folder, now, reception.settings.keep_days)?;
        disk.list(&folder)
    });
    let names = ready.map_err(|fault| ReceiveError::Folder { path: folder.clone(), fault })?;
    let known = names.iter().filter_map(|name| of_name(name)).map(|(_, uid)| uid.to_owned()).collect();
    Ok(Keeper {
        folder,
        disk,
        clock: reception.clock.clone(),
        tell: reception.tell.clone(),
        known: Mutex::new(known),
        drafts: AtomicU64::new(1),
    })
}

/// Removes what was received more than `keep_days` ago, and what a crash left half written. Other files stay.
pub(super) fn remove_older(disk: &dyn Disk, folder: &Path, now: DateTime<Utc>, keep_days: u32) -> io::Result<()> {
    for name in disk.list(folder)? {
        let half = is_draft(&name) || name.strip_suffix(".new").is_some_and(|name| of_name(name).is_some());
        // The mark beside a file that a person set aside goes with it.
        let of_file = name.strip_suffix(ASIDE).unwrap_or(&name);
        let old = of_name(of_file).is_some_and(|(time, _)| now - time > TimeDelta::days(i64::from(keep_days)));
        if half || old {
            disk.remove(&folder.join(name))?;
        }
    }
    Ok(())
}

impl Keeper {
    /// Where an object stands while it still comes; another place each time.
    pub fn draft(&self) -> PathBuf {
        self.folder.join(draft_name(self.drafts.fetch_add(1, Ordering::Relaxed)))
    }

    /// Makes an object durable under its name, unless it is there already. `written`: what of its file is on its way.
    pub fn keep(&self, uid: &str, file: &[u8], written: Written) -> Kept {
        // A UID enters once its file is durable: whatever panicked, the set says what is there.
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if known.contains(uid) {
            (self.tell)(Told::Again { uid: uid.to_owned() });
            return Kept::Again;
        }
        let received = self.clock.now().at.to_utc();
        let name = object::name(received, uid);
        let path = self.folder.join(&name);
        let fault = match written.keep(&*self.disk, &path, file) {
            Ok(()) => {
                known.insert(uid.to_owned());
                (self.tell)(Told::Arrived(waiting::of_file(file.get(..BEGIN).unwrap_or(file), &name, uid, received)));
                return Kept::Durable;
            }
            Err(fault) => fault,
        };
        // It may stand there without being durable; its sender tries again, under another time.
        let _ = self.disk.remove(&path);
        if is_no_space(&fault) { Kept::NoSpace } else { Kept::Failed(fault.to_string()) }
    }
}

fn is_no_space(fault: &io::Error) -> bool {
    use io::ErrorKind::{FileTooLarge, OutOfMemory, QuotaExceeded, StorageFull};
    matches!(fault.kind(), StorageFull | QuotaExceeded | FileTooLarge | OutOfMemory)
}

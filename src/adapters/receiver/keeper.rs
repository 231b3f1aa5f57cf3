//! The thread that owns the `received` folder: it alone writes there, knows what is there, and removes what is old.

use super::object::{self, of_name};
use super::{FOLDER, waiting};
use crate::open_case::intake::ASIDE;
use crate::ports::{Arrival, Clock, Disk, ReceiveError, Reception, Told};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::HashSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

/// Objects that wait to be written; more senders wait with theirs.
const QUEUE: usize = 4;
/// What is read of an object to say what it is.
pub(super) const BEGIN: usize = 64 << 10;

/// One object to keep.
pub(super) struct Job {
    pub uid: String,
    /// The whole file.
    pub file: Vec<u8>,
    /// Hears what became of it, and gets the buffer back.
    pub answer: SyncSender<(Kept, Vec<u8>)>,
}

/// What became of it.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Kept {
    Durable,
    Again,
    NoSpace,
    Failed(String),
}

pub(super) struct Keeper {
    folder: PathBuf,
    disk: Arc<dyn Disk>,
    clock: Arc<dyn Clock>,
    tell: Arc<dyn Fn(Told) + Send + Sync>,
    known: HashSet<String>,
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
    Ok(Keeper { folder, disk, clock: reception.clock.clone(), tell: reception.tell.clone(), known })
}

/// Removes what was received more than `keep_days` ago, and what a crash left half written. Other files stay.
pub(super) fn remove_older(disk: &dyn Disk, folder: &Path, now: DateTime<Utc>, keep_days: u32) -> io::Result<()> {
    for name in disk.list(folder)? {
        let half = name.strip_suffix(".new").is_some_and(|name| of_name(name).is_some());
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
    /// A queue to the keeper, and what is to run on its thread; it ends when the last sender is gone.
    pub fn into_thread(self) -> (SyncSender<Job>, impl FnOnce() + Send) {
        let (send, receive) = sync_channel(QUEUE);
        (send, move || self.run(&receive))
    }

    fn run(mut self, jobs: &Receiver<Job>) {
        for job in jobs {
            let kept = self.keep(&job);
            // A sender that is gone already needs no answer; what is durable stays.
            let _ = job.answer.send((kept, job.file));
        }
    }

    fn keep(&mut self, job: &Job) -> Kept {
        if self.known.contains(&job.uid) {
            (self.tell)(Told::Again { uid: job.uid.clone() });
            return Kept::Again;
        }
        let received = self.clock.now().at.to_utc();
        let name = object::name(received, &job.uid);
        let path = self.folder.join(&name);
        let fault = match self.disk.replace(&path, &job.file) {
            Ok(()) => {
                self.known.insert(job.uid.clone());
                (self.tell)(Told::Arrived(Self::arrival(job, &name, received)));
                return Kept::Durable;
            }
            Err(fault) => fault,
        };
        // It may stand there without being durable; its sender tries again, under another time.
        let _ = self.disk.remove(&path);
        if is_no_space(&fault) { Kept::NoSpace } else { Kept::Failed(fault.to_string()) }
    }

    fn arrival(job: &Job, name: &str, received: DateTime<Utc>) -> Arrival {
        let begin = job.file.get(..BEGIN).unwrap_or(&job.file);
        waiting::of_file(begin, name, &job.uid, received)
    }
}

fn is_no_space(fault: &io::Error) -> bool {
    use io::ErrorKind::{FileTooLarge, OutOfMemory, QuotaExceeded, StorageFull};
    matches!(fault.kind(), StorageFull | QuotaExceeded | FileTooLarge | OutOfMemory)
}

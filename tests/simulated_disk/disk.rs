//! A simulated disk that fails, tears, reorders or loses unsynced data at any operation, driven by one seed.
//!
//! Every changing operation is numbered; at a chosen number the power goes in the middle of it. A failed sync loses
//! part of what it should have kept and never tries it again. Handles of a process that died do nothing any more.

#[path = "draft.rs"]
mod draft;
#[path = "files.rs"]
mod files;

use crate::small_world::Seeded;
use brimline::ports::{AppendFile, Disk, Draft};
use draft::SimDraft;
use files::{Change, SimFile};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};

struct State {
    chance: Seeded,
    files: BTreeMap<PathBuf, SimFile>,
    folders: BTreeSet<PathBuf>,
    locks: BTreeSet<PathBuf>,
    /// Which process lives; handles of others do nothing.
    life: u64,
    off: bool,
    /// One operation in so many fails; 0: none.
    fails_one_in: u64,
    /// Operations left until the power goes.
    until_off: Option<u64>,
    /// Most bytes all files may hold.
    room: Option<usize>,
}

/// What happens to an operation.
#[derive(PartialEq, Eq)]
enum Fate {
    Done,
    Failed,
    PowerGone,
}

impl State {
    fn fate(&mut self) -> Fate {
        if let Some(left) = &mut self.until_off {
            if *left == 0 {
                self.off = true;
                return Fate::PowerGone;
            }
            *left -= 1;
        }
        if self.fails_one_in > 0 && self.chance.one_in(self.fails_one_in) { Fate::Failed } else { Fate::Done }
    }

    fn used(&self) -> usize {
        self.files.values().map(|file| file.cache.len()).sum()
    }

    fn file(&mut self, path: &Path) -> io::Result<&mut SimFile> {
        self.files.get_mut(path).ok_or_else(|| ErrorKind::NotFound.into())
    }
}

/// The disk as one process sees it.
#[derive(Clone)]
pub struct SimDisk {
    state: Arc<Mutex<State>>,
    life: u64,
}

impl SimDisk {
    pub fn new(seed: u64) -> Self {
        let state = State {
            chance: Seeded(seed),
            files: BTreeMap::new(),
            folders: BTreeSet::new(),
            locks: BTreeSet::new(),
            life: 0,
            off: false,
            fails_one_in: 0,
            until_off: None,
            room: None,
        };
        Self { state: Arc::new(Mutex::new(state)), life: 0 }
    }

    pub fn fail_one_in(&self, n: u64) {
        self.lock_state().fails_one_in = n;
    }

    pub fn power_goes_after(&self, operations: u64) {
        self.lock_state().until_off = Some(operations);
    }

    /// From now on nothing the process does has any effect.
    pub fn stop_process(&self) {
        self.lock_state().off = true;
    }

    pub fn leave_room(&self, bytes: Option<usize>) {
        let mut state = self.lock_state();
        state.room = bytes.map(|bytes| state.used() + bytes);
    }

    /// The disk as the next process finds it; with `power_lost` only what survives is there.
    pub fn next_process(&self, power_lost: bool) -> Self {
        let mut guard = self.lock_state();
        let state = &mut *guard;
        if power_lost {
            state.files.values_mut().for_each(|file| file.crash(&mut state.chance));
        }
        state.locks.clear();
        state.life += 1;
        (state.off, state.until_off, state.fails_one_in, state.room) = (false, None, 0, None);
        Self { state: Arc::clone(&self.state), life: state.life }
    }

    pub fn bytes(&self, path: &Path) -> Vec<u8> {
        self.lock_state().files[path].cache.clone()
    }

    fn lock_state(&self) -> MutexGuard<'_, State> {
        self.state.lock().expect("no test panics while it holds the disk")
    }

    fn alive(&self) -> io::Result<MutexGuard<'_, State>> {
        let state = self.lock_state();
        if state.off || state.life != self.life { Err(failed("the process is gone")) } else { Ok(state) }
    }
}

fn failed(what: &'static str) -> io::Error {
    io::Error::other(what)
}

impl Disk for SimDisk {
    fn read(&self, path: &Path, _max_bytes: u64) -> io::Result<Vec<u8>> {
        Ok(self.alive()?.file(path)?.cache.clone())
    }

    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut state = self.alive()?;
        let fate = state.fate();
        if fate == Fate::Done {
            if state.room.is_some_and(|room| state.used() + bytes.len() > room) {
                return Err(ErrorKind::StorageFull.into());
            }
            state.files.insert(path.to_owned(), SimFile::whole(bytes));
            return Ok(());
        }
        // Renamed or not, the folder not synced: either file may be found.
        if state.chance.one_in(2) {
            state.files.insert(path.to_owned(), SimFile::whole(bytes));
        }
        Err(failed("replace failed"))
    }

    fn draft(&self, beside: &Path) -> io::Result<Option<Box<dyn Draft>>> {
        Ok(Some(Box::new(SimDraft::begin(self, beside)?)))
    }

    fn create_folder(&self, path: &Path) -> io::Result<()> {
        self.alive()?.folders.insert(path.to_owned());
        Ok(())
    }

    fn list(&self, path: &Path) -> io::Result<Vec<String>> {
        let state = self.alive()?;
        if !state.folders.contains(path) {
            return Err(ErrorKind::NotFound.into());
        }
        let inside = state.files.keys().filter(|file| file.parent() == Some(path));
        Ok(inside.filter_map(|file| Some(file.file_name()?.to_str()?.to_owned())).collect())
    }

    fn open_append(&self, path: &Path, new: bool) -> io::Result<Box<dyn AppendFile>> {
        let mut state = self.alive()?;
        if state.fate() != Fate::Done {
            return Err(failed("open failed"));
        }
        match (new, state.files.contains_key(path)) {
            (true, true) => return Err(ErrorKind::AlreadyExists.into()),
            (false, false) => return Err(ErrorKind::NotFound.into()),
            (true, false) => drop(state.files.insert(path.to_owned(), SimFile::default())),
            (false, true) => {}
        }
        Ok(Box::new(SimAppend { disk: self.clone(), path: path.to_owned() }))
    }

    fn write_over(&self, path: &Path, offset: u64, bytes: &[u8]) -> io::Result<()> {
        let mut state = self.alive()?;
        let fate = state.fate();
        let offset = usize::try_from(offset).expect("a small file");
        let file = state.file(path)?;
        assert_eq!(file.cache.get(offset..offset + bytes.len()), Some(bytes), "only what is there is written over");
        if fate == Fate::Failed {
            return Err(failed("write failed"));
        }
        file.change(Change::Write { offset, bytes: bytes.to_vec() });
        if fate == Fate::PowerGone {
            return Err(failed("the power went"));
        }
        file.sync();
        Ok(())
    }

    fn lock(&self, path: &Path) -> io::Result<Box<dyn Send>> {
        let mut state = self.alive()?;
        if !state.locks.insert(path.to_owned()) {
            return Err(ErrorKind::WouldBlock.into());
        }
        Ok(Box::new(SimLock { disk: self.clone(), path: path.to_owned() }))
    }
}

struct SimLock {
    disk: SimDisk,
    path: PathBuf,
}

impl Drop for SimLock {
    fn drop(&mut self) {
        if let Ok(mut state) = self.disk.alive() {
            state.locks.remove(&self.path);
        }
    }
}

struct SimAppend {
    disk: SimDisk,
    path: PathBuf,
}

impl AppendFile for SimAppend {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut state = self.disk.alive()?;
        let fate = state.fate();
        let free = state.room.map_or(usize::MAX, |room| room.saturating_sub(state.used()));
        let part = usize::try_from(state.chance.below(bytes.len() as u64 + 1)).expect("a short write");
        let file = state.file(&self.path)?;
        let offset = file.cache.len();
        let written = if fate == Fate::Done { bytes.len().min(free) } else { part.min(free) };
        file.change(Change::Write { offset, bytes: bytes[..written].to_vec() });
        match fate {
            Fate::Done if written == bytes.len() => Ok(()),
            Fate::Done => Err(ErrorKind::StorageFull.into()),
            Fate::Failed | Fate::PowerGone => Err(failed("write failed")),
        }
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut guard = self.disk.alive()?;
        let fate = guard.fate();
        let state = &mut *guard;
        let file = state.files.get_mut(&self.path).ok_or(ErrorKind::NotFound)?;
        match fate {
            Fate::Done => file.sync(),
            Fate::Failed => file.fail_sync(&mut state.chance),
            Fate::PowerGone => {}
        }
        if fate == Fate::Done { Ok(()) } else { Err(failed("sync failed")) }
    }

    fn length(&self) -> io::Result<u64> {
        Ok(self.disk.alive()?.file(&self.path)?.cache.len() as u64)
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        let mut state = self.disk.alive()?;
        let fate = state.fate();
        if fate == Fate::Failed {
            return Err(failed("cut failed"));
        }
        let length = usize::try_from(length).expect("a small file");
        state.file(&self.path)?.change(Change::Cut { length });
        if fate == Fate::Done { Ok(()) } else { Err(failed("the power went")) }
    }
}

//! The open case itself: commands in, events applied at once, lines on their way to the disk.

use super::saving::{Notify, Progress, SaveState, UNSAVED_MAX};
use super::writer::{Line, Writer};
use super::{IssueError, World, names};
use crate::case::{Case, Command, Event, Issue, Stamp};
use crate::journal::{self, ChainPoint};
use crate::people::Actor;
use crate::ports::{AppendFile, Moment};
use chrono::{DateTime, FixedOffset, SubsecRound};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{SyncSender, sync_channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// A wall clock that moved this much more or less than the boot clock has jumped, milliseconds.
const JUMP_MS: i64 = 2_000;

/// One open case.
pub struct OpenCase {
    pub(super) world: World,
    pub(super) folder: PathBuf,
    pub(super) case: Case,
    pub(super) process: u32,
    pub(super) end: ChainPoint,
    /// The chain at the event that closed the case.
    pub(super) closing: Option<ChainPoint>,
    pub(super) last: Stamp,
    pub(super) saving: Option<Saving>,
    /// Held until the case is let go.
    pub(super) _lock: Box<dyn Send>,
}

/// The way to the disk; none while the case is open to read only.
pub(super) struct Saving {
    queue: Option<SyncSender<Line>>,
    progress: Arc<Progress>,
    writer: Option<JoinHandle<()>>,
}

impl Saving {
    pub fn start(
        world: &World,
        path: PathBuf,
        file: Box<dyn AppendFile>,
        bytes: u64,
        seq: u64,
        notify: Notify,
    ) -> Self {
        let capacity = usize::try_from(UNSAVED_MAX).expect("ten thousand fits") + 64;
        let (queue, lines) = sync_channel(capacity);
        let progress = Arc::new(Progress::starting_at(seq));
        let disk = world.disk.clone();
        let file = Some(file);
        let writer = Writer { disk, path, file, acknowledged_bytes: bytes, lines, progress: progress.clone(), notify };
        let writer = std::thread::spawn(move || writer.run());
        Self { queue: Some(queue), progress, writer: Some(writer) }
    }

    fn send(&self, line: Line) -> bool {
        self.queue.as_ref().is_some_and(|queue| queue.try_send(line).is_ok())
    }
}

impl Drop for Saving {
    fn drop(&mut self) {
        self.queue = None;
        if let Some(writer) = self.writer.take() {
            let _ = writer.join();
        }
    }
}

impl OpenCase {
    /// The case as it stands, saved or not.
    #[must_use]
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// The case's folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The chain at the event that closed the case: what the record names.
    #[must_use]
    pub fn closing(&self) -> Option<ChainPoint> {
        self.closing
    }

    /// Issues a command at the present moment. The events are applied at once and go to the disk behind it.
    ///
    /// # Errors
    /// [`IssueError`]; nothing has then happened.
    pub fn issue(&mut self, by: &Actor, logged_by: &Actor, command: Command) -> Result<Vec<Event>, IssueError> {
        let saving = self.saving.as_ref().ok_or(IssueError::ReadOnly)?;
        if self.end.seq.saturating_sub(saving.progress.acknowledged()) >= UNSAVED_MAX {
            return Err(IssueError::TooManyUnsaved { max: UNSAVED_MAX });
        }
        let stamp = stamp(&self.world.clock.now(), self.process);
        let jump = self.jumped(&stamp).map(|by_ms| Command::NoteClockJump { by_ms });
        let mut dids = Vec::new();
        for command in jump.into_iter().chain([command]) {
            let issue = Issue { stamp: stamp.clone(), by: by.clone(), logged_by: logged_by.clone(), command };
            dids.extend(self.case.decide(&issue)?);
        }
        let mut events = Vec::with_capacity(dids.len());
        for did in dids {
            let (seq, stamp) = (self.end.seq + 1, stamp.clone());
            let event = Event { seq, stamp, by: by.clone(), logged_by: logged_by.clone(), did };
            self.case.apply(&event).expect("a decided event applies to the state it was decided on");
            self.keep(&event);
            events.push(event);
        }
        Ok(events)
    }

    fn keep(&mut self, event: &Event) {
        let (bytes, point) = journal::encode(event, self.end);
        self.end = point;
        self.last = event.stamp.clone();
        if matches!(event.did, crate::case::Did::CaseClosed { .. }) {
            self.closing = Some(point);
        }
        let sent = self.saving.as_ref().is_some_and(|saving| saving.send(Line { seq: point.seq, bytes }));
        debug_assert!(sent, "the queue holds more than the unsaved events allowed");
    }

    /// By how much the wall clock jumped since the last event of this run, if it did.
    fn jumped(&self, now: &Stamp) -> Option<i64> {
        if self.last.process != now.process {
            return None;
        }
        let wall_ms = (now.at - self.last.at).num_milliseconds();
        let boot_ms = i64::try_from(now.boot_ms).ok()? - i64::try_from(self.last.boot_ms).ok()?;
        let by_ms = wall_ms - boot_ms;
        (by_ms.abs() > JUMP_MS).then_some(by_ms)
    }

    /// Whether everything issued is durable. Cheap.
    #[must_use]
    pub fn save_state(&self) -> SaveState {
        self.saving.as_ref().map_or(SaveState::ReadOnly, |saving| saving.progress.state(self.end.seq))
    }

    /// Waits until everything issued is durable, the disk refuses, or the time is over.
    #[must_use]
    pub fn wait_saved(&self, longest: Duration) -> SaveState {
        let begun = Instant::now();
        loop {
            let state = self.save_state();
            if state != SaveState::Saving || begun.elapsed() >= longest {
                return state;
            }
            std::thread::sleep(Duration::from_micros(50));
        }
    }

    /// Writes the case's record as a whole.
    ///
    /// # Errors
    /// What the disk says; an earlier record is then untouched.
    pub fn write_record(&self, bytes: &[u8]) -> io::Result<()> {
        self.world.disk.replace(&self.record_path(), bytes)
    }

    /// Where the case's record stands.
    #[must_use]
    pub fn record_path(&self) -> PathBuf {
        self.folder.join(names::RECORD)
    }

    /// Time since opening, now.
    #[must_use]
    pub fn elapsed(&self) -> crate::case::Elapsed {
        self.case.state().timeline.at(&stamp(&self.world.clock.now(), self.process))
    }

    /// The world it runs in.
    #[must_use]
    pub fn world(&self) -> &World {
        &self.world
    }
}

/// Both clocks as an event keeps them: the wall clock in whole milliseconds.
pub(super) fn stamp(now: &Moment, process: u32) -> Stamp {
    let at: DateTime<FixedOffset> = now.at.trunc_subsecs(3);
    Stamp { at, process, boot_ms: now.boot_ms }
}

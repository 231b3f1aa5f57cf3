//! The open case itself: commands in, events applied at once, lines on their way to the disk.

use super::names::RECORD;
use super::saving::Saving;
use super::writer::{self, Lines, Target};
use super::{IssueError, OpenError, SaveState, UNSAVED_MAX, World};
use crate::case::{Case, Command, Did, Elapsed, Event, Issue, Stamp};
use crate::journal::{ChainPoint, VerifiedJournal};
use crate::people::Actor;
use crate::ports::Moment;
use chrono::SubsecRound;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::SyncSender;
use std::thread::JoinHandle;
use std::time::Duration;

/// The wall clock may drift this far from the boot clock between two events before it is called a jump.
/// Common practice, no source: slewing corrects at most 500 parts in a million, 1.8 s in an hour.
const CLOCK_JUMP_MS: i64 = 2_000;

/// An open case. Dropping it writes what can be written, then gives up the lock.
pub struct OpenCase {
    // The writer stands before the lock: fields are dropped in order, and the lock outlives the last write.
    writer: Option<Writing>,
    world: World,
    folder: PathBuf,
    journal_file: String,
    case: Case,
    journal: VerifiedJournal,
    pub(super) process: u32,
    last: Moment,
    _lock: Box<dyn Send>,
}

/// The way to the disk; none while the case is open to read only.
struct Writing {
    saving: Arc<Saving>,
    queue: Option<SyncSender<Lines>>,
    thread: Option<JoinHandle<()>>,
}

impl Writing {
    fn send(&self, lines: Lines, now: &Moment) {
        self.saving.hold(lines.events);
        let queue = self.queue.as_ref().expect("the queue lives as long as the writer");
        if queue.try_send(lines).is_err() {
            self.saving.fail(now.at, "the journal's writer has ended".to_owned());
        }
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        self.queue = None;
        if let Some(thread) = self.thread.take() {
            // A writer that panicked wrote nothing more, and the save state said so.
            let _ = thread.join();
        }
    }
}

impl OpenCase {
    /// A case without a writer yet.
    pub(super) fn read_only(
        world: &World,
        folder: &Path,
        journal_file: String,
        (case, journal): (Case, VerifiedJournal),
        lock: Box<dyn Send>,
    ) -> Self {
        let process = journal.events().last().map_or(1, |event| event.stamp.process.saturating_add(1));
        let (world, folder, last) = (world.clone(), folder.to_owned(), moment(world));
        Self { writer: None, world, folder, journal_file, case, journal, process, last, _lock: lock }
    }

    pub(super) fn move_to(&mut self, journal_file: String, case: Case, journal: VerifiedJournal) {
        (self.journal_file, self.case, self.journal) = (journal_file, case, journal);
    }

    /// Starts the writer.
    pub(super) fn write_to(&mut self, target: Target, saving: Saving) -> Result<(), OpenError> {
        let saving = Arc::new(saving);
        let queue_max = usize::try_from(UNSAVED_MAX).expect("ten thousand fits");
        let started = writer::start(&self.world, target, Arc::clone(&saving), queue_max);
        let (queue, thread) = started.map_err(OpenError::Thread)?;
        self.writer = Some(Writing { saving, queue: Some(queue), thread: Some(thread) });
        Ok(())
    }

    /// Stamps and decides a command, applies its events at once and queues their lines; never waits for the disk.
    ///
    /// If the wall clock jumped against the boot clock since the last event, that is logged first. Returns the events
    /// in order; none if there was nothing to do.
    ///
    /// # Errors
    /// [`IssueError`]; nothing has changed then.
    pub fn issue(&mut self, by: &Actor, logged_by: &Actor, command: Command) -> Result<Vec<Event>, IssueError> {
        let held = self.writer.as_ref().ok_or(IssueError::ReadOnly)?.saving.held();
        let now = moment(&self.world);
        let stamp = Stamp { at: now.at, process: self.process, boot_ms: now.boot_ms };
        let issue = Issue { stamp, by: by.clone(), logged_by: logged_by.clone(), command };
        let mut dids = self.case.decide(&issue)?;
        if !dids.is_empty() {
            dids.splice(0..0, self.jump(&now).map(|by_ms| Did::ClockJumped { by_ms }));
        }
        if held + dids.len() as u64 > UNSAVED_MAX {
            return Err(IssueError::TooManyUnsaved);
        }
        let events = self.number(&issue, dids);
        let bytes = self.take_in(&events)?;
        if let (Some(writer), false) = (&self.writer, events.is_empty()) {
            writer.send(Lines { bytes, events: events.len() as u64 }, &now);
            self.last = now;
        }
        Ok(events)
    }

    /// How far the wall clock ran ahead of the boot clock since the last event, if that is a jump.
    fn jump(&self, now: &Moment) -> Option<i64> {
        let wall_ms = (now.at - self.last.at).num_milliseconds();
        let boot_ms = i64::try_from(now.boot_ms).ok()?.checked_sub(i64::try_from(self.last.boot_ms).ok()?)?;
        let by_ms = wall_ms.checked_sub(boot_ms)?;
        (by_ms.abs() > CLOCK_JUMP_MS).then_some(by_ms)
    }

    fn number(&self, issue: &Issue, dids: Vec<Did>) -> Vec<Event> {
        let first = self.journal.last().seq + 1;
        let numbered = (first..).zip(dids).map(|(seq, did)| Event {
            seq,
            stamp: issue.stamp.clone(),
            by: issue.by.clone(),
            logged_by: issue.logged_by.clone(),
            did,
        });
        numbered.collect()
    }

    /// Takes all events into journal and state, or none.
    fn take_in(&mut self, events: &[Event]) -> Result<Vec<u8>, IssueError> {
        let before = self.journal.last().seq;
        let kept = (events.len() > 1).then(|| self.case.clone());
        let mut bytes = Vec::new();
        for event in events {
            let taken = self.take_one(event);
            match taken {
                Ok(line) => bytes.extend_from_slice(&line),
                Err(fault) => {
                    self.journal.truncate(before);
                    if let Some(case) = kept {
                        self.case = case;
                    }
                    return Err(fault);
                }
            }
        }
        Ok(bytes)
    }

    fn take_one(&mut self, event: &Event) -> Result<Vec<u8>, IssueError> {
        let line = self.journal.append(event.clone())?;
        self.case.apply(event)?;
        Ok(line)
    }

    /// Whether everything issued would survive a crash; cheap enough for every frame.
    #[must_use]
    pub fn save_state(&self) -> SaveState {
        self.writer.as_ref().map_or(SaveState::ReadOnly, |writer| writer.saving.state())
    }

    /// Waits until everything is saved, the disk fails, or the time is over; not for the thread of a window.
    #[must_use]
    pub fn wait_saved(&self, longest: Duration) -> SaveState {
        self.writer.as_ref().map_or(SaveState::ReadOnly, |writer| writer.saving.wait(longest))
    }

    /// Number of the last event known to be durable.
    #[must_use]
    pub fn saved_seq(&self) -> u64 {
        self.writer.as_ref().map_or(0, |writer| writer.saving.saved_seq())
    }

    /// Writes `record.json` as a whole, durable when it returns. It waits for the disk.
    ///
    /// # Errors
    /// What the system says; a record that was there before is then untouched.
    pub fn write_record(&self, bytes: &[u8]) -> std::io::Result<()> {
        self.world.disk.replace(&self.record_path(), bytes)
    }

    /// Where the case's record stands.
    #[must_use]
    pub fn record_path(&self) -> PathBuf {
        self.folder.join(RECORD)
    }

    /// Ends the use of the case: writes what can be written, gives up the lock, and returns the number of the last
    /// event known to be durable.
    #[must_use]
    pub fn close(mut self) -> u64 {
        let saving = self.writer.as_ref().map(|writer| Arc::clone(&writer.saving));
        self.writer = None;
        saving.map_or(0, |saving| saving.saved_seq())
    }

    #[must_use]
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// All events with their sums.
    #[must_use]
    pub fn journal(&self) -> &VerifiedJournal {
        &self.journal
    }

    /// `{seq, sum}` of the event that closed the case, once it is closed.
    #[must_use]
    pub fn closing(&self) -> Option<ChainPoint> {
        self.case.state().closed_seq.and_then(|seq| self.journal.sum_at(seq))
    }

    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Path of the journal that is written to.
    #[must_use]
    pub fn journal_path(&self) -> PathBuf {
        self.folder.join(&self.journal_file)
    }

    /// Which run of the program on this case, counted from 1.
    #[must_use]
    pub fn process(&self) -> u32 {
        self.process
    }

    /// Time since opening, now.
    #[must_use]
    pub fn elapsed(&self) -> Elapsed {
        let Moment { at, boot_ms } = moment(&self.world);
        self.case.state().timeline.at(&Stamp { at, process: self.process, boot_ms })
    }

    /// The world it runs in.
    #[must_use]
    pub fn world(&self) -> &World {
        &self.world
    }
}

/// The two clocks, the wall clock to the millisecond.
pub(super) fn moment(world: &World) -> Moment {
    let Moment { at, boot_ms } = world.clock.now();
    Moment { at: at.trunc_subsecs(3), boot_ms }
}

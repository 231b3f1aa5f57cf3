//! Commands on an open case.

use super::saving::Saving;
use super::writer::{self, Lines, Target};
use super::{IssueError, OpenError, RECORD, SaveState, World, folder};
use crate::case::{Case, Command, Did, Event, Issue, Stamp};
use crate::journal::{SumAt, VerifiedJournal};
use crate::people::Actor;
use crate::ports::Moment;
use chrono::SubsecRound;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{SyncSender, TrySendError};
use std::thread::JoinHandle;
use std::time::Duration;

/// Most events held in memory while the disk cannot take them.
pub const HELD_EVENTS_MAX: u64 = 10_000;

/// The wall clock may drift this far from the boot clock between two events before it is called a jump.
/// Common practice, no source: slewing corrects at most 500 parts in a million, 1.8 s in an hour.
const CLOCK_JUMP_MS: i64 = 2_000;

/// An open case. Dropping it writes what can be written and gives up the lock.
pub struct OpenCase {
    world: World,
    folder: PathBuf,
    journal_file: String,
    case: Case,
    journal: VerifiedJournal,
    process: u32,
    last: Moment,
    saving: Arc<Saving>,
    queue: Option<SyncSender<Lines>>,
    thread: Option<JoinHandle<()>>,
}

/// What an open case is made of.
pub(super) struct Parts {
    pub folder: PathBuf,
    pub journal_file: String,
    pub case: Case,
    pub journal: VerifiedJournal,
    pub process: u32,
    pub now: Moment,
}

impl OpenCase {
    pub(super) fn start(world: &World, parts: Parts, target: Target, saving: Saving) -> Result<Self, OpenError> {
        let saving = Arc::new(saving);
        let queue_max = usize::try_from(HELD_EVENTS_MAX).expect("ten thousand fits");
        let started = writer::start(world, target, Arc::clone(&saving), queue_max);
        let (queue, thread) = started.map_err(OpenError::Thread)?;
        let Parts { folder, journal_file, case, journal, process, now } = parts;
        let (world, queue, thread) = (world.clone(), Some(queue), Some(thread));
        Ok(Self { world, folder, journal_file, case, journal, process, last: now, saving, queue, thread })
    }

    /// Stamps and decides a command, applies its events at once and queues their lines; never waits for the disk.
    ///
    /// If the wall clock jumped against the boot clock since the last event, that is logged first. Returns the events
    /// in order; none if there was nothing to do.
    ///
    /// # Errors
    /// [`IssueError`]; nothing has changed then.
    pub fn issue(&mut self, by: Actor, logged_by: Actor, command: Command) -> Result<Vec<Event>, IssueError> {
        let now = moment(&self.world);
        let stamp = Stamp { at: now.at, process: self.process, boot_ms: now.boot_ms };
        let issue = Issue { stamp, by, logged_by, command };
        let mut dids = self.case.decide(&issue)?;
        if !dids.is_empty() {
            dids.splice(0..0, self.jump(&now).map(|by_ms| Did::ClockJumped { by_ms }));
        }
        if self.saving.held() + dids.len() as u64 > HELD_EVENTS_MAX {
            return Err(IssueError::HeldTooMany);
        }
        let events = self.number(&issue, dids);
        let bytes = self.take_in(&events)?;
        if !events.is_empty() {
            self.last = now;
            self.send(Lines { bytes, events: events.len() as u64 });
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

    fn send(&self, lines: Lines) {
        self.saving.hold(lines.events);
        let queue = self.queue.as_ref().expect("the queue lives as long as the case");
        if let Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) = queue.try_send(lines) {
            self.saving.fail(self.last.at, "the journal's writer has ended".to_owned());
        }
    }

    /// Whether everything issued would survive a crash; cheap enough for every frame.
    #[must_use]
    pub fn save_state(&self) -> SaveState {
        self.saving.state()
    }

    /// Waits until everything is saved or the time is over; not for the thread of a window.
    pub fn wait_saved(&self, timeout: Duration) -> SaveState {
        self.saving.wait(timeout)
    }

    /// Number of the last event known to be durable.
    #[must_use]
    pub fn saved_seq(&self) -> u64 {
        self.saving.saved_seq()
    }

    /// Has the hook called, on the writer's thread, whenever the save state may have changed. One hook a case;
    /// `false` if there is one already. It must return quickly and may not issue commands.
    pub fn on_save_change(&self, hook: impl Fn() + Send + Sync + 'static) -> bool {
        self.saving.set_hook(Box::new(hook))
    }

    /// Writes `record.json` as a whole, durable when it returns. It waits for the disk.
    ///
    /// # Errors
    /// What the system says; a record that was there before is then untouched.
    pub fn write_record(&self, bytes: &[u8]) -> std::io::Result<()> {
        self.world.disk.replace(&folder::path(&self.folder, RECORD), bytes)
    }

    /// Ends the case's use: writes what can be written, gives up the lock, and returns the number of the last event
    /// known to be durable.
    pub fn close(mut self) -> u64 {
        self.end();
        self.saving.saved_seq()
    }

    fn end(&mut self) {
        self.queue = None;
        if let Some(thread) = self.thread.take() {
            // A writer that panicked has written nothing more; the save state already says what is not saved.
            let _ = thread.join();
        }
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
    pub fn closing(&self) -> Option<SumAt> {
        self.case.state().closed_seq.and_then(|seq| self.journal.sum_at(seq))
    }

    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Path of the journal that is written to.
    #[must_use]
    pub fn journal_path(&self) -> PathBuf {
        folder::path(&self.folder, &self.journal_file)
    }

    /// Which run of the program on this case, counted from 1.
    #[must_use]
    pub fn process(&self) -> u32 {
        self.process
    }

    /// The clocks as the next command would be stamped, for a screen that shows running times.
    #[must_use]
    pub fn stamp_now(&self) -> Stamp {
        let now = moment(&self.world);
        Stamp { at: now.at, process: self.process, boot_ms: now.boot_ms }
    }
}

impl Drop for OpenCase {
    fn drop(&mut self) {
        self.end();
    }
}

/// The two clocks, the wall clock to the millisecond.
pub(super) fn moment(world: &World) -> Moment {
    let Moment { at, boot_ms } = world.clock.now();
    Moment { at: at.trunc_subsecs(3), boot_ms }
}

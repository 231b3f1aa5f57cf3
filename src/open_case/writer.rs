//! The writer: the one thread that touches a case's journal.
//!
//! Invariants: bytes are acknowledged only after the sync that covers them returned; a descriptor whose write or sync
//! failed is dropped; before anything is appended again the file is cut to the last acknowledged byte.

use super::World;
use super::saving::Saving;
use crate::ports::{AppendFile, Clock, Disk};
use std::collections::VecDeque;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Whole commands are joined to one append up to this many bytes, so that a full disk takes them bit by bit.
const APPEND_BYTES_MAX: usize = 64 << 10;

/// Pause after a failed write, doubled with each failure in a row.
const PAUSE_FIRST: Duration = Duration::from_millis(2);
const PAUSE_LONGEST: Duration = Duration::from_secs(2);

/// The lines of one command.
pub(super) struct Lines {
    pub bytes: Vec<u8>,
    pub events: u64,
}

/// What must happen to the file before the first append of this process.
#[derive(Default)]
pub(super) struct Repair {
    /// A torn tail to keep in a file beside it before it is cut off.
    pub aside: Option<(PathBuf, Vec<u8>)>,
    /// The end of what was read, from that offset: to be written again so that a sync vouches for it.
    pub vouch: Option<(u64, Vec<u8>)>,
}

/// The journal file as a writer takes it over.
pub(super) struct Target {
    pub path: PathBuf,
    /// Open and in step, or to be opened and repaired.
    pub file: Option<Box<dyn AppendFile>>,
    /// Everything up to here is acknowledged or was read as good, bytes.
    pub good_bytes: u64,
    pub repair: Repair,
}

/// Starts the writer. It ends when the sender is dropped and what can be written is written.
pub(super) fn start(
    world: &World,
    target: Target,
    saving: Arc<Saving>,
    queue_max: usize,
) -> io::Result<(SyncSender<Lines>, JoinHandle<()>)> {
    let (sender, queue) = sync_channel(queue_max);
    let mut writer = Writer {
        disk: Arc::clone(&world.disk),
        clock: Arc::clone(&world.clock),
        target,
        saving,
        queue,
        held: VecDeque::new(),
        ended: false,
    };
    let thread = std::thread::Builder::new().name("journal".to_owned()).spawn(move || writer.run())?;
    Ok((sender, thread))
}

struct Writer {
    disk: Arc<dyn Disk>,
    clock: Arc<dyn Clock>,
    target: Target,
    saving: Arc<Saving>,
    queue: Receiver<Lines>,
    held: VecDeque<Lines>,
    ended: bool,
}

impl Writer {
    fn run(&mut self) {
        let mut pause = PAUSE_FIRST;
        let mut failed = self.target.file.is_none() && self.attempt().is_err();
        loop {
            if failed {
                self.wait_to_retry(pause);
            } else if !self.wait_for_lines() {
                return;
            }
            failed = self.attempt().is_err();
            pause = if failed { pause.saturating_mul(2).min(PAUSE_LONGEST) } else { PAUSE_FIRST };
            if self.ended && failed {
                return;
            }
        }
    }

    /// Blocks until there is something to write; `false` once nothing will come.
    fn wait_for_lines(&mut self) -> bool {
        match self.queue.recv() {
            Ok(lines) => self.held.push_back(lines),
            Err(_) => return false,
        }
        self.held.extend(self.queue.try_iter());
        true
    }

    /// Waits out the pause, taking in what is issued meanwhile; a new event brings the retry forward to the shortest
    /// pause.
    fn wait_to_retry(&mut self, pause: Duration) {
        let begun = Instant::now();
        let mut until = begun + pause;
        loop {
            match self.queue.recv_timeout(until.saturating_duration_since(Instant::now())) {
                Ok(lines) => {
                    self.held.push_back(lines);
                    until = until.min(begun + PAUSE_FIRST);
                }
                Err(RecvTimeoutError::Timeout) => return,
                Err(RecvTimeoutError::Disconnected) => {
                    self.ended = true;
                    return;
                }
            }
        }
    }

    /// Writes all that is held; on a failure the rest stays held and the descriptor is dropped.
    fn attempt(&mut self) -> Result<(), ()> {
        let done = self.in_step().and_then(|()| self.write_held());
        done.inspect(|()| self.saving.recovered()).map_err(|fault| {
            self.target.file = None;
            self.saving.fail(self.clock.now().at, fault.to_string());
        })
    }

    /// Opens the file if it is not open: repaired, cut to the last acknowledged byte, synced.
    fn in_step(&mut self) -> io::Result<()> {
        if self.target.file.is_some() {
            return Ok(());
        }
        let Target { path, good_bytes, repair, .. } = &mut self.target;
        if let Some((beside, bytes)) = &repair.aside {
            self.disk.replace(beside, bytes)?;
            repair.aside = None;
        }
        if let Some((offset, bytes)) = &repair.vouch {
            self.disk.write_over(path, *offset, bytes)?;
            repair.vouch = None;
        }
        let mut file = self.disk.open_append(path, false)?;
        let length = file.length()?;
        if length < *good_bytes {
            let lost = format!("the journal is {length} bytes long where {good_bytes} were saved");
            return Err(io::Error::new(io::ErrorKind::InvalidData, lost));
        }
        if length > *good_bytes {
            file.cut(*good_bytes)?;
        }
        file.sync()?;
        self.target.file = Some(file);
        self.saving.acknowledge(0);
        Ok(())
    }

    fn write_held(&mut self) -> io::Result<()> {
        while !self.held.is_empty() {
            let (count, events, bytes) = self.next_append();
            let file = self.target.file.as_mut().expect("the file was opened before");
            file.append(&bytes)?;
            file.sync()?;
            self.target.good_bytes += bytes.len() as u64;
            self.held.drain(..count);
            self.saving.acknowledge(events);
        }
        Ok(())
    }

    /// Whole commands for one append: how many, their events, their bytes.
    fn next_append(&self) -> (usize, u64, Vec<u8>) {
        let (mut count, mut events, mut bytes) = (0, 0, Vec::new());
        for lines in &self.held {
            if count > 0 && bytes.len() + lines.bytes.len() > APPEND_BYTES_MAX {
                break;
            }
            count += 1;
            events += lines.events;
            bytes.extend_from_slice(&lines.bytes);
        }
        (count, events, bytes)
    }
}

//! The journal's writer thread: takes lines, makes them durable, acknowledges.
//!
//! An append is one write and one sync of everything that waits. After a failure the descriptor is never used
//! again: the file is opened anew, cut to the last acknowledged byte, and everything unacknowledged is appended again.

use super::saving::{Notify, Progress};
use crate::ports::{AppendFile, Disk};
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::time::Duration;

/// First and longest wait before the disk is tried again.
const RETRY_FIRST: Duration = Duration::from_millis(20);
const RETRY_LONGEST: Duration = Duration::from_secs(2);
/// Tries at the end of the program before giving up on a disk that refuses.
const LAST_TRIES: u32 = 3;

/// One encoded line and its event's number.
pub(super) struct Line {
    pub seq: u64,
    pub bytes: Vec<u8>,
}

/// The writer's own state; nothing else touches the file while it runs.
pub(super) struct Writer {
    pub disk: Arc<dyn Disk>,
    pub path: PathBuf,
    pub file: Option<Box<dyn AppendFile>>,
    /// Length of the acknowledged lines, bytes.
    pub acknowledged_bytes: u64,
    pub lines: Receiver<Line>,
    pub progress: Arc<Progress>,
    pub notify: Notify,
}

impl Writer {
    /// Runs until the case lets go of its end of the queue and everything is written, or the disk stays away.
    pub fn run(mut self) {
        let mut waiting = Vec::<Line>::new();
        let mut retry = RETRY_FIRST;
        loop {
            let ended = self.collect(&mut waiting, retry);
            if !waiting.is_empty() {
                match self.append(&waiting) {
                    Ok(()) => {
                        waiting.clear();
                        retry = RETRY_FIRST;
                    }
                    Err(_) if ended => return self.last_tries(&waiting),
                    Err(_) => retry = (retry * 2).min(RETRY_LONGEST),
                }
            }
            if ended {
                return;
            }
        }
    }

    /// Waits for a line, or for the next try; then takes all that wait. True once no more will come.
    fn collect(&self, waiting: &mut Vec<Line>, retry: Duration) -> bool {
        let first = if waiting.is_empty() {
            self.lines.recv().map_err(|_| RecvTimeoutError::Disconnected)
        } else {
            self.lines.recv_timeout(retry)
        };
        match first {
            Ok(line) => waiting.push(line),
            Err(RecvTimeoutError::Timeout) => return false,
            Err(RecvTimeoutError::Disconnected) => return true,
        }
        loop {
            match self.lines.try_recv() {
                Ok(line) => waiting.push(line),
                Err(TryRecvError::Empty) => return false,
                Err(TryRecvError::Disconnected) => return true,
            }
        }
    }

    fn last_tries(mut self, waiting: &[Line]) {
        for _ in 0..LAST_TRIES {
            if self.append(waiting).is_ok() {
                return;
            }
        }
    }

    fn append(&mut self, waiting: &[Line]) -> io::Result<()> {
        let outcome = self.try_append(waiting);
        match &outcome {
            Ok(()) => {
                self.acknowledged_bytes += waiting.iter().map(|line| line.bytes.len() as u64).sum::<u64>();
                self.progress.acknowledge(waiting.last().map_or(0, |line| line.seq));
            }
            Err(fault) => {
                self.file = None;
                self.progress.trouble(fault);
            }
        }
        (self.notify)();
        outcome
    }

    fn try_append(&mut self, waiting: &[Line]) -> io::Result<()> {
        let file = match &mut self.file {
            Some(file) => file,
            none => none.insert(reopened(&*self.disk, &self.path, self.acknowledged_bytes)?),
        };
        match waiting {
            [line] => file.append(&line.bytes)?,
            lines => file.append(&lines.iter().flat_map(|line| line.bytes.iter().copied()).collect::<Vec<u8>>())?,
        }
        file.sync()
    }
}

/// A fresh descriptor on the journal, cut to what was acknowledged.
pub(super) fn reopened(disk: &dyn Disk, path: &std::path::Path, length: u64) -> io::Result<Box<dyn AppendFile>> {
    let mut file = disk.open_append(path, false)?;
    if file.length()? != length {
        file.cut(length)?;
    }
    Ok(file)
}

//! PDUs over one connection, within a length and a time.

use super::fragment::{BadFragment, Fragment, P_DATA, fragments};
use dicom_ul::pdu::{Pdu, read_pdu, write_pdu};
use std::io::{self, ErrorKind, Read, Write};
use std::net::TcpStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use thiserror::Error;

/// The longest PDU accepted, bytes after its header; said to the sender in the negotiation.
pub const PDU_MAX: u32 = 131_072;

/// How often a waiting connection looks whether it is to stop.
const LOOK: Duration = Duration::from_millis(200);

/// Bytes both ways.
pub(super) trait Stream: Read + Write + Send {}
impl<T: Read + Write + Send> Stream for T {}

/// Why a connection ended.
#[derive(Debug, Error)]
pub(super) enum WireError {
    #[error("closed by the sender")]
    Closed,
    #[error("nothing for {0} s")]
    Idle(u64),
    #[error("longer than its deadline of {0} s")]
    Deadline(u64),
    #[error("the receiver stops")]
    Stopping,
    #[error("a PDU of {0} bytes")]
    TooLong(u32),
    #[error("a PDU that cannot be read: {0}")]
    Malformed(String),
    #[error("{0}")]
    Io(#[from] io::Error),
}

/// One connection.
pub(super) struct Wire {
    stream: Box<dyn Stream>,
    idle: Duration,
    begun: Instant,
    whole: Duration,
    stop: Arc<AtomicBool>,
}

/// Bytes of one PDU, kept for the next: nothing is made anew between them.
#[derive(Default)]
pub(super) struct Body {
    bytes: Vec<u8>,
    filled: usize,
}

/// A PDU as it was heard.
pub(super) enum Heard<'a> {
    Fragments(Vec<Fragment<'a>>),
    Other(Pdu),
}

impl Body {
    fn room(&mut self, length: usize) {
        self.filled = length;
        if self.bytes.len() < length {
            self.bytes.resize(length, 0);
        }
    }

    /// What the PDU says.
    pub fn heard(&self) -> Result<Heard<'_>, WireError> {
        let whole = &self.bytes[..self.filled];
        if whole[0] == P_DATA {
            let malformed = |fault: BadFragment| WireError::Malformed(fault.to_string());
            return fragments(&whole[6..]).map(Heard::Fragments).map_err(malformed);
        }
        match read_pdu(whole, PDU_MAX, true) {
            Ok(Some(pdu)) => Ok(Heard::Other(pdu)),
            Ok(None) => Err(WireError::Malformed("incomplete".to_owned())),
            Err(fault) => Err(WireError::Malformed(fault.to_string())),
        }
    }
}

impl Wire {
    /// `socket`: the connection below the stream, whose waiting times are set.
    pub fn new(stream: Box<dyn Stream>, socket: &TcpStream, idle: Duration, stop: Arc<AtomicBool>) -> io::Result<Self> {
        socket.set_read_timeout(Some(LOOK))?;
        // What is written is short; a sender that does not take it within the idle time is gone.
        socket.set_write_timeout(Some(idle))?;
        // Until an association stands, a connection lives no longer than one idle time.
        Ok(Self { stream, idle, begun: Instant::now(), whole: idle, stop })
    }

    /// From here on the whole connection may take this long, counted from its begin.
    pub fn deadline(&mut self, whole: Duration) {
        self.whole = whole;
    }

    /// Reads the next PDU into `body`.
    pub fn read(&mut self, body: &mut Body) -> Result<(), WireError> {
        body.room(6);
        self.fill(&mut body.bytes[..6])?;
        let length = u32::from_be_bytes([body.bytes[2], body.bytes[3], body.bytes[4], body.bytes[5]]);
        if length > PDU_MAX {
            return Err(WireError::TooLong(length));
        }
        body.room(6 + length as usize);
        self.fill(&mut body.bytes[6..6 + length as usize])
    }

    /// Fills all of it.
    fn fill(&mut self, room: &mut [u8]) -> Result<(), WireError> {
        let mut heard = Instant::now();
        let mut from = 0;
        while from < room.len() {
            match self.stream.read(&mut room[from..]) {
                Ok(0) => return Err(WireError::Closed),
                Ok(count) => {
                    from += count;
                    heard = Instant::now();
                }
                Err(fault) if is_wait(&fault) => {}
                Err(fault) => return Err(fault.into()),
            }
            self.judge_time(heard)?;
        }
        Ok(())
    }

    fn judge_time(&self, heard: Instant) -> Result<(), WireError> {
        if self.stop.load(Ordering::Relaxed) {
            Err(WireError::Stopping)
        } else if self.begun.elapsed() > self.whole {
            Err(WireError::Deadline(self.whole.as_secs()))
        } else if heard.elapsed() > self.idle {
            Err(WireError::Idle(self.idle.as_secs()))
        } else {
            Ok(())
        }
    }

    pub fn write(&mut self, pdu: &Pdu) -> Result<(), WireError> {
        let mut bytes = Vec::new();
        write_pdu(&mut bytes, pdu).map_err(|fault| WireError::Malformed(fault.to_string()))?;
        self.stream.write_all(&bytes)?;
        Ok(self.stream.flush()?)
    }
}

fn is_wait(fault: &io::Error) -> bool {
    matches!(fault.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut | ErrorKind::Interrupted)
}

//! Storage provider: receives dose reports and images over DICOM, on threads of its own.
//!
//! One thread accepts, and one serves each connection; they take turns at making objects durable. An object is written
//! while it comes, and durable before its success status leaves: a new file in the folder, synced, renamed, the folder
//! synced. What it does not do: it queries nobody, forwards nothing, changes no byte of a data set, and joins nothing to
//! a case. What may never change: the names in the `received` folder, `<UTC time>-<SOP Instance UID>.dcm`.
//!
//! Limits hold against senders that are slow or hostile: the length of a PDU before it is read, the size and number of
//! objects, the time without a byte, the time of a whole association, the number of connections and of associations.

mod association;
mod early;
mod fragment;
mod keeper;
mod listener;
mod message;
mod negotiate;
mod object;
mod tls;
mod waiting;
mod wire;

pub use fragment::{BadFragment, Fragment, fragments};
pub use message::{Assembly, Command, Fed, Whole};
pub use negotiate::negotiate;
pub use wire::PDU_MAX;

use crate::ports::{Arrival, Disk, ReceiveError, Receiver, Receiving, Reception};
use std::io;
use std::path::Path;

/// Name of the folder in the store.
pub const FOLDER: &str = crate::open_case::names::RECEIVED;

/// Receives objects over DICOM.
#[derive(Debug, Clone, Copy, Default)]
pub struct DicomReceiver;

impl Receiver for DicomReceiver {
    fn start(&self, reception: Reception) -> Result<Box<dyn Receiving>, ReceiveError> {
        let secure = tls::config(&reception.settings, &*reception.disk)?;
        let keeper = keeper::open(&reception)?;
        let listener = listener::start(reception, secure, keeper)?;
        Ok(Box::new(listener))
    }

    fn waiting(&self, disk: &dyn Disk, store: &Path) -> io::Result<Vec<Arrival>> {
        waiting::waiting(disk, &store.join(FOLDER))
    }
}

//! Receiving objects over the network: what the program asks for, and what it is told.
//!
//! A received object waits in the store's `received` folder. What it does not do: it joins nothing to a case; the
//! decision is `open_case::arrivals`, and a person's where that waits.

use super::{Clock, Disk};
use crate::dose::MachineTime;
use crate::settings::ReceiveSettings;
use chrono::{DateTime, Utc};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use thiserror::Error;

/// What kind of object arrived.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ArrivalKind {
    DoseReport,
    /// A run or a single image of the machine: XA or RF.
    Image,
    /// A picture of a screen: secondary capture.
    Capture,
    /// Cannot be told; the file is kept all the same.
    Unknown,
}

/// An object that arrived and waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrival {
    /// SOP Instance UID.
    pub uid: String,
    pub kind: ArrivalKind,
    /// The hospital's number of the patient as the machine has it.
    pub patient_number: Option<String>,
    /// When it was made, by the machine's clock.
    pub made: Option<MachineTime>,
    /// When it was received, by this machine's clock.
    pub received: DateTime<Utc>,
    /// Name of its file in the `received` folder.
    pub file: String,
}

/// What a receiver reports while it runs. Identifiers alone: no name, no number of a patient.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Told {
    /// Durable, and acknowledged next.
    Arrived(Arrival),
    /// Already there; acknowledged, and not kept twice.
    Again { uid: String },
    /// An association, or an object of one, was refused.
    Refused { peer: String, why: String },
    /// An object could not be kept, and its sender was told.
    NotKept { peer: String, why: String },
    /// An association ended otherwise than by release.
    Broken { peer: String, why: String },
}

/// What a receiver is started with.
pub struct Reception {
    pub settings: ReceiveSettings,
    /// The store's folder.
    pub store: PathBuf,
    pub disk: Arc<dyn Disk>,
    pub clock: Arc<dyn Clock>,
    /// Called on the receiver's threads; returns soon.
    pub tell: Arc<dyn Fn(Told) + Send + Sync>,
}

/// Why a receiver does not start.
#[derive(Debug, Error)]
pub enum ReceiveError {
    #[error("{}: {fault}", path.display())]
    Folder { path: PathBuf, fault: io::Error },
    #[error("{address}: {fault}")]
    Listen { address: String, fault: io::Error },
    #[error("receive.{member}: {reason}")]
    Setting { member: &'static str, reason: String },
}

/// Receives objects on threads of its own.
pub trait Receiver: Send + Sync {
    /// Removes what is older than the retention, then listens.
    ///
    /// # Errors
    /// [`ReceiveError`]; nothing listens then.
    fn start(&self, reception: Reception) -> Result<Box<dyn Receiving>, ReceiveError>;

    /// What waits in the store's `received` folder, oldest first.
    ///
    /// # Errors
    /// What the system says of the folder; a file that cannot be read is listed as unknown.
    fn waiting(&self, disk: &dyn Disk, store: &Path) -> io::Result<Vec<Arrival>>;
}

/// A receiver that runs; dropped, it stops.
pub trait Receiving: Send {
    /// The port it listens on.
    fn port(&self) -> u16;

    /// Accepts nothing more, ends what is open, and waits for its threads. What was acknowledged stays.
    fn stop(self: Box<Self>);
}

//! DICOM objects from bytes: bounded in size, depth and count, and tolerant of an early end.
//!
//! Headers are decoded by the DICOM library; this module walks them over one slice, so that a stated length is held
//! against what is there before anything is allocated, and nesting against [`DEPTH_MAX`] before the stack is spent.
//! What it does not do: no pixel data (it stops there), no writing, no meaning of any attribute. What may never
//! change: nothing behind an early end is guessed; what stands before it is kept and the end is reported.

mod file;
mod find;
pub(super) mod times;
mod walk;

pub use file::{Opened, open};
pub use find::Texts;
pub(super) use find::is_uid;
pub use walk::{Dataset, Element, Held, Walked, walk};

use thiserror::Error;

/// Sequences within sequences. A dose report nests about ten.
pub const DEPTH_MAX: usize = 64;
/// Elements in one object, the kept and the passed over together. A report of 10,000 events has about five million.
pub const ELEMENTS_MAX: usize = 10_000_000;
/// Bytes of a data set after inflating.
pub const INFLATED_MAX: u64 = 256 << 20;

/// How the elements of a data set are encoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    ImplicitLittle,
    ExplicitLittle,
    ExplicitBig,
}

/// Why bytes are no DICOM object that can be read. Offsets count from the begin of the data set.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DatasetError {
    #[error("no DICOM file: \"DICM\" is missing at byte 128")]
    NotDicom,
    #[error("its file meta information does not name a transfer syntax")]
    NoTransferSyntax,
    #[error("transfer syntax {uid} is not read")]
    TransferSyntax { uid: String },
    #[error("nested deeper than {max} at byte {at}")]
    TooDeep { at: usize, max: usize },
    #[error("more than {max} elements")]
    TooMany { max: usize },
    #[error("more than {max} bytes after inflating")]
    TooLarge { max: u64 },
    #[error("byte {at} should begin an item")]
    NoItem { at: usize },
    #[error("an item delimiter at byte {at} closes nothing")]
    StrayDelimiter { at: usize },
}

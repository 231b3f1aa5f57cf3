//! The journal: the bytes of a case's durable log. Encoding, the chain of sums, strict reading.
//!
//! One event per line of UTF-8 JSON: `seq`, `at`, `process`, `boot_ms`, `by`, `logged_by`, `did`, `prev`, and last
//! `sum`, the lower-case hex SHA-256 of the line's bytes before `,"sum"`. `prev` is the sum of the line before, 64
//! zeros for the first, so that a shell can check the chain. What it does not do: no files, no clock, no threads; it
//! judges bytes, not medicine. The loss of whole trailing lines shows only against a signed record.
//! What may never change: the line format of version 1.

mod line;
mod read;
mod sum;

pub use line::{LINE_MAX_BYTES, encode};
pub use read::{Fault, JournalReading, MAX_BYTES, Start, Tail, VerifiedJournal, read};
pub use sum::{ChainPoint, Sum};

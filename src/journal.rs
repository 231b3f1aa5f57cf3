//! The journal: the bytes of a case's durable log, their chain, and their reading.
//!
//! UTF-8 JSON, one event per line, ended by `\n`, members in this order: `seq`, `at`, `process`, `boot_ms`, `by`,
//! `logged_by`, `did`, `prev`, `sum`. `sum` is the lower-case hex SHA-256 of the line's bytes before `,"sum"`;
//! `prev` is the sum of the line before, 64 zeros in line 1. A shell can check it:
//!
//! ```sh
//! prev=$(printf '%064d' 0)
//! while IFS= read -r line; do
//!   sum=$(printf '%s' "${line%,\"sum\"*}" | sha256sum | cut -c1-64)
//!   [ "${line##*,\"sum\":}" = "\"$sum\"}" ] && case $line in *",\"prev\":\"$prev\",\"sum\""*) ;; *) false ;; esac || exit 1
//!   prev=$sum
//! done < journal.jsonl
//! ```
//!
//! What it does not do: no file, clock, thread or randomness, and no judgement whether the events make sense
//! (that is `case`). The loss of whole trailing lines cannot be seen from a journal alone; it shows against a signed
//! record, which names the closing `{seq, sum}`. What may never change: the bytes of format 1.

mod error;
mod line;
mod read;
mod sum;
mod verified;

pub use error::{JournalError, LineFault};
pub use line::{LINE_BYTES_MAX, encode};
pub use read::{FILE_BYTES_MAX, JournalReading, Tail, read};
pub use sum::{ChainPoint, Sum};
pub use verified::VerifiedJournal;

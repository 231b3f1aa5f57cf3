//! From files to verified records and rows: in parallel, since verifying is most of the work, and beside the keeping of
//! those verified before.
//!
//! A file that is no sound record is refused with its reason and left out; nothing of it is kept.

use super::index::Stored;
use super::row::Row;
use crate::people::Roster;
use crate::record::{self, RecordError, SignedRecord, VerifiedAddendum, VerifiedRecord, verify_addendum};
use thiserror::Error;

/// A record that holds, with the bytes of its file.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    bytes: Vec<u8>,
    digest: String,
    row: Row,
}

/// Why a file was left out.
#[derive(Debug, PartialEq, Eq, Error)]
pub enum Refused {
    #[error("{0}")]
    Record(RecordError),
    #[error("the record it belongs to, {of}, is not in the store")]
    NoRecord { of: String },
}

impl From<RecordError> for Refused {
    fn from(fault: RecordError) -> Self {
        Self::Record(fault)
    }
}

/// Verifies many files on as many threads as named, at least one; answers in the order given.
#[must_use]
pub fn check_records(files: &[Vec<u8>], roster: &Roster, threads: usize) -> Vec<Result<Checked, Refused>> {
    let each = files.len().div_ceil(threads.max(1)).max(1);
    std::thread::scope(|scope| {
        let work = |part: &'_ [Vec<u8>]| part.iter().map(|bytes| check(bytes, roster)).collect::<Vec<_>>();
        let threads: Vec<_> = files.chunks(each).map(|part| scope.spawn(move || work(part))).collect();
        threads.into_iter().flat_map(|one| one.join().expect("verifying does not panic")).collect()
    })
}

/// The same while the calling thread does something else: what was verified before is kept while the next files are
/// verified. Answers with what that came to.
pub fn check_records_beside<R>(
    files: &[Vec<u8>],
    roster: &Roster,
    threads: usize,
    meanwhile: impl FnOnce() -> R,
) -> (Vec<Result<Checked, Refused>>, R) {
    std::thread::scope(|scope| {
        let verifying = scope.spawn(|| check_records(files, roster, threads));
        let done = meanwhile();
        (verifying.join().expect("verifying does not panic"), done)
    })
}

fn check(bytes: &[u8], roster: &Roster) -> Result<Checked, Refused> {
    let record: VerifiedRecord = record::verify(bytes, roster)?;
    Ok(Checked { bytes: bytes.to_vec(), digest: record.digest().to_owned(), row: Row::of(&record, &[]) })
}

impl Checked {
    /// Lower-case hex SHA-256 of the payload.
    #[must_use]
    pub fn digest(&self) -> &str {
        &self.digest
    }

    /// What the record says.
    #[must_use]
    pub fn row(&self) -> &Row {
        &self.row
    }

    /// What is kept, given what stands there: the union of signatures and disclosures, with every addendum.
    ///
    /// # Errors
    /// [`Refused`] if the two files contradict each other; what stands there then stays.
    pub fn joined(self, standing: Option<Stored>, roster: &Roster) -> Result<Stored, Refused> {
        let Some(standing) = standing else {
            return Ok(Stored { record: self.bytes, addenda: Vec::new(), row: Some(self.row) });
        };
        // A row of an older version knows no costs: it is then derived anew.
        let whole = standing.row.as_ref().is_some_and(|row| row.costs == self.row.costs);
        if standing.record == self.bytes && whole {
            return Ok(standing);
        }
        let union = record::merge(SignedRecord::read(&standing.record)?, &SignedRecord::read(&self.bytes)?)?;
        stored(union.to_bytes(), standing.addenda, roster)
    }
}

/// The digest of an addendum's own payload, and the digest of the record it belongs to; the addendum is read, not
/// verified yet.
///
/// # Errors
/// [`Refused`] if the bytes are no addendum.
pub fn check_addendum(bytes: &[u8]) -> Result<(String, String), Refused> {
    let signed = record::SignedAddendum::read(bytes)?;
    Ok((signed.digest(), signed.document().of.clone()))
}

impl Stored {
    /// The same record with one addendum more, verified against it.
    ///
    /// # Errors
    /// [`Refused`] if the addendum does not hold.
    pub fn with_addendum(mut self, digest: &str, bytes: Vec<u8>, roster: &Roster) -> Result<Self, Refused> {
        match self.addenda.binary_search_by(|(known, _)| known.as_str().cmp(digest)) {
            Ok(at) => self.addenda[at].1 = joined(&self.addenda[at].1, &bytes)?,
            Err(at) => self.addenda.insert(at, (digest.to_owned(), bytes)),
        }
        stored(self.record, self.addenda, roster)
    }

    /// What the bytes say, verified again: the proof that the row is what the records say.
    ///
    /// # Errors
    /// [`Refused`] if what is stored does not hold with this roster.
    pub fn derived(&self, roster: &Roster) -> Result<Self, Refused> {
        stored(self.record.clone(), self.addenda.clone(), roster)
    }
}

fn joined(standing: &[u8], more: &[u8]) -> Result<Vec<u8>, Refused> {
    let (left, right) = (record::SignedAddendum::read(standing)?, record::SignedAddendum::read(more)?);
    Ok(record::merge(left, &right)?.to_bytes())
}

fn stored(record: Vec<u8>, addenda: Vec<(String, Vec<u8>)>, roster: &Roster) -> Result<Stored, Refused> {
    let verified = record::verify(&record, roster)?;
    let late: Result<Vec<VerifiedAddendum>, RecordError> =
        addenda.iter().map(|(_, bytes)| verify_addendum(bytes, &verified, roster)).collect();
    let row = Row::of(&verified, &late?);
    Ok(Stored { record, addenda, row: Some(row) })
}

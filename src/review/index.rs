//! What Review needs of the world: an index of records, and a press that makes pictures and pages.

use super::cache::Cache;
use super::export::Exported;
use super::month::Page;
use super::row::Row;
use super::scene::Scene;
use std::path::Path;
use thiserror::Error;

/// What an index could not do.
#[derive(Debug, PartialEq, Eq, Error)]
pub enum IndexError {
    /// Locked, full, unreachable.
    #[error("the index could not be used: {reason}")]
    Unusable { reason: String },
    /// It was written by a newer program.
    #[error("the index is of version {found}, this program reads up to {newest}")]
    Newer { found: u32, newest: u32 },
    #[error("the index is damaged: {reason}")]
    Damaged { reason: String },
}

/// A record as an index keeps it: the file's bytes, those of its addenda, and the row derived from them.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    pub record: Vec<u8>,
    /// Digest of the payload and bytes of each addendum, by digest.
    pub addenda: Vec<(String, Vec<u8>)>,
    /// Nothing where it is missing or damaged; it can be made again.
    pub row: Option<Row>,
}

/// What became of a record that was handed to an index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pushed {
    New,
    /// The same record with more signatures, disclosures or addenda than before.
    Extended,
    /// Known already, to the last byte.
    Known,
    /// The merge kept nothing new.
    LeftOut,
}

/// Records keyed by payload digest, and rows derived from them.
///
/// `write` is called with what stands there for the digest, inside the transaction that keeps the answer, so that two
/// writers at once neither lose nor double anything.
pub trait Index {
    /// Keeps records as one transaction. For each digest, `merge` gets what stands there already.
    ///
    /// # Errors
    /// [`IndexError`]; then none of them is kept.
    fn push(&mut self, digests: &[String], merge: Merge<'_>) -> Result<Vec<Pushed>, IndexError>;

    /// The stored record of that digest.
    ///
    /// # Errors
    /// [`IndexError`].
    fn get(&mut self, digest: &str) -> Result<Option<Stored>, IndexError>;

    /// Every digest, sorted.
    ///
    /// # Errors
    /// [`IndexError`].
    fn digests(&mut self) -> Result<Vec<String>, IndexError>;

    /// All rows as a cache, in the order of their digests.
    ///
    /// # Errors
    /// [`IndexError`].
    fn cache(&mut self) -> Result<Cache, IndexError>;

    /// Checks the index's own pages and structure; nothing if sound.
    ///
    /// # Errors
    /// [`IndexError`] if it cannot be read at all.
    fn fault(&mut self) -> Result<Option<String>, IndexError>;

    /// Copies the index, as it stands at one moment, into a new file.
    ///
    /// # Errors
    /// [`IndexError`]; [`IndexError::Unusable`] where the index is not a file.
    fn copy_to(&mut self, path: &Path) -> Result<(), IndexError>;
}

/// Decides what is kept under a digest: gets its position in the list and what stands there.
pub type Merge<'a> = &'a mut dyn FnMut(usize, Option<Stored>) -> Option<Stored>;

/// Makes pictures and pages of scenes.
pub trait Press {
    /// A PNG, `scale` pixels to a unit.
    ///
    /// # Errors
    /// What the renderer says.
    fn png(&self, scene: &Scene, title: &str, scale: f32) -> Result<Vec<u8>, String>;

    /// An Apache Parquet file.
    ///
    /// # Errors
    /// What the writer says.
    fn parquet(&self, exported: &Exported) -> Result<Vec<u8>, String>;

    /// A PDF of pages.
    ///
    /// # Errors
    /// What the writer says.
    fn pdf(&self, title: &str, pages: &[Page]) -> Result<Vec<u8>, String>;
}

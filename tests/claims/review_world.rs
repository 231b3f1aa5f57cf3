//! A real store in a folder of its own, and the commands of Review and of the store on it.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::memory_world::Answer;
use super::record_fixture::Counted;
use super::synthetic;
use brimline::adapters::files::RealDisk;
use brimline::adapters::index_postgres::PostgresIndex;
use brimline::adapters::index_sqlite::SqliteIndex;
use brimline::adapters::press::SystemPress;
use brimline::commands::review::{Place, ReviewArgs, ReviewPorts};
use brimline::commands::store::StoreArgs;
use brimline::commands::{World, review, store};
use brimline::review::{Index, IndexError};
use clap::Parser;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[derive(Parser)]
#[allow(clippy::large_enum_variant, reason = "one of them, once a test")]
enum Cli {
    Review(ReviewArgs),
    Store(StoreArgs),
}

/// A store with a roster, and a folder for files beside it.
pub struct Site {
    pub folder: tempfile::TempDir,
    pub environment: BTreeMap<String, String>,
}

pub fn ports(environment: BTreeMap<String, String>) -> ReviewPorts {
    let open = move |place: &Place| -> Result<Box<dyn Index>, IndexError> {
        match place {
            Place::File { path, create } => Ok(Box::new(SqliteIndex::open(path, *create)?)),
            Place::Service(service) => Ok(Box::new(PostgresIndex::open(service, &environment)?)),
        }
    };
    ReviewPorts { open: Arc::new(open), press: Arc::new(SystemPress), threads: 2, service: None }
}

impl Site {
    pub fn new() -> Self {
        let site = Self { folder: tempfile::tempdir().unwrap(), environment: BTreeMap::new() };
        std::fs::create_dir_all(site.store().join("people")).unwrap();
        std::fs::write(site.store().join("people/roster.json"), synthetic::roster().to_bytes()).unwrap();
        site
    }

    pub fn store(&self) -> PathBuf {
        self.folder.path().join("store")
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes records into a folder of the site.
    pub fn write(&self, name: &str, records: &[Vec<u8>]) -> PathBuf {
        let folder = self.path(name);
        std::fs::create_dir_all(&folder).unwrap();
        for (at, bytes) in records.iter().enumerate() {
            std::fs::write(folder.join(format!("{at:05}.json")), bytes).unwrap();
        }
        folder
    }

    pub fn says(&self, words: &[&str]) -> Answer {
        self.in_store(&self.store(), words)
    }

    pub fn in_store(&self, store_folder: &Path, words: &[&str]) -> Answer {
        let cli = Cli::try_parse_from(std::iter::once(&"brimline").chain(words)).unwrap();
        let ports = ports(self.environment.clone());
        let (mut input, mut out, mut err) = (&b""[..], Vec::new(), Vec::new());
        let random = Counted::default();
        let mut world = World {
            disk: &RealDisk,
            random: &random,
            store: store_folder.to_owned(),
            input: &mut input,
            out: &mut out,
            err: &mut err,
        };
        let code = match &cli {
            Cli::Review(args) => review::run(args, &mut world, &ports),
            Cli::Store(args) => store::run(args, &mut world, &ports),
        };
        Answer { code, out: String::from_utf8_lossy(&out).into_owned(), err: String::from_utf8(err).unwrap() }
    }
}

/// A path as a word of a command line.
pub fn word(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Whether a line of words is one of `review`'s commands.
pub fn parses<'a>(line: impl IntoIterator<Item = &'a str>) -> Result<(), String> {
    let mut words = line.into_iter();
    let program = words.next().unwrap_or("brimline");
    let all = [program, "review"].into_iter().chain(words);
    Cli::try_parse_from(all).map(|_| ()).map_err(|fault| fault.to_string())
}

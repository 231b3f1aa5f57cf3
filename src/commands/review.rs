//! `brimline review`: many signed records become answers.
//!
//! What it does not do: no rule of its own; the core of Review computes, an index keeps, a press draws.

mod asked;
mod chart;
mod gather;
mod import;
mod rebuild;
mod report;
mod summary;

use super::{BAD_INPUT, COULD_NOT, World};
use crate::people::{self, PeopleStore, Roster};
use crate::review::{Index, IndexError, Press};
use std::path::{Path, PathBuf};
use std::sync::Arc;

pub use gather::{Gathered, Progress, bring_in, look, one};
pub use import::Tally;
pub(super) use rebuild::{Proof, prove};

/// Opens an index.
pub type OpenIndex = Arc<dyn Fn(&Place) -> Result<Box<dyn Index>, IndexError> + Send + Sync>;

/// What Review is given of the world.
#[derive(Clone)]
pub struct ReviewPorts {
    pub open: OpenIndex,
    pub press: Arc<dyn Press + Send + Sync>,
    /// Threads to verify on.
    pub threads: usize,
    /// The libpq service of the index that the site's settings name; the store's own file if none.
    pub service: Option<String>,
}

/// Where an index is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// A file of the store; with `create` it is made if there is none.
    File { path: PathBuf, create: bool },
    /// A libpq service.
    Service(String),
}

/// Many records: import them, and ask them.
#[derive(Debug, clap::Args)]
pub struct ReviewArgs {
    #[command(flatten)]
    pub index: IndexArgs,
    #[command(subcommand)]
    pub verb: ReviewVerb,
}

/// Which index.
#[derive(Debug, clap::Args)]
pub struct IndexArgs {
    /// A PostgreSQL index instead of the store's own, by its libpq service name; the password comes from the passfile.
    /// Left out: `review_index` of the settings, else the store's own.
    #[arg(long, global = true, value_name = "SERVICE")]
    pub index: Option<String>,
    /// The roster that verifies the records; the store's own if left out.
    #[arg(long, global = true, value_name = "FILE")]
    pub roster: Option<PathBuf>,
}

/// What to do with many records.
#[derive(Debug, clap::Subcommand)]
pub enum ReviewVerb {
    /// Verify records and addenda and take them into the index; a bad one is named and left out
    Import(import::ImportArgs),
    /// Print figures: n, median, quartiles, range, with their intervals
    Summary(summary::SummaryArgs),
    /// Draw one chart
    Chart(chart::ChartArgs),
    /// Write a month's report
    Report(report::ReportArgs),
    /// Verify every record again and prove that the index says what the records say
    Rebuild(rebuild::RebuildArgs),
}

/// Exit code 0: done; 1: something was left out or differed; 2: bad input; 3: could not.
pub fn run(args: &ReviewArgs, world: &mut World<'_>, ports: &ReviewPorts) -> u8 {
    let done = match &args.verb {
        ReviewVerb::Import(verb) => import::run(verb, &args.index, world, ports),
        ReviewVerb::Summary(verb) => summary::run(verb, &args.index, world, ports),
        ReviewVerb::Chart(verb) => chart::run(verb, &args.index, world, ports),
        ReviewVerb::Report(verb) => report::run(verb, &args.index, world, ports),
        ReviewVerb::Rebuild(verb) => rebuild::run(verb, &args.index, world, ports),
    };
    done.unwrap_or_else(|code| code)
}

/// The store's own index.
pub(super) fn index_path(store: &Path) -> PathBuf {
    store.join("review").join("index.sqlite")
}

/// Opens the index that is asked for.
fn open(args: &IndexArgs, create: bool, world: &mut World<'_>, ports: &ReviewPorts) -> Result<Box<dyn Index>, u8> {
    let place = match args.index.as_ref().or(ports.service.as_ref()) {
        Some(service) => Place::Service(service.clone()),
        None => Place::File { path: index_path(&world.store), create },
    };
    if let Place::File { path, create: true } = &place
        && let Some(folder) = path.parent()
    {
        let made = world.disk.create_folder(folder);
        made.map_err(|fault| world.fail(COULD_NOT, format_args!("{}: {fault}", folder.display())))?;
    }
    (ports.open)(&place).map_err(|fault| refuse(&fault, world))
}

/// One line and the exit code of what an index could not do.
pub(super) fn refuse(fault: &IndexError, world: &mut World<'_>) -> u8 {
    let code = match fault {
        IndexError::Newer { .. } => BAD_INPUT,
        IndexError::Unusable { .. } | IndexError::Damaged { .. } => COULD_NOT,
    };
    world.fail(code, format_args!("{fault}"))
}

/// The roster that is asked for.
fn roster(args: &IndexArgs, world: &mut World<'_>) -> Result<Roster, u8> {
    let path = match &args.roster {
        Some(path) => path.clone(),
        None => PeopleStore::new(world.disk, &world.store).roster_path(),
    };
    let bytes = world.read(&path, people::MAX_BYTES)?;
    Roster::read(&bytes).map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", path.display())))
}

//! `brimline store`: check, back up and restore a whole store.
//!
//! A backup is hot: the index is copied as it stands at one moment, journals as far as they are durable; a line that
//! was being written is torn in the copy and set aside when the case is opened. The device secret stays where it is:
//! a backup opens nobody's key. What it does not do: no copy of a server's index.

mod backup;
mod check;
mod manifest;
mod restore;

use super::World;
use super::review::ReviewPorts;
use std::path::PathBuf;

/// Check, back up or restore a store.
#[derive(Debug, clap::Args)]
pub struct StoreArgs {
    #[command(subcommand)]
    pub verb: StoreVerb,
}

/// What to do with the store.
#[derive(Debug, clap::Subcommand)]
pub enum StoreVerb {
    /// Read every journal, verify every record, and compare the index with them
    Check,
    /// Copy the store into a new folder, while it is in use
    Backup {
        /// A folder that does not exist yet or is empty.
        folder: PathBuf,
    },
    /// Copy a backup into an empty store, every file verified first
    Restore {
        /// The folder of a backup.
        folder: PathBuf,
    },
}

/// Exit code 0: sound or done; 1: faults found; 2: bad input; 3: could not.
pub fn run(args: &StoreArgs, world: &mut World<'_>, ports: &ReviewPorts) -> u8 {
    let done = match &args.verb {
        StoreVerb::Check => check::run(world, ports),
        StoreVerb::Backup { folder } => backup::run(folder, world, ports),
        StoreVerb::Restore { folder } => restore::run(folder, world, ports),
    };
    done.unwrap_or_else(|code| code)
}

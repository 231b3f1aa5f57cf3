//! Arguments become commands or the tablet. Builds the adapters and hands them in.

use brimline::adapters::clock::SystemClock;
use brimline::adapters::dose_report::DicomReports;
use brimline::adapters::files::RealDisk;
use brimline::adapters::images::ImageFiles;
use brimline::adapters::index_postgres::PostgresIndex;
use brimline::adapters::index_sqlite::SqliteIndex;
use brimline::adapters::picture_files::PictureFiles;
use brimline::adapters::press::SystemPress;
use brimline::adapters::randomness::SystemRandomness;
use brimline::adapters::receiver::DicomReceiver;
use brimline::commands::review::{Place, ReviewPorts};
use brimline::commands::{self, Outside, arguments::Arguments};
use brimline::open_case::World;
use brimline::review::{Index, IndexError};
use clap::Parser;
use std::collections::BTreeMap;
use std::process::ExitCode;
use std::sync::Arc;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let world =
        World { clock: Arc::new(SystemClock), randomness: Arc::new(SystemRandomness), disk: Arc::new(RealDisk) };
    let environment: BTreeMap<String, String> = std::env::vars_os()
        .filter_map(|(name, value)| Some((name.into_string().ok()?, value.into_string().ok()?)))
        .collect();
    let review = review_ports(&environment);
    let outside = Outside {
        reports: &DicomReports,
        images: &ImageFiles,
        receiver: &DicomReceiver,
        review,
        pictures: &PictureFiles,
    };
    let code = commands::run(&arguments, &environment, &world, &outside, tablet);
    ExitCode::from(code)
}

/// Indexes and the press of Review.
fn review_ports(environment: &BTreeMap<String, String>) -> ReviewPorts {
    let environment = environment.clone();
    let open = move |place: &Place| -> Result<Box<dyn Index>, IndexError> {
        match place {
            Place::File { path, create } => Ok(Box::new(SqliteIndex::open(path, *create)?)),
            Place::Service(service) => Ok(Box::new(PostgresIndex::open(service, &environment)?)),
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    ReviewPorts { open: Arc::new(open), press: Arc::new(SystemPress), threads, service: None }
}

/// Opens the tablet.
#[cfg(feature = "tablet")]
fn tablet(start: commands::Start) -> u8 {
    brimline::presenter::run(start)
}

/// A build without the window says so.
#[cfg(not(feature = "tablet"))]
fn tablet(_: commands::Start) -> u8 {
    eprintln!("brimline: this build has no window; name a command, or see `brimline --help`");
    commands::COULD_NOT
}

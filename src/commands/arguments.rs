//! The command line: what may be said, and to which command it goes.

use super::dose::DoseArgs;
use super::pathway::PathwayArgs;
use super::people::PeopleArgs;
use super::perform::PerformArgs;
use super::plan::PlanArgs;
use super::receive::ReceiveArgs;
use super::redact::RedactArgs;
use super::rehearse::RehearseArgs;
use super::review::ReviewArgs;
use super::show::ShowArgs;
use super::store::StoreArgs;
use super::verify::VerifyArgs;
use clap::{Parser, Subcommand};
use std::path::PathBuf;

/// Walks an operating team through a percutaneous fusion of the sacroiliac joint under fluoroscopy, and signs the
/// record. Not cleared for clinical use. Without a command it opens the tablet.
#[derive(Debug, Parser)]
#[command(name = "brimline", version, max_term_width = 100)]
pub struct Arguments {
    /// Folder of cases and people; the platform's data folder if left out.
    #[arg(long, global = true, value_name = "DIR")]
    pub store: Option<PathBuf>,
    /// The site's settings; the platform's configuration folder is looked in if left out.
    #[arg(long, global = true, value_name = "FILE")]
    pub settings: Option<PathBuf>,
    /// Draw every screen into PNG files in this folder and end, without opening a window.
    #[arg(long, value_name = "DIR")]
    pub draw: Option<PathBuf>,
    #[command(subcommand)]
    pub command: Option<CommandName>,
}

/// The commands.
#[derive(Debug, Subcommand)]
#[allow(clippy::large_enum_variant, reason = "one of them, once a run")]
pub enum CommandName {
    /// Perform a scripted case without a window
    Perform(PerformArgs),
    /// Say whether a case record is valid and complete
    Verify(VerifyArgs),
    /// Print a case record for reading
    Show(ShowArgs),
    /// Remove disclosures from a case record; its signatures still verify
    Redact(RedactArgs),
    /// List, show and check pathways
    Pathway(PathwayArgs),
    /// Compute view targets, view corrections and pin findings from files
    Plan(PlanArgs),
    /// Read the machine's dose report, and attribute it to the steps of a case
    Dose(DoseArgs),
    /// Receive dose reports and images over DICOM
    Receive(ReceiveArgs),
    /// Keep the people of a store and their keys
    People(PeopleArgs),
    /// The synthetic machine and its model people: pictures, strategies compared in silico
    Rehearse(RehearseArgs),
    /// Many records: import them, figures, charts, a month's report
    Review(ReviewArgs),
    /// Check, back up or restore a whole store
    Store(StoreArgs),
    /// Print the completions of a shell
    Completions { shell: clap_complete::Shell },
    /// Print the manual page
    Man,
}

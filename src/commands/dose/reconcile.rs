//! `brimline dose reconcile`: the machine's report against a case.
//!
//! Nothing is written: what is printed is what a person looks at before anybody confirms it.

use super::team_sequence::team_sequence;
use super::words;
use crate::commands::{BAD_INPUT, COULD_NOT, World, YES};
use crate::dose::reconcile::{self, MachineSequence};
use crate::dose::{self, DoseReport};
use crate::open_case::{self, CaseOnDisk, OpenError, look};
use crate::ports::ReportReader;
use std::path::PathBuf;

/// Attribute a report's events to the steps of a case.
#[derive(Debug, clap::Args)]
pub struct ReconcileArgs {
    /// The case's folder.
    pub case: PathBuf,
    /// The machine's report, or - for standard input: DICOM, or what `dose read --json` prints.
    pub report: PathBuf,
    /// Print it as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Largest report of any form accepted, bytes.
const REPORT_BYTES_MAX: u64 = 64 << 20;

/// Exit code 0: done; 2: not a case or not a report; 3: could not read.
pub fn run(args: &ReconcileArgs, world: &mut World<'_>, ports: &open_case::World, reports: &dyn ReportReader) -> u8 {
    print(args, world, ports, reports).unwrap_or_else(|code| code)
}

fn print(
    args: &ReconcileArgs,
    world: &mut World<'_>,
    ports: &open_case::World,
    reports: &dyn ReportReader,
) -> Result<u8, u8> {
    let report = read_report(args, world, reports)?;
    let found = look(ports, &args.case).map_err(|fault| no_case(args, &fault, world))?;
    let not_a_case = |world: &mut World<'_>, why: &dyn std::fmt::Display| {
        world.fail(BAD_INPUT, format_args!("{}: {why}", args.case.display()))
    };
    let CaseOnDisk { case, journal, .. } = &found;
    let team = team_sequence(journal, case).map_err(|fault| not_a_case(world, &fault))?;
    let opened_at = case.state().opened_at.ok_or_else(|| not_a_case(world, &"the case names no time of opening"))?;
    let machine = MachineSequence::of(&report, opened_at);
    let outcome = reconcile::reconcile(&team, &machine);
    if args.json {
        let json = serde_json::to_string(&outcome).map_err(|fault| world.fail(COULD_NOT, format_args!("{fault}")))?;
        world.say(format_args!("{json}"))?;
        return Ok(YES);
    }
    let text = words::text(&words::Told { case, report: &report, machine: &machine, outcome: &outcome, opened_at });
    world.say(format_args!("{}", text.trim_end()))?;
    Ok(YES)
}

fn read_report(args: &ReconcileArgs, world: &mut World<'_>, reports: &dyn ReportReader) -> Result<DoseReport, u8> {
    let bytes = world.read(&args.report, REPORT_BYTES_MAX)?;
    let is_json = bytes.iter().find(|byte| !byte.is_ascii_whitespace()) == Some(&b'{');
    let read = if is_json {
        dose::read_report(&bytes).map_err(|fault| fault.to_string())
    } else {
        reports.read(&bytes).map_err(|fault| fault.to_string())
    };
    read.map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", args.report.display())))
}

fn no_case(args: &ReconcileArgs, fault: &OpenError, world: &mut World<'_>) -> u8 {
    let code = if matches!(fault, OpenError::Disk { .. }) { COULD_NOT } else { BAD_INPUT };
    match fault {
        // These name their path themselves.
        OpenError::NoCase { .. } | OpenError::Disk { .. } => world.fail(code, format_args!("{fault}")),
        fault => world.fail(code, format_args!("{}: {fault}", args.case.display())),
    }
}

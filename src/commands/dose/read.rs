//! `brimline dose read`: dose reports of a file, a folder or a medium, as text or as JSON.
//!
//! What it does not do: it corrects and drops nothing. The text shows six significant digits; JSON holds every figure
//! as it was read, in the form `dose::read_report` reads, one report a line.

use super::figures::{COLUMNS, EVENT, Figure, TOTALS, shown};
use crate::commands::{BAD_INPUT, COULD_NOT, NO, World, YES};
use crate::dose::{
    DoseReport, EventType, IrradiationEvent, MachineTime, Plane, PlaneTotals, ReferencePoint, ReportFault,
};
use crate::ports::{ReportReader, Unread};
use clap::Args;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// The largest file that is read, bytes. A report of 10,000 events has about 60 MB.
const FILE_MAX: u64 = 128 << 20;
/// Source of the accuracy and its range: 21 CFR 1020.32(k), from memory.
const ADVISORY: &str = "Advisory: as the machine reports it, nothing corrected. Machines must be right to 35 % above \
                        100 mGy and 6 mGy/min, and promise nothing below.\n";
/// Folders within folders.
const DEPTH_MAX: usize = 8;
/// Files of a folder or medium.
const FILES_MAX: usize = 10_000;

/// Print what dose reports say, with unit and attribute, and where they contradict themselves.
#[derive(Debug, Args)]
pub struct ReadArgs {
    /// A file, a folder, a medium (a folder with a DICOMDIR), or - for standard input.
    pub report: PathBuf,
    /// Print one JSON document a line, with every figure as it was read.
    #[arg(long)]
    pub json: bool,
    /// Print every figure of every event.
    #[arg(long, conflicts_with = "json")]
    pub all: bool,
}

/// Exit code 0: read, and at one with itself; 1: read, and it contradicts itself or lacks something; 2: no readable
/// dose report; 3: could not.
pub fn run(args: &ReadArgs, world: &mut World<'_>, reports: &dyn ReportReader) -> u8 {
    let done = if args.report == Path::new("-") {
        world.read(&args.report, FILE_MAX).and_then(|bytes| one(args, &args.report, &bytes, world, reports))
    } else {
        match world.disk.list(&args.report) {
            Ok(_) => many(args, world, reports),
            // No folder, so a file; what is wrong with it the reading says.
            Err(_) => {
                world.read(&args.report, FILE_MAX).and_then(|bytes| one(args, &args.report, &bytes, world, reports))
            }
        }
    };
    done.unwrap_or_else(|code| code)
}

fn one(
    args: &ReadArgs,
    path: &Path,
    bytes: &[u8],
    world: &mut World<'_>,
    reports: &dyn ReportReader,
) -> Result<u8, u8> {
    match reports.read(bytes) {
        Ok(report) => print(args, path, &report, world),
        Err(fault) => Err(world.fail(BAD_INPUT, format_args!("{}: {fault}", path.display()))),
    }
}

/// Every report of a folder; other files are passed over, reports that cannot be read are not.
fn many(args: &ReadArgs, world: &mut World<'_>, reports: &dyn ReportReader) -> Result<u8, u8> {
    let files = files_of(&args.report, world, reports)?;
    let (mut worst, mut read, mut other) = (YES, 0, 0);
    for path in &files {
        let bytes = match world.disk.read(path, FILE_MAX) {
            Ok(bytes) => bytes,
            Err(fault) => {
                worst = worst.max(world.fail(COULD_NOT, format_args!("{}: {fault}", path.display())));
                continue;
            }
        };
        match reports.read(&bytes) {
            Ok(report) => {
                read += 1;
                worst = worst.max(print(args, path, &report, world)?);
            }
            Err(Unread::NotDicom | Unread::OtherObject { .. }) => other += 1,
            Err(fault) => worst = worst.max(world.fail(BAD_INPUT, format_args!("{}: {fault}", path.display()))),
        }
    }
    if read == 0 && worst == YES {
        let where_ = args.report.display();
        return Err(world.fail(BAD_INPUT, format_args!("{where_}: no dose report among {other} files")));
    }
    Ok(worst)
}

/// Files of a medium by its directory, else of a folder and those below it.
fn files_of(folder: &Path, world: &mut World<'_>, reports: &dyn ReportReader) -> Result<Vec<PathBuf>, u8> {
    let directory = folder.join("DICOMDIR");
    if let Ok(bytes) = world.disk.read(&directory, FILE_MAX) {
        let index = reports.media_index(&bytes);
        let index = index.map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", directory.display())))?;
        return Ok(index
            .iter()
            .map(|parts| parts.iter().fold(folder.to_owned(), |path, part| path.join(part)))
            .collect());
    }
    let mut files = Vec::new();
    let mut folders = vec![(folder.to_owned(), 0)];
    while let Some((folder, depth)) = folders.pop() {
        let names = world.disk.list(&folder);
        let names = names.map_err(|fault| world.fail(COULD_NOT, format_args!("{}: {fault}", folder.display())))?;
        for name in names {
            let path = folder.join(name);
            if world.disk.list(&path).is_err() {
                files.push(path);
            } else if depth < DEPTH_MAX {
                folders.push((path, depth + 1));
            } else {
                let what = format_args!("{}: more than {DEPTH_MAX} folders deep", path.display());
                return Err(world.fail(BAD_INPUT, what));
            }
        }
        if files.len() > FILES_MAX {
            return Err(world.fail(BAD_INPUT, format_args!("{}: more than {FILES_MAX} files", folder.display())));
        }
    }
    files.sort_unstable();
    Ok(files)
}

fn print(args: &ReadArgs, path: &Path, report: &DoseReport, world: &mut World<'_>) -> Result<u8, u8> {
    let code = if report.faults.iter().any(is_fault) { NO } else { YES };
    if args.json {
        let text = serde_json::to_string(report);
        let text = text.map_err(|fault| world.fail(COULD_NOT, format_args!("{}: {fault}", path.display())))?;
        return world.say(format_args!("{text}")).map(|()| code);
    }
    world.say(format_args!("{}", text(path, report, args.all).trim_end())).map(|()| code)
}

/// What was passed over is no fault of the report.
fn is_fault(fault: &ReportFault) -> bool {
    !matches!(fault, ReportFault::PassedOver { .. })
}

fn text(path: &Path, report: &DoseReport, all: bool) -> String {
    let mut text = format!("{}\n", path.display());
    head(&mut text, report);
    for totals in &report.planes {
        totals_of(&mut text, totals);
    }
    if !report.events.is_empty() {
        table(&mut text, &report.events);
        if all { each(&mut text, &report.events) } else { ranges(&mut text, &report.events) }
    }
    for fault in &report.faults {
        let _ = writeln!(text, "FOUND  {fault}");
    }
    text.push_str(ADVISORY);
    text
}

fn head(text: &mut String, report: &DoseReport) {
    let device = &report.device;
    let parts = [
        ("report", report.uid.clone()),
        ("patient", report.patient_number.clone()),
        ("accession", report.accession_number.clone()),
        ("written", report.written.map(time)),
        ("accumulated over", report.scope.clone()),
        ("covers from", report.covers_from.map(time)),
        ("covers to", report.covers_to.map(time)),
        ("machine", joined(&[&device.manufacturer, &device.model, &device.name])),
        ("serial", device.serial.clone()),
        ("station", device.station.clone()),
    ];
    for (name, value) in parts {
        if let Some(value) = value {
            let _ = writeln!(text, "  {name}: {value}");
        }
    }
}

fn joined(parts: &[&Option<String>]) -> Option<String> {
    let parts: Vec<&str> = parts.iter().filter_map(|part| part.as_deref()).collect();
    (!parts.is_empty()).then(|| parts.join(" "))
}

fn time(time: MachineTime) -> String {
    let zone = match time.offset_min {
        None => " (no zone)".to_owned(),
        Some(minutes) => {
            let sign = if minutes < 0 { '-' } else { '+' };
            format!(" {sign}{:02}:{:02}", minutes.abs() / 60, minutes.abs() % 60)
        }
    };
    format!("{}{zone}", time.local)
}

fn plane(plane: Option<Plane>) -> &'static str {
    match plane {
        Some(Plane::Single) => "single plane",
        Some(Plane::A) => "plane A",
        Some(Plane::B) => "plane B",
        Some(Plane::All) => "all planes",
        None => "plane not stated",
    }
}

fn totals_of(text: &mut String, totals: &PlaneTotals) {
    let _ = writeln!(text, "Totals, {}", plane(totals.plane));
    for Figure { name, unit, attribute, of } in TOTALS {
        if let Some(value) = of(totals) {
            let _ = writeln!(text, "  {name:<22}{:>12} {unit:<7} {attribute}", shown(value));
        }
    }
    if let Some(point) = &totals.reference_point {
        let _ = writeln!(text, "  reference point: {}  113780 Reference Point Definition", point_of(point));
    }
    for calibration in &totals.calibrations {
        let factor = calibration.factor.map_or("not stated".to_owned(), shown);
        let percent = calibration.uncertainty_percent.map_or("not stated".to_owned(), |value| shown(value) + " %");
        let _ = writeln!(text, "  calibration: factor {factor} (122322, not applied), uncertainty {percent} (113763)");
    }
}

fn point_of(point: &ReferencePoint) -> &str {
    match point {
        ReferencePoint::IsocentreTowardSource => "15 cm from the isocentre toward the source",
        ReferencePoint::InFrontOfImageInput => "30 cm in front of the image input surface",
        ReferencePoint::AboveTableTop => "1 cm above the table top",
        ReferencePoint::AboveTableTop30Cm => "30 cm above the table top",
        ReferencePoint::FromTableCentreLine => "15 cm from the table's centre line",
        ReferencePoint::Other(words) => words,
    }
}

fn table(text: &mut String, events: &[IrradiationEvent]) {
    let _ = writeln!(text, "Irradiation events: {}", events.len());
    let _ = write!(text, "  {:>5}  {:<23} {:<12}", "", "started 111526", "type 113721");
    for Figure { name, unit, .. } in &EVENT[..COLUMNS] {
        let _ = write!(text, " {:>16}", format!("{name} {unit}").trim_end());
    }
    text.push('\n');
    let _ = write!(text, "  {:>5}  {:<23} {:<12}", "", "", "");
    for Figure { attribute, .. } in &EVENT[..COLUMNS] {
        let _ = write!(text, " {:>16}", attribute.split(' ').next().unwrap_or_default());
    }
    text.push('\n');
    for (index, event) in events.iter().enumerate() {
        let started = event.started.map_or("-".to_owned(), |started| started.local.to_string());
        let _ = write!(text, "  {:>5}  {started:<23} {:<12}", index + 1, kind(event));
        for Figure { of, .. } in &EVENT[..COLUMNS] {
            let _ = write!(text, " {:>16}", of(event).map_or("-".to_owned(), shown));
        }
        text.push('\n');
    }
}

fn kind(event: &IrradiationEvent) -> &str {
    match &event.event_type {
        Some(EventType::Fluoroscopy) => "fluoroscopy",
        Some(EventType::StationaryAcquisition) => "stationary",
        Some(EventType::SteppingAcquisition) => "stepping",
        Some(EventType::RotationalAcquisition) => "rotational",
        Some(EventType::Other(word)) => word,
        None => "-",
    }
}

/// The figures that are no columns, from least to most.
fn ranges(text: &mut String, events: &[IrradiationEvent]) {
    for Figure { name, unit, attribute, of } in &EVENT[COLUMNS..] {
        let values: Vec<f64> = events.iter().filter_map(of).collect();
        let (Some(least), Some(most)) =
            (values.iter().copied().reduce(f64::min), values.iter().copied().reduce(f64::max))
        else {
            continue;
        };
        let value = if least < most { format!("{} to {}", shown(least), shown(most)) } else { shown(least) };
        let _ = writeln!(text, "  {name}: {value} {unit} in {} of them  {attribute}", values.len());
    }
}

fn each(text: &mut String, events: &[IrradiationEvent]) {
    for (index, event) in events.iter().enumerate() {
        let uid = event.uid.as_deref().unwrap_or("none");
        let _ = writeln!(text, "  event {}: UID {uid} (113769), {}", index + 1, plane(event.plane));
        for Figure { name, unit, attribute, of } in &EVENT {
            if let Some(value) = of(event) {
                let _ = writeln!(text, "    {name:<26}{:>12} {unit:<8} {attribute}", shown(value));
            }
        }
        for filter in &event.filters {
            let _ = writeln!(text, "    filter {filter}  113757, 113758, 113773");
        }
        for image in &event.images {
            let _ = writeln!(text, "    saved image {image}  113795");
        }
    }
}

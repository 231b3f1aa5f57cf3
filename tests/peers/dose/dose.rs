//! Dose reports of independent writers, read as independent readers read them: pydicom and DCMTK.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::python;
use brimline::adapters::dose_report::{media_index, read};
use brimline::dose::{DoseReport, Figure, ReportFault};
use brimline::units::{AirKermaUnit, GrayCm2, KermaAreaUnit, Milligray};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

const SCRIPTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers/dose");
/// By its whole path: an environment with pynetdicom has tools of the same names.
const DSRDUMP: &str = "/usr/bin/dsrdump";

/// Takes half a minute to write, so it lies there written.
const THOUSAND: &str = "thousand-events.dcm";

fn frozen() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/dose")
}

fn script(name: &str, arguments: &[&Path]) -> Output {
    let output = Command::new(python()).arg(Path::new(SCRIPTS).join(name)).args(arguments).output().unwrap();
    assert!(
        output.status.success(),
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    output
}

/// Reports that highdicom and pydicom write, in a folder that is made once.
fn reports() -> &'static Path {
    static FOLDER: OnceLock<tempfile::TempDir> = OnceLock::new();
    let folder = FOLDER.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        script("make_reports.py", &[folder.path()]);
        std::fs::copy(frozen().join(THOUSAND), folder.path().join(THOUSAND)).unwrap();
        folder
    });
    folder.path()
}

fn report(name: &str) -> DoseReport {
    read(&std::fs::read(reports().join(format!("{name}.dcm"))).unwrap())
        .unwrap_or_else(|fault| panic!("{name}: {fault}"))
}

/// Members of ours that the walk of pydicom states too are equal, and none is missing on either side.
fn assert_same(place: &str, ours: &Value, theirs: &Value) {
    for (member, theirs) in theirs.as_object().unwrap() {
        let ours = &ours[member];
        match theirs.as_f64() {
            // To the last bit: both read the same decimal text and convert it once.
            Some(number) => assert_eq!(ours.as_f64(), Some(number), "{place}.{member}"),
            None if member == "started" => {
                let digits: String = ours["local"].as_str().unwrap().chars().filter(char::is_ascii_digit).collect();
                let written: String = theirs.as_str().unwrap().split(['+', '-']).next().unwrap().replace('.', "");
                assert!(digits.starts_with(&written) || written.starts_with(&digits), "{place}: {digits} {written}");
            }
            None => assert_eq!(ours, theirs, "{place}.{member}"),
        }
    }
    let known = ["protocol", "pulsed", "reference_point", "filters", "calibrations"];
    for member in ours.as_object().unwrap().keys().filter(|member| !known.contains(&member.as_str())) {
        assert!(theirs.get(member).is_some(), "{place}.{member} is not in pydicom's walk");
    }
}

/// [R-REPORT-1]
/// Source: reports written by highdicom and pydicom, walked by pydicom.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn every_figure_equals_the_walk_of_pydicom() {
    let walked: BTreeMap<String, Value> = serde_json::from_slice(&script("walk.py", &[reports()]).stdout).unwrap();
    assert!(walked.len() >= 20, "{} reports", walked.len());
    for (name, theirs) in walked {
        let ours = serde_json::to_value(report(&name)).unwrap();
        assert_eq!((&ours["uid"], &ours["patient_number"]), (&theirs["uid"], &theirs["patient_number"]), "{name}");
        let station = ours["device"]["station"].as_str();
        assert_eq!(station, theirs["station"].as_str(), "{name}");
        for list in ["planes", "events"] {
            let (ours, theirs) = (ours[list].as_array().unwrap(), theirs[list].as_array().unwrap());
            assert_eq!(ours.len(), theirs.len(), "{name}.{list}");
            for (index, (ours, theirs)) in ours.iter().zip(theirs).enumerate() {
                assert_same(&format!("{name}.{list}[{index}]"), ours, theirs);
            }
        }
    }
}

/// [R-REPORT-1]
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn zones_units_and_early_ends_are_read_as_they_stand() {
    let zones = report("time-zones");
    assert_eq!(zones.written.unwrap().offset_min, Some(60), "of the object");
    assert!(zones.events.iter().all(|event| event.started.unwrap().offset_min == Some(-210)), "of the value");
    let plain = report("plain");
    for same in ["implicit", "deflated", "big-endian", "private-group", "mixed-codes", "characters"] {
        let mut other = report(same);
        for event in &mut other.events {
            // One code for copper and "or copper" in words aside, filters and all are equal.
            assert_eq!(event.filters, ["Cu 0.1 mm"], "{same}");
        }
        assert_eq!((other.planes, other.events), (plain.planes.clone(), plain.events.clone()), "{same}");
    }
    for cut in ["truncated", "deflated-truncated"] {
        let cut = report(cut);
        let whole = cut.events.len() - 1;
        assert!(whole >= 3 && cut.events[..whole] == plain.events[..whole], "{whole} whole events");
        assert!(cut.faults.iter().any(|fault| matches!(fault, ReportFault::Truncated { .. })));
    }
}

/// [R-REPORT-2]
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn contradictions_and_gaps_are_found_and_nothing_else_is() {
    for sound in [
        "plain",
        "biplane",
        "totals-only",
        "missing-end-angles",
        "mixed-codes",
        "milligray",
        "decigray",
        "implicit",
        "deflated",
        "big-endian",
        "thousand-events",
        "time-zones",
        "per-pulse",
        "characters",
        "small",
    ] {
        assert_eq!(report(sound).faults, [], "{sound}");
    }
    let off = report("off-by-one-event");
    let last = off.events.last().unwrap().kerma_area_product.unwrap().0;
    let found = off.faults.iter().find_map(|fault| match fault {
        ReportFault::TotalsDisagree { figure: Figure::KermaAreaProduct, total, sum, .. } => Some(sum - total),
        _ => None,
    });
    assert!((found.unwrap() - last).abs() < 1e-12, "the difference is the event that was left out");
    assert_eq!(report("no-totals").faults, [ReportFault::NoTotals]);
    assert_eq!(report("no-event-uid").faults, [ReportFault::EventWithoutUid { event: 2 }]);
    let units: Vec<String> = report("unknown-units").faults.iter().map(ToString::to_string).collect();
    assert!(
        units[0].contains("\"furlong\"") && units[1].contains("in \"\"") && units[2].contains("s (L)"),
        "{units:?}"
    );
    assert_eq!(report("unknown-units").events[0].kerma_area_product, None);
}

/// What dsrdump prints of one container of figures: code to number and unit.
type Dumped = Vec<(String, f64, String)>;

fn dump(path: &Path) -> (Vec<Dumped>, Vec<Dumped>) {
    let output = Command::new(DSRDUMP).args(["-q", "+Pc", "+Pl"]).arg(path).output().expect("dcmtk is installed");
    assert!(output.status.success(), "{}: {}", path.display(), String::from_utf8_lossy(&output.stderr));
    let (mut totals, mut events): (Vec<Dumped>, Vec<Dumped>) = (Vec::new(), Vec::new());
    let mut in_events = false;
    for line in String::from_utf8_lossy(&output.stdout).lines() {
        if line.contains("CONTAINER:(113702,") {
            totals.push(Vec::new());
            in_events = false;
        } else if line.contains("CONTAINER:(113706,") {
            events.push(Vec::new());
            in_events = true;
        } else if let Some((_, rest)) = line.split_once(" NUM:(") {
            let code = rest.split(',').next().unwrap();
            let (_, value) = rest.split_once(")=\"").unwrap();
            let (number, unit) = value.split_once("\" (").unwrap();
            let row = (code.to_owned(), number.parse().unwrap(), unit.split(',').next().unwrap().to_owned());
            if in_events { &mut events } else { &mut totals }.last_mut().unwrap().push(row);
        }
    }
    (totals, events)
}

fn figure(dumped: &Dumped, codes: &[&str]) -> Option<f64> {
    let (_, number, unit) = dumped.iter().find(|(code, ..)| codes.contains(&code.as_str()))?;
    let area = KermaAreaUnit::of_ucum(unit).map(|unit| GrayCm2::of(*number, unit).0);
    area.or_else(|| AirKermaUnit::of_ucum(unit).map(|unit| Milligray::of(*number, unit).0)).or(Some(*number))
}

/// [R-REPORT-1]
/// Source: dsrdump of DCMTK.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn dose_time_and_angles_equal_those_of_dsrdump() {
    for name in ["plain", "biplane", "totals-only", "mixed-codes", "milligray", "decigray", "implicit", "deflated"] {
        let ours = report(name);
        let (totals, events) = dump(&reports().join(format!("{name}.dcm")));
        assert_eq!((ours.planes.len(), ours.events.len()), (totals.len(), events.len()), "{name}");
        for (ours, theirs) in ours.planes.iter().zip(&totals) {
            assert_eq!(ours.kerma_area_product.map(|v| v.0), figure(theirs, &["113722"]), "{name}");
            assert_eq!(ours.reference_air_kerma.map(|v| v.0), figure(theirs, &["113725"]), "{name}");
            assert_eq!(ours.fluoroscopy_time.map(|v| v.0), figure(theirs, &["113730"]), "{name}");
            assert_eq!(ours.acquisition_time.map(|v| v.0), figure(theirs, &["113855"]), "{name}");
        }
        for (ours, theirs) in ours.events.iter().zip(&events) {
            assert_eq!(ours.kerma_area_product.map(|v| v.0), figure(theirs, &["122130"]), "{name}");
            assert_eq!(ours.reference_air_kerma.map(|v| v.0), figure(theirs, &["113738"]), "{name}");
            assert_eq!(ours.duration.map(|v| v.0), figure(theirs, &["113742"]), "{name}");
            assert_eq!(ours.exposure_time_ms, figure(theirs, &["113824", "113735"]), "{name}");
            assert_eq!(ours.primary_angle_deg, figure(theirs, &["112011"]), "{name}");
            assert_eq!(ours.secondary_end_angle_deg, figure(theirs, &["113740"]), "{name}");
            assert_eq!(ours.source_to_detector_mm, figure(theirs, &["113750"]), "{name}");
        }
    }
}

/// [R-REPORT-1]
/// Source: pydicom's copy of the DICOM ontology.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn every_code_has_the_meaning_that_pydicom_knows() {
    let said = script("codes.py", &[Path::new(env!("CARGO_MANIFEST_DIR"))]).stdout;
    assert!(String::from_utf8_lossy(&said).contains("codes agree"));
}

/// The samples that the ordinary tests read are what the script writes today.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn the_frozen_samples_are_what_the_script_writes() {
    for entry in std::fs::read_dir(frozen()).unwrap().flatten() {
        let name = entry.file_name();
        let (frozen, made) = (std::fs::read(entry.path()).unwrap(), std::fs::read(reports().join(&name)).unwrap());
        assert!(frozen == made, "{} differs", name.display());
    }
}

/// [R-REPORT-3]
/// Source: a medium written by pydicom.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn a_medium_names_its_reports() {
    let there = tempfile::tempdir().unwrap();
    let medium = there.path().join("medium");
    let files: Vec<PathBuf> = ["small", "biplane"].iter().map(|name| reports().join(format!("{name}.dcm"))).collect();
    script("make_medium.py", &[&medium, &files[0], &files[1]]);
    let index = media_index(&std::fs::read(medium.join("DICOMDIR")).unwrap()).unwrap();
    assert_eq!(index.len(), 2);
    for parts in index {
        let path = parts.iter().fold(medium.clone(), |path, part| path.join(part));
        assert!(!read(&std::fs::read(path).unwrap()).unwrap().events.is_empty());
    }
}

//! The machine's dose report: frozen samples, bad bytes, and `brimline dose read` with its exit codes.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::memory_world::{Answer, MemoryDisk, run};
use super::record_fixture::Counted;
use brimline::adapters::clock::SystemClock;
use brimline::adapters::dataset;
use brimline::adapters::dose_report::{DicomReports, media_index, read};
use brimline::adapters::files::RealDisk;
use brimline::adapters::randomness::SystemRandomness;
use brimline::commands::{World, dose};
use brimline::dose::{EventType, Figure, Plane, ReportFault, ReportKind, read_report};
use brimline::ports::Unread;
use clap::Parser;
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn sample(name: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/vectors/dose/{name}.dcm"))).unwrap()
}

/// The sample with every occurrence of one text replaced by another as long.
fn with(name: &str, old: &str, new: &str) -> Vec<u8> {
    assert_eq!(old.len(), new.len());
    let mut bytes = sample(name);
    let mut found = 0;
    for at in 0..bytes.len() - old.len() {
        if bytes[at..].starts_with(old.as_bytes()) {
            bytes[at..at + old.len()].copy_from_slice(new.as_bytes());
            found += 1;
        }
    }
    assert!(found > 0, "{old} is in {name}");
    bytes
}

/// [R-REPORT-1]
/// Source: the figures that `tests/peers/dose/make_reports.py` writes, converted by hand.
#[test]
fn the_figures_of_a_small_report_are_read() {
    let report = read(&sample("small")).unwrap();
    assert_eq!(report.kind, ReportKind::XRayRadiationDose);
    assert_eq!(report.patient_number.as_deref(), Some("MRN-0001"));
    assert_eq!(report.scope.as_deref(), Some("Study"));
    assert_eq!(report.device.serial.as_deref(), Some("0042"));
    let totals = &report.planes[0];
    // 1.25 and 1.62 µGy·m² are 0.0125 and 0.0162 Gy·cm²; 0.110 and 0.131 mGy.
    assert!((totals.kerma_area_product.unwrap().0 - 0.0287).abs() < 1e-15);
    assert!((totals.reference_air_kerma.unwrap().0 - 0.241).abs() < 1e-15);
    assert_eq!(totals.calibrations[0].factor, Some(1.03));
    let event = &report.events[1];
    assert_eq!((event.plane, event.event_type.as_ref()), (Some(Plane::Single), Some(&EventType::Fluoroscopy)));
    assert!((event.kerma_area_product.unwrap().0 - 0.0162).abs() < 1e-15);
    assert_eq!(event.field_area_cm2, Some(441.0));
    assert_eq!(event.started.unwrap().local.to_string(), "2026-03-10 08:05:37");
    assert_eq!(event.filters, ["Cu 0.1 mm"]);
    assert_eq!(report.faults, []);
}

/// [R-REPORT-1]
#[test]
fn planes_totals_alone_the_enhanced_form_and_deflate_are_read() {
    let biplane = read(&sample("small-biplane")).unwrap();
    assert_eq!(biplane.planes.iter().map(|totals| totals.plane).collect::<Vec<_>>(), [Some(Plane::A), Some(Plane::B)]);
    let totals = read(&sample("totals-only")).unwrap();
    assert!(totals.events.is_empty() && totals.faults.is_empty() && totals.planes[0].fluoroscopy_time.is_some());
    let enhanced = read(&sample("enhanced")).unwrap();
    assert_eq!(enhanced.kind, ReportKind::EnhancedXRayRadiationDose);
    assert_eq!(enhanced.events[1].reference_air_kerma.unwrap().0, 0.25);
    assert!((enhanced.planes[0].kerma_area_product.unwrap().0 - 0.035).abs() < 1e-15);
    assert_eq!(read(&sample("deflated")).unwrap().events.len(), 12);
}

/// [R-REPORT-2]
#[test]
fn a_total_that_misses_one_event_is_shown_with_both_numbers() {
    let report = read(&sample("small-off-by-one-event")).unwrap();
    let found = report.faults.iter().any(|fault| {
        matches!(fault, ReportFault::TotalsDisagree { figure: Figure::KermaAreaProduct, total, sum, .. } if sum > total)
    });
    assert!(found, "{:?}", report.faults);
    assert_eq!(report.events.len(), 4, "nothing is dropped for it");
}

/// [R-REPORT-2]
#[test]
fn what_is_missing_twice_or_unreadable_is_named_with_its_place() {
    let said = |bytes: &[u8]| -> Vec<String> { read(bytes).unwrap().faults.iter().map(ToString::to_string).collect() };
    // The container's own code becomes one that nobody knows.
    assert_eq!(said(&with("small", "113702", "199702")), ["no accumulated totals"]);
    let twice = said(&with("small", "2.25.90210.7.2", "2.25.90210.7.1"));
    assert_eq!(twice, ["event 2: the same UID as event 1"]);
    let unit = said(&with("small", "Gy.m2", "Gy.n2"));
    assert!(unit.iter().any(|line| line.starts_with("event 1: 122130 0.00000125 in \"Gy.n2\"")), "{unit:?}");
    let time = said(&with("small", "20260310080537", "20261310080537"));
    assert!(time.iter().any(|line| line.contains("event 2: 111526 \"20261310080537\" cannot be read")), "{time:?}");
    let order = said(&with("small", "20260310080537", "20260309080537"));
    assert_eq!(order, ["event 2: starts before the event before it"]);
    let uid = said(&with("small", "113769", "199769"));
    assert_eq!(uid, ["event 1: no UID", "event 2: no UID"]);
    let plane = said(&with("small", "113764", "199764"));
    assert!(plane.contains(&"totals 1: 113764 Acquisition Plane is missing".to_owned()), "{plane:?}");
}

/// [R-REPORT-4] Cut anywhere, what stands before the cut is kept, or the file is refused in one line.
#[test]
fn a_report_cut_anywhere_keeps_its_whole_events() {
    let bytes = sample("small");
    let whole = read(&bytes).unwrap();
    let mut most = 0;
    // Not every byte: a prime step visits every part of every element.
    for end in (0..bytes.len()).step_by(37) {
        match read(&bytes[..end]) {
            Ok(cut) => {
                let sound = cut.events.len().saturating_sub(1);
                assert_eq!(cut.events[..sound], whole.events[..sound], "cut at {end}");
                assert!(cut.faults.iter().any(|fault| !matches!(fault, ReportFault::PassedOver { .. })), "at {end}");
                most = most.max(sound);
            }
            Err(fault) => assert!(!fault.to_string().contains('\n')),
        }
    }
    assert_eq!(most, 1);
}

/// [R-REPORT-4]
#[test]
fn no_flipped_bit_makes_the_reader_panic() {
    for name in ["small", "deflated", "enhanced"] {
        let bytes = sample(name);
        for at in (0..bytes.len()).step_by(31) {
            let mut flipped = bytes.clone();
            flipped[at] ^= 1 << (at % 8);
            if let Err(fault) = read(&flipped) {
                assert!(!fault.to_string().contains('\n'));
            }
        }
    }
}

/// A file of explicit little endian with that data set.
fn file(body: &[u8]) -> Vec<u8> {
    let syntax = b"\x02\0\x10\0UI\x14\x001.2.840.10008.1.2.1\0";
    [&[0; 128][..], b"DICM", syntax, body].concat()
}

/// [R-REPORT-4]
#[test]
fn depth_length_and_count_are_bounded() {
    // Sequences of undefined length, each in an item of the one before: far deeper than the stack.
    let level = b"\x40\0\x30\xA7SQ\0\0\xFF\xFF\xFF\xFF\xFE\xFF\0\xE0\xFF\xFF\xFF\xFF";
    let deep = file(&level.repeat(200_000));
    assert!(read(&deep).unwrap_err().to_string().starts_with("nested deeper than 64"));
    // An element that claims four gigabytes.
    let long = file(b"\x10\0\x20\0UT\0\0\xF0\xFF\xFF\xFFabc");
    assert!(matches!(read(&long), Err(Unread::OtherObject { .. })));
    let opened = dataset::open(&long).unwrap();
    assert_eq!(opened.walk(|_| true).unwrap().truncated_at, Some(long.len() - 132 - 28));
    for no_file in [&b""[..], b"DICM", &[0; 132], b"%PDF-1.7"] {
        assert_eq!(read(no_file), Err(Unread::NotDicom));
    }
    let other_syntax = [&[0; 128][..], b"DICM\x02\0\x10\0UI\x04\x001.2.", b""].concat();
    assert!(read(&other_syntax).unwrap_err().to_string().contains("transfer syntax 1.2. is not read"));
}

/// [R-REPORT-3]
#[test]
fn a_directory_that_leads_out_of_its_medium_is_refused() {
    let record = |id: &str| {
        let mut item = Vec::new();
        let mut put = |tag: &[u8; 4], vr: &[u8; 2], value: &str| {
            let padded = value.to_owned() + if value.len() % 2 == 1 { " " } else { "" };
            item.extend_from_slice(tag);
            item.extend_from_slice(vr);
            item.extend_from_slice(&u16::try_from(padded.len()).unwrap().to_le_bytes());
            item.extend_from_slice(padded.as_bytes());
        };
        put(b"\x04\0\0\x15", b"CS", id);
        put(b"\x04\0\x10\x15", b"UI", "1.2.840.10008.5.1.4.1.1.88.67");
        let mut body = b"\x04\0\x20\x12SQ\0\0\xFF\xFF\xFF\xFF\xFE\xFF\0\xE0\xFF\xFF\xFF\xFF".to_vec();
        body.extend(item);
        body.extend(b"\xFE\xFF\x0D\xE0\0\0\0\0\xFE\xFF\xDD\xE0\0\0\0\0");
        let class = b"\x02\0\x02\0UI\x14\x001.2.840.10008.1.3.10";
        let syntax = b"\x02\0\x10\0UI\x14\x001.2.840.10008.1.2.1\0";
        [&[0; 128][..], b"DICM", class, syntax, &body].concat()
    };
    assert_eq!(media_index(&record("PT0\\SR1")).unwrap(), [["PT0", "SR1"]]);
    for out in ["..\\SECRET", "A\\..\\B", "/ETC", "A/B", "A\\", "."] {
        let refused = media_index(&record(out)).unwrap_err().to_string();
        assert!(refused.contains("no path within the medium"), "{out}: {refused}");
    }
}

#[derive(Parser)]
struct Cli {
    #[command(flatten)]
    args: dose::DoseArgs,
}

/// The world that a case is looked up in; reading a report needs none of it.
fn ports() -> brimline::open_case::World {
    brimline::open_case::World {
        clock: Arc::new(SystemClock),
        randomness: Arc::new(SystemRandomness),
        disk: Arc::new(RealDisk),
    }
}

fn brimline(files: &[(&str, Vec<u8>)], words: &[&str]) -> Answer {
    let disk = MemoryDisk::default();
    disk.files.lock().unwrap().extend(files.iter().map(|(name, bytes)| (PathBuf::from(name), bytes.clone())));
    let cli = Cli::try_parse_from(std::iter::once(&"dose").chain(words)).unwrap();
    run(&disk, &Counted::default(), b"", |world: &mut World<'_>| dose::run(&cli.args, world, &ports(), &DicomReports))
}

/// [R-REPORT-3]
#[test]
fn reading_answers_zero_one_or_two() {
    let sound = brimline(&[("r.dcm", sample("small"))], &["read", "r.dcm"]);
    assert_eq!((sound.code, sound.err.as_str()), (0, ""));
    for wanted in ["0.0287 Gy·cm²  113722 Dose Area Product Total", "2026-03-10 08:05:37", "113733 KVP", "35 %"] {
        assert!(sound.out.contains(wanted), "{wanted}: {}", sound.out);
    }
    let contradicts = brimline(&[("r.dcm", sample("small-off-by-one-event"))], &["read", "r.dcm"]);
    assert_eq!(contradicts.code, 1);
    assert!(contradicts.out.contains("FOUND  kerma-area product: the total says"), "{}", contradicts.out);
    for (bad, why) in [(b"no report".to_vec(), "not a DICOM file"), (file(b""), "not a dose report")] {
        let refused = brimline(&[("r.dcm", bad)], &["read", "r.dcm"]);
        assert_eq!(refused.code, 2, "{}", refused.err);
        assert!(refused.err.contains(why) && refused.err.lines().count() == 1, "{}", refused.err);
    }
    assert_eq!(brimline(&[], &["read", "absent.dcm"]).code, 2);
}

/// [R-REPORT-3]
#[test]
fn every_figure_stands_in_the_long_text_and_in_json() {
    let all = brimline(&[("r.dcm", sample("small"))], &["read", "--all", "r.dcm"]);
    for wanted in ["441 cm²", "1000.5 mm", "113748 Distance Source to Isocenter", "Cu 0.1 mm", "12.5 ms"] {
        assert!(all.out.contains(wanted), "{wanted}");
    }
    let json = brimline(&[("r.dcm", sample("small"))], &["read", "--json", "r.dcm"]);
    assert_eq!(read_report(json.out.as_bytes()).unwrap(), read(&sample("small")).unwrap());
}

/// [R-REPORT-3]
#[test]
fn a_folder_is_read_whole_and_other_files_are_passed_over() {
    let there = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(there.path().join("a/b")).unwrap();
    std::fs::write(there.path().join("a/b/one.dcm"), sample("small")).unwrap();
    std::fs::write(there.path().join("two.dcm"), sample("totals-only")).unwrap();
    std::fs::write(there.path().join("letter.txt"), "no report").unwrap();
    let read = |folder: &Path| {
        let cli = Cli::try_parse_from(["dose", "read", "--json", folder.to_str().unwrap()]).unwrap();
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let random = Counted::default();
        let mut world = World {
            disk: &RealDisk,
            random: &random,
            store: PathBuf::new(),
            input: &mut std::io::empty(),
            out: &mut out,
            err: &mut err,
        };
        let code = dose::run(&cli.args, &mut world, &ports(), &DicomReports);
        (code, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
    };
    let (code, out, err) = read(there.path());
    assert_eq!((code, out.lines().count(), err.as_str()), (0, 2, ""));
    let empty = tempfile::tempdir().unwrap();
    std::fs::write(empty.path().join("letter.txt"), "no report").unwrap();
    let (code, _, err) = read(empty.path());
    assert_eq!(code, 2);
    assert!(err.contains("no dose report among 1 files"), "{err}");
}

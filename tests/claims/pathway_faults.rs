//! Every vector in `tests/vectors/pathway` is judged as the file beside it expects: nothing for a good pathway, each
//! fault on a line, or after "! " how the one line of an unreadable document begins.

use brimline::pathway::{self, CheckKind, Interval, PathwayError};
use std::fs;
use std::path::{Path, PathBuf};

fn vectors() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/pathway");
    let entries = fs::read_dir(folder).expect("the vectors").map(|entry| entry.expect("a file").path());
    let mut files: Vec<_> = entries.filter(|path| path.extension().is_some_and(|end| end == "json")).collect();
    files.sort();
    files
}

fn expected(vector: &Path) -> Vec<String> {
    let text = fs::read_to_string(vector.with_extension("expected")).expect("its expectation");
    text.lines().map(str::to_owned).collect()
}

/// What is said of a document, a fault on a line.
fn said(bytes: &[u8]) -> Vec<String> {
    match pathway::read(bytes) {
        Ok(_) => Vec::new(),
        Err(PathwayError::Faulty { faults }) => faults.iter().map(ToString::to_string).collect(),
        Err(PathwayError::Unreadable(fault)) => vec![format!("! {fault}")],
    }
}

fn agrees(said: &[String], expected: &[String]) -> bool {
    match expected {
        [unreadable] if unreadable.starts_with("! ") => {
            matches!(said, [line] if line.starts_with(unreadable.as_str()) && !line.contains('\n'))
        }
        faults => said == faults,
    }
}

/// [R-PATHWAY-3]
#[test]
fn every_vector_is_judged_as_expected() {
    let files = vectors();
    assert!(files.len() > 80, "{} vectors", files.len());
    let mut wrong = Vec::new();
    for file in &files {
        let (said, expected) = (said(&fs::read(file).unwrap()), expected(file));
        if !agrees(&said, &expected) {
            wrong.push(format!("{}:\n  said     {said:#?}\n  expected {expected:#?}", file.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn more_vectors_are_bad_than_good() {
    let (good, bad): (Vec<_>, Vec<_>) = vectors().into_iter().partition(|file| expected(file).is_empty());
    assert!(bad.len() > good.len() && !good.is_empty());
}

#[test]
fn an_oversized_document_is_refused_before_it_is_read() {
    let bytes = vec![b' '; usize::try_from(pathway::MAX_BYTES).unwrap() + 1];
    assert_eq!(said(&bytes), ["! 4194305 bytes are more than the 4194304 accepted"]);
}

#[test]
fn an_interval_that_is_not_finite_is_a_fault() {
    let bytes = pathway::built_in("primary-lateral-prone").unwrap();
    let mut document = pathway::read(bytes).unwrap();
    let mut measure = document.phases.iter_mut().flat_map(|phase| &mut phase.steps).flat_map(|step| &mut step.checks);
    let (expected, limits) = measure
        .find_map(|check| match &mut check.ask {
            CheckKind::Measure { expected, limits, .. } => Some((expected, limits)),
            _ => None,
        })
        .unwrap();
    *expected = Interval { from: f64::NAN, to: 10.0 };
    *limits = Interval { from: 0.0, to: f64::INFINITY };
    let said: Vec<_> = pathway::faults(&document).iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "phases[0].steps[1].checks[5].ask.expected: NaN to 10: \"from\" must lie below \"to\", and both must be finite",
            "phases[0].steps[1].checks[5].ask.limits: 0 to inf: \"from\" must lie below \"to\", and both must be finite",
        ]
    );
}

/// Whatever is cut off or overwritten in a good document, reading it ends in an answer.
#[test]
fn no_damage_to_a_document_makes_reading_panic() {
    let good = pathway::built_in("revision-loosening").unwrap();
    for at in (0..good.len()).step_by(97) {
        assert!(pathway::read(&good[..at]).is_err(), "cut at {at}");
        for byte in [0_u8, b'"', b'}', 0xFF] {
            let mut damaged = good.to_vec();
            damaged[at] = byte;
            let _ = pathway::read(&damaged);
        }
    }
}

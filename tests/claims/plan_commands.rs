//! `brimline plan`: what it reads, what it refuses, and what it prints.

use brimline::commands::plan::{correct, targets};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn vectors(kind: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors").join(kind);
    let entries = fs::read_dir(folder).expect("the vectors").map(|entry| entry.expect("a file").path());
    let mut files: Vec<_> = entries.filter(|path| path.extension().is_some_and(|end| end == "json")).collect();
    files.sort();
    files
}

fn brimline(arguments: &[&str]) -> Output {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors");
    let mut command = Command::new(env!("CARGO_BIN_EXE_brimline"));
    command.args(arguments).current_dir(folder).env_clear().env("HOME", "/nonexistent").stdin(Stdio::null());
    command.output().expect("the program starts")
}

fn said(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

/// Every vector is judged as the file beside it expects: nothing for a good one, after "! " how the refusal begins.
fn judged(kind: &str, least: usize, read: fn(&[u8]) -> Result<(), String>) {
    let (mut wrong, mut bad) = (Vec::new(), 0);
    for file in vectors(kind) {
        let expected = fs::read_to_string(file.with_extension("expected")).expect("its expectation");
        let said = read(&fs::read(&file).unwrap());
        bad += usize::from(said.is_err());
        let agrees = match (expected.trim_end_matches('\n').strip_prefix("! "), &said) {
            (None, said) => said.is_ok(),
            (Some(begins), Err(words)) => words.starts_with(begins) && !words.contains('\n'),
            (Some(_), Ok(())) => false,
        };
        if !agrees {
            wrong.push(format!("{}: expected {expected:?}, said {said:?}", file.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(bad >= least, "{bad} bad vectors of {kind}");
}

/// [R-INPUT-2] [R-INPUT-3]
#[test]
fn every_fault_of_a_targets_document_is_named_by_its_place() {
    judged("targets", 30, |bytes| targets::read(bytes).map(drop).map_err(|fault| fault.to_string()));
}

/// [R-INPUT-2] [R-INPUT-3]
#[test]
fn every_fault_of_a_correction_document_is_named_by_its_place() {
    judged("correction", 30, |bytes| correct::read(bytes).map(drop).map_err(|fault| fault.to_string()));
}

/// [R-VIEW-6] The planned tilts turn with the pelvis: the lateral of the sample shows the cortex at 31° where the plan has
/// 25°, so the inlet takes 31° and the outlet 37°, each in the room's words for a prone patient.
#[test]
fn targets_are_said_in_the_room_s_words_and_re_aimed_by_a_true_lateral() {
    let text = said(&brimline(&["plan", "targets", "targets/whole.json"]));
    for line in [
        "Plan turned 6° ± 3° back, from the true lateral. Void after any move of patient or table.",
        "Inlet, anterior cortex: measured 25° ± 2°",
        "  tilt: image receptor 31° toward the feet",
        "  tilt: image receptor 37° toward the head",
        "  displays: wag 0°, tilt 121°, orbit 0°",
        "  orbit: image receptor 90° over, away from the stand",
        "  DICOM angles: primary 180°, secondary -25°",
    ] {
        assert!(text.lines().any(|said| said == line), "{line:?} in\n{text}");
    }
    assert!(text.contains("NOT MEASURED") && text.contains("Advisory: the surgeon's reading of the image decides."));
}

#[test]
fn the_json_of_targets_holds_what_the_text_says() {
    let json: Value =
        serde_json::from_str(&said(&brimline(&["plan", "targets", "targets/whole.json", "--json"]))).unwrap();
    let inlet = json["targets"].as_array().unwrap().iter().find(|one| one["view"] == "inlet-body").unwrap();
    assert_eq!(inlet["words"][0], "tilt: image receptor 31° toward the feet");
    assert!((inlet["positioner"]["secondary_deg"].as_f64().unwrap() + 25.0).abs() < 1e-9);
    assert!(inlet["published"].as_array().unwrap().len() >= 7 && inlet["tolerance_deg"] == 4.0);
    assert!((json["plan_turned"]["deg"].as_f64().unwrap() - 5.96).abs() < 0.01, "{}", json["plan_turned"]);
}

/// [R-VIEW-3] S2 7.2 mm toward the symphysis with a lever of 28 mm: 15° more inlet, prone by the receptor toward the feet.
#[test]
fn a_correction_is_one_instruction_with_its_uncertainty() {
    let text = said(&brimline(&["plan", "correct", "correction/whole.json"]));
    assert!(text.contains("\n  tilt: image receptor 15° toward the feet\n"), "{text}");
    assert!(text.contains("± 3.2°") && text.contains("0.0 mm should remain"), "{text}");
    let lateral = said(&brimline(&["plan", "correct", "correction/lateral.json"]));
    assert!(lateral.contains("wag: C 1° toward the feet") && lateral.contains("centring removes it"), "{lateral}");
}

/// [R-VIEW-6] A site's own words are used for every move, and refused by the phrase's place if one does not serve.
#[test]
fn a_site_s_own_words_are_used_and_judged() {
    let folder = tempfile::TempDir::new().unwrap();
    let own = folder.path().join("own-words.json");
    let built_in = include_str!("../../src/carm/words.json");
    fs::write(&own, built_in.replace("tilt: image receptor {degrees}° toward the feet", "cant {degrees}° caudad"))
        .unwrap();
    let own = own.to_str().unwrap();
    let text = said(&brimline(&["plan", "correct", "correction/whole.json", "--words", own]));
    assert!(text.contains("\n  cant 15° caudad\n"), "{text}");
    fs::write(own, built_in.replace("{degrees}° toward the feet", "toward the feet")).unwrap();
    let output = brimline(&["plan", "correct", "correction/whole.json", "--words", own]);
    let words = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{words}");
    assert!(words.contains("own-words.json: say.tilt-feet: a phrase of"), "{words}");
}

/// A mirrored picture shown head down asks for the same moves once the document says so.
#[test]
fn how_the_picture_is_shown_does_not_change_the_answer() {
    let document: Value = serde_json::from_slice(
        &fs::read(vectors("correction").iter().find(|file| file.ends_with("outlet-touched.json")).unwrap()).unwrap(),
    )
    .unwrap();
    let answer = |document: &Value| {
        let read = correct::read(document.to_string().as_bytes()).expect("a good document");
        brimline::carm::correction::correct(&read.sighting).expect("an answer").turn
    };
    let mut upright = document.clone();
    upright["picture"] = serde_json::json!({});
    for name in ["front", "back"] {
        // Mirrored first, then half a turn: across stays, down turns over.
        let down = document["seen"]["touched"][name]["down_mm"].as_f64().unwrap();
        upright["seen"]["touched"][name]["down_mm"] = (-down).into();
    }
    let (shown, upright) = (answer(&document), answer(&upright));
    assert!((shown.tilt.0 - upright.tilt.0).abs() < 1e-9 && (shown.orbit.0 - upright.orbit.0).abs() < 1e-9);
    assert!(shown.tilt.0.abs() > 1.0);
}

/// [R-VIEW-5]
#[test]
fn what_cannot_be_answered_ends_with_1_and_the_reason() {
    let output = brimline(&["plan", "correct", "correction/refused-beyond-the-lever.json"]);
    assert_eq!((output.status.code(), output.stdout.len()), (Some(1), 0));
    let words = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(words.contains("Inlet, anterior cortex: offset beyond the lever") && words.lines().count() == 1, "{words}");
    let json = brimline(&["plan", "correct", "correction/refused-beyond-the-lever.json", "--json"]);
    let json: Value = serde_json::from_slice(&json.stdout).unwrap();
    assert!(json["refused"].as_str().unwrap().starts_with("offset beyond the lever"));
}

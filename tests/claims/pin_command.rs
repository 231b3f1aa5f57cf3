//! `brimline plan pin`: what it reads, what it refuses, what it prints.

use brimline::pin;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/pin")
}

fn plan_pin(arguments: &[&str], input: Stdio) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brimline"));
    command.args(["plan", "pin"]).args(arguments).current_dir(folder()).env_clear().env("HOME", "/nonexistent");
    command.stdin(input).output().expect("the program starts")
}

fn said(arguments: &[&str], code: i32) -> String {
    let output = plan_pin(arguments, Stdio::null());
    assert_eq!(output.status.code(), Some(code), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// [R-PIN-10] Every vector is judged as the file beside it expects: nothing for a good one, after "! " how the refusal
/// begins.
#[test]
fn every_fault_of_the_input_is_named_by_its_place() {
    let (mut good, mut bad) = (0, 0);
    for entry in
        fs::read_dir(folder()).expect("the vectors").flatten().filter(|e| e.path().extension().unwrap() == "json")
    {
        let path = entry.path();
        let expected = fs::read_to_string(path.with_extension("expected")).expect("its expectation");
        match (pin::read(&fs::read(&path).unwrap()), expected.trim_end().strip_prefix("! ")) {
            (Ok(_), None) => good += 1,
            (Err(fault), Some(begins)) => {
                let words = fault.to_string();
                assert!(words.starts_with(begins) && !words.contains('\n'), "{}: {words}", path.display());
                bad += 1;
            }
            (read, _) => panic!("{}: {:?}", path.display(), read.map(drop)),
        }
    }
    assert!(good >= 4 && bad >= 35, "{good} good, {bad} bad");
}

/// [R-PIN-10] Bad input ends with 2 and one line that names file and place.
#[test]
fn a_bad_file_ends_with_2_and_one_line() {
    let output = plan_pin(&["spacing-zero.json"], Stdio::null());
    let words = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!((output.status.code(), output.stdout.len(), words.lines().count()), (Some(2), 0, 1));
    assert!(words.starts_with("brimline: spacing-zero.json: views[0].scale.detector-spacing.mm_per_px: 0"), "{words}");
    assert_eq!(plan_pin(&["no-such-file.json"], Stdio::null()).status.code(), Some(2));
}

/// [R-PIN-10] The sample's pixels were made from this pin with `NumPy` alone, by the formula of DICOM PS3.3 C.8.7.5.1.2:
/// tip (-34.5, 32.5, -8.8), 14 mm past the joint. They are given to a tenth of a pixel.
#[test]
fn the_sample_says_where_its_pin_is() {
    let json: Value = serde_json::from_str(&said(&["good-two-views.json", "--json"], 0)).unwrap();
    let tip = &json["finding"]["tip"];
    for (member, wanted) in [("left_mm", -34.53), ("posterior_mm", 32.54), ("head_mm", -8.76)] {
        let found = tip[member]["value"].as_f64().unwrap();
        assert!((found - wanted).abs() < 0.05, "{member}: {found}");
    }
    assert!((json["finding"]["joint"]["past_mm"]["value"].as_f64().unwrap() - 14.0).abs() < 0.1);
    assert_eq!(json["advisory"], "Advisory: the surgeon's reading of the image decides.");
    let text = said(&["good-two-views.json"], 0);
    for words in [
        "PIN RIGHT   Inlet, anterior cortex + Outlet, working",
        "  ?  Nearer than this site's 5 mm: S1 foramen. Keep it, or redirect?",
        "1 mm seen on Inlet, anterior cortex is 0.4 mm on Outlet, working (64° apart).",
        "Positions: column unmoved, as the radiographer says.",
        "Advisory: the surgeon's reading of the image decides.",
    ] {
        assert!(text.lines().any(|line| line == words), "{words:?} in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100), "no wider than a terminal:\n{text}");
}

#[test]
fn landmarks_place_the_sample_within_its_plus_minus() {
    let json: Value = serde_json::from_str(&said(&["good-landmarks.json", "--json"], 0)).unwrap();
    for (member, wanted) in [("left_mm", -34.53), ("posterior_mm", 32.54), ("head_mm", -8.76)] {
        let found = &json["finding"]["tip"][member];
        let off = (found["value"].as_f64().unwrap() - wanted).abs();
        assert!(off <= found["plus_minus"].as_f64().unwrap(), "{member}: {found}");
    }
}

#[test]
fn what_is_held_back_ends_with_1_and_says_why() {
    let text = said(&["good-one-view.json"], 1);
    assert!(text.contains("One view only (Inlet, anterior cortex): no angle, no position. Touch a second view."));
    assert!(text.contains("in this view: Inlet, anterior cortex") && !text.contains("tip, toward"), "{text}");
    let text = said(&["good-frame-unknown.json"], 0);
    assert!(text.contains("no tip position, no length past the joint: nobody said that the column stayed still"));
}

#[test]
fn standard_input_is_read_for_a_dash() {
    let file = fs::File::open(folder().join("good-two-views.json")).unwrap();
    let output = plan_pin(&["-"], Stdio::from(file));
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(String::from_utf8(output.stdout).unwrap(), said(&["good-two-views.json"], 0));
}

/// The schema of a finding refuses unknown members, as its reader does.
#[test]
fn a_finding_with_an_unknown_member_is_refused() {
    let json: Value = serde_json::from_str(&said(&["good-two-views.json", "--json"], 0)).unwrap();
    let mut finding = json["finding"].clone();
    assert!(serde_json::from_value::<pin::Finding>(finding.clone()).is_ok());
    finding["colour"] = "red".into();
    assert!(serde_json::from_value::<pin::Finding>(finding).is_err());
    let schema = serde_json::to_value(schemars::schema_for!(pin::Finding)).unwrap();
    assert_eq!(schema["additionalProperties"], false);
}

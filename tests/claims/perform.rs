//! The scripted case: performed to a record, refused with index and reason, continued where it stood.

use brimline::people::{PasscodeDelay, Roster};
use brimline::record;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases").join(name)
}

fn perform(store: &Path, script: &Path, more: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_brimline"))
        .arg("--store")
        .arg(store)
        .arg("perform")
        .arg(script)
        .args(more)
        .env_remove("BRIMLINE_STORE")
        .output()
        .unwrap()
}

fn last_line(output: &Output) -> PathBuf {
    let said = String::from_utf8(output.stdout.clone()).unwrap();
    PathBuf::from(said.lines().last().unwrap_or_default())
}

/// [R-PERFORM-1]
#[test]
fn every_demo_case_is_performed_to_a_record_that_verifies() {
    for (name, shots) in [
        ("01-straightforward-left", 42),
        ("02-dysmorphic-right", 64),
        ("03-revision-power-cut", 35),
        ("04-abandoned-bleeding", 14),
    ] {
        let store = tempfile::tempdir().unwrap();
        let done = perform(store.path(), &demo(name).join("script.json"), &[]);
        assert_eq!(done.status.code(), Some(0), "{name}: {}", String::from_utf8_lossy(&done.stderr));
        let roster = Roster::read(&std::fs::read(store.path().join("people/roster.json")).unwrap()).unwrap();
        let verified = record::verify(&std::fs::read(last_line(&done)).unwrap(), &roster).unwrap();
        assert_eq!(verified.signatures().len(), 2, "{name}");
        let said = String::from_utf8_lossy(&done.stdout).into_owned();
        assert!(said.contains(&format!("{shots} shots")), "{name}: {said}");
    }
}

/// [R-FINDING-1] [R-FINDING-2]
#[test]
fn a_record_holds_the_findings_of_its_case_with_their_marks_and_show_prints_them() {
    let store = tempfile::tempdir().unwrap();
    let done = perform(store.path(), &demo("02-dysmorphic-right").join("script.json"), &[]);
    let bytes = std::fs::read(last_line(&done)).unwrap();
    let roster = Roster::read(&std::fs::read(store.path().join("people/roster.json")).unwrap()).unwrap();
    let verified = record::verify(&bytes, &roster).unwrap();
    let document = verified.document();
    assert_eq!((document.view_findings.len(), document.pin_findings.len()), (1, 1));
    assert!(!document.pin_findings[0].marks.is_empty());
    let shown = record::text(document);
    for words in [
        "View and pin findings",
        "tilt: image receptor 6° toward the head",
        "off by 5.8°, 0.3 mm should remain; tilt 5.8° ± 1.2°",
        "to be redirected",
        "MARK short margin to S1 foramen",
        "10 mm tool to S1 foramen 1.3 mm ± 3.5, in this view: Outlet, working",
        "rays miss each other by 0.0 mm",
        "Advisory: the surgeon's reading of the image decides.",
    ] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
}

/// [R-PERFORM-3]
#[test]
fn run_again_it_continues_behind_the_last_acknowledged_command() {
    let store = tempfile::tempdir().unwrap();
    let script = demo("03-revision-power-cut").join("script.json");
    let mut journals = Vec::new();
    for until in ["0", "7", "7", "23", "41"] {
        let done = perform(store.path(), &script, &["--until", until]);
        assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
        journals.push(last_line(&done));
    }
    assert!(journals.iter().all(|journal| *journal == journals[0]), "one case, not five: {journals:?}");
    let done = perform(store.path(), &script, &[]);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let said = String::from_utf8_lossy(&done.stdout).into_owned();
    assert!(said.contains("35 shots"), "nothing is done twice: {said}");
    assert_eq!(std::fs::read_dir(store.path().join("cases")).unwrap().count(), 1);
}

/// [R-PERFORM-2]
#[test]
fn a_refusal_names_the_command_and_what_stood_in_the_way() {
    let store = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    for file in ["plan.json", "people.json"] {
        std::fs::copy(demo("01-straightforward-left").join(file), folder.path().join(file)).unwrap();
    }
    let script = r#"{"brimline_script": 1, "plan": "plan.json", "people": "people.json",
        "opened_at": "2026-03-10T08:05:00+01:00", "commands": [
        {"after_s": 1, "by": "surgeon", "logged_by": "circulating-nurse", "do": {"do": "count-shots", "shots": 1}},
        {"after_s": 1, "by": "surgeon", "logged_by": "circulating-nurse", "do": {"do": "finish"}}]}"#;
    let path = folder.path().join("script.json");
    std::fs::write(&path, script).unwrap();
    let done = perform(store.path(), &path, &[]);
    assert_eq!(done.status.code(), Some(1));
    let said = String::from_utf8(done.stderr).unwrap();
    assert!(said.contains("commands[1]"), "{said}");
    assert!(said.contains("side-agrees") || said.contains("gate"), "{said}");
}

/// [R-CASE-4]
#[test]
fn what_the_journal_holds_stays_as_it_was_whatever_is_corrected_later() {
    let store = tempfile::tempdir().unwrap();
    let script = demo("02-dysmorphic-right").join("script.json");
    let mut before = Vec::new();
    for until in ["10", "40", "70", "100", "130"] {
        let done = perform(store.path(), &script, &["--until", until]);
        assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
        let now = std::fs::read(last_line(&done)).unwrap();
        assert!(now.len() > before.len() && now.starts_with(&before), "an earlier line changed before command {until}");
        before = now;
    }
}

/// [R-PEOPLE-2] The delay is a value of its own: nothing of a case is asked or held by it.
#[test]
fn a_wrong_passcode_slows_the_next_try_only() {
    let mut delay = PasscodeDelay::default();
    assert_eq!(delay.wait_ms(1_000), 0);
    delay.wrong(1_000);
    delay.wrong(3_000);
    assert!(delay.wait_ms(3_000) >= 2_000, "the second wrong try waits longer than the first");
    assert_eq!(delay.wait_ms(3_000 + 60_000), 0, "no wait is longer than a minute");
    delay.right();
    assert_eq!(delay.wait_ms(3_001), 0);
}

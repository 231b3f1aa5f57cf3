//! Bad files given to the program itself: exit 2, one line that names file and place, nothing written.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

/// Runs the program with nothing of the caller's settings.
fn brimline(arguments: &[&str], folder: &Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brimline"));
    command.args(arguments).current_dir(folder).env_clear().env("HOME", folder).env("PATH", "/usr/bin:/bin");
    command.output().expect("the program starts")
}

/// Every file below a folder with its bytes.
fn contents(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(contents(&path));
        } else {
            found.insert(path.clone(), fs::read(&path).expect("a file"));
        }
    }
    found
}

/// Bytes that no document of any kind consists of, each with its name.
fn bad_bytes() -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("empty", Vec::new()),
        ("truncated", b"{\"brimline_".to_vec()),
        ("not-utf8", b"{\"a\":\"\xff\xfe\"}".to_vec()),
        ("nul", vec![0; 32]),
        ("deep", [b"[".repeat(100_000), b"]".repeat(100_000)].concat()),
        ("another kind", b"{\"brimline_something\":1}".to_vec()),
        ("oversized", vec![b' '; 80 << 20]),
    ]
}

/// Gives each bad file to the command and holds the promise; `{}` in the arguments stands for the file's path.
fn refuses_bad_files(arguments: &[&str]) {
    for (name, bytes) in bad_bytes() {
        let folder = TempDir::new().expect("a folder");
        let file = folder.path().join("input-under-test");
        fs::write(&file, bytes).expect("written");
        let path = file.to_str().expect("UTF-8");
        let before = contents(folder.path());
        let arguments: Vec<&str> = arguments.iter().map(|word| if *word == "{}" { path } else { word }).collect();
        let output = brimline(&arguments, folder.path());
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?} on {name}: {said}");
        assert!(said.contains("input-under-test"), "{arguments:?} on {name} names the file: {said}");
        assert_eq!(said.trim_end().lines().count(), 1, "{arguments:?} on {name} in one line: {said}");
        assert!(output.stdout.is_empty(), "{arguments:?} on {name} prints a result");
        assert_eq!(contents(folder.path()), before, "{arguments:?} on {name} wrote something");
    }
}

/// [R-INPUT-5]
#[test]
fn a_bad_record_is_refused_by_every_reader() {
    let roster = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fuzz/corpus/roster/whole");
    refuses_bad_files(&["verify", "{}", "--roster", roster]);
    refuses_bad_files(&["show", "{}"]);
    refuses_bad_files(&["redact", "{}", "-o", "redacted.json"]);
}

/// [R-INPUT-5]
#[test]
fn a_bad_pathway_is_refused() {
    refuses_bad_files(&["pathway", "check", "{}"]);
}

/// [R-INPUT-5]
#[test]
fn a_bad_script_is_refused() {
    refuses_bad_files(&["perform", "{}", "--store", "store"]);
}

/// [R-INPUT-5]
#[test]
fn a_bad_document_of_the_geometry_is_refused() {
    refuses_bad_files(&["plan", "targets", "{}"]);
    refuses_bad_files(&["plan", "correct", "{}"]);
}

/// [R-INPUT-5]
#[test]
fn a_missing_file_is_named() {
    let folder = TempDir::new().expect("a folder");
    for arguments in [
        &["show", "no-such-file"][..],
        &["pathway", "check", "no-such-file"],
        &["perform", "no-such-file", "--store", "store"],
    ] {
        let output = brimline(arguments, folder.path());
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
        assert!(said.contains("no-such-file"), "{arguments:?}: {said}");
    }
    assert!(contents(folder.path()).is_empty(), "nothing is written");
}

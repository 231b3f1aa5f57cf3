//! An outside validator agrees with the program's reader on what a pathway is.

use brimline::pathway;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn validate(files: &[PathBuf]) -> (bool, String) {
    let python: PathBuf =
        std::env::var_os("BRIMLINE_PEERS").expect("BRIMLINE_PEERS names the Python of the peers").into();
    let done = Command::new(&python)
        .arg(root().join("tests/peers/pathway/validate.py"))
        .arg(root().join("src/pathway/pathway.schema.json"))
        .args(files)
        .output()
        .unwrap_or_else(|fault| panic!("{}: {fault}", python.display()));
    let said = String::from_utf8_lossy(&done.stdout).into_owned() + &String::from_utf8_lossy(&done.stderr);
    assert!(done.status.code() != Some(3), "tests/peers/requirements.txt is not installed: {said}");
    (done.status.success(), said)
}

/// [R-PATHWAY-5]
///
/// Source: the validator `jsonschema` of the Python Package Index, JSON Schema draft 2020-12.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn an_outside_validator_accepts_both_built_in_pathways() {
    let files: Vec<_> =
        pathway::built_in_ids().iter().map(|id| root().join(format!("src/pathway/{id}.json"))).collect();
    assert_eq!(files.len(), 2);
    let (accepted, said) = validate(&files);
    assert!(accepted, "{said}");
}

/// What the reader refuses for its shape the outside validator refuses too.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn an_outside_validator_refuses_what_the_reader_refuses_for_its_shape() {
    for name in ["missing-unit", "unknown-unit", "unknown-member", "unknown-role", "unknown-kind", "no-stop-lists"] {
        let file = Path::new("tests/vectors/pathway").join(format!("{name}.json"));
        let (accepted, _) = validate(&[root().join(file)]);
        assert!(!accepted, "{name} satisfies the schema");
    }
}

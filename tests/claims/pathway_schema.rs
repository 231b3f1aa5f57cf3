//! The schema that ships is that of the types, and an outside validator agrees with the program's reader.

use brimline::pathway;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// [R-PATHWAY-5] `BRIMLINE_UPDATE=1` writes the schema anew.
#[test]
fn the_shipped_schema_is_that_of_the_types() {
    let generated = pathway::generated_schema();
    if std::env::var_os("BRIMLINE_UPDATE").is_some() {
        std::fs::write(root().join("src/pathway/pathway.schema.json"), &generated).unwrap();
        return;
    }
    assert!(pathway::SCHEMA == generated, "run the tests once with BRIMLINE_UPDATE=1 and look at the difference");
}

fn validate(files: &[PathBuf]) -> (bool, String) {
    let python =
        std::env::var_os("BRIMLINE_PEERS").map_or("python3".into(), |peers| Path::new(&peers).join("bin/python3"));
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
fn an_outside_validator_accepts_both_built_in_pathways() {
    let files: Vec<_> =
        pathway::built_in_ids().iter().map(|id| root().join(format!("src/pathway/{id}.json"))).collect();
    assert_eq!(files.len(), 2);
    let (accepted, said) = validate(&files);
    assert!(accepted, "{said}");
}

/// What the reader refuses for its shape the outside validator refuses too.
#[test]
fn an_outside_validator_refuses_what_the_reader_refuses_for_its_shape() {
    for name in ["missing-unit", "unknown-unit", "unknown-member", "unknown-role", "unknown-kind", "no-stop-lists"] {
        let file = Path::new("tests/vectors/pathway").join(format!("{name}.json"));
        let (accepted, _) = validate(&[root().join(file)]);
        assert!(!accepted, "{name} satisfies the schema");
    }
}

//! The schema that ships is that of the types.

use brimline::pathway;
use std::path::PathBuf;

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

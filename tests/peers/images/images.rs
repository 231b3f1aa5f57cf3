//! pydicom reads the sample pictures as the program does.

use std::path::{Path, PathBuf};
use std::process::Command;

/// [R-IMAGE-1]
///
/// Source: pydicom with GDCM, asked anew: what it reads today is what the ordinary tests hold the program's reader to.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn pydicom_still_reads_the_pixels_and_geometry_the_program_is_held_to() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = root.join("tests/vectors/images");
    let held: serde_json::Value = serde_json::from_slice(&std::fs::read(folder.join("pydicom.json")).unwrap()).unwrap();
    let samples: Vec<PathBuf> = held.as_object().unwrap().keys().map(|name| folder.join(name)).collect();
    assert!(samples.len() >= 8, "{} samples", samples.len());
    let mut command = Command::new(crate::python());
    let done = command.arg(root.join("tests/peers/images/with_pydicom.py")).args(samples).output().unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stdout));
    let read: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(read, held);
}

//! An outside spectrum library agrees with the table of what lead aprons let through.

use std::path::{Path, PathBuf};
use std::process::Command;

/// [R-DOSE-6]
///
/// Source: the spectrum library `spekpy` of the Python Package Index.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn a_spectrum_library_lets_as_much_through_lead_as_the_table() {
    let python: PathBuf =
        std::env::var_os("BRIMLINE_PEERS").expect("BRIMLINE_PEERS names the Python of the peers").into();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let done = Command::new(&python)
        .arg(root.join("tests/peers/scatter/apron.py"))
        .arg(root.join("src/dose/scatter.json"))
        .output()
        .unwrap_or_else(|fault| panic!("{}: {fault}", python.display()));
    let said = String::from_utf8_lossy(&done.stdout).into_owned() + &String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(0), "{said}");
    assert!(said.contains("0.5 mm 80 kV: stated 0.0136"), "{said}");
}

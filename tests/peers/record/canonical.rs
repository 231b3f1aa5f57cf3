//! Canonical form and digests of disclosures, computed by implementations in another language.

use super::record_fixture::{Counted, signed};
use brimline::ports::Randomness;
use std::path::Path;
use std::process::Command;

const SCRIPTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers/record");
const NUMBERS: usize = 20_000;

fn python(script: &str, arguments: &[&Path]) -> Vec<u8> {
    let python = std::env::var_os("BRIMLINE_PEERS").expect("BRIMLINE_PEERS names the Python of the peers");
    let done = Command::new(python).arg(Path::new(SCRIPTS).join(script)).args(arguments).output().expect("it starts");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    done.stdout
}

/// Doubles of every exponent, and decimal fractions as people type them.
fn numbers() -> Vec<f64> {
    let random = Counted::default();
    let mut numbers = Vec::new();
    while numbers.len() < NUMBERS {
        let mut bytes = [0; 8];
        random.fill(&mut bytes).unwrap();
        let bits = u64::from_be_bytes(bytes);
        let typed = f64::from(u32::try_from(bits >> 40).unwrap()) / 100.0;
        numbers.extend([f64::from_bits(bits), typed].into_iter().filter(|number| number.is_finite()));
    }
    numbers
}

/// [R-RECORD-6]
/// Source: rfc8785 0.1.4 of `PyPI`, an implementation of RFC 8785 in Python alone.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn numbers_and_payload_have_the_canonical_form_that_another_implementation_gives_them() {
    let folder = tempfile::tempdir().unwrap();
    let numbers = numbers();
    let lines: Vec<String> = numbers.iter().map(|number| format!("{:016x}\n", number.to_bits())).collect();
    let (list, document) = (folder.path().join("numbers"), folder.path().join("payload.json"));
    std::fs::write(&list, lines.concat()).unwrap();
    std::fs::write(&document, signed().payload()).unwrap();
    let said = String::from_utf8(python("with_rfc8785.py", &[&list, &document])).unwrap();
    let mut said = said.lines();
    for number in &numbers {
        let ours = serde_json_canonicalizer::to_string(number).unwrap();
        assert_eq!(said.next(), Some(ours.as_str()), "{:016x}", number.to_bits());
    }
    assert_eq!(said.next().map(str::as_bytes), Some(signed().payload()));
}

/// Source: sd-jwt 0.10.4 of `PyPI`, the reference implementation; the disclosure is that of RFC 9901 section 4.2.3.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn the_digest_of_the_rfc_9901_disclosure_is_that_of_the_reference_implementation() {
    let disclosure = Path::new("WyJfMjZiYzRMVC1hYzZxMktJNmNCVzVlcyIsICJmYW1pbHlfbmFtZSIsICJNw7ZiaXVzIl0");
    let digest = String::from_utf8(python("digest_with_sd_jwt.py", &[disclosure])).unwrap();
    assert_eq!(digest.trim(), "X9yH0Ajrdm1Oij4tWso9UzzKJvPoDxwmuEcO3XAdRC0");
}

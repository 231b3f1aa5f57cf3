//! Records, keys and signatures, read by JOSE libraries, the SD-JWT reference implementation and OpenSSL.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::{Counted, half_signed, nurse, roster, signed, surgeon};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use brimline::people::{DeviceSecret, Passcode, PersonKey, Role, Roster};
use brimline::record::{self, Meaning, SignedRecord, Who};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const SCRIPTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers/record");

fn python() -> PathBuf {
    std::env::var_os("BRIMLINE_PEERS").expect("BRIMLINE_PEERS names the Python of the peers").into()
}

fn write(folder: &Path, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, bytes).unwrap();
    path
}

fn ask(script: &str, signed: &SignedRecord) -> Output {
    ask_with(script, signed, &roster())
}

fn ask_with(script: &str, signed: &SignedRecord, roster: &Roster) -> Output {
    let folder = tempfile::tempdir().unwrap();
    let record = write(folder.path(), "record.json", &signed.to_bytes());
    let roster = write(folder.path(), "roster.json", &roster.to_bytes());
    let script = Path::new(SCRIPTS).join(script);
    Command::new(python()).arg(script).arg(record).arg(roster).output().expect("the peer starts")
}

fn said(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// The record with one bit of its second signature flipped, as a file only a peer would read.
fn forged() -> Vec<u8> {
    let mut value: Value = serde_json::from_slice(&signed().to_bytes()).unwrap();
    let text = value["signatures"][1]["signature"].as_str().unwrap();
    let mut bytes = URL_SAFE_NO_PAD.decode(text).unwrap();
    bytes[5] ^= 1;
    value["signatures"][1]["signature"] = URL_SAFE_NO_PAD.encode(bytes).into();
    serde_json::to_vec(&value).unwrap()
}

/// [R-RECORD-1]
/// Source: jwcrypto, an independent JOSE implementation.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn jwcrypto_verifies_every_signature() {
    let said = said(&ask("with_jwcrypto.py", &signed()));
    assert_eq!(said.matches("valid").count(), 2, "{said}");
    assert_eq!(said.matches("general").count(), 2, "{said}");
}

/// [R-RECORD-1]
/// Source: joserfc, an independent JOSE implementation.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn joserfc_verifies_the_general_form() {
    let said = said(&ask("with_joserfc.py", &signed()));
    assert_eq!(said.matches("valid Ed25519").count(), 2, "{said}");
}

/// [R-RECORD-8]
/// Source: jwcrypto, joserfc and sd-jwt, which know nothing of the member that names the replaced key.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn the_peers_verify_a_signature_by_the_successor_of_a_replaced_key() {
    let (mut roster, new) = (roster(), PersonKey::from_seed(&[9; 32]));
    roster.replace(&nurse().person(), &new.public()).unwrap();
    let asked = Who { role: Role::CirculatingNurse, kid: nurse().person() };
    let record = half_signed().add_as(&new, asked, Meaning::Authorship, 210_000).unwrap();
    let file: Value = serde_json::from_slice(&record.to_bytes()).unwrap();
    let header = URL_SAFE_NO_PAD.decode(file["signatures"][1]["protected"].as_str().unwrap()).unwrap();
    let header: Value = serde_json::from_slice(&header).unwrap();
    assert_eq!(header["replaces"], nurse().person().0, "{header}");
    assert_eq!(header["kid"], new.person().0, "{header}");
    let by_jwcrypto = said(&ask_with("with_jwcrypto.py", &record, &roster));
    assert_eq!(by_jwcrypto.matches("valid").count(), 2, "{by_jwcrypto}");
    let by_joserfc = said(&ask_with("with_joserfc.py", &record, &roster));
    assert_eq!(by_joserfc.matches("valid Ed25519").count(), 2, "{by_joserfc}");
    assert_eq!(said(&ask_with("with_sd_jwt.py", &record, &roster)).lines().count(), 2);
}

/// Source: jwcrypto and joserfc. A check that cannot fail would say nothing.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn the_peers_refuse_a_forged_signature() {
    let folder = tempfile::tempdir().unwrap();
    let record = write(folder.path(), "record.json", &forged());
    let roster = write(folder.path(), "roster.json", &roster().to_bytes());
    for script in ["with_jwcrypto.py", "with_joserfc.py", "with_sd_jwt.py"] {
        let script = Path::new(SCRIPTS).join(script);
        let output = Command::new(python()).arg(script).arg(&record).arg(&roster).output().expect("the peer starts");
        let why = String::from_utf8_lossy(&output.stderr).to_lowercase();
        assert!(!output.status.success() && why.contains("signature"), "{why}");
    }
}

/// [R-RECORD-1]
/// Source: sd-jwt, the reference implementation of RFC 9901.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn the_sd_jwt_reference_puts_back_the_same_claims() {
    let whole = said(&ask("with_sd_jwt.py", &signed()));
    assert_eq!(whole.lines().count(), 2);
    let mut ours = serde_json::to_value(signed().document()).unwrap();
    // The reference drops the name of the digest algorithm.
    ours.as_object_mut().unwrap().remove("_sd_alg");
    for line in whole.lines() {
        assert_eq!(serde_json_canonicalizer::pipe(line).unwrap(), serde_json_canonicalizer::to_string(&ours).unwrap());
    }
    let redacted = said(&ask("with_sd_jwt.py", &record::redact_all(signed()).unwrap()));
    assert!(!redacted.contains("patient_name") && redacted.contains("brimline_record"), "{redacted}");
}

/// [R-PEOPLE-1]
/// Source: OpenSSL 3.0.
#[test]
#[ignore = "needs openssl, as the other peers"]
fn openssl_verifies_a_raw_signature_and_reads_a_private_key() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let file: Value = serde_json::from_slice(&signed().to_bytes()).unwrap();
    let first = &file["signatures"][0];
    let input = format!("{}.{}", first["protected"].as_str().unwrap(), file["payload"].as_str().unwrap());
    let signature = URL_SAFE_NO_PAD.decode(first["signature"].as_str().unwrap()).unwrap();
    // SubjectPublicKeyInfo of an Ed25519 key. Source: RFC 8410 section 4.
    let info =
        [&[0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00], &surgeon().public()[..]].concat();
    let random = Counted::default();
    let device = DeviceSecret::generate(&random).unwrap();
    let sealed = surgeon().seal(&Passcode::new("482913").unwrap(), &device, &random).unwrap();
    let password = format!("482913:{}\n", *device.to_text());
    let output = Command::new("sh")
        .arg(Path::new(SCRIPTS).join("with_openssl.sh"))
        .arg(write(at, "public.der", &info))
        .arg(write(at, "input", input.as_bytes()))
        .arg(write(at, "signature", &signature))
        .arg(write(at, "key.p8", &sealed))
        .arg(write(at, "password", password.as_bytes()))
        .output()
        .expect("openssl starts");
    let said = said(&output);
    assert!(said.contains("Signature Verified Successfully"), "{said}");
    let hex = said.lines().last().unwrap();
    let read: Vec<u8> = (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect();
    assert_eq!(read, info, "the public half of the private key OpenSSL read");
}

//! The strict profile: one sequence of bytes per record, every flipped bit caught, redaction leaves nothing behind.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::{Counted, SECRETS, holds, readable_parts, roster, signed, surgeon};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use brimline::people::Role;
use brimline::record::{self, AddendumKind, Meaning, RecordError, SignedAddendum, SignedRecord, Who};
use serde_json::{Value, json};

/// Bits of a large record that are flipped, spread evenly.
const SAMPLES: usize = 1_500;

#[test]
fn every_flipped_bit_of_a_small_signed_document_is_caught() {
    let who = vec![Who { role: Role::Surgeon, kid: surgeon().person() }];
    let about = AddendumKind::Correction { seq: 4 };
    let note = Some("left".to_owned());
    let small = record::addend(&"b".repeat(64), 1, about, note, who, &Counted::default()).unwrap();
    let small = small.sign(&surgeon(), Role::Surgeon, Meaning::Review, 2).unwrap().to_bytes();
    let roster = roster();
    let holds = |bytes: &[u8]| SignedAddendum::read(bytes).and_then(|signed| signed.verify(&roster)).is_ok();
    assert!(holds(&small));
    for bit in 0..small.len() * 8 {
        assert!(!holds(&flipped(&small, bit)), "bit {} of byte {}", bit % 8, bit / 8);
    }
}

/// [R-RECORD-2]
/// Small: every disclosure is dropped, which leaves payload, headers and signatures.
#[test]
fn every_flipped_bit_of_a_small_record_is_caught() {
    let small = record::redact_all(signed()).unwrap().to_bytes();
    let roster = roster();
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let uncaught = &|first: usize| {
        let bits = (first..small.len() * 8).step_by(threads);
        bits.filter(|bit| record::verify(&flipped(&small, *bit), &roster).is_ok()).collect::<Vec<_>>()
    };
    std::thread::scope(|scope| {
        let parts: Vec<_> = (0..threads).map(|first| scope.spawn(move || uncaught(first))).collect();
        for part in parts {
            assert_eq!(part.join().unwrap(), Vec::<usize>::new(), "bits that made no difference");
        }
    });
}

/// [R-RECORD-2]
#[test]
fn a_flipped_bit_anywhere_in_a_record_is_caught() {
    let file = signed().to_bytes();
    let roster = roster();
    let step = (file.len() * 8 / SAMPLES).max(1) | 1;
    for bit in (0..file.len() * 8).step_by(step) {
        assert!(record::verify(&flipped(&file, bit), &roster).is_err(), "bit {} of byte {}", bit % 8, bit / 8);
    }
}

fn flipped(bytes: &[u8], bit: usize) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    bytes[bit / 8] ^= 1 << (bit % 8);
    bytes
}

/// [R-RECORD-3]
#[test]
fn a_redacted_record_verifies_and_holds_no_date_name_serial_or_free_text() {
    let whole = signed();
    let parts = readable_parts(&whole.to_bytes());
    for secret in SECRETS {
        assert!(holds(&parts, secret), "the whole record holds {secret}, so that its absence says something");
    }
    let redacted = record::redact_all(whole).unwrap().to_bytes();
    let verified = record::verify(&redacted, &roster()).unwrap();
    assert!(verified.document().patient.patient_name.is_withheld());
    let parts = readable_parts(&redacted);
    for secret in SECRETS {
        assert!(!holds(&parts, secret), "{secret}");
    }
    for shape in ["-03-04", "T08:", "2031", "LOT", "Invented", "-4f7e-"] {
        assert!(!holds(&parts, shape), "{shape}");
    }
}

#[test]
fn kept_claims_stay_and_all_others_go() {
    let redacted = record::redact(signed(), &["patient_age".to_owned()]).unwrap();
    let verified = record::verify(&redacted.to_bytes(), &roster()).unwrap();
    assert_eq!(verified.document().patient.patient_age.value(), Some(&61));
    assert!(verified.document().site.is_withheld());
    let fault = record::redact(signed(), &["shots".to_owned()]).unwrap_err();
    assert_eq!(fault, RecordError::NoSuchClaim { name: "shots".to_owned() });
}

#[test]
fn the_set_of_hidden_claims_is_the_same_whether_or_not_something_was_entered() {
    let payload = signed().payload().to_vec();
    let value: Value = serde_json::from_slice(&payload).unwrap();
    for place in value["places"].as_array().unwrap() {
        for check in place["checks"].as_array().unwrap() {
            assert_eq!(check["_sd"].as_array().unwrap().len(), 2, "{}", check["id"]);
        }
    }
    assert_eq!(value["_sd"].as_array().unwrap().len(), 3);
    assert_eq!(value["patient"], json!({"_sd": value["patient"]["_sd"]}));
}

fn edited(edit: impl Fn(&mut Value)) -> RecordError {
    let mut value: Value = serde_json::from_slice(&signed().to_bytes()).unwrap();
    edit(&mut value);
    record::verify(&serde_json_canonicalizer::to_vec(&value).unwrap(), &roster()).unwrap_err()
}

#[test]
fn unknown_members_are_refused_and_named() {
    let fault = edited(|file| file["more"] = json!(1));
    assert!(fault.to_string().contains("more"), "{fault}");
    let fault = edited(|file| file["signatures"][0]["header"]["kid"] = json!("x"));
    assert!(fault.to_string().contains("kid"), "{fault}");
}

#[test]
fn disclosures_out_of_order_twice_or_unmatched_are_refused() {
    let fault = edited(|file| file["signatures"][0]["header"]["disclosures"].as_array_mut().unwrap().reverse());
    assert_eq!(fault, RecordError::DisclosureOrder);
    let fault = edited(|file| {
        let list = file["signatures"][0]["header"]["disclosures"].as_array_mut().unwrap();
        list.insert(0, list[0].clone());
    });
    assert_eq!(fault, RecordError::DisclosureOrder);
    let foreign = URL_SAFE_NO_PAD.encode(br#"["AAAAAAAAAAAAAAAAAAAAAA","patient_name","Somebody Else"]"#);
    let fault = edited(|file| {
        let list = file["signatures"][0]["header"]["disclosures"].as_array_mut().unwrap();
        list.push(json!(foreign));
        list.sort_by_key(|one| one.as_str().unwrap().to_owned());
    });
    assert!(matches!(fault, RecordError::DisclosureUnmatched { ref name, .. } if name == "patient_name"), "{fault}");
}

#[test]
fn a_signature_moved_to_the_other_signer_is_named_as_bad() {
    let fault = edited(|file| file["signatures"][1]["signature"] = file["signatures"][0]["signature"].clone());
    assert!(matches!(fault, RecordError::BadSignature { index: 1, role: Role::CirculatingNurse, .. }), "{fault}");
}

#[test]
fn white_space_and_another_order_are_not_the_canonical_form() {
    let mut spaced = signed().to_bytes();
    spaced.push(b'\n');
    assert_eq!(record::verify(&spaced, &roster()).unwrap_err(), RecordError::NotCanonical);
    let value: Value = serde_json::from_slice(&signed().to_bytes()).unwrap();
    let swapped = format!(r#"{{"signatures":{},"payload":{}}}"#, value["signatures"], value["payload"]);
    assert_eq!(record::verify(swapped.as_bytes(), &roster()).unwrap_err(), RecordError::NotCanonical);
}

#[test]
fn what_is_no_record_is_told_from_a_record_that_is_wrong() {
    for bytes in
        [&b""[..], b"{", b"[]", b"null", b"{\"payload\":\"\"}", b"\xff", b"{\"payload\":\"\",\"payload\":\"\"}"]
    {
        let fault = SignedRecord::read(bytes).unwrap_err();
        assert!(fault.is_unreadable(), "{fault}");
    }
    let deep = [b"[".repeat(100_000), b"]".repeat(100_000)].concat();
    assert!(SignedRecord::read(&deep).unwrap_err().is_unreadable());
}

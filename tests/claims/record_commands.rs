//! `verify`, `show` and `redact`, with their exit codes.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::memory_world::{Answer, MemoryDisk, run};
use super::record_fixture::{Counted, SECRETS, half_signed, roster, signed};
use brimline::commands::{redact, show, verify};
use brimline::people::Roster;
use clap::Parser;
use std::path::{Path, PathBuf};

#[derive(Parser)]
enum Cli {
    Verify(verify::VerifyArgs),
    Show(show::ShowArgs),
    Redact(redact::RedactArgs),
}

fn disk(record: &[u8]) -> MemoryDisk {
    let disk = MemoryDisk::default();
    let files = [
        ("r.json", record.to_vec()),
        ("roster.json", roster().to_bytes()),
        ("none.json", Roster::default().to_bytes()),
    ];
    disk.files.lock().unwrap().extend(files.map(|(name, bytes)| (PathBuf::from(name), bytes)));
    disk
}

fn brimline(disk: &MemoryDisk, input: &[u8], words: &[&str]) -> Answer {
    let cli = Cli::try_parse_from(std::iter::once(&"brimline").chain(words)).unwrap();
    run(disk, &Counted::default(), input, |world| match &cli {
        Cli::Verify(args) => verify::run(args, world),
        Cli::Show(args) => show::run(args, world),
        Cli::Redact(args) => redact::run(args, world),
    })
}

/// [R-RECORD-5]
#[test]
fn verify_answers_zero_one_or_two_and_names_what_is_at_fault() {
    let whole = signed().to_bytes();
    let yes = brimline(&disk(&whole), b"", &["verify", "r.json", "--roster", "roster.json"]);
    assert_eq!((yes.code, yes.err.as_str()), (0, ""));
    assert!(yes.out.contains("Sam Invented") && yes.out.contains("valid and complete"), "{}", yes.out);
    let unknown = brimline(&disk(&whole), b"", &["verify", "r.json", "--roster", "none.json"]);
    assert_eq!(unknown.code, 1);
    assert!(unknown.err.contains("not in the roster"), "{}", unknown.err);
    let half = brimline(&disk(&half_signed().to_bytes()), b"", &["verify", "r.json", "--roster", "roster.json"]);
    assert_eq!(half.code, 1);
    assert!(half.err.contains("incomplete: not signed yet by circulating nurse"), "{}", half.err);
    for bad in [&b"no record"[..], b"{}", b""] {
        let refused = brimline(&disk(bad), b"", &["verify", "r.json", "--roster", "roster.json"]);
        assert_eq!(refused.code, 2, "{}", refused.err);
        assert_eq!(refused.err.lines().count(), 1);
    }
    assert_eq!(brimline(&disk(&whole), b"", &["verify", "absent", "--roster", "roster.json"]).code, 2);
    assert_eq!(brimline(&disk(&whole), b"", &["verify", "r.json", "--roster", "r.json"]).code, 2);
}

#[test]
fn verify_reads_standard_input_and_answers_in_json() {
    let whole = signed();
    let yes = brimline(&disk(b""), &whole.to_bytes(), &["verify", "-", "--roster", "roster.json", "--json"]);
    let answer: serde_json::Value = serde_json::from_str(&yes.out).unwrap();
    assert_eq!(answer["valid"], true);
    assert_eq!(answer["payload"], whole.digest());
    let no = brimline(&disk(b""), &half_signed().to_bytes(), &["verify", "-", "--roster", "roster.json", "--json"]);
    let answer: serde_json::Value = serde_json::from_str(&no.out).unwrap();
    assert_eq!((&answer["valid"], &answer["incomplete"]), (&false.into(), &true.into()));
}

#[test]
fn show_puts_gates_passed_by_word_before_all_else_that_happened() {
    let shown = brimline(&disk(&signed().to_bytes()), b"", &["show", "r.json"]);
    assert_eq!(shown.code, 0, "{}", shown.err);
    let order = ["Gates passed by spoken word: 1", "Not done: 1", "Shots 3", "Deviation", "Identity (identity)"];
    let places: Vec<_> = order.iter().map(|words| shown.out.find(words).unwrap_or_else(|| panic!("{words}"))).collect();
    assert!(places.is_sorted(), "{}", shown.out);
    assert!(shown.out.contains("47.25 mm (outside what is expected)"), "{}", shown.out);
    assert!(shown.out.contains("No signature was verified here"));
    let half = brimline(&disk(&half_signed().to_bytes()), b"", &["show", "r.json"]);
    assert!(half.out.contains("NOT SIGNED yet by the circulating nurse"));
}

#[test]
fn redact_writes_a_copy_that_verifies_and_shows_what_is_withheld() {
    let disk = disk(&signed().to_bytes());
    assert_eq!(brimline(&disk, b"", &["redact", "r.json", "-o", "red.json", "--keep", "patient_age"]).code, 0);
    assert_eq!(brimline(&disk, b"", &["verify", "red.json", "--roster", "roster.json"]).code, 0);
    let shown = brimline(&disk, b"", &["show", "red.json"]).out;
    assert!(shown.contains("(withheld)") && shown.contains("age 61"), "{shown}");
    for secret in SECRETS {
        assert!(!shown.contains(secret), "{secret}");
    }
    let json = brimline(&disk, b"", &["show", "red.json", "--json"]).out;
    for secret in SECRETS {
        assert!(!json.contains(secret), "{secret}");
    }
}

#[test]
fn redact_refuses_an_unknown_claim_and_writes_nothing() {
    let disk = disk(&signed().to_bytes());
    let refused = brimline(&disk, b"", &["redact", "r.json", "-o", "red.json", "--keep", "blood_group"]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("patient_age"), "{}", refused.err);
    assert!(!disk.files.lock().unwrap().contains_key(Path::new("red.json")));
}

//! A record of 500 events and its journal: what holds for small ones holds for them, and every flipped bit that is
//! tried is caught. And a record small enough to try every bit of it with all its disclosures in place.

use crate::large_record::{self, EVENTS, large};
use crate::record_fixture::{self as fixture, Counted, SECRETS, holds, readable_parts, roster};
use crate::small_world::Seeded;
use brimline::case::{Case, Did, Event, Outcome};
use brimline::journal::{self, Sum, Tail};
use brimline::people::{Role, Roster};
use brimline::record::{self, ChainPoint, Meaning, SignedRecord};
use serde_json::json;
use std::sync::Arc;

/// Bits flipped anywhere in the large record, and as many again among its disclosures alone.
const RECORD_FLIPS: u64 = 600;
const DISCLOSURE_FLIPS: u64 = 100;
/// Bits flipped in its journal.
const JOURNAL_FLIPS: u64 = 120;
const SEED: u64 = 20_260_310;

fn flipped(bytes: &[u8], bit: usize) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    bytes[bit / 8] ^= 1 << (bit % 8);
    bytes
}

/// The bits, of those given, that make no difference; tried on every core.
fn unnoticed(bits: &[usize], accepted: impl Fn(usize) -> bool + Sync) -> Vec<usize> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let (bits, accepted) = (&bits, &accepted);
    std::thread::scope(|scope| {
        let part = |first| {
            scope.spawn(move || {
                let mine = bits.iter().skip(first).step_by(threads).copied();
                mine.filter(|bit| accepted(*bit)).collect::<Vec<_>>()
            })
        };
        let parts: Vec<_> = (0..threads).map(part).collect();
        parts.into_iter().flat_map(|part| part.join().unwrap()).collect()
    })
}

/// So many bits of the bytes from `from` to `to`, by the seed.
fn some_bits(seed: u64, count: u64, from: usize, to: usize) -> Vec<usize> {
    let mut chance = Seeded(seed);
    let among = (to - from) as u64 * 8;
    (0..count).map(|_| from * 8 + usize::try_from(chance.below(among)).unwrap()).collect()
}

/// [R-RECORD-2]
#[test]
fn flipped_bits_of_a_record_of_500_events_are_caught() {
    let file = large().to_bytes();
    let roster = roster();
    record::verify(&file, &roster).unwrap();
    let text = str::from_utf8(&file).unwrap();
    let (from, to) = (text.find("\"disclosures\"").unwrap(), text.find("\"protected\"").unwrap());
    let mut bits = some_bits(SEED, RECORD_FLIPS, 0, file.len());
    bits.extend(some_bits(SEED + 1, DISCLOSURE_FLIPS, from, to));
    let missed = unnoticed(&bits, |bit| record::verify(&flipped(&file, bit), &roster).is_ok());
    assert!(missed.is_empty(), "seed {SEED}: {missed:?}");
}

/// [R-RECORD-3]
#[test]
fn a_record_of_500_events_verifies_redacted_too() {
    let redacted = record::redact_all(large()).unwrap().to_bytes();
    let verified = record::verify(&redacted, &roster()).unwrap();
    assert_eq!(verified.document().closing.seq, EVENTS);
    let parts = readable_parts(&redacted);
    for secret in SECRETS {
        assert!(!holds(&parts, secret), "{secret}");
    }
}

/// [R-JOURNAL-1]
#[test]
fn flipped_bits_of_a_journal_of_500_events_are_caught() {
    let events = large_record::events();
    let (mut bytes, mut prev) = (Vec::new(), Sum::NONE);
    for event in &events {
        let (line, sum) = journal::encode(event, &prev).unwrap();
        bytes.extend(line);
        prev = sum;
    }
    assert_eq!(journal::read(&bytes).unwrap().journal.events(), events);
    let bits = some_bits(SEED, JOURNAL_FLIPS, 0, bytes.len());
    let missed =
        unnoticed(&bits, |bit| journal::read(&flipped(&bytes, bit)).is_ok_and(|read| read.tail == Tail::Whole));
    assert!(missed.is_empty(), "seed {SEED}: {missed:?}");
}

/// One step, one check, one signer: the smallest case there is, with everything disclosed.
fn small() -> SignedRecord {
    let list = |step: &str| json!({"step": step, "title": "End", "checks": []});
    let pathway = json!({
        "brimline_pathway": 1, "id": "short", "version": "1.0", "title": "S", "procedure": "primary",
        "about": "", "team": ["surgeon"], "signers": ["surgeon"],
        "phases": [{"id": "p", "title": "P", "steps": [
            {"id": "s", "title": "S", "checks": [{"id": "c", "text": "C"}]}]}],
        "stops": {"cancelled": list("a"), "abandoned": list("b"), "converted": list("d"), "void": list("v")}
    });
    let plan = json!({
        "brimline_plan": 1, "label": "L", "pathway": "short", "procedure": "primary",
        "patient": {"name": "A", "number": "1"}, "sides": [{"side": "left", "sacrum": "normal", "implants": []}],
        "antibiotic": "standard"
    });
    let mut opening = fixture::opening();
    opening.team.remove(&Role::CirculatingNurse);
    let surgeon = fixture::surgeon();
    let event = |seq, did| Event {
        logged_by: brimline::people::Actor::new(Role::Surgeon, surgeon.person()),
        ..fixture::event(seq, &surgeon, Role::Surgeon, did)
    };
    let events =
        [event(1, Did::CaseOpened(Box::new(opening))), event(2, Did::CaseClosed { outcome: Outcome::Finished })];
    let (pathway, plan) = (serde_json::from_value(pathway).unwrap(), serde_json::from_value(plan).unwrap());
    let case = Case::replay(Arc::new(pathway), Arc::new(plan), &events).unwrap();
    let closing = ChainPoint { seq: 2, sum: "a".repeat(64) };
    let unsigned = record::build(&case, &closing, &fixture::name_of, &Counted::default()).unwrap();
    unsigned.sign(&surgeon, Role::Surgeon, Meaning::Responsibility, 1).unwrap()
}

/// [R-RECORD-2]
#[test]
fn every_flipped_bit_of_a_small_record_with_its_disclosures_is_caught() {
    let file = small().to_bytes();
    let roster: Roster = roster();
    let verified = record::verify(&file, &roster).unwrap();
    assert!(!verified.document().patient.patient_name.is_withheld() && !verified.document().site.is_withheld());
    let bits: Vec<usize> = (0..file.len() * 8).collect();
    let missed = unnoticed(&bits, |bit| record::verify(&flipped(&file, bit), &roster).is_ok());
    assert!(missed.is_empty(), "{} bytes: {missed:?}", file.len());
}

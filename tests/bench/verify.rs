//! Verifying a record of 500 events: strict reading, every digest, every signature.
//!
//! The floor is the cryptography alone over the same bytes: SHA-256 of every disclosure and of the payload, and one
//! strict Ed25519 verification for each signature. Floor and subject take turns in one run, and both are measured in CPU
//! time of their one thread, so that other programs on the machine do not count. Exit 1 if the median of the subject is
//! more than [`TIMES_FLOOR_MAX`] times that of the floor. An unoptimised build says so and proves nothing.

#[path = "../support/large_record.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod large_record;
#[path = "../claims/record_fixture.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod record_fixture;

use brimline::record;
use ed25519_dalek::{Signature, VerifyingKey};
use rustix::time::{ClockId, clock_gettime};
use sha2::{Digest, Sha256};
use std::hint::black_box;
use std::process::ExitCode;
use std::time::Duration;

const ROUNDS: usize = 301;
/// The target of the project.
const TIMES_FLOOR_MAX: f64 = 3.0;

/// What must be hashed and verified, taken out of the file beforehand.
struct Bare {
    payload: Vec<u8>,
    disclosures: Vec<String>,
    signatures: Vec<(VerifyingKey, Vec<u8>, Signature)>,
}

impl Bare {
    fn of(file: &[u8]) -> Self {
        let signed = record::SignedRecord::read(file).expect("readable");
        let json: serde_json::Value = serde_json::from_slice(file).expect("JSON");
        let text = |value: &serde_json::Value| value.as_str().expect("a string").to_owned();
        let disclosures = json["signatures"][0]["header"]["disclosures"].as_array().expect("a list");
        let roster = record_fixture::roster();
        let signatures = signed.signatures().iter().enumerate().map(|(index, signature)| {
            let person = roster.person(&signature.header.kid).expect("a signer of the fixture");
            let protected = text(&json["signatures"][index]["protected"]);
            let input = format!("{protected}.{}", text(&json["payload"])).into_bytes();
            (person.verifying_key(), input, Signature::from_bytes(&signature.bytes))
        });
        let signatures = signatures.collect();
        Self { payload: signed.payload().to_vec(), disclosures: disclosures.iter().map(text).collect(), signatures }
    }

    fn check(&self) {
        black_box(Sha256::digest(&self.payload));
        for disclosure in &self.disclosures {
            black_box(Sha256::digest(disclosure));
        }
        for (key, input, signature) in &self.signatures {
            key.verify_strict(input, signature).expect("it holds");
        }
    }
}

fn main() -> ExitCode {
    let file = large_record::large().to_bytes();
    let bare = Bare::of(&file);
    let roster = record_fixture::roster();
    let (mut floor, mut subject) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        floor.push(timed(|| bare.check()));
        subject.push(timed(|| drop(black_box(record::verify(&file, &roster).expect("it verifies")))));
    }
    let (floor, subject) = (median(floor), median(subject));
    let times = subject.as_secs_f64() / floor.as_secs_f64();
    let met = times <= TIMES_FLOOR_MAX;
    let (events, bytes, payload) = (large_record::EVENTS, file.len(), bare.payload.len());
    let hidden = bare.disclosures.len();
    println!("record of {events} events: {bytes} bytes, payload {payload}, {hidden} disclosures; medians of {ROUNDS}");
    println!("SHA-256 and Ed25519 alone: {floor:?}");
    println!("verify:                    {subject:?}");
    println!("{times:.2} times the floor, target {TIMES_FLOOR_MAX}: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = cpu_time();
    work();
    cpu_time().saturating_sub(begun)
}

fn cpu_time() -> Duration {
    let now = clock_gettime(ClockId::ThreadCPUTime);
    Duration::try_from(now).expect("CPU time is never negative")
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

//! Review at size: import against the bare signatures and digests, figures and charts of many cases from the columnar
//! cache, the growth over three sizes, and the memory of the largest.
//!
//! With `BRIMLINE_PEERS` the figures are held against `DuckDB` on the same columns (`tests/peers/review/against_duckdb.py`,
//! which asks this program for them by `BRIMLINE_EXPORT_COLUMNS`). Exit 1 if a target is missed; an unoptimised build proves nothing.

#[path = "../claims/record_fixture.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod record_fixture;
#[path = "../support/synthetic.rs"]
#[allow(
    dead_code,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "the tests use the rest"
)]
mod synthetic;

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use brimline::adapters::index_sqlite::SqliteIndex;
use brimline::review::{
    Asked, Cache, ChartName, Checked, Group, Index, QuantileType, Row, Stream, check_records, check_records_beside,
    draw, signals, summary,
};
use ed25519_dalek::{Signature, VerifyingKey};
use sha2::{Digest, Sha256};
use std::process::ExitCode;
use std::time::{Duration, Instant};
use synthetic::{Model, key, records, roster};

const DISTINCT: usize = 1_000;
const ROUNDS: usize = 5;
const IMPORT_SHARE_MIN: f64 = 0.30;
const FIGURES_MAX: Duration = Duration::from_secs(1);
const FIRST_MAX: Duration = Duration::from_millis(300);
const MEMORY_MAX_MB: f64 = 300.0;

fn main() -> ExitCode {
    if let Some(folder) = std::env::var_os("BRIMLINE_EXPORT_COLUMNS") {
        compare(&std::path::PathBuf::from(folder));
        return ExitCode::SUCCESS;
    }
    let files = records(&Model { gain: 0.5, ..Model::steady(1, DISTINCT) });
    let mut met = import(&files);
    let checked = check_records(&files, &roster(), 2);
    let rows: Vec<Row> = checked.into_iter().map(|one| one.expect("sound").row().clone()).collect();
    drop(files);
    met &= first_figures(&rows);
    for size in [10_000_u32, 30_000, 100_000] {
        let last = repeated(&rows, size as usize);
        let took = median((0..ROUNDS).map(|_| timed(|| everything(&last))).collect());
        println!(
            "{size} cases, every figure, chart and signal: {took:?}, {:.2} µs a case",
            took.as_secs_f64() * 1e6 / f64::from(size)
        );
        met &= size < 100_000 || took <= FIGURES_MAX;
    }
    let peak = memory_mb("VmHWM:");
    println!("memory at its height, the program and 100,000 cases: {peak:.0} MB (target {MEMORY_MAX_MB})");
    met &= peak <= MEMORY_MAX_MB;
    met &= against_duckdb();
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    println!("targets: {}", if met { "met" } else { "MISSED" });
    ExitCode::from(u8::from(!met))
}

/// Everything that Review shows.
fn everything(cache: &Cache) {
    let asked = Asked::of(Stream::LIVE);
    std::hint::black_box(summary(cache, &asked.filter, &Group::ALL, QuantileType::Seven));
    for name in ChartName::ALL {
        std::hint::black_box(draw(cache, name, &asked));
    }
    std::hint::black_box(signals(cache, &asked));
}

/// Import into an index without records beside the bare work: SHA-256 of the payload and two strict signatures, two threads each.
fn import(files: &[Vec<u8>]) -> bool {
    let bare = bare_inputs(files);
    let (mut floor, mut subject) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        floor.push(timed(|| {
            std::thread::scope(|scope| {
                bare.chunks(bare.len().div_ceil(2))
                    .for_each(|part| drop(scope.spawn(move || part.iter().for_each(verify))));
            });
        }));
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
        // Made beforehand: an index is made once, and records are brought into it for years.
        let mut index = SqliteIndex::open(&folder.path().join("index.sqlite"), true).expect("opens");
        subject.push(timed(move || {
            let known = roster();
            let mut keep = |records: Vec<Checked>| {
                let digests: Vec<String> = records.iter().map(|one| one.digest().to_owned()).collect();
                let mut records: Vec<Option<Checked>> = records.into_iter().map(Some).collect();
                let kept = index.push(&digests, &mut |at, standing| records[at].take()?.joined(standing, &known).ok());
                kept.expect("kept");
            };
            let mut verified = Vec::new();
            for batch in files.chunks(128) {
                let before = std::mem::take(&mut verified);
                let (checked, ()) = check_records_beside(batch, &known, 2, || keep(before));
                verified = checked.into_iter().map(|one| one.expect("sound")).collect();
            }
            keep(verified);
            // Closing writes back what stands in the log.
            drop(index);
        }));
    }
    let (floor, subject) = (median(floor), median(subject));
    let share = floor.as_secs_f64() / subject.as_secs_f64();
    let bytes = files.iter().map(Vec::len).sum::<usize>() / files.len();
    println!(
        "import of {} records of {bytes} bytes: {subject:?}; bare digest and signatures {floor:?}; {:.0} % of the bare rate (target 30 %)",
        files.len(),
        share * 100.0
    );
    share >= IMPORT_SHARE_MIN
}

/// Payload, signed texts, signatures and keys of a file.
type Bare = (Vec<u8>, Vec<(Vec<u8>, Signature, VerifyingKey)>);

fn bare_inputs(files: &[Vec<u8>]) -> Vec<Bare> {
    let keys: Vec<VerifyingKey> = roster().people().iter().map(brimline::people::Person::verifying_key).collect();
    assert!(keys.iter().any(|one| one.as_bytes() == &key(brimline::people::Role::Surgeon, 0).public()));
    let one = |file: &Vec<u8>| {
        let value: serde_json::Value = serde_json::from_slice(file).expect("JSON");
        let payload = value["payload"].as_str().expect("a payload");
        let signatures = value["signatures"].as_array().expect("signatures").iter().map(|signature| {
            let protected = signature["protected"].as_str().expect("a header");
            let text = [protected.as_bytes(), b".", payload.as_bytes()].concat();
            let bytes =
                URL_SAFE_NO_PAD.decode(signature["signature"].as_str().expect("a signature")).expect("base64url");
            let bytes = Signature::from_slice(&bytes).expect("64 bytes");
            let key = keys.iter().find(|key| key.verify_strict(&text, &bytes).is_ok()).expect("of the roster");
            (text, bytes, *key)
        });
        let signatures = signatures.collect();
        (URL_SAFE_NO_PAD.decode(payload).expect("base64url"), signatures)
    };
    files.iter().map(one).collect()
}

fn verify((payload, signatures): &Bare) {
    std::hint::black_box(Sha256::digest(payload));
    for (text, signature, key) in signatures {
        key.verify_strict(text, signature).expect("it holds");
    }
}

/// From an index on disk to the first figures of 10,000 records.
fn first_figures(rows: &[Row]) -> bool {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let path = folder.path().join("index.sqlite");
    let mut index = SqliteIndex::open(&path, true).expect("opens");
    let digests: Vec<String> = (0..10_000).map(|at| format!("{at:064x}")).collect();
    let stored = |at: usize| brimline::review::Stored {
        record: Vec::new(),
        addenda: Vec::new(),
        row: Some(rows[at % rows.len()].clone()),
    };
    index.push(&digests, &mut |at, _| Some(stored(at))).expect("kept");
    drop(index);
    let took = median(
        (0..ROUNDS)
            .map(|_| {
                timed(|| {
                    let cache = SqliteIndex::open(&path, false).and_then(|mut index| index.cache()).expect("reads");
                    let asked = Asked::of(Stream::LIVE);
                    std::hint::black_box(summary(&cache, &asked.filter, &[Group::All], QuantileType::Seven));
                    std::hint::black_box(draw(&cache, ChartName::Steps, &asked));
                    std::hint::black_box(draw(&cache, ChartName::Shots, &asked));
                })
            })
            .collect(),
    );
    println!("first figures on 10,000 records, index opened and read: {took:?} (target {FIRST_MAX:?})");
    took <= FIRST_MAX
}

/// The same rows again and again, up to that many cases.
fn repeated(rows: &[Row], size: usize) -> Cache {
    let mut cache = Cache::default();
    (0..size).for_each(|at| cache.push(&rows[at % rows.len()]));
    cache
}

/// The aggregation that another engine is asked for too: every quantity by every group, steps, views and marks.
fn compare(folder: &std::path::Path) {
    let files = records(&Model { gain: 0.5, ..Model::steady(1, DISTINCT) });
    let rows: Vec<Row> =
        check_records(&files, &roster(), 2).into_iter().map(|one| one.expect("sound").row().clone()).collect();
    let cache = repeated(&rows, 100_000);
    let asked = Asked::of(Stream::LIVE);
    let took = median(
        (0..ROUNDS).map(|_| timed(|| drop(summary(&cache, &asked.filter, &Group::ALL, QuantileType::Seven)))).collect(),
    );
    for (name, text) in cache.columns_as_csv() {
        std::fs::write(folder.join(name), text).expect("writes");
    }
    println!("{}", took.as_secs_f64());
}

/// The summary beside `DuckDB` on the same columns, by the outside references' Python; without it nothing is said.
fn against_duckdb() -> bool {
    let Some(python) = std::env::var_os("BRIMLINE_PEERS") else {
        println!("DuckDB: not compared, since BRIMLINE_PEERS names no Python that has it");
        return true;
    };
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers/review/against_duckdb.py");
    let own = std::env::current_exe().expect("a program");
    let ended = std::process::Command::new(python).arg(script).arg(own).status();
    ended.expect("the Python of the outside references runs").success()
}

/// Memory of this process, by a line of its status: at its height, resident.
fn memory_mb(which: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux");
    let line = status.lines().find_map(|line| line.strip_prefix(which)).expect("a line");
    line.trim().trim_end_matches(" kB").trim().parse::<f64>().expect("a number") / 1024.0
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    begun.elapsed()
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

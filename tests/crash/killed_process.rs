//! Real processes, killed at random: every line they called saved is found again.
//!
//! The child is this test binary, run with a filter for the one ignored test below and told its folder.

use crate::small_world::{Seeded, create, note, silent};
use brimline::adapters::{clock::SystemClock, files::RealDisk, randomness::SystemRandomness};
use brimline::open_case::{OpenCase, SaveState, TailFound, World, names};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;

const FOLDER: &str = "BRIMLINE_TEST_KILLED_FOLDER";
const KILLS: u64 = 25;

fn world() -> World {
    World { clock: Arc::new(SystemClock), randomness: Arc::new(SystemRandomness), disk: Arc::new(RealDisk) }
}

#[test]
#[ignore = "the child of the test below, not a test by itself"]
fn child_that_notes_until_it_is_killed() {
    let Some(folder) = std::env::var_os(FOLDER) else { return };
    let folder = Path::new(&folder);
    let mut case = if folder.join(names::JOURNAL).exists() {
        OpenCase::reopen(&world(), folder, silent()).expect("opens again").case
    } else {
        create(&world(), folder).expect("opens")
    };
    let mut out = std::io::stdout();
    loop {
        for _ in 0..3 {
            note(&mut case, &"a word ".repeat(30));
        }
        assert_eq!(case.wait_saved(Duration::from_mins(1)), SaveState::Saved);
        let last = case.journal().last();
        writeln!(out, "\nSAVED {} {}", last.seq, last.sum).and_then(|()| out.flush()).expect("the parent reads");
    }
}

/// Runs the child for a while and kills it; returns what it last called saved.
fn run_and_kill(folder: &Path, run_ms: u64) -> Option<(u64, String)> {
    let name = "killed_process::child_that_notes_until_it_is_killed";
    let mut child = Command::new(std::env::current_exe().expect("this binary"))
        .args(["--exact", name, "--ignored", "--nocapture", "--test-threads=1"])
        .env(FOLDER, folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the child starts");
    let out = BufReader::new(child.stdout.take().expect("piped"));
    let reader = std::thread::spawn(move || {
        let lines = out.lines().map_while(Result::ok);
        lines.filter(|line| line.starts_with("SAVED ") && line.len() > 70).last()
    });
    std::thread::sleep(Duration::from_millis(run_ms));
    child.kill().expect("SIGKILL");
    child.wait().expect("it is gone");
    let last = reader.join().expect("the reader ends")?;
    let mut words = last.split_whitespace().skip(1);
    let seq = words.next()?.parse().ok()?;
    Some((seq, words.next().filter(|sum| sum.len() == 64)?.to_owned()))
}

/// [R-JOURNAL-8]
#[test]
fn every_line_a_killed_process_called_saved_is_found_again() {
    let there = tempfile::tempdir().expect("a folder");
    let folder = there.path().join("case");
    let mut chance = Seeded(u64::from(std::process::id()));
    let mut saved = 0;
    for _ in 0..KILLS {
        let said = run_and_kill(&folder, 20 + chance.below(120));
        if !folder.join(names::JOURNAL).exists() {
            continue;
        }
        let opened = match OpenCase::reopen(&world(), &folder, silent()) {
            Ok(opened) => opened,
            Err(fault) => {
                assert_eq!((said, saved), (None, 0), "{fault}");
                std::fs::remove_dir_all(&folder).expect("nothing was acknowledged");
                continue;
            }
        };
        assert!(!matches!(opened.tail, TailFound::Damaged { .. }), "a kill tears, it does not damage");
        if let Some((seq, sum)) = said {
            let found = opened.case.journal().sum_at(seq).expect("the line is there");
            assert_eq!(found.sum.to_string(), sum);
            saved = seq;
        }
        assert!(opened.case.journal().last().seq >= saved);
    }
    assert!(saved > 20, "the children got somewhere: {saved}");
}

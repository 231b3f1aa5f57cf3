//! The bytes of the journal: chain, tail, flips, and a shell that checks it.

use crate::bench_case::{BenchCase, PLAN};
use crate::simulated_disk::SimDisk;
use crate::small_world::{Seeded, TestClock, create, note, world};
use brimline::case::{Answer, Command, Did, Event, RangeVerdict};
use brimline::journal::{self, ChainPoint, JournalError, LineFault, Sum, Tail};
use brimline::people::Role;
use brimline::units::Unit;
use std::path::Path;
use std::sync::Arc;

/// A journal of a case with that many notes, as an open case writes it.
fn journal_of(notes: usize) -> Vec<u8> {
    let disk = SimDisk::new(7);
    let mut case = create(&world(Arc::new(disk.clone()), TestClock::new(), 7), Path::new("/c")).expect("opens");
    (0..notes).for_each(|number| drop(note(&mut case, &format!("note {number}: \"é\" \\ \u{2028}"))));
    let path = case.journal_path();
    let _ = case.close();
    disk.bytes(&path)
}

fn events_of(bytes: &[u8]) -> Vec<Event> {
    journal::read(bytes).expect("readable").journal.events().to_vec()
}

/// A line's first part with the sum it needs.
fn summed(body: &str) -> Vec<u8> {
    format!("{body},\"sum\":\"{}\"}}\n", Sum::of(body.as_bytes())).into_bytes()
}

fn second_line(bytes: &[u8]) -> (Vec<u8>, String) {
    let mut lines = bytes.split_inclusive(|byte| *byte == b'\n');
    let first = lines.next().expect("line 1").to_vec();
    let second = String::from_utf8(lines.next().expect("line 2").to_vec()).expect("UTF-8");
    (first, second.split(",\"sum\"").next().expect("a body").to_owned())
}

#[test]
fn members_stand_in_their_order_and_the_sum_is_last() {
    let bytes = journal_of(1);
    let text = String::from_utf8(bytes).expect("UTF-8");
    assert!(text.ends_with('\n'));
    for line in text.lines() {
        let order = ["{\"seq\":", ",\"at\":\"", ",\"process\":", ",\"boot_ms\":", ",\"by\":{", ",\"logged_by\":{"];
        let order = order.into_iter().chain([",\"did\":", ",\"prev\":\"", ",\"sum\":\""]);
        let places: Vec<usize> = order.map(|member| line.find(member).expect("the member is there")).collect();
        assert!(places.is_sorted() && places[0] == 0, "{line}");
    }
    assert!(text.lines().next().expect("line 1").contains(&format!(",\"prev\":\"{}\"", "0".repeat(64))));
}

/// [R-JOURNAL-7]
#[test]
fn a_shell_with_sha256sum_computes_the_same_chain() {
    let script = r#"prev=$(printf '%064d' 0); lines=0
while IFS= read -r line; do
  sum=$(printf '%s' "${line%,\"sum\"*}" | sha256sum | cut -c1-64)
  case $line in *",\"prev\":\"$prev\",\"sum\":\"$sum\"}") ;; *) echo "line $((lines+1)) does not fit"; exit 1;; esac
  prev=$sum; lines=$((lines+1))
done
echo "$lines $prev""#;
    let shell = |bytes: &[u8]| {
        use std::io::Write;
        let mut child = std::process::Command::new("sh")
            .args(["-c", script])
            .stdin(std::process::Stdio::piped())
            .stdout(std::process::Stdio::piped())
            .spawn()
            .expect("a shell");
        // The shell may stop reading at the first line that does not fit.
        let _ = child.stdin.take().expect("piped").write_all(bytes);
        let out = child.wait_with_output().expect("the shell ends");
        (out.status.success(), String::from_utf8(out.stdout).expect("UTF-8").trim().to_owned())
    };
    let mut bytes = journal_of(4);
    let last = journal::read(&bytes).expect("readable").journal.last();
    assert_eq!(shell(&bytes), (true, format!("{} {}", last.seq, last.sum)));
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    assert!(!shell(&bytes).0);
}

/// [R-JOURNAL-1]
#[test]
fn every_flipped_bit_of_a_small_journal_is_caught_and_what_is_read_is_a_prefix() {
    let good = journal_of(2);
    let events = events_of(&good);
    for bit in 0..good.len() * 8 {
        flipped_is_caught(&good, &events, bit);
    }
}

/// [R-JOURNAL-1]
#[test]
fn flipped_bits_of_a_large_journal_are_caught() {
    let good = journal_of(2_000);
    let events = events_of(&good);
    let mut chance = Seeded(11);
    for _ in 0..60 {
        let bit = usize::try_from(chance.below(good.len() as u64 * 8)).expect("in memory");
        flipped_is_caught(&good, &events, bit);
    }
}

fn flipped_is_caught(good: &[u8], events: &[Event], bit: usize) {
    let mut bytes = good.to_vec();
    bytes[bit / 8] ^= 1 << (bit % 8);
    let line = good[..bit / 8].iter().filter(|byte| **byte == b'\n').count();
    let kept = if good[bit / 8] == b'\n' { line + 1 } else { line };
    let Ok(reading) = journal::read(&bytes) else {
        assert_eq!(kept, 0, "bit {bit}: a case whose first line holds can be read");
        return;
    };
    assert!(matches!(reading.tail, Tail::Damaged { .. }), "bit {bit}: {:?}", reading.tail);
    let found = reading.journal.events();
    assert_eq!(found, &events[..kept], "bit {bit}: everything that holds is kept");
}

/// [R-JOURNAL-2]
/// The line was acknowledged, and its own sum says that it is whole: only the byte behind it is not.
#[test]
fn a_wrong_line_end_is_damage_and_the_line_before_it_is_kept() {
    let good = journal_of(3);
    let ends: Vec<usize> = (0..good.len()).filter(|at| good[*at] == b'\n').collect();
    for (index, end) in ends.iter().enumerate() {
        let others = (0..=u8::MAX).filter(|byte| *byte != b'\n' && (*byte != 0 || end % 512 != 0));
        for found in others {
            let mut bytes = good.clone();
            bytes[*end] = found;
            let reading = journal::read(&bytes).expect("its first line holds");
            let line = index as u64 + 1;
            assert_eq!(reading.tail, Tail::Damaged { line, fault: LineFault::WrongEnd { found } });
            assert_eq!(reading.journal.last().seq, line);
            assert_eq!(reading.good_bytes, *end as u64);
        }
    }
}

#[test]
fn a_line_end_in_a_block_that_was_never_written_is_a_torn_tail() {
    let good = journal_of(1);
    let (first, body) = second_line(&good);
    let short = first.len() + summed(&body).len() - 1;
    let longer = body.replace("note 0", &format!("note 0{}", "n".repeat(512 - short % 512)));
    let mut bytes = [first, summed(&longer)].concat();
    assert_eq!((bytes.len() - 1) % 512, 0, "the line end begins a block");
    assert_eq!(journal::read(&bytes).expect("good").tail, Tail::Whole);
    *bytes.last_mut().expect("a line end") = 0;
    assert!(matches!(journal::read(&bytes).expect("line 1 holds").tail, Tail::Torn { .. }));
}

#[test]
fn every_cut_of_a_journal_is_a_torn_tail_or_a_whole_prefix() {
    let good = journal_of(3);
    let first = good.iter().position(|byte| *byte == b'\n').expect("line 1") + 1;
    for length in 0..good.len() {
        let bytes = &good[..length];
        if length < first {
            let fault = journal::read(bytes).expect_err("no first line");
            assert!(matches!(fault, JournalError::NothingGood(LineFault::Empty | LineFault::Unterminated)));
            continue;
        }
        let reading = journal::read(bytes).expect("line 1 is there");
        let kept = usize::try_from(reading.good_bytes).expect("small");
        match reading.tail {
            Tail::Whole => assert_eq!(kept, length),
            Tail::Torn { bytes: aside } => assert_eq!(aside, bytes[kept..]),
            Tail::Damaged { .. } => panic!("a cut is not damage"),
        }
    }
}

#[test]
fn blocks_never_written_in_the_last_line_are_a_torn_tail_and_elsewhere_damage() {
    let good = journal_of(3);
    let mut last = good.clone();
    let middle = last.len() - 200;
    last[middle..middle + 64].fill(0);
    assert!(matches!(journal::read(&last).expect("readable").tail, Tail::Torn { .. }));
    let mut inside = good.clone();
    let (first, _) = second_line(&good);
    inside[first.len() + 50..first.len() + 114].fill(0);
    assert!(matches!(journal::read(&inside).expect("readable").tail, Tail::Damaged { line: 2, .. }));
    let mut behind = good;
    behind.extend([0; 4_096]);
    assert!(matches!(journal::read(&behind).expect("readable").tail, Tail::Torn { .. }));
}

#[test]
fn lines_left_out_swapped_or_written_twice_are_damage() {
    let good = journal_of(4);
    let lines: Vec<&[u8]> = good.split_inclusive(|byte| *byte == b'\n').collect();
    for order in [vec![0, 2, 3], vec![0, 2, 1, 3], vec![0, 1, 1, 2], vec![0, 0]] {
        let bytes: Vec<u8> = order.iter().flat_map(|line| lines[*line]).copied().collect();
        assert!(matches!(journal::read(&bytes).expect("line 1 is good").tail, Tail::Damaged { .. }), "{order:?}");
    }
}

#[test]
fn a_line_with_a_right_sum_is_still_refused_for_what_it_holds() {
    let good = journal_of(1);
    let (first, body) = second_line(&good);
    let damage = |body: &str| {
        let bytes = [first.clone(), summed(body)].concat();
        match journal::read(&bytes).expect("line 1 is good").tail {
            Tail::Damaged { line: 2, fault } => fault,
            other => panic!("{body}: {other:?}"),
        }
    };
    assert!(matches!(journal::read(&[first.clone(), summed(&body)].concat()).expect("good").tail, Tail::Whole));
    assert!(matches!(damage(&body.replace("{\"seq\":2", "{\"more\":1,\"seq\":2")), LineFault::Syntax { .. }));
    assert!(matches!(damage(&body.replace("{\"seq\":2", "{\"seq\":2,\"seq\":2")), LineFault::Syntax { .. }));
    assert!(matches!(damage(&body.replace("\"process\":1,", "")), LineFault::Syntax { .. }));
    assert!(matches!(damage(&body.replace("note-written", "note-burnt")), LineFault::Syntax { .. }));
    let deep = format!("{}{}", "[".repeat(4_000), "]".repeat(4_000));
    assert!(matches!(damage(&body.replace("\"process\":1", &format!("\"process\":{deep}"))), LineFault::Syntax { .. }));
    assert_eq!(damage(&body.replace("{\"seq\":2", "{\"seq\":3")), LineFault::OutOfOrder { found: 3, expected: 2 });
    assert_eq!(damage(&body.replace("\"prev\":\"", "\"prev\":\"0")), LineFault::WrongPrevious);
    let long = body.replace("note 0", &"n".repeat(journal::LINE_BYTES_MAX));
    assert!(matches!(damage(&long), LineFault::TooLong { .. }));
    let not_utf8 = body.replace("note 0", "@@@@@@");
    let mut bytes = not_utf8.into_bytes();
    bytes.iter_mut().filter(|byte| **byte == b'@').for_each(|byte| *byte = 0xFF);
    let sum = Sum::of(&bytes).to_string();
    let line = [&bytes[..], b",\"sum\":\"", sum.as_bytes(), b"\"}\n"].concat();
    let tail = journal::read(&[first, line].concat()).expect("line 1 is good").tail;
    assert!(matches!(tail, Tail::Damaged { line: 2, fault: LineFault::Syntax { .. } }));
}

#[test]
fn a_newer_format_is_refused_by_its_number_whatever_else_it_holds() {
    let newer = b"{\"did\":{\"case-opened\":{\"brimline_journal\":7,\"other\":[]}},\"whole\":\"new\"}\nrest";
    let fault = journal::read(newer).expect_err("newer");
    assert_eq!(fault, JournalError::Newer { found: 7, newest: 1 });
    assert!(fault.to_string().contains("left untouched"));
}

#[test]
fn what_is_no_journal_is_refused_with_one_line_that_names_the_place() {
    for bytes in [&b""[..], b"\n", b"{}\n", b"\xFF\xFE\n", b"[[[[", &[0; 5_000]] {
        let said = journal::read(bytes).expect_err("no journal").to_string();
        assert!(said.starts_with("line 1: ") && !said.contains('\n'), "{said}");
    }
}

#[test]
fn an_event_that_json_cannot_hold_is_not_written() {
    let mut event = BenchCase::open(PLAN).events[0].clone();
    let place = brimline::pathway::Place::of_case("begin");
    let answer = Answer::Measured { value: f64::NAN, unit: Unit::Millimetre, range: RangeVerdict::Expected };
    event.did = Did::CheckAnswered { place, check: "depth".to_owned(), answer, done_at: None };
    assert_eq!(journal::encode(&event, &Sum::NONE).expect_err("not a number"), LineFault::NotReadBack);
    event.did = Did::NoteWritten { place: brimline::pathway::Place::of_case("begin"), text: "n".repeat(300_000) };
    assert!(matches!(journal::encode(&event, &Sum::NONE), Err(LineFault::TooLong { .. })));
}

#[test]
fn measured_values_come_back_to_the_last_bit() {
    let mut bench = BenchCase::open(PLAN);
    let mut chance = Seeded(3);
    let (mut bytes, mut prev) = journal::encode(&bench.events[0], &Sum::NONE).expect("encodes");
    for seq in 2..2_000 {
        let seconds = f64::from_bits(chance.next() >> 2 | 1 << 61).clamp(0.1, 3_600.0);
        let seconds =
            if chance.one_in(2) { seconds } else { 0.1 + 3_000.0 * (chance.next() >> 11) as f64 / (1u64 << 53) as f64 };
        bench.says(Role::Surgeon, Command::LogRun { seconds }).expect("a run");
        let event = bench.events.last().expect("just logged");
        assert_eq!(event.seq, seq);
        let (line, sum) = journal::encode(event, &prev).expect("encodes");
        bytes.extend(line);
        prev = sum;
    }
    let reading = journal::read(&bytes).expect("readable");
    assert_eq!(reading.journal.events(), bench.events);
    assert_eq!(reading.journal.last(), ChainPoint { seq: 1_999, sum: prev });
}

#[test]
fn journals_written_by_released_versions_stay_readable() {
    let v1 = include_bytes!("../vectors/journal/v1.jsonl");
    let reading = journal::read(v1).expect("readable");
    assert_eq!(reading.tail, Tail::Whole);
    assert_eq!(reading.journal.last().seq, 4);
    // Source: computed over the file's last line with `sha256sum` of GNU coreutils.
    assert_eq!(reading.journal.last().sum.to_string(), include_str!("../vectors/journal/v1.sum").trim());
}

#[test]
fn every_vector_is_read_as_its_header_says() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/journal");
    let mut read = 0;
    for entry in std::fs::read_dir(folder).expect("the vectors") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|extension| extension != "vector") {
            continue;
        }
        let bytes = std::fs::read(&path).expect("a vector");
        let end = bytes.iter().position(|byte| *byte == b'\n').expect("a header");
        let expected = str::from_utf8(&bytes[..end]).expect("UTF-8").strip_prefix("expect: ").expect("a header");
        let found = match journal::read(&bytes[end + 1..]) {
            Err(JournalError::Newer { found, .. }) => format!("newer {found}"),
            Err(_) => "nothing".to_owned(),
            Ok(reading) => match reading.tail {
                Tail::Whole => "whole".to_owned(),
                Tail::Torn { .. } => format!("torn after {}", reading.journal.last().seq),
                Tail::Damaged { line, .. } => format!("damaged at {line}"),
            },
        };
        assert_eq!(found, expected, "{}", path.display());
        read += 1;
    }
    assert!(read > 20, "{read} vectors");
}

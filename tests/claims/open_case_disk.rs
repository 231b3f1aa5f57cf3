//! An open case on the real disk: files, modes, locks, repair, clocks.

use crate::small_world::{PATHWAY, TestClock, create, new_case, note, nurse, saved, say, silent, world};
use brimline::adapters::files::RealDisk;
use brimline::case::{Command, Did};
use brimline::journal;
use brimline::open_case::{IssueError, OpenCase, OpenError, SaveState, TailFound, World, look, names};
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

struct Bench {
    _there: tempfile::TempDir,
    folder: PathBuf,
    clock: Arc<TestClock>,
    world: World,
}

fn bench() -> Bench {
    let there = tempfile::tempdir().expect("a folder");
    let clock = TestClock::new();
    let world = world(Arc::new(RealDisk), Arc::clone(&clock), 5);
    Bench { folder: there.path().join("cases/0412"), _there: there, clock, world }
}

impl Bench {
    /// A closed case of four events; the bytes of its journal.
    fn left_behind(&self) -> Vec<u8> {
        let mut case = create(&self.world, &self.folder).expect("opens");
        for text in ["one", "two", "three"] {
            self.clock.pass(1_000);
            note(&mut case, text);
        }
        assert_eq!(case.close(), 4);
        fs::read(self.journal()).expect("there")
    }

    fn journal(&self) -> PathBuf {
        self.folder.join(names::JOURNAL)
    }

    fn reopen(&self) -> brimline::open_case::Reopened {
        OpenCase::reopen(&self.world, &self.folder, silent()).expect("opens again")
    }
}

fn mode(path: &Path) -> u32 {
    fs::metadata(path).expect("there").permissions().mode() & 0o777
}

#[test]
fn a_case_folder_is_0700_its_files_0600_and_its_documents_are_kept_byte_for_byte() {
    let bench = bench();
    bench.left_behind();
    for folder in [bench.folder.clone(), bench.folder.join(names::IMAGES), bench.folder.join(names::REPORTS)] {
        assert_eq!(mode(&folder), 0o700, "{}", folder.display());
    }
    for name in [names::PATHWAY, names::PLAN, names::JOURNAL, names::LOCK] {
        assert_eq!(mode(&bench.folder.join(name)), 0o600, "{name}");
    }
    assert_eq!(fs::read_to_string(bench.folder.join(names::PATHWAY)).expect("there"), PATHWAY);
}

#[test]
fn line_1_names_format_program_digest_and_fresh_randomness() {
    let (one, two) = (bench(), bench());
    let case = create(&one.world, &one.folder).expect("opens");
    let opening = case.journal().opening().clone();
    assert_eq!((opening.brimline_journal, opening.nonce.len()), (1, 64));
    assert_eq!(opening.pathway_digest, journal::Sum::of(PATHWAY.as_bytes()).to_string());
    // RFC 9562: the version stands in the third group, the variant in the fourth.
    let groups: Vec<&str> = opening.case.split('-').collect();
    assert!(groups[2].starts_with('4') && "89ab".contains(&groups[3][..1]), "{}", opening.case);
    let other_world = world(Arc::new(RealDisk), TestClock::new(), 6);
    let other = create(&other_world, &two.folder).expect("opens");
    assert_ne!(other.journal().opening().nonce, opening.nonce);
}

/// [R-JOURNAL-5]
#[test]
fn a_case_is_created_once_and_held_by_one_process() {
    let bench = bench();
    let case = create(&bench.world, &bench.folder).expect("opens");
    let second = OpenCase::reopen(&bench.world, &bench.folder, silent());
    assert!(matches!(second.err().expect("held"), OpenError::InUse { .. }));
    assert_eq!(look(&bench.world, &bench.folder).expect("reading needs no lock").journal.last().seq, 1);
    drop(case);
    assert!(matches!(create(&bench.world, &bench.folder).err().expect("there"), OpenError::Exists { .. }));
    assert_eq!(bench.reopen().case.process(), 2);
}

#[test]
fn bad_documents_are_refused_before_anything_is_written() {
    let bench = bench();
    let mut wanted = new_case();
    wanted.pathway = b"{\"brimline_pathway\": 9}";
    let fault = OpenCase::create(&bench.world, &bench.folder, wanted).err().expect("newer");
    assert!(fault.is_bad_input() && fault.to_string().contains("newer"), "{fault}");
    let mut wanted = new_case();
    wanted.team.clear();
    let fault = OpenCase::create(&bench.world, &bench.folder, wanted).err().expect("nobody");
    assert!(matches!(fault, OpenError::RoleMissing(_)));
    assert!(!bench.folder.exists());
}

/// [R-JOURNAL-3]
#[test]
fn torn_tail_is_set_aside_and_reported() {
    let bench = bench();
    let bytes = bench.left_behind();
    fs::write(bench.journal(), &bytes[..bytes.len() - 9]).expect("writes");
    let opened = bench.reopen();
    let TailFound::SetAside { file } = opened.tail else { panic!("{:?}", opened.tail) };
    let mut case = opened.case;
    assert_eq!(case.journal().last().seq, 3);
    note(&mut case, "after");
    assert_eq!(saved(&case), SaveState::Saved);
    let _ = case.close();
    let now = fs::read(bench.journal()).expect("there");
    let kept = fs::read(&file).expect("the tail is kept");
    let good = bytes.len() - 9 - kept.len();
    assert_eq!((&now[..good], &kept[..]), (&bytes[..good], &bytes[good..bytes.len() - 9]));
    assert_eq!(bench.reopen().case.journal().last().seq, 4);
}

/// [R-JOURNAL-4]
#[test]
fn damage_opens_read_only_and_continues_in_a_new_journal_that_names_the_last_good_line() {
    let bench = bench();
    let mut bytes = bench.left_behind();
    let third = bytes.len() - 500;
    bytes[third] ^= 4;
    fs::write(bench.journal(), &bytes).expect("writes");
    let opened = bench.reopen();
    let TailFound::Damaged { line, .. } = opened.tail else { panic!("{:?}", opened.tail) };
    let mut case = opened.case;
    assert_eq!(case.save_state(), SaveState::ReadOnly);
    let refused = case.issue(&nurse(), &nurse(), Command::CountShots { shots: 1 }).expect_err("read only");
    assert!(matches!(refused, IssueError::ReadOnly));
    let last = case.journal().last();
    assert_eq!(last.seq + 1, line);
    let path = case.continue_in_new_journal(silent()).expect("continues");
    assert!(path.ends_with("journal-2.jsonl"));
    let continues = case.journal().opening().continues.clone().expect("named");
    assert_eq!((continues.seq, continues.sum), (last.seq, last.sum.to_string()));
    say(&mut case, Command::Return { side_confirmed: true });
    assert_eq!(case.close(), last.seq + 1);
    assert_eq!(fs::read(bench.journal()).expect("there"), bytes, "the damaged journal is never changed");
    let again = bench.reopen();
    assert_eq!((again.tail, again.case.journal().last().seq), (TailFound::Whole, last.seq + 1));
    assert_eq!(again.case.case().state().returns, 1);
}

/// [R-JOURNAL-4]
#[test]
fn a_flipped_last_line_end_loses_no_line_and_is_said() {
    let bench = bench();
    let mut bytes = bench.left_behind();
    let lines = bytes.iter().filter(|byte| **byte == b'\n').count() as u64;
    *bytes.last_mut().expect("a line end") ^= 1;
    fs::write(bench.journal(), &bytes).expect("writes");
    let opened = bench.reopen();
    let TailFound::Damaged { line, reason, .. } = opened.tail else { panic!("{:?}", opened.tail) };
    assert_eq!(line, lines);
    assert!(reason.contains("0x0b"), "{reason}");
    let mut case = opened.case;
    assert_eq!((case.save_state(), case.journal().last().seq), (SaveState::ReadOnly, lines));
    case.continue_in_new_journal(silent()).expect("continues");
    assert_eq!(case.close(), lines, "the new journal holds every line");
    assert_eq!(fs::read(bench.journal()).expect("there"), bytes, "the damaged journal is never changed");
    let again = bench.reopen();
    assert_eq!((again.tail, again.case.journal().last().seq), (TailFound::Whole, lines));
}

#[test]
fn a_second_journal_damaged_in_its_first_line_does_not_hide_the_first() {
    let bench = bench();
    bench.left_behind();
    fs::write(bench.folder.join("journal-2.jsonl"), b"{\"seq\":1,\n").expect("writes");
    let opened = bench.reopen();
    assert!(matches!(opened.tail, TailFound::Damaged { .. }));
    let mut case = opened.case;
    assert_eq!(case.journal().last().seq, 4);
    let path = case.continue_in_new_journal(silent()).expect("continues");
    assert!(path.ends_with("journal-3.jsonl"));
}

#[test]
fn another_pathway_or_a_newer_journal_is_refused_and_left_untouched() {
    let bench = bench();
    let bytes = bench.left_behind();
    let pathway = bench.folder.join(names::PATHWAY);
    fs::write(&pathway, PATHWAY.replace("Identity", "Another")).expect("writes");
    let fault = OpenCase::reopen(&bench.world, &bench.folder, silent()).err().expect("another");
    assert!(matches!(fault, OpenError::OtherDocument { .. }) && fault.is_bad_input());
    fs::write(&pathway, PATHWAY).expect("writes");
    let newer = String::from_utf8(bytes).expect("UTF-8").replace("\"brimline_journal\":1", "\"brimline_journal\":2");
    fs::write(bench.journal(), &newer).expect("writes");
    let fault = OpenCase::reopen(&bench.world, &bench.folder, silent()).err().expect("newer");
    assert!(fault.is_bad_input() && fault.to_string().contains("journal.jsonl: line 1"), "{fault}");
    assert_eq!(fs::read_to_string(bench.journal()).expect("there"), newer);
}

#[test]
fn a_jump_of_the_wall_clock_is_logged_before_what_follows_it() {
    let bench = bench();
    let mut case = create(&bench.world, &bench.folder).expect("opens");
    bench.clock.pass(3_600_000);
    bench.clock.jump(1_900);
    assert_eq!(note(&mut case, "within").len(), 1);
    bench.clock.pass(60_000);
    bench.clock.jump(-3_600_000);
    let events = note(&mut case, "after");
    assert_eq!(events[0].did, Did::ClockJumped { by_ms: -3_600_000 });
    assert!(matches!(events[1].did, Did::NoteWritten { .. }));
    assert_eq!(note(&mut case, "once").len(), 1);
    assert_eq!(case.elapsed().ms, 3_660_000, "the boot clock counts within one run");
}

#[test]
fn the_writer_tells_when_the_save_state_changes() {
    let bench = bench();
    let told = Arc::new(AtomicU32::new(0));
    let mut wanted = new_case();
    let counter = Arc::clone(&told);
    wanted.notify = Arc::new(move || _ = counter.fetch_add(1, Ordering::SeqCst));
    let mut case = OpenCase::create(&bench.world, &bench.folder, wanted).expect("opens");
    note(&mut case, "one");
    assert_eq!(saved(&case), SaveState::Saved);
    assert_eq!((case.close(), told.load(Ordering::SeqCst) >= 1), (2, true));
}

#[test]
fn a_refused_command_changes_nothing() {
    let bench = bench();
    let mut case = create(&bench.world, &bench.folder).expect("opens");
    let refused = case.issue(&nurse(), &nurse(), Command::CountShots { shots: 0 }).expect_err("no shots");
    assert!(matches!(refused, IssueError::Refused(_)));
    assert_eq!((case.journal().last().seq, case.case().state().seq, case.close()), (1, 1, 1));
}

#[test]
fn the_record_is_written_as_a_whole() {
    let bench = bench();
    let case = create(&bench.world, &bench.folder).expect("opens");
    for bytes in [&b"{\"first\":1}"[..], b"{}"] {
        case.write_record(bytes).expect("writes");
        assert_eq!(fs::read(case.record_path()).expect("there"), bytes);
    }
    assert_eq!(mode(&case.record_path()), 0o600);
}

//! `brimline pathway` answers with the exit code and the line that its help promises.

use brimline::commands::World;
use brimline::commands::pathway::{PathwayArgs, PathwayVerb, run};
use brimline::pathway;
use brimline::ports::{AppendFile, Disk, Randomness};
use std::io;
use std::path::{Path, PathBuf};

/// A disk that can only be read.
struct ReadOnly;

fn refused<T>() -> io::Result<T> {
    Err(io::ErrorKind::ReadOnlyFilesystem.into())
}

impl Disk for ReadOnly {
    fn read(&self, path: &Path, max_bytes: u64) -> io::Result<Vec<u8>> {
        let bytes = std::fs::read(path)?;
        let fits = bytes.len() as u64 <= max_bytes;
        fits.then_some(bytes).ok_or_else(|| io::ErrorKind::InvalidData.into())
    }
    fn replace(&self, _: &Path, _: &[u8]) -> io::Result<()> {
        refused()
    }
    fn create_folder(&self, _: &Path) -> io::Result<()> {
        refused()
    }
    fn list(&self, _: &Path) -> io::Result<Vec<String>> {
        refused()
    }
    fn open_append(&self, _: &Path, _: bool) -> io::Result<Box<dyn AppendFile>> {
        refused()
    }
    fn lock(&self, _: &Path) -> io::Result<Box<dyn Send>> {
        refused()
    }
}

impl Randomness for ReadOnly {
    fn fill(&self, _: &mut [u8]) -> io::Result<()> {
        refused()
    }
}

fn run_with(verb: PathwayVerb, input: &mut dyn io::Read, out: &mut dyn io::Write, err: &mut dyn io::Write) -> u8 {
    let mut world = World { disk: &ReadOnly, random: &ReadOnly, store: PathBuf::new(), input, out, err };
    run(&PathwayArgs { verb }, &mut world)
}

struct Done {
    code: u8,
    out: String,
    err: String,
}

fn pathway_command(verb: PathwayVerb, input: &[u8]) -> Done {
    let (mut out, mut err, mut input) = (Vec::new(), Vec::new(), input);
    let code = run_with(verb, &mut input, &mut out, &mut err);
    Done { code, out: String::from_utf8(out).expect("UTF-8"), err: String::from_utf8(err).expect("UTF-8") }
}

fn check(files: &[&str], json: bool, input: &[u8]) -> Done {
    let files = files.iter().map(|file| (*file).to_owned()).collect();
    pathway_command(PathwayVerb::Check { files, json }, input)
}

fn vector(name: &str) -> String {
    format!("{}/tests/vectors/pathway/{name}.json", env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn list_names_both_pathways() {
    let done = pathway_command(PathwayVerb::List { json: false }, b"");
    assert_eq!((done.code, done.out.lines().count(), done.err.as_str()), (0, 2, ""));
    assert!(done.out.starts_with("primary-lateral-prone    1.0  Primary fusion, lateral, prone\n"), "{}", done.out);
    let done = pathway_command(PathwayVerb::List { json: true }, b"");
    let rows: serde_json::Value = serde_json::from_str(&done.out).unwrap();
    assert_eq!(rows[1]["id"], "revision-loosening");
}

#[test]
fn what_show_prints_as_json_is_the_pathway_again() {
    for id in pathway::built_in_ids() {
        let done = pathway_command(PathwayVerb::Show { pathway: (*id).to_owned(), json: true }, b"");
        assert_eq!(done.code, 0);
        let again = pathway::read(done.out.as_bytes()).unwrap();
        assert!(again == pathway::read(pathway::built_in(id).unwrap()).unwrap());
    }
}

#[test]
fn the_outline_holds_every_text_of_the_pathway() {
    let document = pathway::read(pathway::built_in("primary-lateral-prone").unwrap()).unwrap();
    let done = pathway_command(PathwayVerb::Show { pathway: document.id.clone(), json: false }, b"");
    assert_eq!(done.code, 0);
    for check in document.steps().flat_map(|(_, step)| &step.checks) {
        assert!(done.out.contains(&check.text), "{}", check.text);
    }
    assert!(done.out.contains("== Incision: released by surgeon and circulating nurse"));
    assert!(done.out.contains("<only if graft-mixed is allograft>"));
    assert!(done.out.contains("<only if antibiotic long-infusion>"));
}

#[test]
fn check_says_nothing_of_a_sound_file_and_exits_0() {
    let done = check(&[&vector("good-small")], false, b"");
    assert_eq!((done.code, done.out.as_str(), done.err.as_str()), (0, "", ""));
}

#[test]
fn check_names_file_place_and_fault_and_exits_1() {
    let file = vector("gate-of-nobody");
    let done = check(&[&file], false, b"");
    let line = "phases[0].steps[0].gate.release: no role is named, so nobody can release this gate";
    assert_eq!((done.code, done.out, done.err.as_str()), (1, format!("{file}: {line}\n"), ""));
}

#[test]
fn check_exits_2_for_what_cannot_be_read_and_judges_the_others_all_the_same() {
    let (missing, faulty) = (vector("no-such-file"), vector("cycle-of-two"));
    let done = check(&[&missing, &faulty], false, b"");
    assert_eq!((done.code, done.out.lines().count(), done.err.lines().count()), (2, 2, 1));
    assert!(done.err.starts_with(&format!("brimline: {missing}: ")), "{}", done.err);
}

#[test]
fn check_reads_standard_input_and_answers_in_json() {
    let done = check(&["-"], true, pathway::built_in("revision-loosening").unwrap());
    assert_eq!(done.code, 0);
    let done = check(&["-"], true, b"{");
    let rows: serde_json::Value = serde_json::from_str(&done.out).unwrap();
    assert_eq!((done.code, rows[0]["file"].as_str()), (2, Some("-")));
    assert!(rows[0]["unreadable"].as_str().unwrap().starts_with("line 1, column 1"), "{}", done.out);
}

#[test]
fn an_endless_input_is_cut_off() {
    let mut endless = io::repeat(b' ');
    let verb = PathwayVerb::Check { files: vec!["-".to_owned()], json: false };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    assert_eq!(run_with(verb, &mut endless, &mut out, &mut err), 2);
}

#[test]
fn show_of_an_unknown_pathway_exits_2_and_of_a_faulty_one_1() {
    let unknown = pathway_command(PathwayVerb::Show { pathway: "no-such-pathway".to_owned(), json: false }, b"");
    assert_eq!((unknown.code, unknown.out.as_str()), (2, ""));
    assert!(unknown.err.starts_with("brimline: no-such-pathway: "));
    let faulty = pathway_command(PathwayVerb::Show { pathway: vector("no-closure"), json: false }, b"");
    assert_eq!((faulty.code, faulty.out.as_str()), (1, ""));
}

#[test]
fn schema_prints_the_shipped_schema() {
    let done = pathway_command(PathwayVerb::Schema, b"");
    assert_eq!((done.code, done.out.as_str()), (0, pathway::SCHEMA));
}

/// A reader that stops reading, as `head` does, ends the command without a panic.
#[test]
fn a_closed_pipe_exits_3() {
    struct Closed;
    impl io::Write for Closed {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    assert_eq!(run_with(PathwayVerb::Schema, &mut io::empty(), &mut Closed, &mut Closed), 3);
}

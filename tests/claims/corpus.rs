//! Every file of every fuzz corpus goes through its parser: none panics, and every refusal is one line.

#[path = "../fuzz/case_parsers.rs"]
mod case_parsers;
#[path = "../fuzz/dicom_parsers.rs"]
mod dicom_parsers;
#[path = "../fuzz/parsers.rs"]
mod parsers;

use std::fs;
use std::path::Path;

/// Hands every file of the corpus to every parser given: what is meant for one must not upset another.
fn replay(corpus: &str, parse: fn(&[u8])) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus");
    let own = fs::read_dir(root.join(corpus)).expect("a corpus").count();
    assert!(own >= 8, "the corpus {corpus} holds {own} files");
    for folder in fs::read_dir(&root).expect("the corpora").flatten() {
        for file in fs::read_dir(folder.path()).expect("a corpus").flatten() {
            parse(&fs::read(file.path()).expect("a file"));
        }
    }
}

/// [R-INPUT-4]
#[test]
fn pathway_corpus_replays() {
    replay("pathway", parsers::pathway);
}

#[test]
fn plan_corpus_replays() {
    replay("plan", parsers::plan);
}

#[test]
fn dose_json_corpus_replays() {
    replay("dose_json", parsers::dose_json);
}

#[test]
fn settings_corpus_replays() {
    replay("settings", parsers::settings);
}

#[test]
fn strict_json_corpus_replays() {
    replay("strict_json", parsers::strict_json);
}

#[test]
fn targets_corpus_replays() {
    replay("targets", parsers::targets);
}

#[test]
fn pin_corpus_replays() {
    replay("pin", parsers::pin);
}

#[test]
fn correction_corpus_replays() {
    replay("correction", parsers::correction);
}

#[test]
fn script_corpus_replays() {
    replay("script", case_parsers::script);
}

#[test]
fn roster_corpus_replays() {
    replay("roster", case_parsers::roster);
}

#[test]
fn journal_corpus_replays() {
    replay("journal", case_parsers::journal);
}

#[test]
fn record_corpus_replays() {
    replay("record", case_parsers::record);
}

#[test]
fn dose_report_corpus_replays() {
    replay("dose_report", dicom_parsers::dose_report);
}

#[test]
fn pdu_corpus_replays() {
    replay("pdu", dicom_parsers::pdu);
}

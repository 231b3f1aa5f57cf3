//! One function per parser, shared by the fuzz targets and by the replay of their corpora in the ordinary tests.
//!
//! Each hands arbitrary bytes to a parser and asks only that it comes back, and that what it refuses is said in one
//! line. Whatever else a parser promises is claimed in `tests/claims`.
#![allow(dead_code, reason = "each target uses one of them")]

use std::fmt::Display;

/// A pathway document, and the judgement of what it says.
pub fn pathway(bytes: &[u8]) {
    one_line(brimline::pathway::read(bytes));
}

/// A plan.
pub fn plan(bytes: &[u8]) {
    one_line(brimline::plan::read(bytes));
}

/// A document of `plan targets`, and its answer.
pub fn targets(bytes: &[u8]) {
    one_line(brimline::commands::plan::targets::read(bytes).map(|read| one_line(read.answer())));
}

/// The input of a pin finding, and the finding.
pub fn pin(bytes: &[u8]) {
    one_line(brimline::pin::read(bytes).map(|scene| brimline::pin::find(&scene)));
}

/// A document of `plan correct`, and its answer.
pub fn correction(bytes: &[u8]) {
    let answer = |read: brimline::commands::plan::correct::Read| brimline::carm::correction::correct(&read.sighting);
    one_line(brimline::commands::plan::correct::read(bytes).map(|read| one_line(answer(read))));
}

/// A dose report in its JSON form, and its events against a case.
pub fn dose_json(bytes: &[u8]) {
    use brimline::dose::reconcile::{MachineSequence, Span, Tag, Tap, TeamSequence, reconcile};
    let read = brimline::dose::read_report(bytes);
    if let Ok(report) = &read {
        let opened_at = chrono::DateTime::from_timestamp(1_773_126_300, 0).expect("a time").fixed_offset();
        let tap = |shot: u64| Tap { at_ms: 60_000 + shot * 45_000, shots: 1 + u32::from(shot == 5), tag: 0 };
        let team = TeamSequence {
            tags: vec![Tag { step: "pin".to_owned(), side: None, implant: None, view: None }],
            spans: vec![Span { from_ms: 0, to_ms: 600_000, tag: 0 }],
            taps: (0..10).map(tap).collect(),
            ..TeamSequence::default()
        };
        let found = reconcile(&team, &MachineSequence::of(report, opened_at));
        assert_eq!(found.attributions.len() + found.untimed.len(), report.events.len());
        for fault in &report.faults {
            assert!(!fault.to_string().is_empty());
        }
    }
    one_line(read);
}

/// Site settings.
pub fn settings(bytes: &[u8]) {
    one_line(brimline::settings::read(bytes));
}

/// Any JSON document.
pub fn strict_json(bytes: &[u8]) {
    one_line(brimline::strict_json::value(bytes, 1 << 20));
}

/// Asks that a refusal is one line.
pub fn one_line<T, E: Display>(read: Result<T, E>) {
    if let Err(fault) = read {
        let words = fault.to_string();
        assert!(!words.is_empty() && !words.contains('\n'), "one line wanted: {words:?}");
    }
}

//! Addenda beside a record as lines of its screen: each verified with the record, or with what is wrong with it.

use super::app::App;
use super::phrases;
use super::record::signed_at;
use crate::open_case::addenda;
use crate::record::{self, Addendum, AddendumKind, NerveFinding, Sensation, VerifiedRecord};
use brimline_ui::SummaryLine;
use std::io::ErrorKind;
use std::path::Path;

fn line(label: &str, text: String, heed: bool) -> SummaryLine {
    SummaryLine { label: label.into(), text: text.into(), heed, heading: false }
}

/// All addenda in a case's folder, under a heading; nothing if there is none.
pub(super) fn lines(app: &App, folder: &Path, verified: Option<&VerifiedRecord>) -> Vec<SummaryLine> {
    let found = match addenda(&app.world, folder) {
        Ok(found) => found,
        Err(fault) if fault.kind() == ErrorKind::NotFound => return Vec::new(),
        Err(fault) => return vec![line("Addenda", fault.to_string(), true)],
    };
    let mut lines: Vec<SummaryLine> = found
        .into_iter()
        .map(|(name, bytes)| {
            let Some(record) = verified else {
                return line("Not verified", format!("{name}: the record it belongs to is not complete"), true);
            };
            let read = bytes.map_err(|fault| fault.to_string());
            let held = read.and_then(|bytes| {
                record::verify_addendum(&bytes, record, &app.roster).map_err(|fault| fault.to_string())
            });
            match held {
                Ok(addendum) => of(app, record, addendum.document()),
                Err(fault) => line("At fault", format!("{name}: {fault}"), true),
            }
        })
        .collect();
    if !lines.is_empty() {
        lines.insert(0, SummaryLine { label: "Added later".into(), heading: true, ..SummaryLine::default() });
    }
    lines
}

/// One addendum that holds.
fn of(app: &App, record: &VerifiedRecord, addendum: &Addendum) -> SummaryLine {
    let (label, found, heed) = match &addendum.about {
        AddendumKind::RecoveryExamination { findings } => {
            let less = |finding: &NerveFinding| finding.power < 5 || finding.sensation != Sensation::Unchanged;
            let words = findings.iter().map(finding).collect::<Vec<_>>().join("; ");
            ("Recovery", Some(words), findings.iter().any(less))
        }
        AddendumKind::Correction { seq } => ("Correction", entry(record, *seq), true),
        AddendumKind::LateDoseReport { .. } => ("Dose report", None, false),
    };
    let note = addendum.note.value().cloned();
    let who = addendum.signers.iter().map(|who| format!("{}, {}", app.name_of(&who.kid), who.role));
    let at = signed_at(record.document(), addendum.after_ms);
    let parts = found.into_iter().chain(note).chain(who).chain([at]);
    line(label, parts.collect::<Vec<_>>().join(" · "), heed)
}

fn finding(finding: &NerveFinding) -> String {
    let feeling = match finding.sensation {
        Sensation::Unchanged => "feeling as before",
        Sensation::Reduced => "feeling less",
        Sensation::Absent => "no feeling",
    };
    format!("{} {:?} power {} of 5, {feeling}", finding.side, finding.root, finding.power)
}

/// The words of the entry that is corrected.
fn entry(record: &VerifiedRecord, seq: u64) -> Option<String> {
    let checks = record.document().places.iter().flat_map(|place| place.checks.iter());
    let found = checks.filter(|check| check.done.as_ref().is_some_and(|done| done.seq == seq));
    found.map(|check| phrases::short(&check.text)).next()
}

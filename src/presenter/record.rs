//! The signed record of one case: verified against the roster, and what it says.

use super::app::{App, Shared, window};
use super::around;
use super::case_view::model;
use super::touch;
use super::{added, addendum, home, keys, phrases, say, summary};
use crate::open_case::names;
use crate::record::{self, Record, RecordError, SignedRecord, VerifiedRecord, Who};
use crate::units::Side;
use brimline_ui::{AppWindow, OperatedSide, Place, RecordView, Shell, SignerLine, SignerState, SummaryLine, Verdict};
use chrono::{DateTime, TimeDelta};
use slint::ComponentHandle;
use std::path::Path;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<RecordView>();
    let to = |does: fn(&Shared)| touch::plain(app, does);
    screen.on_sign(to(|app| {
        let folder = around::of(app).record.borrow().clone();
        if let Some(folder) = folder {
            home::sign(app, &folder);
        }
    }));
    screen.on_verify_again(to(|app| {
        let folder = around::of(app).record.borrow().clone();
        if let Some(folder) = folder {
            show(app, &folder);
        }
    }));
    screen.on_add(to(addendum::ask));
    screen.on_home(to(home::leave));
}

/// Shows the record of a case's folder, verified anew.
pub(super) fn show(app: &Shared, folder: &Path) {
    give_back(app, folder);
    let roster = keys::load(app).err().map(|fault| fault.to_string());
    around::of(app).record.replace(Some(folder.to_owned()));
    let path = folder.join(names::RECORD);
    let view = {
        let app = app.borrow();
        match app.world.disk.read(&path, record::MAX_BYTES) {
            Ok(bytes) => view(&app, folder, &bytes),
            Err(fault) => View::at_fault(fault.to_string()),
        }
    };
    around::of(app).verified.replace(view.verified.clone());
    let view = match roster {
        Some(fault) if view.verdict != Verdict::Complete => {
            View { detail: format!("{fault} · {}", view.detail), ..view }
        }
        _ => view,
    };
    let Some(window) = window(app) else { return };
    let screen = window.global::<RecordView>();
    screen.set_side(view.side);
    screen.set_patient(view.patient.into());
    screen.set_outcome(view.outcome.into());
    screen.set_rehearsal(view.rehearsal);
    screen.set_verdict(view.verdict);
    screen.set_verdict_detail(view.detail.into());
    screen.set_digest(view.digest.into());
    screen.set_may_add(view.verified.is_some());
    screen.set_signers(model(view.signers));
    screen.set_lines(model(view.lines));
    screen.set_file(path.display().to_string().into());
    window.global::<Shell>().set_place(Place::Record);
}

/// Everything the screen shows.
#[derive(Default)]
struct View {
    side: OperatedSide,
    patient: String,
    outcome: String,
    rehearsal: bool,
    verdict: Verdict,
    detail: String,
    digest: String,
    signers: Vec<SignerLine>,
    lines: Vec<SummaryLine>,
    /// The record, if every signature of it holds.
    verified: Option<VerifiedRecord>,
}

impl View {
    fn at_fault(detail: String) -> Self {
        Self { verdict: Verdict::AtFault, detail: say::capitalised(&detail), ..Self::default() }
    }
}

/// What the bytes of a record come to.
fn view(app: &App, folder: &Path, bytes: &[u8]) -> View {
    let signed = match SignedRecord::read(bytes) {
        Ok(signed) => signed,
        Err(fault) => return View::at_fault(fault.to_string()),
    };
    let document = signed.document().clone();
    let digest = signed.digest();
    let there: Vec<(Who, u64)> = signed.signatures().iter().map(signature).collect();
    let verified = record::verify(bytes, &app.roster);
    let (verdict, detail) = verdict(verified.as_ref().err(), document.signers.len());
    let at_fault = verified.as_ref().err().and_then(index_of);
    let signer = |who: &Who| {
        let at = there.iter().position(|(known, _)| known == who);
        let state = match at {
            None => SignerState::Waiting,
            Some(index) if at_fault == Some(index) => SignerState::AtFault,
            Some(_) => SignerState::Signed,
        };
        SignerLine {
            id: phrases::role_code(who.role).into(),
            role: say::capitalised(who.role.word()).into(),
            name: app.name_of(&who.kid).into(),
            state,
            detail: at.map(|index| when_and_how(&signed, &document, index)).unwrap_or_default().into(),
            chosen: false,
        }
    };
    let mut lines = added::lines(app, folder, verified.as_ref().ok());
    lines.extend(summary::lines(&document, app.settings.decimal_sign.character()));
    let sides: Vec<Side> = document.plan.sides.iter().map(|side| side.side).collect();
    View {
        side: phrases::operated(&sides),
        patient: whose(&document),
        outcome: outcome(&document),
        rehearsal: document.kind == crate::case::CaseKind::Rehearsal,
        verdict,
        detail,
        digest: grouped(&digest),
        signers: document.signers.iter().map(signer).collect(),
        lines,
        verified: verified.ok(),
    }
}

/// The patient of a record.
pub(super) fn whose(record: &Record) -> String {
    record.patient.patient_name.value().cloned().unwrap_or_else(|| "(withheld)".to_owned())
}

/// A case that is signed to the end needs nobody at the table: it is given back before its record is shown.
fn give_back(app: &Shared, folder: &Path) {
    let ours = app.borrow().open.as_ref().is_some_and(|open| open.folder() == folder);
    let closed = app.borrow().case().is_some_and(|case| case.state().outcome().is_some());
    if ours && closed {
        home::put_away(app);
    }
}

/// Whose signature, as the record asks for it, and when it was given.
fn signature(signature: &record::SignatureOf) -> (Who, u64) {
    (signature.header.asked(), signature.header.signed_ms)
}

fn verdict(fault: Option<&RecordError>, signers: usize) -> (Verdict, String) {
    match fault {
        None => (Verdict::Complete, format!("{}, every digest holds", of_all(signers, signers))),
        Some(RecordError::Incomplete { missing }) => {
            let roles: Vec<_> = missing.iter().map(|who| who.role).collect();
            let there = of_all(signers - missing.len().min(signers), signers);
            (Verdict::Incomplete, format!("{there}; not signed yet: {}", phrases::roles(&roles)))
        }
        Some(fault) => (Verdict::AtFault, say::capitalised(&fault.to_string())),
    }
}

fn of_all(there: usize, all: usize) -> String {
    format!("{there} of {}", phrases::several(all as u64, "signature"))
}

/// Which signature a fault is about.
fn index_of(fault: &RecordError) -> Option<usize> {
    match fault {
        RecordError::BadSignature { index, .. }
        | RecordError::UnknownKey { index, .. }
        | RecordError::NotSuccessor { index, .. }
        | RecordError::RoleNotHeld { index, .. } => Some(*index),
        _ => None,
    }
}

/// When a signature was given, and whether with the key that took the place of the one asked for.
fn when_and_how(signed: &SignedRecord, record: &Record, index: usize) -> String {
    let header = &signed.signatures()[index].header;
    let key = if header.replaces.is_some() { " · with a new key" } else { "" };
    format!("{}{key}", signed_at(record, header.signed_ms))
}

/// The wall clock of a signature, where the opening of the case is disclosed; else the time since.
pub(super) fn signed_at(record: &Record, signed_ms: u64) -> String {
    let opened = record.opened_at.value().and_then(|text| DateTime::parse_from_rfc3339(text).ok());
    let after = i64::try_from(signed_ms).ok().and_then(TimeDelta::try_milliseconds);
    let at = opened.zip(after).and_then(|(opened, after)| opened.checked_add_signed(after));
    at.map_or_else(
        || format!("{} after opening", super::clocks::long(signed_ms)),
        |at| at.format("%-d %b %H:%M").to_string(),
    )
}

fn outcome(record: &Record) -> String {
    let opened = record.opened_at.value().and_then(|text| DateTime::parse_from_rfc3339(text).ok());
    let day = opened.map(|at| format!(" · {}", at.format("%-d %B %Y"))).unwrap_or_default();
    format!("{}{day}", phrases::outcome(record.outcome))
}

/// The first digits of a digest in groups of four: enough to compare by eye.
fn grouped(digest: &str) -> String {
    let digits: Vec<char> = digest.chars().take(16).collect();
    digits.chunks(4).map(|four| four.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

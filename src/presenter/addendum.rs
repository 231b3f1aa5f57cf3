//! An addendum to a signed record: the examination in recovery, or a correction in words; signed by one person and kept
//! beside the record, which never changes.

use super::addendum_rows::{self as rows, Finding};
use super::app::{Shared, window};
use super::around::{self, AroundAsked};
use super::case_view::model;
use super::keys::{self, KeysError, Refused};
use super::questions::{self, PasscodeOf, TextOf, row};
use super::touch;
use super::{phrases, record, say, worker};
use crate::case::JoinedReport;
use crate::dose::Figures;
use crate::open_case::intake::{self, Intake};
use crate::open_case::names::RECEIVED;
use crate::open_case::{JoinError, Joining, OpenError, World, keep_file, write_addendum};
use crate::people::{PersonId, PersonKey, Role};
use crate::ports::Arrival;
use crate::record::{AddendumKind, Meaning, NerveFinding, RecordError, VerifiedRecord, Who, addend};
use brimline_ui::{AddendumView, AppWindow, Place, Shell};
use chrono::{DateTime, FixedOffset};
use slint::ComponentHandle;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Longest note, characters.
const NOTE_MAX: i32 = 400;

/// What about an addendum an overlay asks.
pub(super) enum AddendumAsked {
    /// Which kind.
    Kind,
    /// A row of it, by its id.
    Field(String),
    /// The passcode of whoever signs.
    Passcode,
}

/// What is added.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Adds {
    Recovery(Vec<Finding>),
    /// The entry that is wrong: its number and its words.
    Correction(Option<(u64, String)>),
    /// A report of the machine that came after the signatures.
    Report(Box<LateReport>),
}

/// A dose report that becomes an addendum.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LateReport {
    pub figures: Figures,
    /// Its file for the case's folder.
    file: String,
    bytes: Vec<u8>,
    /// Where it waits until the addendum stands.
    waits_at: PathBuf,
}

/// An addendum being written.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub folder: PathBuf,
    pub record: VerifiedRecord,
    pub adds: Adds,
    pub note: String,
    pub signer: Option<Who>,
}

/// Why an addendum was not written.
#[derive(Debug, Error)]
enum AddError {
    #[error(transparent)]
    Record(#[from] RecordError),
    #[error(transparent)]
    Disk(#[from] OpenError),
    #[error(transparent)]
    Report(#[from] JoinError),
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<AddendumView>();
    let to = |does: fn(&Shared)| touch::plain(app, does);
    screen.on_change(touch::named(app, change));
    screen.on_sign(to(|app| ask_passcode(app, "", 0)));
    screen.on_leave(to(leave));
}

/// Asks what is to be added to the record on screen.
pub(super) fn ask(app: &Shared) {
    let kinds = vec![
        row("recovery", "Recovery examination", "power and feeling of L5 and S1, each side", false),
        row("correction", "Correction", "an entry of the record is wrong; says what is right", false),
    ];
    let hint = "The record itself never changes; this is signed and kept beside it";
    questions::pick(app, AroundAsked::Addendum(AddendumAsked::Kind), "Add to the record", hint, kinds);
}

/// Turns to an addendum that adds a report which came after the signatures.
pub(super) fn of_report(app: &Shared, intake: &Intake, arrival: Arrival, folder: &Path) {
    let (intake, folder) = (intake.clone(), folder.to_owned());
    let work = move || {
        let bytes = intake::bytes_of(&intake, &arrival).map_err(|fault| fault.to_string())?;
        let report = intake.reports.read(&bytes).map_err(|fault| fault.to_string())?;
        let file = format!("{}.dcm", arrival.uid);
        let joined = JoinedReport::of(&report, file.clone(), String::new(), true);
        let waits_at = intake.store.join(RECEIVED).join(&arrival.file);
        Ok(LateReport { figures: joined.figures, file, bytes, waits_at })
    };
    worker::start(app, "Reading the report", work, move |app, read: Result<LateReport, String>| match read {
        Ok(report) => {
            record::show(app, &folder);
            start(app, |_| Adds::Report(Box::new(report)));
        }
        Err(fault) => questions::tell(
            app,
            "The report cannot be read",
            &fault,
            "It waits as before; the record is as it was.",
            "Ask for the report again, or set it aside.",
        ),
    });
}

fn begin(app: &Shared, id: &str) {
    start(app, |record| match id {
        "recovery" => Adds::Recovery(rows::findings(record.document())),
        _ => Adds::Correction(None),
    });
}

/// Begins an addendum to the record on screen, if every signature of it holds.
fn start(app: &Shared, adds: impl FnOnce(&VerifiedRecord) -> Adds) {
    let around = around::of(app);
    let (record, folder) = (around.verified.borrow().clone(), around.record.borrow().clone());
    let (Some(record), Some(folder)) = (record, folder) else { return };
    let adds = adds(&record);
    let signer = rows::signers(&app.borrow().roster, record.document()).into_iter().next();
    around.addendum.replace(Some(Draft { folder, record, adds, note: String::new(), signer }));
    fill(app);
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Addendum);
    }
}

/// Shows the draft.
fn fill(app: &Shared) {
    let (Some(window), around) = (window(app), around::of(app)) else { return };
    let signing = worker::busy(app);
    let draft = around.addendum.borrow();
    let Some(draft) = draft.as_ref() else { return };
    let document = draft.record.document();
    let sides: Vec<_> = document.plan.sides.iter().map(|side| side.side).collect();
    let signer = draft.signer.as_ref().map(|who| format!("{}, {}", app.borrow().name_of(&who.kid), who.role));
    let refusal = rows::refusal(draft);
    let screen = window.global::<AddendumView>();
    screen.set_side(phrases::operated(&sides));
    screen.set_patient(record::whose(document).into());
    screen.set_kind(rows::kind(&draft.adds).into());
    screen.set_question(rows::question(&draft.adds).into());
    screen.set_rows(model(rows::fields(draft, signer.unwrap_or_default())));
    screen.set_ready(refusal.is_empty());
    screen.set_refusal(refusal.into());
    screen.set_signing(signing.into());
}

fn edit(app: &Shared, change: impl FnOnce(&mut Draft)) {
    if let Some(draft) = around::of(app).addendum.borrow_mut().as_mut() {
        change(draft);
    }
    fill(app);
}

fn leave(app: &Shared) {
    let folder = around::of(app).addendum.take().map(|draft| draft.folder);
    if let Some(folder) = folder {
        record::show(app, &folder);
    }
}

/// A row was touched.
fn change(app: &Shared, id: &str) {
    let around = around::of(app);
    let asked = AroundAsked::Addendum(AddendumAsked::Field(id.to_owned()));
    let draft = around.addendum.borrow().clone();
    let Some(draft) = draft else { return };
    match id {
        "note" => {
            let title = rows::note_title(&draft.adds);
            let may_be_empty = !matches!(draft.adds, Adds::Correction(_));
            let hint = "No names of patients or staff";
            let question = TextOf { title, hint, typed: &draft.note, characters_max: NOTE_MAX, may_be_empty };
            questions::text(app, asked, &question);
        }
        "signer" => {
            let people = {
                let app = app.borrow();
                let who = rows::signers(&app.roster, draft.record.document());
                let person = |who: &Who| {
                    let id = format!("{}/{}", phrases::role_code(who.role), who.kid);
                    row(&id, &app.name_of(&who.kid), who.role.word(), draft.signer.as_ref() == Some(who))
                };
                who.iter().map(person).collect()
            };
            questions::pick(app, asked, "Written and signed by", "Signs with their own passcode", people);
        }
        "entry" => {
            let hint = "The record is kept as it was signed";
            questions::pick(app, asked, "Which entry is wrong", hint, rows::entries(&draft));
        }
        _ => {
            if let Some((title, hint, choices)) = rows::choices(&draft, id) {
                questions::pick(app, asked, &title, hint, choices);
            }
        }
    }
}

/// A row of a list was touched.
pub(super) fn picked(app: &Shared, asked: &AddendumAsked, id: &str) {
    around::close(app);
    match asked {
        AddendumAsked::Kind => begin(app, id),
        AddendumAsked::Field(field) => match field.as_str() {
            "signer" => edit(app, |draft| draft.signer = who(id).or(draft.signer.take())),
            "entry" => edit(app, |draft| {
                let entry = rows::entry(draft, id);
                draft.adds = Adds::Correction(entry);
            }),
            _ => edit(app, |draft| rows::choose(draft, field, id)),
        },
        AddendumAsked::Passcode => {}
    }
}

fn who(id: &str) -> Option<Who> {
    let (role, kid) = id.split_once('/')?;
    Some(Who { role: phrases::role_of(role)?, kid: PersonId(kid.to_owned()) })
}

/// Words were typed.
pub(super) fn text(app: &Shared, asked: &AddendumAsked, text: &str) {
    around::close(app);
    if matches!(asked, AddendumAsked::Field(_)) {
        edit(app, |draft| text.clone_into(&mut draft.note));
    }
}

fn ask_passcode(app: &Shared, refusal: &str, wait_seconds: u64) {
    let signer = around::of(app).addendum.borrow().as_ref().and_then(|draft| draft.signer.clone());
    let Some(Who { role, kid }) = signer else { return };
    let (title, name) = (format!("Sign as {role}"), app.borrow().name_of(&kid));
    let hint = "Authorship: I found this and wrote it down";
    let question = PasscodeOf { title: &title, name: &name, hint, accept: "Sign", refusal, wait_seconds };
    questions::passcode(app, AroundAsked::Addendum(AddendumAsked::Passcode), &question);
}

/// The passcode of whoever signs was typed.
pub(super) fn passcode(app: &Shared, digits: &str) {
    let draft = around::of(app).addendum.borrow().clone();
    let signer = draft.as_ref().and_then(|draft| draft.signer.clone());
    let (Some(draft), Some(who)) = (draft, signer) else { return around::close(app) };
    let opening = match keys::opening(app, &who.kid, digits) {
        Ok(opening) => opening,
        Err(Refused { why, wait_seconds }) => return ask_passcode(app, &why, wait_seconds),
    };
    questions::clear_secret(app);
    around::close(app);
    let world = app.borrow().world.clone();
    let (kid, role) = (who.kid.clone(), who.role);
    let now = world.clock.now().at;
    let words = format!("Signing as {role}: the addendum is being written");
    let work = move || opening.open().map(|key| write(&world, draft, who, now, &key));
    worker::start(app, &words, work, move |app, done| signed(app, &kid, done));
    fill(app);
}

/// Builds, signs and writes; not for the window's thread.
fn write(
    world: &World,
    draft: Draft,
    who: Who,
    now: DateTime<FixedOffset>,
    key: &PersonKey,
) -> Result<PathBuf, AddError> {
    let Draft { folder, record, adds, note, .. } = draft;
    let after_ms = rows::after_ms(record.document(), now).unwrap_or(0);
    let mut late = None;
    let about = match adds {
        Adds::Report(report) => {
            let Figures { kerma_area_product, reference_air_kerma, fluoroscopy_time, shots } = report.figures;
            late = Some(report);
            AddendumKind::LateDoseReport {
                kerma_area_product_gy_cm2: kerma_area_product.map(|area| area.0),
                reference_air_kerma_mgy: reference_air_kerma.map(|kerma| kerma.0),
                irradiation_events: shots,
                fluoroscopy_s: fluoroscopy_time.map(|time| time.0),
            }
        }
        Adds::Recovery(findings) => {
            let complete = findings.iter().filter_map(Finding::complete);
            AddendumKind::RecoveryExamination { findings: complete.collect::<Vec<NerveFinding>>() }
        }
        Adds::Correction(entry) => {
            AddendumKind::Correction { seq: entry.map_or(record.document().closing.seq, |(seq, _)| seq) }
        }
    };
    let note = Some(note).filter(|note| !note.is_empty());
    let role: Role = who.role;
    let unsigned = addend(record.digest(), after_ms, about, note, vec![who], &*world.randomness)?;
    let signed = unsigned.sign(key, role, Meaning::Authorship, after_ms)?;
    let written = write_addendum(world, Path::new(&folder), &signed.to_bytes())?;
    if let Some(LateReport { file, bytes, waits_at, .. }) = late.map(|late| *late) {
        keep_file(world, &folder, false, &Joining { file: &file, bytes: &bytes })?;
        // A report that stays behind is found again and set aside by a person.
        let _ = world.disk.remove(&waits_at);
    }
    Ok(written)
}

/// What signing came to.
fn signed(app: &Shared, kid: &PersonId, done: Result<Result<PathBuf, AddError>, KeysError>) {
    fill(app);
    match keys::judge(app, kid, done) {
        Err(Refused { why, wait_seconds }) => ask_passcode(app, &why, wait_seconds),
        Ok(Err(fault)) => questions::tell(
            app,
            "The addendum was not written",
            &say::capitalised(&fault.to_string()),
            "The record is as it was. What is filled in here stays on screen.",
            "Put right what is named, then sign again.",
        ),
        Ok(Ok(_)) => leave(app),
    }
}

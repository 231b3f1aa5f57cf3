//! The plans and cases of the store, each as one line.
//!
//! A file that cannot be read is a line that names it; it never hides the others. What it does not do: it opens no
//! case and changes nothing.

use super::phrases;
use crate::case::{Case, CaseKind, Outcome, Status};
use crate::journal::{Sum, Tail};
use crate::open_case::{OpenError, World, look, names};
use crate::plan::{self, Plan};
use crate::record::{self, SignedRecord};
use brimline_ui::{CaseLine, CaseState};
use chrono::{DateTime, FixedOffset};
use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Folder of plans made elsewhere.
pub(super) const PLANS: &str = "plans";
/// Folder of cases.
pub(super) const CASES: &str = "cases";

/// What the main action does with a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Does {
    SetUp,
    Resume,
    Sign,
    Show,
    /// Damaged: shows what is left of it.
    Look,
    Nothing,
}

/// One plan or case.
#[derive(Debug, Clone)]
pub(super) struct Entry {
    /// Path under the store.
    pub id: String,
    pub path: PathBuf,
    pub does: Does,
    pub line: CaseLine,
    /// Digest of the plan that a case was opened with and that needs no further case.
    plan_digest: Option<String>,
    opened_at: Option<DateTime<FixedOffset>>,
}

/// The case that this tablet has open now.
pub(super) struct Ours<'a> {
    pub folder: &'a Path,
    pub case: &'a Case,
}

/// Signed cases seen before: nothing about them changes any more.
pub(super) type Signed = BTreeMap<PathBuf, Entry>;

/// Everything in the store, what needs somebody first; and what of the store itself cannot be read.
pub(super) fn entries(
    world: &World,
    store: &Path,
    ours: Option<&Ours<'_>>,
    signed: &mut Signed,
) -> (Vec<Entry>, Vec<String>) {
    let now = world.clock.now().at;
    let mut faults = Vec::new();
    let mut list = |folder: &str| match world.disk.list(&store.join(folder)) {
        Ok(names) => names,
        Err(fault) if fault.kind() == ErrorKind::NotFound => Vec::new(),
        Err(fault) => {
            faults.push(format!("{}: {fault}", store.join(folder).display()));
            Vec::new()
        }
    };
    let (plans, cases) = (list(PLANS), list(CASES));
    let mut entries = Vec::new();
    for name in cases {
        let path = store.join(CASES).join(&name);
        let entry = match (signed.get(&path), ours.filter(|ours| ours.folder == path)) {
            (Some(known), _) => Some(known.clone()),
            (None, Some(ours)) => Some(of_case(world, &path, ours.case, &Tail::Whole, true, now)),
            (None, None) => on_disk(world, &path, now),
        };
        let Some(entry) = entry else { continue };
        if entry.does == Does::Show && entry.line.state == CaseState::Signed {
            signed.insert(path, entry.clone());
        }
        entries.push(entry);
    }
    let opened: Vec<String> = entries.iter().filter_map(|entry| entry.plan_digest.clone()).collect();
    let plans = plans.into_iter().filter(|name| Path::new(name).extension().is_some_and(|ending| ending == "json"));
    entries.extend(plans.filter_map(|name| of_plan(world, &store.join(PLANS).join(name), &opened)));
    entries.sort_by_key(|entry| (rank(entry), std::cmp::Reverse(entry.opened_at), entry.id.clone()));
    (entries, faults)
}

/// What goes on comes first, what is done comes last.
fn rank(entry: &Entry) -> u8 {
    match entry.does {
        Does::Resume => 0,
        Does::Sign => 1,
        Does::SetUp => 2,
        Does::Look | Does::Nothing => 3,
        Does::Show => 4,
    }
}

fn id_of(path: &Path) -> String {
    let parts: Vec<_> = path.components().rev().take(2).map(|part| part.as_os_str().to_string_lossy()).collect();
    parts.into_iter().rev().collect::<Vec<_>>().join("/")
}

/// A line for a file that is no plan or no case.
fn bad(path: &Path, words: &str, fault: &str) -> Entry {
    let line = CaseLine {
        id: id_of(path).into(),
        patient: id_of(path).into(),
        detail: fault.into(),
        state: CaseState::Damaged,
        words: words.into(),
        ..CaseLine::default()
    };
    Entry { id: id_of(path), path: path.to_owned(), does: Does::Nothing, line, plan_digest: None, opened_at: None }
}

fn of_plan(world: &World, path: &Path, opened: &[String]) -> Option<Entry> {
    let bytes = match world.disk.read(path, plan::MAX_BYTES) {
        Ok(bytes) => bytes,
        Err(fault) => return Some(bad(path, "plan not readable", &fault.to_string())),
    };
    if opened.contains(&Sum::of(&bytes).to_string()) {
        return None;
    }
    let plan = match plan::read(&bytes) {
        Ok(plan) => plan,
        Err(fault) => return Some(bad(path, "plan not readable", &fault.to_string())),
    };
    let mut line = line_of(path, &plan);
    (line.state, line.words) = (CaseState::Planned, "planned".into());
    let (id, path) = (id_of(path), path.to_owned());
    Some(Entry { id, path, does: Does::SetUp, line, plan_digest: None, opened_at: None })
}

fn line_of(path: &Path, plan: &Plan) -> CaseLine {
    CaseLine {
        id: id_of(path).into(),
        side: phrases::operated(&phrases::sides(plan)),
        patient: phrases::whose(plan).into(),
        detail: super::set_up::pathway_title(&plan.pathway).into(),
        ..CaseLine::default()
    }
}

/// A case's folder; nothing if it holds no case.
fn on_disk(world: &World, path: &Path, now: DateTime<FixedOffset>) -> Option<Entry> {
    match look(world, path) {
        Ok(found) => Some(of_case(world, path, &found.case, &found.tail, false, now)),
        Err(OpenError::NoCase { .. }) => None,
        Err(fault) => Some(bad(path, "not readable", &fault.to_string())),
    }
}

/// A case as one line. `ours`: this tablet has it open.
fn of_case(world: &World, path: &Path, case: &Case, tail: &Tail, ours: bool, now: DateTime<FixedOffset>) -> Entry {
    let state = case.state();
    let mut line = line_of(path, case.plan());
    line.detail = case.pathway().title.as_str().into();
    line.rehearsal = state.opening.kind == CaseKind::Rehearsal;
    let since = state.opened_at.map(|at| when(at, now)).unwrap_or_default();
    let does = match (tail, state.outcome()) {
        (Tail::Damaged { line: at, .. }, None) => {
            line.state = CaseState::Damaged;
            line.words = "read only".into();
            line.remark = format!("journal damaged at line {at}").into();
            Does::Look
        }
        (_, None) => running(world, path, case, ours, &since, &mut line),
        (_, Some(outcome)) => ended(world, path, case, outcome, &since, &mut line),
    };
    let void = state.outcome() == Some(Outcome::Void);
    let plan_digest = (!void).then(|| state.opening.plan_digest.clone());
    Entry { id: id_of(path), path: path.to_owned(), does, line, plan_digest, opened_at: state.opened_at }
}

fn running(world: &World, path: &Path, case: &Case, ours: bool, since: &str, line: &mut CaseLine) -> Does {
    line.state = CaseState::Open;
    if !ours && in_use(world, path) {
        line.words = "in use".into();
        line.remark = "open in another window or process".into();
        return Does::Nothing;
    }
    let state = case.state();
    let word = match state.status {
        Status::Running => "open since",
        other => phrases::status(other),
    };
    line.words = format!("{word} {since}").into();
    let step = case.step_at(&state.here).map(|step| step.title).unwrap_or_default();
    line.remark = format!("{step} · {}", phrases::several(state.shots_total(), "shot")).into();
    Does::Resume
}

/// Whether another process holds the case. The lock is given back at once.
fn in_use(world: &World, path: &Path) -> bool {
    world.disk.lock(&path.join(names::LOCK)).is_err_and(|fault| fault.kind() == ErrorKind::WouldBlock)
}

fn ended(world: &World, path: &Path, case: &Case, outcome: Outcome, since: &str, line: &mut CaseLine) -> Does {
    let outcome = phrases::outcome(outcome).to_lowercase();
    let record = match world.disk.read(&path.join(names::RECORD), record::MAX_BYTES) {
        Ok(bytes) => SignedRecord::read(&bytes).map(Some).map_err(|fault| fault.to_string()),
        Err(fault) if fault.kind() == ErrorKind::NotFound => Ok(None),
        Err(fault) => Err(fault.to_string()),
    };
    match record {
        Err(fault) => {
            line.state = CaseState::Damaged;
            line.words = "record at fault".into();
            line.remark = fault.into();
            Does::Show
        }
        Ok(None) => {
            line.state = CaseState::Incomplete;
            line.words = "not signed".into();
            line.remark = format!("{outcome} · {since} · {} to sign", phrases::roles(&case.pathway().signers)).into();
            Does::Sign
        }
        Ok(Some(record)) if record.missing().is_empty() => {
            line.state = CaseState::Signed;
            line.words = "signed".into();
            let count = phrases::several(record.signatures().len() as u64, "signature");
            line.remark = format!("{outcome} · {since} · {count}").into();
            Does::Show
        }
        Ok(Some(record)) => {
            let missing: Vec<_> = record.missing().iter().map(|who| who.role).collect();
            line.state = CaseState::Incomplete;
            line.words = "incomplete".into();
            line.remark = format!("{outcome} · {since} · {} to sign", phrases::roles(&missing)).into();
            Does::Sign
        }
    }
}

/// The time of today, or the day and the time.
fn when(at: DateTime<FixedOffset>, now: DateTime<FixedOffset>) -> String {
    let at = at.with_timezone(now.offset());
    if at.date_naive() == now.date_naive() {
        at.format("%H:%M").to_string()
    } else {
        at.format("%-d %b %H:%M").to_string()
    }
}

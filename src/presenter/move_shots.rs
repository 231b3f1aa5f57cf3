//! Shots counted in a case that was opened in error: asks for the right case and moves them there.
//!
//! The right case is opened beside the window, takes the shots over and is given back; then this case hands them on.

use super::app::{self, Shared, act_as_holder};
use super::around::{self, AroundAsked};
use super::questions::{self, row};
use super::shelf::{Does, Entry, Ours, entries};
use super::{phrases, worker};
use crate::case::{CaseKind, Command, Outcome, Status};
use crate::open_case::{MoveError, TakenOver, look};
use crate::people::{Actor, PersonId, Role};
use brimline_ui::PickRow;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// What about the shots an overlay asks.
pub(super) enum MoveAsked {
    /// The right case, of these.
    Case(Vec<Entry>),
    /// Who enters it in the right case: nobody who holds this tablet is in its team.
    By { folder: PathBuf, whose: String, team: BTreeMap<Role, PersonId> },
}

/// Shots that a case about to be void still keeps.
pub(super) fn waiting(app: &Shared) -> Option<u32> {
    let app = app.borrow();
    let state = app.case()?.state();
    let void = state.status == Status::Ending(Outcome::Void);
    Some(state.shots_kept()).filter(|shots| void && *shots > 0)
}

/// Asks for the right case. `closing`: this case is about to be closed, so that leaving them here is a choice too.
pub(super) fn ask(app: &Shared, closing: bool) {
    let Some(shots) = waiting(app) else { return };
    let found = open_cases(app);
    let case = |entry: &Entry| {
        let line = &entry.line;
        row(&entry.id, &line.patient, &format!("{} · {}", line.words, line.remark), false)
    };
    let mut rows: Vec<PickRow> = found.iter().map(case).collect();
    let later = "open it from Home, then come back to this one and close it";
    rows.push(row("later", "The right case is not open yet", later, false));
    if closing {
        let stay = row("stay", "They stay with this case", "no other patient was exposed; the case is closed", false);
        rows.push(PickRow { heed: true, ..stay });
    }
    let title = format!("{} counted here: which case is the right one", phrases::several(shots, "shot"));
    let hint = "Both records will tell where they went";
    questions::pick(app, AroundAsked::Move(MoveAsked::Case(found)), &title, hint, rows);
}

/// The other cases that are open and of the same kind.
fn open_cases(app: &Shared) -> Vec<Entry> {
    let around = around::of(app);
    let app = app.borrow();
    let Some(open) = app.open.as_ref() else { return Vec::new() };
    let rehearsal = open.case().state().opening.kind == CaseKind::Rehearsal;
    let ours = Ours { folder: open.folder(), case: open.case() };
    let (found, _) = entries(&app.world, &app.store, Some(&ours), &mut around.home.borrow_mut().signed);
    let other =
        |entry: &Entry| entry.does == Does::Resume && entry.path != open.folder() && entry.line.rehearsal == rehearsal;
    found.into_iter().filter(other).collect()
}

/// A row was touched.
pub(super) fn picked(app: &Shared, asked: MoveAsked, id: &str) {
    around::close(app);
    match asked {
        MoveAsked::Case(_) if id == "stay" => {
            act_as_holder(app, Command::Close);
        }
        MoveAsked::Case(found) => {
            if let Some(entry) = found.into_iter().find(|entry| entry.id == id) {
                to(app, entry);
            }
        }
        MoveAsked::By { folder, whose, team } => {
            let role = phrases::role_of(id);
            if let Some((role, person)) = role.and_then(|role| Some((role, team.get(&role)?.clone()))) {
                begin(app, folder, whose, Actor::new(role, person));
            }
        }
    }
}

fn to(app: &Shared, entry: Entry) {
    let (world, holder) = {
        let app = app.borrow();
        (app.world.clone(), app.holder.clone())
    };
    let team = match look(&world, &entry.path) {
        Ok(found) => found.case.state().team.clone(),
        Err(fault) => return not_moved(app, &MoveError::Open(fault)),
    };
    let whose = entry.line.patient.to_string();
    match holder.filter(|holder| team.get(&holder.role) == Some(&holder.person)) {
        Some(holder) => begin(app, entry.path, whose, holder),
        None => {
            let rows = {
                let app = app.borrow();
                let member = |(role, person): (&Role, &PersonId)| {
                    row(&phrases::role_code(*role), &app.name_of(person), role.word(), false)
                };
                team.iter().map(member).collect()
            };
            let hint = "Whoever holds this tablet is not in the team of that case";
            let asked = MoveAsked::By { folder: entry.path, whose, team };
            questions::pick(app, AroundAsked::Move(asked), "Who enters it in the right case", hint, rows);
        }
    }
}

fn begin(app: &Shared, folder: PathBuf, whose: String, by: Actor) {
    let job = app.borrow().open.as_ref().map(crate::open_case::OpenCase::moving_shots);
    match job {
        None => {}
        Some(Err(fault)) => not_moved(app, &fault),
        Some(Ok(job)) => {
            let work = move || job.take_over(folder, &by, &by);
            worker::start(app, "The shots are being moved to the right case", work, move |app, done| {
                moved(app, &whose, done);
            });
            app::refresh(app);
        }
    }
}

/// The right case has the shots, or not.
fn moved(app: &Shared, whose: &str, done: Result<TakenOver, MoveError>) {
    let handed = done.and_then(|taken| {
        let mut app = app.borrow_mut();
        let holder = app.holder.clone();
        if let (Some(open), Some(holder)) = (app.open.as_mut(), holder) {
            open.hand_on(&taken, &holder, &holder)?;
        }
        Ok(taken)
    });
    app::refresh(app);
    match handed {
        Ok(taken) => questions::say(
            app,
            "Moved",
            &format!("{} counted here now stand with {whose}.", phrases::several(taken.shots, "shot")),
            "Both records tell it. The counts of the steps stay as they were made.",
        ),
        Err(fault) => not_moved(app, &fault),
    }
}

fn not_moved(app: &Shared, fault: &MoveError) {
    questions::tell(
        app,
        "The shots were not moved",
        &fault.to_string(),
        "They stand where they were counted; none is lost and none is counted twice when this is tried again.",
        "Put right what is named, then touch Close the case: it asks again. Else note the number in the right case.",
    );
}

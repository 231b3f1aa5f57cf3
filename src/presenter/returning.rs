//! After a restart: whose case it is, where it stood, what was found; nothing goes on until patient and side are said.

use super::app::{self, Shared, window};
use super::around::{self, AroundAsked};
use super::case_view::{self, model};
use super::touch;
use super::{home, phrases, questions, sign_off};
use crate::case::{Answer, Case, Command, Elapsed, Status};
use crate::open_case::{OpenCase, OpenError, Reopened, TailFound};
use crate::people::{Actor, Role};
use brimline_ui::{AppWindow, FieldLine, Place, Returning, Shell, StoodLine};
use slint::{ComponentHandle, SharedString};
use std::path::Path;

/// What was found at the end of the journal.
pub(super) struct Found(TailFound);

impl Default for Found {
    fn default() -> Self {
        Self(TailFound::Whole)
    }
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<Returning>();
    let to = |does: fn(&Shared)| touch::plain(app, does);
    screen.on_change_holder(to(ask_holder));
    screen.on_go_on(to(go_on));
    screen.on_go_on_in_new_journal(to(go_on_in_new_journal));
    screen.on_read_only(to(turn_to_case));
    screen.on_leave(to(|app| {
        home::put_away(app);
        home::show(app);
    }));
}

/// Opens a case that was interrupted and shows where it stood.
pub(super) fn show(app: &Shared, folder: &Path) {
    if !open(app, folder) {
        return;
    }
    fill(app);
    if let Some(window) = window(app) {
        case_view::fill(&window, app);
        window.global::<Shell>().set_place(Place::Returning);
    }
}

/// Opens a case again and makes it the tablet's own; says why not otherwise.
pub(super) fn open(app: &Shared, folder: &Path) -> bool {
    home::put_away(app);
    let (world, notify) = {
        let app = app.borrow();
        (app.world.clone(), app.notify())
    };
    match OpenCase::reopen(&world, folder, notify) {
        Ok(Reopened { case, tail }) => {
            around::of(app).returning.replace(Found(tail));
            let mut app = app.borrow_mut();
            app.holder = first_holder(case.case());
            (app.page, app.marking, app.scale) = (0, false, None);
            app.open = Some(case);
            true
        }
        Err(fault) => {
            not_opened(app, &fault);
            false
        }
    }
}

/// Says why a case does not open.
pub(super) fn not_opened(app: &Shared, fault: &OpenError) {
    let advice = match fault {
        OpenError::InUse { .. } => "Close it there first. Two tablets never write one case.",
        OpenError::Disk { .. } | OpenError::Randomness(_) | OpenError::Thread(_) => {
            "See that the disk is there and has room, then try again. Until then write down by hand what happens."
        }
        _ => "Have the named file looked at. Until then write down by hand what happens.",
    };
    questions::tell(app, "The case does not open", &fault.to_string(), "Nothing in its folder was changed.", advice);
}

/// Who usually holds the tablet: the circulating nurse, else whoever is there first.
fn first_holder(case: &Case) -> Option<Actor> {
    let team = &case.state().team;
    let usual = team.get_key_value(&Role::CirculatingNurse).or_else(|| team.iter().next());
    usual.map(|(role, person)| Actor::new(*role, person.clone()))
}

fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let (away, stood, found, damaged, holder) = {
        let app = app.borrow();
        let Some(open) = &app.open else { return };
        let tail = &around.returning.borrow().0;
        let now = open.elapsed();
        let holder = app.holder.as_ref().map(|holder| format!("{}, {}", app.name_of(&holder.person), holder.role));
        (away(open.case(), now), stood(open.case(), now), found(open.case(), now, tail), damaged(tail), holder)
    };
    let screen = window.global::<Returning>();
    screen.set_away(away.into());
    screen.set_stood(model(stood));
    screen.set_found(model(found));
    screen.set_damaged(damaged.into());
    screen.set_ready(holder.is_some());
    let refusal = if holder.is_some() { "" } else { "Somebody of the team must hold the tablet" };
    screen.set_refusal(refusal.into());
    screen.set_holder(FieldLine {
        id: "holder".into(),
        label: "Holds the tablet".into(),
        heed: holder.is_none(),
        value: holder.unwrap_or_default().into(),
        ..FieldLine::default()
    });
}

/// How long the case was away, and when it was last written.
fn away(case: &Case, now: Elapsed) -> String {
    let last = case.state().timeline.elapsed();
    let gone = span(now.ms.saturating_sub(last.ms));
    let at = case.wall_clock(last).map(|at| at.format("%H:%M").to_string()).unwrap_or_default();
    format!("{gone} away, last entry at {at}")
}

/// A span of time in words.
fn span(ms: u64) -> String {
    match ms / 60_000 {
        0 => "Less than a minute".to_owned(),
        minutes @ 1..=119 => phrases::several(minutes, "minute"),
        minutes @ 120..=2_879 => phrases::several(minutes / 60, "hour"),
        minutes => phrases::several(minutes / 1_440, "day"),
    }
}

/// Step, shots, status and running timers.
fn stood(case: &Case, now: Elapsed) -> Vec<StoodLine> {
    let state = case.state();
    let line = |label: &str, value: String, heed| StoodLine { label: label.into(), value: value.into(), heed };
    let shots = format!("{} in all, {} in this step", state.shots_total(), state.shots_at(&state.here));
    let mut lines = vec![line("Step", phrases::phase_and_step(case, &state.here), false), line("Shots", shots, false)];
    if state.status != Status::Running {
        lines.push(line("Status", phrases::status(state.status).to_owned(), true));
    }
    lines.extend(
        timers(case, now)
            .into_iter()
            .map(|(text, minutes)| line("Running", format!("{text}: {}", phrases::several(minutes, "minute")), false)),
    );
    lines
}

/// Times that were started, and the minutes since.
fn timers(case: &Case, now: Elapsed) -> Vec<(String, u64)> {
    let started = case.state().checks.iter().filter_map(|((place, id), entry)| {
        let closed = entry.answer.as_ref()?;
        let Some(Answer::TimerStarted { ago_min }) = closed.answer() else { return None };
        let check = case.check_at(place, id)?;
        let minutes = now.ms.saturating_sub(closed.at.ms) / 60_000;
        Some((check.text.clone(), minutes + u64::from(*ago_min)))
    });
    started.collect()
}

/// What the team must know of the end of the journal.
fn found(case: &Case, now: Elapsed, tail: &TailFound) -> Vec<SharedString> {
    let mut lines = Vec::new();
    if let TailFound::SetAside { file } = tail {
        let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        lines.push(format!(
            "One unfinished entry was set aside in {name}. It was never shown as saved: say the last touch again."
        ));
    }
    if now.by_wall && !case.state().timeline.elapsed().by_wall {
        lines.push(
            "The tablet was started anew: the time away is measured by the wall clock alone, and marked.".to_owned(),
        );
    }
    lines.into_iter().map(SharedString::from).collect()
}

fn damaged(tail: &TailFound) -> String {
    match tail {
        TailFound::Damaged { file, line, reason } => format!(
            "{} is damaged at line {line}: {reason}. What is shown is sound up to there; the file is left as it is.",
            file.display()
        ),
        TailFound::Whole | TailFound::SetAside { .. } => String::new(),
    }
}

fn ask_holder(app: &Shared) {
    let rows = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let holds = |role: Role| app.holder.as_ref().is_some_and(|holder| holder.role == role);
        let row = |role: Role, name: String| questions::row(&phrases::role_code(role), &name, role.word(), holds(role));
        let team = case.state().team.iter();
        team.map(|(role, person)| row(*role, app.name_of(person))).collect::<Vec<_>>()
    };
    questions::pick(app, AroundAsked::Holder, "Who holds the tablet", "Logs every touch from now on", rows);
}

/// Somebody of the team was picked to hold the tablet.
pub(super) fn holder_picked(app: &Shared, code: &str) {
    around::close(app);
    let actor = phrases::role_of(code).and_then(|role| app.borrow().actor(role));
    if let Some(actor) = actor {
        app.borrow_mut().holder = Some(actor);
    }
    fill(app);
}

fn go_on(app: &Shared) {
    if app::act_as_holder(app, Command::Return { side_confirmed: true }) {
        turn_to_case(app);
    }
}

fn go_on_in_new_journal(app: &Shared) {
    let continued = {
        let notify = app.borrow().notify();
        let mut app = app.borrow_mut();
        let Some(open) = app.open.as_mut() else { return };
        open.continue_in_new_journal(notify)
    };
    match continued {
        Ok(_) => {
            around::of(app).returning.take();
            go_on(app);
        }
        Err(fault) => questions::tell(
            app,
            "No new journal could be begun",
            &fault.to_string(),
            "The damaged journal is as it was; the case can still be looked at.",
            "See that the disk is there and has room, then try again. Until then write down by hand what happens.",
        ),
    }
}

/// Turns to the screen that the case's status asks for.
fn turn_to_case(app: &Shared) {
    let closed = app.borrow().case().is_some_and(|case| matches!(case.state().status, Status::Closed(_)));
    if closed {
        sign_off::show(app);
        return;
    }
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Operate);
    }
    app::refresh(app);
}

//! The gate: what is still open, what was not done, who must say yes.

use super::app::{Shared, act, refresh, window};
use super::case_view::{self, model};
use super::operate_touch::{enter, go_next};
use super::{clocks, more, phrases, say};
use crate::case::{Case, Closed, Command};
use crate::pathway::Place;
use brimline_ui::{AppWindow, GateRole, GateView, Place as Screen, Shell};
use slint::{ComponentHandle, SharedString};

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let view = window.global::<GateView>();
    let on = app.clone();
    view.on_release(move |id| release(&on, &id));
    let on = app.clone();
    view.on_go_to_open(move || {
        let open = {
            let app = on.borrow();
            app.case().and_then(|case| case.first_open_before(&case.state().here)).map(|(place, _)| place)
        };
        if let Some(place) = open {
            show_step(&on, place);
        }
    });
    let on = app.clone();
    view.on_go_next(move || go_next(&on));
    let on = app.clone();
    view.on_back(move || {
        if let Some(window) = super::app::window(&on) {
            window.global::<Shell>().set_place(Screen::Operate);
            refresh(&on);
        }
    });
    let on = app.clone();
    view.on_more(move || more::show(&on));
}

/// Turns to a step even if the team is there already.
fn show_step(app: &Shared, place: Place) {
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::Operate);
    }
    enter(app, place);
}

fn release(app: &Shared, id: &str) {
    let place = app.borrow().case().map(|case| case.state().here.clone());
    let (Some(role), Some(place)) = (phrases::role_of(id), place) else { return };
    if act(app, role, Command::ReleaseGate { place: place.clone(), role }) {
        let passed = app.borrow().case().is_some_and(|case| case.gate_passed(&place));
        if passed {
            go_next(app);
        }
    }
}

/// Fills the screen for the gate of the place the team is at.
pub(super) fn fill(window: &AppWindow, app: &Shared) {
    let view = window.global::<GateView>();
    let app = app.borrow();
    let Some(case) = app.case() else { return };
    let here = case.state().here.clone();
    let Some(gate) = case.gate_at(&here) else { return };
    let title = match here.side {
        Some(side) => format!("{}, {side} side", gate.title),
        None => gate.title.clone(),
    };
    let (open, not_done) = (open(case, &here), not_done(case, &here));
    let released = case.gate_passed(&here);
    let state = case.state().gates.get(&here).cloned().unwrap_or_default();
    let roles = gate.release.iter().map(|role| {
        let release = state.released.iter().find(|(by, ..)| by == role);
        let person = case.state().team.get(role).map(|person| app.name_of(person));
        GateRole {
            id: phrases::role_code(*role).into(),
            role: say::capitalised(role.word()).into(),
            name: person.unwrap_or_else(|| "nobody".to_owned()).into(),
            released: release.is_some() || state.overridden.is_some(),
            at: release.map(|(.., at)| clocks::wall(case, *at)).unwrap_or_default().into(),
        }
    });
    let roles: Vec<GateRole> = roles.collect();
    let next = case.next_place().map(|next| format!("Next: {}", case_view::title(case, &next)));
    view.set_title(title.into());
    view.set_ready(open.is_empty() && case.gate_in_the_way(&here).is_none());
    view.set_open(model(open));
    view.set_not_done(model(not_done));
    view.set_released(released);
    view.set_roles(model(roles));
    view.set_next(next.unwrap_or_else(|| "Finish the case".to_owned()).into());
    let words = if state.overridden.is_some() { "passed by the surgeon's word" } else { "" };
    view.set_next_detail(words.into());
}

/// Checks up to here, within its side and implant, that are still open.
fn open(case: &Case, here: &Place) -> Vec<SharedString> {
    let order = case.step_at(here).map_or(0, |step| step.order);
    let places = case.places();
    let before = places.iter().filter(|at| at.step.order <= order && at.place.concerns(here));
    let open = before
        .filter(|at| !case.excused_by_word(at))
        .flat_map(|at| case.open_checks(at).into_iter().map(|check| SharedString::from(check.text.as_str())));
    open.collect()
}

/// Checks since the gate before that were not done, with their reasons.
fn not_done(case: &Case, here: &Place) -> Vec<SharedString> {
    let order = case.step_at(here).map_or(0, |step| step.order);
    let places = case.places();
    let before = places.iter().filter(|at| at.step.order <= order && at.place.concerns(here));
    let lines = before.flat_map(|at| {
        case.checks_at(at).into_iter().filter_map(|check| {
            let answer = case.state().answer(&at.place, &check.id)?;
            match &answer.outcome {
                Closed::NotDone { reason } => Some(SharedString::from(format!("{}: {reason}", check.text))),
                Closed::Answered { .. } => None,
            }
        })
    });
    lines.collect()
}

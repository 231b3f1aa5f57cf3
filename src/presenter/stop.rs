//! Stop: go on, or end the case in one of four ways.

use super::app::{Shared, act_as_holder, refresh, window};
use super::case_view::model;
use super::{clocks, move_shots};
use crate::case::{Command, Outcome};
use brimline_ui::{AppWindow, OutcomeKey, Place as Screen, Shell, StopView};
use slint::ComponentHandle;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let view = window.global::<StopView>();
    let on = app.clone();
    view.on_resume(move || {
        act_as_holder(&on, Command::WithdrawStop);
        back_to_case(&on);
    });
    let on = app.clone();
    view.on_end(move |id| {
        if let Some((outcome, ..)) = WAYS.into_iter().find(|(_, name, ..)| *name == id.as_str()) {
            on.borrow_mut().page = 0;
            if act_as_holder(&on, Command::ChooseOutcome { outcome }) && move_shots::waiting(&on).is_some() {
                move_shots::ask(&on, false);
            }
        }
    });
}

/// Shows the case again where the team was.
pub(super) fn back_to_case(app: &Shared) {
    let Some(window) = window(app) else { return };
    window.global::<Shell>().set_place(Screen::Operate);
    app.borrow_mut().page = 0;
    refresh(app);
}

/// The ways a case ends, in plain words.
const WAYS: [(Outcome, &str, &str, &str); 4] = [
    (Outcome::Cancelled, "cancelled", "Cancelled", "Before the incision; nothing was cut"),
    (Outcome::Abandoned, "abandoned", "Abandoned", "After the incision, without the fusion"),
    (Outcome::Converted, "converted", "Converted to open", "Goes on as an open operation"),
    (Outcome::Void, "void", "Opened in error", "Wrong case: it is kept, and its shots move to the right one"),
];

/// Fills the screen.
pub(super) fn fill(window: &AppWindow, app: &Shared) {
    let view = window.global::<StopView>();
    let app = app.borrow();
    let Some(case) = app.case() else { return };
    let state = case.state();
    let incision = state.incision.map(|at| clocks::wall(case, at));
    let keys = WAYS.into_iter().map(|(outcome, id, title, detail)| {
        let after = incision.as_ref().filter(|_| outcome == Outcome::Cancelled);
        let detail = after.map_or_else(|| detail.to_owned(), |at| format!("Only before the incision; it was at {at}"));
        OutcomeKey { id: id.into(), title: title.into(), detail: detail.into(), barred: after.is_some() }
    });
    view.set_outcomes(model(keys.collect()));
    let why = state.stops.last().map(|(_, at, reason)| {
        let parts = [reason.clone(), format!("at {}", clocks::wall(case, *at))];
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
    });
    view.set_why(why.unwrap_or_default().into());
}

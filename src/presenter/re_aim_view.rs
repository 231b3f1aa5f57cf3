//! The plan re-aimed from the true lateral: touched, told, kept; void once patient or table moves.

use super::app::{self, App, Shared, act_as_holder, window};
use super::around;
use super::case_view::model;
use super::re_aim_draft::Draft;
use super::view_known::{Room, target};
use super::{pin_view, re_aim_fields as fields, re_aim_touch, say, touch};
use crate::carm::ReAim;
use crate::case::Command;
use crate::commands::plan::{ADVISORY, targets};
use crate::pathway::{Check, CheckKind, Place};
use crate::plan::Plan;
use brimline_ui::{AppWindow, FindingLine, ImageRoom, Place as Screen, ReAimView, Shell};
use slint::ComponentHandle;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<ReAimView>();
    re_aim_touch::connect(&screen, app);
    screen.on_change(touch::named(app, fields::change));
    screen.on_tell(touch::plain(app, tell));
    screen.on_again(touch::plain(app, |app| edit(app, |draft| draft.answer = None)));
    screen.on_keep(touch::plain(app, keep));
    screen.on_leave(touch::plain(app, leave));
}

/// Opens the screen for a check that asks for the lateral.
pub(super) fn show(app: &Shared, place: Place, check: &Check) {
    if !matches!(check.ask, CheckKind::View { .. }) {
        return;
    }
    let draft = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        // A re-aim starts from the plan, never from the re-aim before it.
        let room = Room { turned_deg: 0.0, ..Room::of(&app) };
        Draft::new(place, check.id.clone(), case.plan(), room, case.state().placement())
    };
    around::of(app).re_aim.replace(Some(draft));
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::ReAim);
    }
    fill(app);
}

/// Changes the draft and shows it.
pub(super) fn edit(app: &Shared, change: impl FnOnce(&mut Draft)) {
    if let Some(draft) = around::of(app).re_aim.borrow_mut().as_mut() {
        draft.notice.clear();
        change(draft);
    }
    fill(app);
}

/// Shows the draft.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let mut draft = around.re_aim.borrow_mut();
    let Some(draft) = draft.as_mut() else { return };
    let plan = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        case.plan().clone()
    };
    let scale = f64::from(window.window().scale_factor());
    let room = window.global::<ImageRoom>();
    let sizes = [room.get_pane(), room.get_loupe()].map(|length| pin_view::whole(f64::from(length) * scale));
    let screen = window.global::<ReAimView>();
    screen.set_pane(re_aim_touch::pane(draft, sizes));
    screen.set_fields(model(fields::rows(app, draft, &plan)));
    let lacks = draft.lacks();
    screen.set_ready(lacks.is_none());
    screen.set_missing(lacks.unwrap_or_else(|| "the planned tilts are turned with the pelvis".to_owned()).into());
    screen.set_told(draft.answer.is_some());
    screen.set_notice(draft.notice.as_str().into());
    if let Some(re_aim) = &draft.answer {
        screen.set_said(say::capitalised(&re_aim.to_string()).into());
        screen.set_numbers(model(numbers(&app.borrow(), &plan, draft.room, re_aim)));
        screen.set_advisory(format!("± is one standard deviation. {ADVISORY}").into());
    }
}

/// Each planned view with its tilt as planned and as re-aimed.
fn numbers(app: &App, plan: &Plan, room: Room, re_aim: &ReAim) -> Vec<FindingLine> {
    let turned = Room { turned_deg: re_aim.turn_deg, ..room };
    let rows = plan.views.iter().filter(|view| re_aim.adds_deg(view.view) != 0.0).filter_map(|view| {
        let (target, _) = target(plan, view.view, turned, None)?;
        let (was, now) = (app.fixed(view.tilt_deg.abs(), 0), app.fixed(target.joints.tilt.0.abs(), 0));
        Some(FindingLine {
            label: format!("{}, planned {was}°", view.view).into(),
            value: format!("{now}°").into(),
            doubt: format!("± {}", app.fixed(re_aim.sd_deg, 0)).into(),
            heed: false,
        })
    });
    rows.collect()
}

fn tell(app: &Shared) {
    let asked = {
        let around = around::of(app);
        let draft = around.re_aim.borrow();
        let app = app.borrow();
        draft.as_ref().zip(app.case()).and_then(|(draft, case)| {
            let planned = draft.line?.planned(&case.plan().sacral_measurements())?;
            Some((draft.document(case.plan())?, draft.line?, draft.proven, draft.room, draft.placement, planned))
        })
    };
    let Some((document, line, proven, room, placement, planned)) = asked else { return };
    let answered = targets::read(document.to_string().as_bytes()).map_err(|fault| fault.to_string());
    let answered = answered.and_then(|read| read.answer().map_err(|fault| fault.to_string()));
    match answered {
        Ok(answer) => {
            let Some(turn) = answer.turn else { return };
            let re_aim = ReAim {
                line,
                proven,
                position: room.position,
                planned_deg: planned.value.0,
                turn_deg: turn.value.0,
                sd_deg: turn.sd.0,
                placement,
            };
            let void = "Void once patient or table moves: enter the move then, and re-aim anew.".to_owned();
            edit(app, |draft| (draft.answer, draft.notice) = (Some(re_aim), void));
        }
        Err(fault) => edit(app, |draft| draft.notice = say::capitalised(&fault)),
    }
}

/// Enters the re-aim and goes back to the check.
fn keep(app: &Shared) {
    let command = {
        let around = around::of(app);
        let draft = around.re_aim.borrow();
        draft.as_ref().and_then(|draft| {
            let re_aim = Box::new(draft.answer.clone()?);
            Some(Command::ReAim { place: draft.place.clone(), check: draft.check.clone(), re_aim })
        })
    };
    if command.is_some_and(|command| act_as_holder(app, command)) {
        leave(app);
    }
}

/// Back to the check; what was touched is forgotten.
pub(super) fn leave(app: &Shared) {
    around::of(app).re_aim.take();
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::Operate);
    }
    app::refresh(app);
}

//! The pin from two views: shown, found, kept or redirected.

use super::app::{self, Shared, act, window};
use super::around::{self, AroundAsked};
use super::asked::Asked;
use super::case_view::model;
use super::pin_draft::Draft;
use super::pin_rows as rows;
use super::questions;
use super::view_known::Room;
use super::{pin_fields, pin_touch, say, touch};
use crate::anatomy::{JointAt, JointLevel};
use crate::carm::ViewName;
use crate::case::{Command, PinDecision};
use crate::pathway::{Check, CheckKind, Place};
use crate::pin::{self, Finding};
use brimline_ui::{AppWindow, ImagePane, ImageRoom, PinShows, PinView, Place as Screen, Shell};
use slint::{ComponentHandle, Model, VecModel};
use std::rc::Rc;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<PinView>();
    // The rows stay the same, so that a finger on a picture keeps it.
    screen.set_panes(Rc::new(VecModel::from(vec![ImagePane::default(); 2])).into());
    pin_touch::connect(&screen, app);
    screen.on_choose_target(touch::named(app, choose));
    screen.on_change(touch::named(app, pin_fields::change));
    screen.on_show_targets(touch::plain(app, |app| shows(app, PinShows::Targets)));
    screen.on_show_fields(touch::plain(app, |app| shows(app, PinShows::Fields)));
    screen.on_find(touch::plain(app, find));
    screen.on_keep(touch::plain(app, keep));
    screen.on_redirect(touch::plain(app, |app| decide(app, PinDecision::Redirected)));
    screen.on_leave(touch::plain(app, leave));
}

/// Opens the screen for a check of the place the team is at.
pub(super) fn show(app: &Shared, place: Place, check: &Check) {
    let CheckKind::Pin { views, .. } = &check.ask else { return };
    let draft = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let side = place.side.or_else(|| case.facts().sides.first().copied());
        let Some(side) = side else { return };
        let tool_mm = case.plan().largest_tool_mm(side);
        let of_side = case.plan().anatomy.as_ref().and_then(|anatomy| anatomy.side(side));
        let joint = JointLevel::ALL
            .map(|level| of_side.map_or_else(|| JointAt::empty(level), |of_side| of_side.joint_at(level)));
        Draft { tool_mm, joint, ..Draft::new(place, check.id.clone(), side, two(views), Room::of(&app)) }
    };
    around::of(app).pin.replace(Some(draft));
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::Pin);
    }
    shows(app, PinShows::Targets);
}

/// Two views that tell the pin's direction: an inlet and an outlet where the check names them.
fn two(views: &[ViewName]) -> [ViewName; 2] {
    let across: Vec<ViewName> = views.iter().copied().filter(|view| *view != ViewName::Lateral).collect();
    match (&across[..], views) {
        ([one, other, ..], _) | (_, [one, other, ..]) => [*one, *other],
        (_, [ViewName::OutletWorking]) => [ViewName::OutletWorking, ViewName::InletBody],
        (_, [one]) => [*one, ViewName::OutletWorking],
        _ => [ViewName::InletBody, ViewName::OutletWorking],
    }
}

/// Changes the draft and shows it.
pub(super) fn edit(app: &Shared, change: impl FnOnce(&mut Draft)) {
    if let Some(draft) = around::of(app).pin.borrow_mut().as_mut() {
        change(draft);
    }
    fill(app);
}

pub(super) fn shows(app: &Shared, what: PinShows) {
    if let Some(window) = window(app) {
        window.global::<PinView>().set_shows(what);
    }
    fill(app);
}

/// Shows the draft.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let mut draft = around.pin.borrow_mut();
    let Some(draft) = draft.as_mut() else { return };
    let screen = window.global::<PinView>();
    let plan = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        case.plan().clone()
    };
    let scale = f64::from(window.window().scale_factor());
    let room = window.global::<ImageRoom>();
    let [pane, loupe] = [room.get_pane(), room.get_loupe()].map(|length| whole(f64::from(length) * scale));
    let panes = screen.get_panes();
    let finding = screen.get_shows() == PinShows::Finding;
    for (row, number) in draft.shown().into_iter().enumerate() {
        panes.set_row_data(row, rows::pane(draft, &plan, number, [pane, loupe], finding));
    }
    screen.set_targets(model(rows::targets(draft)));
    screen.set_fields(model(pin_fields::rows(app, draft, &plan)));
    let lacks = draft.lacks();
    screen.set_ready(lacks.is_none());
    screen.set_missing(rows::missing(draft, lacks).into());
    if let Some(finding) = &draft.finding {
        fill_finding(app, &screen, finding);
    } else {
        screen.set_title(from_views("Pin", draft.panes.len()).into());
    }
}

fn from_views(what: &str, views: usize) -> String {
    let count = if views > 2 { "three" } else { "two" };
    format!("{what}, from {count} views")
}

pub(super) fn whole(pixels: f64) -> u32 {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a size on the screen")]
    let whole = pixels.round().clamp(1.0, 4096.0) as u32;
    whole
}

fn fill_finding(app: &Shared, screen: &PinView<'_>, finding: &Finding) {
    let app = app.borrow();
    screen.set_title(from_views(&format!("Pin, {}", finding.side), finding.views.len()).into());
    screen.set_numbers(model(rows::numbers(&app, finding)));
    screen.set_question(rows::question(finding).into());
    screen.set_steps(model(rows::steps(&app, finding)));
    screen.set_advisory(format!("± holds in {} of 100. {}", finding.coverage_percent, pin::ADVISORY).into());
    screen.set_keep_detail(rows::kept_as(finding).into());
}

fn choose(app: &Shared, id: &str) {
    edit(app, |draft| {
        let all = (0..draft.panes.len()).flat_map(|pane| draft.marks(pane).into_iter().map(move |mark| (pane, mark)));
        let Some((pane, mark)) = all.into_iter().find(|(pane, mark)| rows::id(*pane, *mark) == id) else { return };
        // What takes several places is touched anew as a whole.
        if draft.chosen == (pane, mark) && mark.places() > 1 {
            draft.panes[pane].touched.remove(&mark);
        }
        draft.chosen = (pane, mark);
    });
}

fn find(app: &Shared) {
    let document = {
        let around = around::of(app);
        let draft = around.pin.borrow();
        let app = app.borrow();
        draft.as_ref().zip(app.case()).and_then(|(draft, case)| draft.document(case.plan()))
    };
    let Some(document) = document else { return say::refused(app, "a picture does not say how large it is") };
    let site = app.borrow().settings.pin;
    match pin::read_of_site(document.to_string().as_bytes(), site) {
        Ok(scene) => {
            let finding = pin::find(&scene);
            edit(app, |draft| draft.finding = Some(finding));
            shows(app, PinShows::Finding);
        }
        Err(fault) => say::refused(app, &fault.to_string()),
    }
}

/// Asks once where a margin is short.
fn keep(app: &Shared) {
    let question = {
        let around = around::of(app);
        let draft = around.pin.borrow();
        draft.as_ref().and_then(|draft| draft.finding.as_ref()).map(rows::question).unwrap_or_default()
    };
    let asks = around::of(app)
        .pin
        .borrow()
        .as_ref()
        .is_some_and(|draft| draft.finding.as_ref().is_some_and(|finding| !finding.questions.is_empty()));
    if !asks {
        return decide(app, PinDecision::Kept);
    }
    around::ask(app, AroundAsked::KeepPin);
    let shown = say::Message {
        title: "Keep this pin?",
        text: &question,
        safe: "Nothing stops the team. The finding stands in the record either way.",
        advice: pin::ADVISORY,
        accept: "Keep it",
        held: false,
        decline: "Redirect",
        heed: true,
    };
    say::message(app, Asked::Around, &shown);
}

/// Enters the finding and goes back to the check.
pub(super) fn decide(app: &Shared, decided: PinDecision) {
    let entered = {
        let around = around::of(app);
        let draft = around.pin.borrow();
        draft.as_ref().and_then(|draft| {
            let finding = Box::new(draft.finding.clone()?);
            Some(Command::FindPin { place: draft.place.clone(), check: draft.check.clone(), finding, decided })
        })
    };
    let Some(command) = entered else { return };
    let roles = {
        let app = app.borrow();
        let Command::FindPin { place, check, .. } = &command else { return };
        app.case().and_then(|case| Some(case.check_at(place, check)?.by.clone())).unwrap_or_default()
    };
    let role = app.borrow().answerer(&roles);
    if role.is_some_and(|role| act(app, role, command)) {
        leave(app);
    }
}

/// Back to the check; what was touched is forgotten.
pub(super) fn leave(app: &Shared) {
    around::of(app).pin.take();
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::Operate);
    }
    app::refresh(app);
}

/// Asks one row of a list.
pub(super) fn pick(app: &Shared, id: &str, title: &str, hint: &str, rows: Vec<brimline_ui::PickRow>) {
    questions::pick(app, AroundAsked::Pin(id.to_owned()), title, hint, rows);
}

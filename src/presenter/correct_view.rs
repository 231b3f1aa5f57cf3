//! A view correction at a view check: asked, said to the radiographer, kept.

use super::app::{self, Shared, act_as_holder, window};
use super::around;
use super::case_view::model;
use super::correct_draft::Draft;
use super::view_known::Room;
use super::{correct_fields as fields, correct_touch, say, touch};
use crate::carm::correction::{ViewFinding, correct};
use crate::carm::{Joint, Words};
use crate::case::Command;
use crate::commands::plan::ADVISORY;
use crate::commands::plan::correct::read;
use crate::pathway::{Check, CheckKind, Place};
use brimline_ui::{AppWindow, CorrectView, FindingLine, ImageRoom, Place as Screen, Shell};
use slint::{ComponentHandle, SharedString};

/// Parallax smaller than this is not worth a word, mm: a touch is no better.
const PARALLAX_SAID_MM: f64 = 1.0;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<CorrectView>();
    correct_touch::connect(&screen, app);
    screen.on_change(touch::named(app, fields::change));
    screen.on_tell(touch::plain(app, tell));
    screen.on_again(touch::plain(app, |app| edit(app, |draft| draft.answer = None)));
    screen.on_keep(touch::plain(app, keep));
    screen.on_leave(touch::plain(app, leave));
}

/// Opens the screen for a view check.
pub(super) fn show(app: &Shared, place: Place, check: &Check) {
    let CheckKind::View { view, .. } = &check.ask else { return };
    let room = Room::of(&app.borrow());
    around::of(app).correct.replace(Some(Draft::new(place, check.id.clone(), *view, room)));
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::Correct);
    }
    fill(app);
}

/// Changes the draft and shows it.
pub(super) fn edit(app: &Shared, change: impl FnOnce(&mut Draft)) {
    if let Some(draft) = around::of(app).correct.borrow_mut().as_mut() {
        draft.notice.clear();
        change(draft);
    }
    fill(app);
}

/// Shows the draft.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let mut draft = around.correct.borrow_mut();
    let Some(draft) = draft.as_mut() else { return };
    let plan = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        case.plan().clone()
    };
    let scale = f64::from(window.window().scale_factor());
    let room = window.global::<ImageRoom>();
    let sizes = [room.get_pane(), room.get_loupe()].map(|length| super::pin_view::whole(f64::from(length) * scale));
    let screen = window.global::<CorrectView>();
    screen.set_title(draft.view.word().into());
    screen.set_pane(correct_touch::pane(draft, &plan, sizes));
    screen.set_fields(model(fields::rows(app, draft, &plan)));
    let lacks = draft.lacks(&plan);
    screen.set_ready(lacks.is_none());
    screen.set_missing(lacks.unwrap_or("what was seen becomes one instruction").into());
    screen.set_told(draft.answer.is_some());
    screen.set_notice(draft.notice.as_str().into());
    if let Some(finding) = &draft.answer {
        let said: Vec<SharedString> =
            finding.moves.iter().map(|one| say::capitalised(&Words::built_in().say(one)).into()).collect();
        let none = "No move: less than half a degree from the true view".into();
        screen.set_moves(model(if said.is_empty() { vec![none] } else { said }));
        screen.set_numbers(model(numbers(&app.borrow(), finding)));
        screen.set_advisory(format!("± is one standard deviation. {ADVISORY}").into());
    }
}

fn numbers(app: &app::App, finding: &ViewFinding) -> Vec<FindingLine> {
    let row = |label: &str, value: String, doubt: String| FindingLine {
        label: label.into(),
        value: value.into(),
        doubt: doubt.into(),
        heed: false,
    };
    let mut rows = vec![
        row("off the true view by", format!("{}°", app.fixed(finding.off_by_deg, 1)), String::new()),
        row("should remain between the two", format!("{} mm", app.fixed(finding.remaining_mm, 1)), String::new()),
    ];
    for turn in &finding.turns {
        let name = match turn.joint {
            Joint::Wag => "wag by",
            Joint::Tilt => "tilt by",
            Joint::Orbit => "orbit by",
        };
        let (by, sd) = (app.fixed(turn.by_deg.abs(), 1), app.fixed(turn.sd_deg, 1));
        rows.push(row(name, format!("{by}°"), format!("± {sd}")));
        let bound = app.fixed(turn.bound_deg, 1);
        rows.push(row("the touches alone leave at best", format!("{bound}°"), String::new()));
    }
    rows
}

/// What asks for attention in an answer.
fn heeds(app: &app::App, finding: &ViewFinding) -> String {
    let parallax = (finding.parallax_mm >= PARALLAX_SAID_MM).then(|| {
        let apart = app.fixed(finding.parallax_mm, 1);
        format!("{apart} mm apart comes from standing off the centre: centring removes it, no move does.")
    });
    let doubt = (finding.within_doubt && !finding.moves.is_empty())
        .then(|| "The move is smaller than its uncertainty: another touch may tell more than another shot.".to_owned());
    parallax.into_iter().chain(doubt).collect::<Vec<_>>().join("\n")
}

fn tell(app: &Shared) {
    let document = {
        let around = around::of(app);
        let draft = around.correct.borrow();
        let app = app.borrow();
        draft.as_ref().zip(app.case()).and_then(|(draft, case)| draft.document(case.plan()))
    };
    let Some(document) = document else { return };
    let answered = read(document.to_string().as_bytes()).map_err(|fault| fault.to_string()).and_then(|read| {
        let answer = correct(&read.sighting).map_err(|fault| fault.to_string())?;
        Ok((read, answer))
    });
    match answered {
        Ok((read, answer)) => {
            let around = around::of(app);
            let told = around.correct.borrow().as_ref().map(Draft::told);
            let Some(told) = told else { return };
            let finding = ViewFinding::of(read.view, told, &read.sighting, &answer);
            let heeds = heeds(&app.borrow(), &finding);
            edit(app, |draft| (draft.answer, draft.notice) = (Some(finding), heeds));
        }
        Err(fault) => edit(app, |draft| draft.notice = say::capitalised(&fault)),
    }
}

/// Enters what was said and goes back to the check.
fn keep(app: &Shared) {
    let command = {
        let around = around::of(app);
        let draft = around.correct.borrow();
        draft.as_ref().and_then(|draft| {
            let finding = Box::new(draft.answer.clone()?);
            Some(Command::CorrectView { place: draft.place.clone(), check: draft.check.clone(), finding })
        })
    };
    if command.is_some_and(|command| act_as_holder(app, command)) {
        leave(app);
    }
}

/// Back to the check; what was touched is forgotten.
pub(super) fn leave(app: &Shared) {
    around::of(app).correct.take();
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::Operate);
    }
    app::refresh(app);
}

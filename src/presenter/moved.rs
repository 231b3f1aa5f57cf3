//! Patient or table moved: asked once, entered, and what rested on the placement before it is forgotten.

use super::app::{Shared, act_as_holder};
use super::around::{self, AroundAsked};
use super::asked::Asked;
use super::pin_draft::FrameSaid;
use super::{clocks, phrases, say};
use crate::case::Command;
use brimline_ui::FieldLine;

/// The row of a form that says whether patient or table moved; a touch on it enters a move.
pub(super) fn row(app: &Shared) -> FieldLine {
    let app = app.borrow();
    let moves = app.case().map(|case| case.state().moves.as_slice()).unwrap_or_default();
    let value = match (moves.last(), app.case()) {
        (Some(last), Some(case)) => {
            let times = phrases::several(u32::try_from(moves.len()).unwrap_or(u32::MAX), "time");
            format!("moved {times}, last {}", clocks::wall(case, last.at))
        }
        _ => "not moved so far".to_owned(),
    };
    FieldLine { id: "moved".into(), label: "Patient or table".into(), value: value.into(), ..FieldLine::default() }
}

/// Asks whether it moved, saying what becomes void.
pub(super) fn ask(app: &Shared) {
    let re_aimed = app.borrow().case().is_some_and(|case| case.state().re_aim().is_some());
    let text = if re_aimed {
        "The re-aim of the plan becomes void, and so does what was declared unmoved for the pin."
    } else {
        "What was declared unmoved for the pin becomes void."
    };
    around::ask(app, AroundAsked::Moved);
    let shown = say::Message {
        title: "Has patient or table moved?",
        text,
        safe: "Everything entered stays in the record, with the move behind it.",
        advice: "Views count as planned again until one true lateral re-aims them.",
        accept: "It moved",
        held: false,
        decline: "Nothing moved",
        heed: true,
    };
    say::message(app, Asked::Around, &shown);
}

/// Enters the move and forgets what it voids.
pub(super) fn enter(app: &Shared) {
    around::close(app);
    if !act_as_holder(app, Command::NoteMove) {
        return;
    }
    let around = around::of(app);
    if let Some(draft) = around.pin.borrow_mut().as_mut() {
        (draft.frame, draft.finding, draft.room.turned_deg) = (FrameSaid::NotAsked, None, 0.0);
    }
    if let Some(draft) = around.correct.borrow_mut().as_mut() {
        (draft.answer, draft.room.turned_deg) = (None, 0.0);
    }
    if let Some(draft) = around.re_aim.borrow_mut().as_mut() {
        draft.answer = None;
        "Patient or table moved: take another true lateral.".clone_into(&mut draft.notice);
    }
    super::app::refresh(app);
}

/// Which placement of patient and table a picture of the case shows: that in which it came, else the present one.
pub(super) fn placement_of(app: &Shared, file: &str) -> u32 {
    let app = app.borrow();
    let Some(state) = app.case().map(crate::case::Case::state) else { return 1 };
    let came = state.radiation.images.iter().find(|image| image.what.file == file);
    came.map_or_else(|| state.placement(), |image| state.placement_at(image.seq))
}

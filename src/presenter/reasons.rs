//! Reasons, options and criteria to choose from: short lists, so that nobody has to type in gloves.

use super::app::{Shared, window};
use super::asked::Asked;
use super::case_view::model;
use super::operate_touch::here;
use crate::pathway::{Check, CheckKind, ChoiceOption};
use brimline_ui::{Over, PickAsked, PickRow, ReasonAsked, Shell, Sign};
use slint::{ComponentHandle, Model};

/// Why a check was not done.
pub(super) const NOT_DONE: &[&str] = &[
    "Does not apply to this patient",
    "Surgeon decided otherwise",
    "Not available in this room",
    "No time before the next step",
    "Tried, could not be had",
];

/// Why an answer is opened again.
pub(super) const REOPEN: &[&str] =
    &["Touched by mistake", "Something changed since", "Wrong value entered", "The surgeon wants it checked again"];

/// Why a count is corrected.
pub(super) const CORRECT: &[&str] = &[
    "The machine shows another number",
    "A shot was tapped twice",
    "A shot was forgotten",
    "Counted in the wrong step",
];

/// Why a gate is passed by spoken word.
pub(super) const WORD: &[&str] = &[
    "Bleeding: cannot wait",
    "Patient unstable: cannot wait",
    "Done and seen, entered later",
    "Somebody who must say yes is not in the room",
];

/// Why the team pauses.
pub(super) const PAUSE: &[&str] = &["Waiting for the machine", "Waiting for an instrument", "Anaesthesia needs time"];

/// Asks for a reason.
pub(super) fn ask(app: &Shared, asked: Asked, title: &str, hint: &str, reasons: &[&str]) {
    let Some(window) = window(app) else { return };
    app.borrow_mut().asked = asked;
    let shown = window.global::<ReasonAsked>();
    shown.set_title(title.into());
    shown.set_hint(hint.into());
    let rows = reasons.iter().enumerate().map(|(index, reason)| row(&index.to_string(), reason, ""));
    shown.set_rows(model(rows.collect()));
    window.global::<Shell>().set_over(Over::Reason);
}

/// The words of the reason that was touched.
pub(super) fn chosen(app: &Shared, id: &str) -> String {
    let Some(window) = window(app) else { return String::new() };
    let rows = window.global::<ReasonAsked>().get_rows();
    rows.iter().find(|row| row.id == id).map(|row| row.text.to_string()).unwrap_or_default()
}

/// A row of a list.
pub(super) fn row(id: &str, text: &str, detail: &str) -> PickRow {
    PickRow { id: id.into(), text: text.into(), detail: detail.into(), mark: Sign::None, ..PickRow::default() }
}

/// Asks for one of a list.
pub(super) fn pick(app: &Shared, asked: Asked, title: &str, hint: &str, columns: i32, rows: Vec<PickRow>) {
    let Some(window) = window(app) else { return };
    app.borrow_mut().asked = asked;
    let shown = window.global::<PickAsked>();
    shown.set_title(title.into());
    shown.set_hint(hint.into());
    shown.set_columns(columns);
    shown.set_rows(model(rows));
    window.global::<Shell>().set_over(Over::Pick);
}

/// Asks which option of a long choice.
pub(super) fn ask_option(app: &Shared, check: &Check, options: &[ChoiceOption]) {
    let rows = options.iter().map(|option| PickRow { heed: option.heed, ..row(&option.id, &option.text, "") });
    let hint = check.detail.clone().unwrap_or_default();
    pick(app, Asked::Option { check: check.id.clone() }, &check.text, &hint, 1, rows.collect());
}

/// Asks which criterion of a view or a pin position was not met.
pub(super) fn ask_rejection(app: &Shared, id: &str) {
    let Some((_, check)) = here(app, id) else { return };
    let (CheckKind::View { criteria, .. } | CheckKind::Pin { criteria, .. }) = &check.ask else { return };
    let rows = criteria.iter().enumerate().map(|(index, criterion)| row(&index.to_string(), criterion, ""));
    pick(app, Asked::Rejected { check: check.id.clone() }, "What was not met", &check.text, 1, rows.collect());
}

//! The overlays as the screens around a case open them.

use super::app::{Shared, window};
use super::around::{self, AroundAsked};
use super::asked::Asked;
use super::case_view::model;
use super::say;
use brimline_ui::{NumberAsked, Over, PasscodeAsked, PickAsked, PickRow, Shell, TextAsked};
use slint::{ComponentHandle, SharedString, TimerMode};
use std::time::Duration;

/// Words to be typed.
pub(super) struct TextOf<'a> {
    pub title: &'a str,
    pub hint: &'a str,
    pub typed: &'a str,
    pub characters_max: i32,
    pub may_be_empty: bool,
}

/// Asks for words.
pub(super) fn text(app: &Shared, asked: AroundAsked, question: &TextOf<'_>) {
    let Some(window) = window(app) else { return };
    around::ask(app, asked);
    let shown = window.global::<TextAsked>();
    shown.set_title(question.title.into());
    shown.set_hint(question.hint.into());
    shown.set_accept_text("Accept".into());
    shown.set_may_be_empty(question.may_be_empty);
    shown.set_characters_max(question.characters_max);
    shown.set_typed(question.typed.into());
    window.global::<Shell>().set_over(Over::Text);
}

/// A number to be typed.
pub(super) struct NumberOf<'a> {
    pub title: &'a str,
    pub hint: &'a str,
    pub unit: &'a str,
    pub range: &'a str,
    pub negatives: bool,
    /// Why the last number was not taken; empty: nothing.
    pub refusal: &'a str,
}

/// Asks for a number.
pub(super) fn number(app: &Shared, asked: AroundAsked, question: &NumberOf<'_>) {
    let Some(window) = window(app) else { return };
    around::ask(app, asked);
    let shown = window.global::<NumberAsked>();
    shown.set_title(question.title.into());
    shown.set_hint(question.hint.into());
    shown.set_unit(question.unit.into());
    shown.set_range(question.range.into());
    shown.set_refusal(question.refusal.into());
    shown.set_fractions(true);
    shown.set_negatives(question.negatives);
    shown.set_secret(false);
    shown.set_clock(false);
    shown.set_accept_text("Accept".into());
    shown.set_other("".into());
    shown.set_typed(SharedString::new());
    window.global::<Shell>().set_over(Over::Number);
}

/// Asks for one of several rows.
pub(super) fn pick(app: &Shared, asked: AroundAsked, title: &str, hint: &str, rows: Vec<PickRow>) {
    let Some(window) = window(app) else { return };
    around::ask(app, asked);
    let shown = window.global::<PickAsked>();
    shown.set_title(title.into());
    shown.set_hint(hint.into());
    shown.set_columns(if rows.len() > 4 { 2 } else { 1 });
    shown.set_rows(model(rows));
    window.global::<Shell>().set_over(Over::Pick);
}

/// A row to be picked.
pub(super) fn row(id: &str, text: &str, detail: &str, chosen: bool) -> PickRow {
    PickRow { id: id.into(), text: text.into(), detail: detail.into(), chosen, ..PickRow::default() }
}

/// A passcode to be typed by its owner.
pub(super) struct PasscodeOf<'a> {
    pub title: &'a str,
    pub name: &'a str,
    pub hint: &'a str,
    pub accept: &'a str,
    /// Why the last digits were not taken; empty: nothing.
    pub refusal: &'a str,
    /// Seconds until the next try.
    pub wait_seconds: u64,
}

/// Asks for a passcode; what was typed before is gone.
pub(super) fn passcode(app: &Shared, asked: AroundAsked, question: &PasscodeOf<'_>) {
    let Some(window) = window(app) else { return };
    around::ask(app, asked);
    let shown = window.global::<PasscodeAsked>();
    shown.set_title(question.title.into());
    shown.set_name(question.name.into());
    shown.set_hint(question.hint.into());
    shown.set_accept_text(question.accept.into());
    shown.set_refusal(question.refusal.into());
    shown.set_typed(SharedString::new());
    wait(app, question.wait_seconds);
    window.global::<Shell>().set_over(Over::Passcode);
}

/// Shows the wait for the next try and counts it down.
fn wait(app: &Shared, seconds: u64) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    around.wait.stop();
    window.global::<PasscodeAsked>().set_wait_seconds(i32::try_from(seconds).unwrap_or(i32::MAX));
    if seconds == 0 {
        return;
    }
    let weak = std::rc::Rc::downgrade(app);
    around.wait.start(TimerMode::Repeated, Duration::from_secs(1), move || {
        let Some(app) = weak.upgrade() else { return };
        let Some(window) = super::app::window(&app) else { return };
        let shown = window.global::<PasscodeAsked>();
        let left = shown.get_wait_seconds().saturating_sub(1).max(0);
        shown.set_wait_seconds(left);
        if left == 0 {
            around::of(&app).wait.stop();
        }
    });
}

/// Forgets digits that were typed and not taken.
pub(super) fn clear_secret(app: &Shared) {
    if let Some(window) = window(app) {
        window.global::<PasscodeAsked>().set_typed(SharedString::new());
    }
}

/// Says what happened, what is still safe, and what to do.
pub(super) fn tell(app: &Shared, title: &str, text: &str, safe: &str, advice: &str) {
    around::ask(app, AroundAsked::Message);
    let text = say::capitalised(text);
    let shown =
        say::Message { title, text: &text, safe, advice, accept: "Understood", held: false, decline: "", heed: true };
    say::message(app, Asked::Around, &shown);
}

/// Says what was done.
pub(super) fn say(app: &Shared, title: &str, text: &str, safe: &str) {
    around::ask(app, AroundAsked::Message);
    let shown =
        say::Message { title, text, safe, advice: "", accept: "Understood", held: false, decline: "", heed: false };
    say::message(app, Asked::Around, &shown);
}

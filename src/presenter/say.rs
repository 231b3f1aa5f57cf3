//! What the program has to say: refusals and messages, each with what is still safe and what to do.

use super::app::{Shared, window};
use super::asked::Asked;
use brimline_ui::{MessageShown, Over, Shell};
use slint::ComponentHandle;

/// A message over the screen.
pub(super) struct Message<'a> {
    pub title: &'a str,
    pub text: &'a str,
    pub safe: &'a str,
    pub advice: &'a str,
    pub accept: &'a str,
    pub held: bool,
    /// Empty: there is nothing to decline.
    pub decline: &'a str,
    pub heed: bool,
}

/// Shows a message; `asked` says what accepting it does.
pub(super) fn message(app: &Shared, asked: Asked, message: &Message<'_>) {
    let Some(window) = window(app) else { return };
    app.borrow_mut().asked = asked;
    let shown = window.global::<MessageShown>();
    shown.set_title(message.title.into());
    shown.set_text(message.text.into());
    shown.set_safe(message.safe.into());
    shown.set_advice(message.advice.into());
    shown.set_accept_text(message.accept.into());
    shown.set_accept_held(message.held);
    shown.set_decline_text(message.decline.into());
    shown.set_heed(message.heed);
    window.global::<Shell>().set_over(Over::Message);
}

/// Says why a touch did nothing.
pub(super) fn refused(app: &Shared, why: &str) {
    let text = capitalised(why);
    let shown = Message {
        title: "That was not entered",
        text: &text,
        safe: "Nothing is lost; shots are still counted.",
        advice: "What stands in the way comes first. Where that cannot be, the surgeon's word is entered under More.",
        accept: "Understood",
        held: false,
        decline: "",
        heed: true,
    };
    message(app, Asked::Message, &shown);
}

/// A sentence with its first letter large.
pub(super) fn capitalised(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

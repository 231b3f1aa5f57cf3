//! Time on the screens, and the key that a pedal sends.

use super::app::{Shared, refresh};
use crate::case::{Case, Elapsed};
use brimline_ui::{AppWindow, Place, Shell};
use slint::platform::Key;
use slint::{ComponentHandle, SharedString, TimerMode};
use std::time::Duration;

/// How often the clocks on screen are set: once a second shows every minute and second as it turns.
const TICK: Duration = Duration::from_secs(1);

/// Keeps the clocks of a case going while a screen of it shows.
pub(super) fn connect(app: &Shared) {
    let weak = std::rc::Rc::downgrade(app);
    app.borrow().tick.start(TimerMode::Repeated, TICK, move || {
        let Some(app) = weak.upgrade() else { return };
        let Some(window) = app.borrow().window.upgrade() else { return };
        super::home::tick(&window, &app);
        if app.borrow().open.is_some() && of_case(&window) {
            super::case_view::fill_clocks(&window, &app);
        }
    });
    let Some(window) = app.borrow().window.upgrade() else { return };
    let weak = std::rc::Rc::downgrade(app);
    window.global::<Shell>().on_saving_changed(move || {
        if let Some(app) = weak.upgrade() {
            refresh(&app);
        }
    });
}

fn of_case(window: &AppWindow) -> bool {
    matches!(window.global::<Shell>().get_place(), Place::Operate | Place::Gate | Place::Stop | Place::Ending)
}

/// Hours, minutes and seconds: "0:18:40".
pub(super) fn long(ms: u64) -> String {
    let seconds = ms / 1_000;
    format!("{}:{:02}:{:02}", seconds / 3_600, seconds / 60 % 60, seconds % 60)
}

/// Minutes and seconds: "0:34".
pub(super) fn short(seconds: f64) -> String {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a run is between 0 and an hour")]
    let seconds = seconds.max(0.0).round() as u64;
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// The wall clock of a time since opening: "10:39".
pub(super) fn wall(case: &Case, at: Elapsed) -> String {
    case.wall_clock(at).map_or_else(String::new, |at| at.format("%H:%M").to_string())
}

/// Digits of a time of day with a colon before the minutes, as far as they are typed.
pub(super) fn typed(digits: &str) -> String {
    match digits.len().checked_sub(2).filter(|hours| *hours > 0 && digits.is_ascii()) {
        Some(hours) => format!("{}:{}", &digits[..hours], &digits[hours..]),
        None => digits.to_owned(),
    }
}

/// The text of the key event that a named key sends.
pub(super) fn key_text(name: &str) -> SharedString {
    let function = name.strip_prefix('F').and_then(|number| number.parse::<u8>().ok());
    let functions = [
        Key::F1,
        Key::F2,
        Key::F3,
        Key::F4,
        Key::F5,
        Key::F6,
        Key::F7,
        Key::F8,
        Key::F9,
        Key::F10,
        Key::F11,
        Key::F12,
        Key::F13,
        Key::F14,
        Key::F15,
        Key::F16,
        Key::F17,
        Key::F18,
        Key::F19,
        Key::F20,
        Key::F21,
        Key::F22,
        Key::F23,
        Key::F24,
    ];
    let key = match (function, name) {
        (Some(number @ 1..=24), _) => functions.into_iter().nth(usize::from(number) - 1).unwrap_or(Key::F9),
        (_, "PageUp") => Key::PageUp,
        (_, "PageDown") => Key::PageDown,
        (_, "Home") => Key::Home,
        (_, "End") => Key::End,
        (_, "Insert") => Key::Insert,
        (_, "Pause") => Key::Pause,
        (_, "ScrollLock") => Key::ScrollLock,
        _ => Key::F9,
    };
    char::from(key).to_string().into()
}

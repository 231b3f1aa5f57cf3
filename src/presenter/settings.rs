//! Settings of the site, and where their file lies.

use super::app::{App, Shared, window};
use super::case_view::model;
use super::{home, phrases, say, settings_change, settings_site};
use crate::settings::{DecimalSign, Settings};
use brimline_ui::{AppWindow, Place, SettingKind, SettingRow, SettingsView, Shell};
use slint::{ComponentHandle, SharedString};
use std::path::Path;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<SettingsView>();
    let weak = std::rc::Rc::downgrade(app);
    screen.on_change(move |id: SharedString| {
        if let Some(app) = weak.upgrade() {
            settings_change::change(&app, &id);
        }
    });
    let weak = std::rc::Rc::downgrade(app);
    screen.on_step(move |touch| {
        if let Some(app) = weak.upgrade() {
            settings_change::step(&app, &touch.id, touch.up);
        }
    });
    let weak = std::rc::Rc::downgrade(app);
    screen.on_home(move || {
        if let Some(app) = weak.upgrade() {
            home::show(&app);
        }
    });
}

/// Shows the screen.
pub(super) fn show(app: &Shared) {
    fill(app, "");
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Settings);
    }
}

/// Fills the screen. `banner`: what is wrong, in one line; empty: nothing.
pub(super) fn fill(app: &Shared, banner: &str) {
    let Some(window) = window(app) else { return };
    let (rows, file) = {
        let app = app.borrow();
        (rows(&app), app.settings_path.display().to_string())
    };
    let screen = window.global::<SettingsView>();
    screen.set_rows(model(rows));
    screen.set_file(file.into());
    screen.set_banner(banner.into());
}

/// Settings in force as rows.
fn rows(app: &App) -> Vec<SettingRow> {
    let mut rows = of_program(&app.settings, &app.store);
    // What is set elsewhere stays last.
    let fixed = rows.pop();
    rows.extend(settings_site::rows(app));
    rows.extend(fixed);
    rows
}

fn of_program(settings: &Settings, store: &Path) -> Vec<SettingRow> {
    let sign = settings.decimal_sign.character();
    let signers = settings.signers.iter().filter_map(|code| phrases::role_of(code));
    let signers = phrases::roles(&signers.collect::<Vec<_>>());
    let signers = if signers.is_empty() { "As the pathway says".to_owned() } else { say::capitalised(&signers) };
    let decimal = match settings.decimal_sign {
        DecimalSign::Point => "1.5",
        DecimalSign::Comma => "1,5",
    };
    let hold = phrases::number(f64::from(settings.hold_ms) / 1_000.0, sign);
    let entry = settings.entry;
    let (burst, late) = (seconds(entry.burst_ms, sign), seconds(entry.late_ms, sign));
    let steps = |row: SettingRow, id| {
        let (lowest, highest) = settings_change::ends(settings, id);
        SettingRow { kind: SettingKind::Step, lowest, highest, ..row }
    };
    vec![
        row("site", "Site", settings.site.as_deref().unwrap_or_default(), "stands in records"),
        SettingRow {
            kind: SettingKind::Fixed,
            ..row("language", "Language", &settings.language, "the screens speak English in this version")
        },
        row("decimal-sign", "Decimal sign", decimal, "files always use the point"),
        row("pedal-key", "Pedal key", settings.pedal_key.name(), "counts one shot per press"),
        steps(row("hold", "Held touch", &format!("{hold} s"), &range("hold", sign)), "hold"),
        row("signers", "Who signs", &signers, "from the next case on"),
        steps(row("burst", "A burst is within", &burst, &range("burst", sign)), "burst"),
        steps(
            row("burst-answers", "A burst is from", &format!("{} answers", entry.burst_answers), "2 to 20"),
            "burst-answers",
        ),
        steps(row("late", "An entry is late after", &late, "behind its step"), "late"),
        SettingRow {
            kind: SettingKind::Fixed,
            ..row("review-index", "Review's index", &index(settings), "set by review_index in the file")
        },
        row("full-screen", "Full screen", phrases::yes(settings.full_screen), ""),
        SettingRow {
            kind: SettingKind::Fixed,
            ..row("store", "Cases and people", &store.display().to_string(), "set by --store or in the file")
        },
    ]
}

/// Where Review keeps what it counts.
fn index(settings: &Settings) -> String {
    settings.review_index.as_ref().map_or_else(|| "on this tablet".to_owned(), |name| format!("PostgreSQL, \"{name}\""))
}

pub(super) fn row(id: &str, label: &str, value: &str, detail: &str) -> SettingRow {
    SettingRow {
        id: id.into(),
        label: label.into(),
        value: value.into(),
        detail: detail.into(),
        kind: SettingKind::Pick,
        lowest: false,
        highest: false,
    }
}

fn range(id: &str, sign: char) -> String {
    let (from, to) = settings_change::range(id);
    format!("{} to {}", seconds(from, sign), seconds(to, sign))
}

/// Milliseconds as seconds.
#[allow(clippy::cast_precision_loss, reason = "a setting is at most a day")]
fn seconds(ms: u64, sign: char) -> String {
    format!("{} s", phrases::number(ms as f64 / 1_000.0, sign))
}

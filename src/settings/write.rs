//! Settings as the text of `settings.toml`.

use super::{DecimalSign, FORMAT, Settings};
use std::fmt::Write;

/// The file that sets these members. What is as by default is left out, so that the file says what the site decided.
#[must_use]
pub fn write(settings: &Settings) -> String {
    let default = Settings::default();
    let mut text = format!("brimline_settings = {FORMAT}\n");
    let mut set = |differs: bool, member: &str, value: String| {
        if differs {
            let _ = writeln!(text, "{member} = {value}");
        }
    };
    let Settings { site, language, decimal_sign, pedal_key, hold_ms, store, signers, .. } = settings;
    set(site.is_some(), "site", quoted(site.as_deref().unwrap_or_default()));
    set(*language != default.language, "language", quoted(language));
    set(*decimal_sign != default.decimal_sign, "decimal_sign", quoted(sign(*decimal_sign)));
    set(*pedal_key != default.pedal_key, "pedal_key", quoted(pedal_key.name()));
    set(*hold_ms != default.hold_ms, "hold_ms", hold_ms.to_string());
    let folder = store.as_ref().map(|store| store.to_string_lossy()).unwrap_or_default();
    set(store.is_some(), "store", quoted(&folder));
    let list: Vec<String> = signers.iter().map(|code| quoted(code)).collect();
    set(!signers.is_empty(), "signers", format!("[{}]", list.join(", ")));
    let (entry, limits) = (settings.entry, default.entry);
    table(
        &mut text,
        "entry",
        &[
            (entry.burst_ms != limits.burst_ms, "burst_ms", entry.burst_ms.to_string()),
            (entry.burst_answers != limits.burst_answers, "burst_answers", entry.burst_answers.to_string()),
            (entry.late_ms != limits.late_ms, "late_ms", entry.late_ms.to_string()),
        ],
    );
    let (window, size) = (settings.window, default.window);
    table(
        &mut text,
        "window",
        &[
            (window.width != size.width, "width", window.width.to_string()),
            (window.height != size.height, "height", window.height.to_string()),
            (settings.full_screen != default.full_screen, "full_screen", settings.full_screen.to_string()),
        ],
    );
    text
}

/// A table with the members that are set; nothing if none is.
fn table(text: &mut String, name: &str, members: &[(bool, &str, String)]) {
    if !members.iter().any(|(differs, ..)| *differs) {
        return;
    }
    let _ = writeln!(text, "\n[{name}]");
    for (_, member, value) in members.iter().filter(|(differs, ..)| *differs) {
        let _ = writeln!(text, "{member} = {value}");
    }
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

fn sign(sign: DecimalSign) -> &'static str {
    match sign {
        DecimalSign::Point => "point",
        DecimalSign::Comma => "comma",
    }
}

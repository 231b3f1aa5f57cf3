//! Changes to the settings of the site.
//!
//! The file is read again before it is written: what flags and variables set for this start stays out of it, and a
//! file that cannot be read is never written over.

use super::app::{Shared, window};
use super::around::{self, AroundAsked};
use super::questions::{self, TextOf, row};
use super::{clocks, phrases, say, settings as screen, settings_site};
use crate::people::Role;
use crate::settings::{self, DecimalSign, Layer, PedalKey, Settings};
use brimline_ui::{PickRow, Shell, Touch, Typing};
use slint::{ComponentHandle, SharedString};
use std::io::ErrorKind;
use std::path::Path;

/// Keys offered; others are set in the file.
const KEYS: [&str; 8] = ["F9", "F10", "F11", "F12", "PageUp", "PageDown", "Home", "End"];
/// Longest name of a site, characters: what the reader of settings accepts.
const SITE_MAX: i32 = 80;

/// Lowest and highest value of a setting that is stepped; milliseconds, but answers for "burst-answers". The reader
/// of settings has the last word.
pub(super) fn range(id: &str) -> (u64, u64) {
    match id {
        "hold" => (300, 1_500),
        "burst" => (100, 10_000),
        "burst-answers" => (2, 20),
        _ => (10_000, 86_400_000),
    }
}

fn size(id: &str) -> u64 {
    match id {
        "hold" => 100,
        "burst" => 500,
        "burst-answers" => 1,
        _ => 30_000,
    }
}

fn value(settings: &Settings, id: &str) -> u64 {
    match id {
        "hold" => u64::from(settings.hold_ms),
        "burst" => settings.entry.burst_ms,
        "burst-answers" => u64::from(settings.entry.burst_answers),
        _ => settings.entry.late_ms,
    }
}

/// Whether no step further down or up is left.
pub(super) fn ends(settings: &Settings, id: &str) -> (bool, bool) {
    let ((from, to), value) = (range(id), value(settings, id));
    (value <= from, value >= to)
}

/// One up or one down.
pub(super) fn step(app: &Shared, id: &str, up: bool) {
    let now = value(&app.borrow().settings, id);
    let (from, to) = range(id);
    let next = if up { now.saturating_add(size(id)) } else { now.saturating_sub(size(id)) }.clamp(from, to);
    let small = u32::try_from(next).unwrap_or(u32::MAX);
    save(app, |settings| match id {
        "hold" => settings.hold_ms = small,
        "burst" => settings.entry.burst_ms = next,
        "burst-answers" => settings.entry.burst_answers = small,
        "late" => settings.entry.late_ms = next,
        _ => {}
    });
}

/// A setting was touched.
pub(super) fn change(app: &Shared, id: &str) {
    let now = app.borrow().settings.clone();
    let ask = |title: &str, hint: &str, rows| {
        questions::pick(app, AroundAsked::Setting(id.to_owned()), title, hint, rows);
    };
    match id {
        "site" => {
            let typed = now.site.as_deref().unwrap_or_default();
            let title = "Name of the site, as it stands in records";
            let question = TextOf { title, hint: "", typed, characters_max: SITE_MAX, may_be_empty: true };
            questions::text(app, AroundAsked::Setting(id.to_owned()), &question);
        }
        "decimal-sign" => {
            let is = |sign| now.decimal_sign == sign;
            let rows = vec![
                row("point", "Point, 1.5", "", is(DecimalSign::Point)),
                row("comma", "Comma, 1,5", "", is(DecimalSign::Comma)),
            ];
            ask("Decimal sign", "On pads and screens; files always use the point", rows);
        }
        "pedal-key" => {
            let rows = KEYS.iter().map(|key| row(key, key, "", now.pedal_key.name() == *key)).collect();
            ask("Which key the pedal sends", "Counts one shot per press", rows);
        }
        "signers" => ask("Whose signatures make a record complete", "From the next case on", signer_rows(&now)),
        "full-screen" => save(app, |settings| settings.full_screen = !settings.full_screen),
        id if settings_site::owns(id) => settings_site::change(app, id),
        _ => {}
    }
}

fn signer_rows(now: &Settings) -> Vec<PickRow> {
    let mut rows = vec![row("pathway", "As the pathway says", "", now.signers.is_empty())];
    rows.extend(Role::ALL.into_iter().map(|role| {
        let code = phrases::role_code(role);
        row(&code, &say::capitalised(role.word()), "touch to add or take away", now.signers.contains(&code))
    }));
    rows.push(row("done", "That is all", "", false));
    rows
}

/// Words were typed for a setting.
pub(super) fn text(app: &Shared, id: &str, text: &str) {
    around::close(app);
    if settings_site::owns(id) {
        return settings_site::text(app, text);
    }
    if id == "site" {
        save(app, |settings| settings.site = (!text.is_empty()).then(|| text.to_owned()));
    }
}

/// A row was touched for a setting.
pub(super) fn picked(app: &Shared, setting: &str, id: &str) {
    around::close(app);
    match setting {
        "decimal-sign" => {
            let sign = if id == "comma" { DecimalSign::Comma } else { DecimalSign::Point };
            save(app, |settings| settings.decimal_sign = sign);
        }
        "pedal-key" => {
            if let Ok(key) = id.parse::<PedalKey>() {
                save(app, |settings| settings.pedal_key = key.clone());
            }
        }
        "signers" if id == "pathway" => save(app, |settings| settings.signers.clear()),
        "signers" if id != "done" => {
            save(app, |settings| match settings.signers.iter().position(|code| code == id) {
                Some(index) => {
                    settings.signers.remove(index);
                }
                None => settings.signers.push(id.to_owned()),
            });
            change(app, "signers");
        }
        other => settings_site::picked(app, other, id),
    }
}

/// A number was typed for a setting.
pub(super) fn number(app: &Shared, id: &str, text: &str) {
    settings_site::number(app, id, text);
}

/// Changes a setting in the file and at once.
pub(super) fn save(app: &Shared, change: impl Fn(&mut Settings)) {
    let (world, path, mut now) = {
        let app = app.borrow();
        (app.world.clone(), app.settings_path.clone(), app.settings.clone())
    };
    let disk = &*world.disk;
    let written = written(disk, &path).and_then(|mut file| {
        change(&mut file);
        let text = settings::write(&file);
        settings::read(text.as_bytes()).map_err(|fault| fault.to_string())?;
        let folder = path.parent().unwrap_or(Path::new("."));
        let done = disk.create_folder(folder).and_then(|()| disk.replace(&path, text.as_bytes()));
        done.map_err(|fault| fault.to_string())
    });
    match written {
        Ok(()) => {
            change(&mut now);
            app.borrow_mut().settings = now;
            in_force(app);
            screen::fill(app, "");
        }
        Err(fault) => {
            let banner = format!("Not changed. {}: {fault}. What was set before holds.", path.display());
            screen::fill(app, &banner);
        }
    }
}

/// What the file sets now; a file that is not there sets nothing.
fn written(disk: &dyn crate::ports::Disk, path: &Path) -> Result<Settings, String> {
    let layer = match disk.read(path, settings::MAX_BYTES) {
        Ok(bytes) => settings::read(&bytes).map_err(|fault| fault.to_string())?,
        Err(fault) if fault.kind() == ErrorKind::NotFound => Layer::default(),
        Err(fault) => return Err(fault.to_string()),
    };
    Ok(Settings::of(Layer::default(), Layer::default(), layer))
}

/// Puts the settings into the window: pedal key, decimal sign, held touch, full screen.
pub(super) fn in_force(app: &Shared) {
    let Some(window) = window(app) else { return };
    let now = app.borrow().settings.clone();
    window.global::<Shell>().set_pedal_key(clocks::key_text(now.pedal_key.name()));
    window.global::<Typing>().set_decimal_sign(SharedString::from(now.decimal_sign.character().to_string()));
    window.global::<Touch>().set_hold(i64::from(now.hold_ms));
    if window.window().is_fullscreen() != now.full_screen {
        window.window().set_fullscreen(now.full_screen);
    }
}

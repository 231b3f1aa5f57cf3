//! Settings of the machine, of pin findings and of eligibility: rows, and what a touch on one asks.
//!
//! A display is learnt as `carm` learns it: read with the joint at zero, and again after a move of about 20° whose way is
//! said. What it does not do: it guesses no direction from a sign.

use super::app::{App, Shared};
use super::around::{self, AroundAsked};
use super::numbers;
use super::questions::{self, NumberOf, TextOf, row};
use super::settings::row as setting;
use super::settings_change::save;
use crate::carm::JointScale;
use crate::eligibility::PRIOR_PERCENT;
use crate::pin::MARGIN_LIMIT;
use crate::settings::{
    CountsSetting, DISPLAYS, DisplaySetting, LENGTHS, MachineSettings, Settings, TubeSetting, UNSURE,
};
use crate::units::Degrees;
use brimline_ui::{PickRow, SettingRow};

/// How far a joint is moved to learn its display, degrees.
const LEARNT_BY_DEG: f64 = 20.0;
/// Longest name of a machine, characters: what the reader of settings accepts.
const NAME_MAX: i32 = 80;

/// Words of the lengths, in the order of [`LENGTHS`].
const LENGTH_WORDS: [&str; 8] = [
    "source to detector",
    "source to isocentre",
    "isocentre to the receptor",
    "half the receptor's width",
    "isocentre to the tube's housing",
    "half the housing's width",
    "table with mattress, thick",
    "half the table's width",
];

/// What moves, and which way, to learn a display; in the order of [`DISPLAYS`].
const LEARNT_BY: [&str; 3] = [
    "The machine turned about 20° anticlockwise, seen from above",
    "The upper end went about 20° to the right of somebody at the stand who faces the table",
    "The upper end went about 20° away from the stand",
];

/// The rows, in the order they are shown.
pub(super) fn rows(app: &App) -> Vec<SettingRow> {
    let (machine, settings) = (&app.settings.machine, &app.settings);
    let tube = match machine.tube {
        None => "",
        Some(TubeSetting::UnderTable) => "under the table",
        Some(TubeSetting::AboveTable) => "above the table",
    };
    let mut rows = vec![
        setting(
            "machine-name",
            "C-arm: name",
            machine.name.as_deref().unwrap_or_default(),
            "its readings are told of it",
        ),
        setting("machine-tube", "C-arm: tube when learnt", tube, "a scale holds for one side of the table"),
    ];
    rows.extend((0..DISPLAYS.len()).map(|at| {
        let said = machine.displays[at].map(|display| display_words(app, display)).unwrap_or_default();
        setting(
            &format!("machine-{}", DISPLAYS[at]),
            &format!("C-arm: {} display", DISPLAYS[at]),
            &said,
            "learnt by two readings",
        )
    }));
    rows.extend((0..LENGTHS.len()).map(|at| {
        let said = machine.lengths_mm[at].map(|mm| format!("{} mm", app.decimal(mm))).unwrap_or_default();
        setting(&format!("machine-{}", LENGTHS[at]), &format!("C-arm: {}", LENGTH_WORDS[at]), &said, "")
    }));
    let margin = settings.pin.margin_mm.unwrap_or(MARGIN_LIMIT.0);
    rows.push(setting(
        "pin-margin",
        "A margin is short below",
        &format!("{} mm", app.decimal(margin)),
        "asks, never stops",
    ));
    let [from, to] = settings.eligibility.prior_percent.unwrap_or(PRIOR_PERCENT);
    let prior = format!("{} to {} %", app.decimal(from), app.decimal(to));
    rows.push(setting("prior", "Joint is the source, before tests", &prior, "15 to 30 % in the published policies"));
    let confirmed = match settings.eligibility.confirmed.len() {
        0 => "none".to_owned(),
        count => format!("{count} of {}", UNSURE.len()),
    };
    rows.push(setting("confirmed", "Unsure thresholds confirmed", &confirmed, "others decide nothing"));
    rows
}

fn display_words(app: &App, display: DisplaySetting) -> String {
    let way = match display.counts {
        CountsSetting::Up => "up",
        CountsSetting::Down => "down",
    };
    format!("{}° at zero, counts {way}", app.decimal(display.zero_deg))
}

/// Whether a row is one of these.
pub(super) fn owns(id: &str) -> bool {
    id.starts_with("machine-") || ["pin-margin", "prior", "confirmed"].contains(&id)
}

/// A row was touched.
pub(super) fn change(app: &Shared, id: &str) {
    let now = app.borrow().settings.clone();
    match id {
        "machine-name" => {
            let typed = now.machine.name.as_deref().unwrap_or_default();
            let title = "What the room calls the C-arm that was learnt";
            let question = TextOf { title, hint: "", typed, characters_max: NAME_MAX, may_be_empty: true };
            questions::text(app, AroundAsked::Setting(id.to_owned()), &question);
        }
        "machine-tube" => {
            let rows = vec![row("under", "Under the table", "", false), row("above", "Above the table", "", false)];
            pick(app, id, "Where the tube was when the displays were learnt", "", rows);
        }
        "confirmed" => {
            pick(app, id, "Thresholds compared with the policy itself", "Touch to add or take away", confirmed(&now));
        }
        _ => ask(app, id, ""),
    }
}

fn pick(app: &Shared, id: &str, title: &str, hint: &str, rows: Vec<PickRow>) {
    questions::pick(app, AroundAsked::Setting(id.to_owned()), title, hint, rows);
}

fn confirmed(now: &Settings) -> Vec<PickRow> {
    let of = |id: &&str| {
        let (policy, criterion) = id.split_once('/').unwrap_or((id, ""));
        let on = now.eligibility.confirmed.iter().any(|known| known == id);
        row(
            id,
            &format!("{policy}: {}", criterion.replace('-', " ")),
            if on { "confirmed" } else { "not confirmed" },
            on,
        )
    };
    UNSURE.iter().map(of).chain([row("done", "That is all", "", false)]).collect()
}

/// A number that is asked: title, hint, unit, from, to.
struct Asks {
    title: String,
    hint: String,
    unit: &'static str,
    from: f64,
    to: f64,
}

fn asks(id: &str) -> Option<Asks> {
    let asks = |title: String, hint: &str, unit, from, to| Some(Asks { title, hint: hint.to_owned(), unit, from, to });
    let (what, after) = id.split_once('/').map_or((id, false), |(what, _)| (what, true));
    if let Some(at) = display_of(what) {
        let title = format!("What the {} display reads", DISPLAYS[at]);
        let hint = if after { LEARNT_BY[at] } else { "Beam vertical by a plumb line, boom level and square" };
        return asks(title, hint, "°", -360.0, 360.0);
    }
    if let Some(at) = length_of(what) {
        return asks(
            super::say::capitalised(LENGTH_WORDS[at]),
            "From the machine's own sheet, or measured",
            "mm",
            1.0,
            2000.0,
        );
    }
    match what {
        "pin-margin" => asks(
            "A margin is short below".to_owned(),
            "From the largest tool to an edge that was touched",
            "mm",
            1.0,
            20.0,
        ),
        "prior" if after => asks("Before the tests, at most".to_owned(), "Of a hundred such patients", "%", 1.0, 99.0),
        "prior" => asks("Before the tests, at least".to_owned(), "Of a hundred such patients", "%", 1.0, 99.0),
        _ => None,
    }
}

fn display_of(id: &str) -> Option<usize> {
    let member = id.strip_prefix("machine-")?;
    DISPLAYS.iter().position(|known| *known == member)
}

fn length_of(id: &str) -> Option<usize> {
    let member = id.strip_prefix("machine-")?;
    LENGTHS.iter().position(|known| *known == member)
}

fn ask(app: &Shared, id: &str, refusal: &str) {
    let Some(asks) = asks(id) else { return };
    let range = format!("{} to {} {}", asks.from, asks.to, asks.unit);
    let (title, hint, unit) = (asks.title.as_str(), asks.hint.as_str(), asks.unit);
    let number = NumberOf { title, hint, unit, range: &range, negatives: asks.from < 0.0, refusal };
    questions::number(app, AroundAsked::Setting(id.to_owned()), &number);
}

/// A number was typed. A display and a range want a second one, whose question carries the first.
pub(super) fn number(app: &Shared, id: &str, text: &str) {
    let Some(asks) = asks(id) else { return around::close(app) };
    let value = numbers::parse(app, text).filter(|value| (asks.from..=asks.to).contains(value));
    let Some(value) = value else {
        return ask(app, id, &format!("Between {} and {} {}", asks.from, asks.to, asks.unit));
    };
    let (what, first) = id.split_once('/').map_or((id, None), |(what, first)| (what, first.parse::<f64>().ok()));
    match (display_of(what), first) {
        (Some(_), None) => ask(app, &format!("{what}/{value}"), ""),
        (None, None) if what == "prior" => ask(app, &format!("{what}/{value}"), ""),
        (Some(at), Some(zero)) => learn(app, id, at, [zero, value]),
        (None, Some(from)) if value < from => ask(app, id, &format!("At least the {from} % said before")),
        _ => {
            around::close(app);
            save(app, |settings| set(settings, what, first, value));
        }
    }
}

fn learn(app: &Shared, id: &str, at: usize, [zero, after]: [f64; 2]) {
    match JointScale::learn(Degrees(zero), Degrees(after), Degrees(LEARNT_BY_DEG)) {
        Ok(learnt) => {
            around::close(app);
            save(app, |settings| settings.machine.displays[at] = Some(learnt.to_site()));
        }
        Err(fault) => ask(app, id, &super::say::capitalised(&fault.to_string())),
    }
}

fn set(settings: &mut Settings, what: &str, first: Option<f64>, value: f64) {
    if let Some(at) = length_of(what) {
        settings.machine.lengths_mm[at] = Some(value);
    } else if what == "pin-margin" {
        settings.pin.margin_mm = Some(value);
    } else if let Some(from) = first {
        settings.eligibility.prior_percent = Some([from, value]);
    }
}

/// Words were typed.
pub(super) fn text(app: &Shared, text: &str) {
    save(app, |settings| settings.machine.name = (!text.is_empty()).then(|| text.to_owned()));
}

/// A row of a list was touched.
pub(super) fn picked(app: &Shared, setting: &str, id: &str) {
    match setting {
        "machine-tube" => {
            let tube = if id == "above" { TubeSetting::AboveTable } else { TubeSetting::UnderTable };
            save(app, |settings| learnt_at(&mut settings.machine, tube));
        }
        "confirmed" if id != "done" => {
            save(app, |settings| {
                let confirmed = &mut settings.eligibility.confirmed;
                match confirmed.iter().position(|known| known == id) {
                    Some(at) => drop(confirmed.remove(at)),
                    None => confirmed.push(id.to_owned()),
                }
            });
            change(app, setting);
        }
        _ => {}
    }
}

/// With the tube on the other side every display must be learnt anew.
fn learnt_at(machine: &mut MachineSettings, tube: TubeSetting) {
    if machine.tube.unwrap_or(TubeSetting::UnderTable) != tube {
        machine.displays = [None; 3];
    }
    machine.tube = Some(tube);
}

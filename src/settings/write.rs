//! Settings as the text of `settings.toml`.

use super::dose::{LyingSetting, TubeSetting};
use super::machine::{CountsSetting, DISPLAYS, LENGTHS};
use super::{DecimalSign, DoseSettings, FORMAT, MachineSettings, ReceiveSettings, Settings};
use std::fmt::Write;
use std::path::PathBuf;

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
    let Settings { site, language, decimal_sign, pedal_key, hold_ms, store, signers, review_index, .. } = settings;
    set(site.is_some(), "site", quoted(site.as_deref().unwrap_or_default()));
    set(*language != default.language, "language", quoted(language));
    set(*decimal_sign != default.decimal_sign, "decimal_sign", quoted(sign(*decimal_sign)));
    set(*pedal_key != default.pedal_key, "pedal_key", quoted(pedal_key.name()));
    set(*hold_ms != default.hold_ms, "hold_ms", hold_ms.to_string());
    let folder = store.as_ref().map(|store| store.to_string_lossy()).unwrap_or_default();
    set(store.is_some(), "store", quoted(&folder));
    let list: Vec<String> = signers.iter().map(|code| quoted(code)).collect();
    set(!signers.is_empty(), "signers", format!("[{}]", list.join(", ")));
    set(review_index.is_some(), "review_index", quoted(review_index.as_deref().unwrap_or_default()));
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
    receive(&mut text, &settings.receive, &default.receive);
    dose(&mut text, &settings.dose, &default.dose);
    machine(&mut text, &settings.machine);
    judgement(&mut text, settings);
    text
}

fn machine(text: &mut String, set: &MachineSettings) {
    let mut members = vec![
        (set.name.is_some(), "name", quoted(set.name.as_deref().unwrap_or_default())),
        (set.tube.is_some(), "tube", set.tube.map(|tube| code(tube, TubeSetting::CODES)).unwrap_or_default()),
    ];
    members.extend(DISPLAYS.into_iter().zip(set.displays).map(|(member, display)| {
        let said = display.map(|display| {
            let counts = code(display.counts, CountsSetting::CODES);
            format!("{{ zero_deg = {:?}, counts = {counts} }}", display.zero_deg)
        });
        (display.is_some(), member, said.unwrap_or_default())
    }));
    let lengths = LENGTHS.into_iter().zip(set.lengths_mm);
    members.extend(lengths.map(|(member, mm)| (mm.is_some(), member, format!("{:?}", mm.unwrap_or_default()))));
    table(text, "machine", &members);
}

fn judgement(text: &mut String, settings: &Settings) {
    let margin = settings.pin.margin_mm;
    table(text, "pin", &[(margin.is_some(), "margin_mm", format!("{:?}", margin.unwrap_or_default()))]);
    let set = &settings.eligibility;
    let confirmed: Vec<String> = set.confirmed.iter().map(|id| quoted(id)).collect();
    let prior = set.prior_percent.unwrap_or_default();
    table(
        text,
        "eligibility",
        &[
            (!set.confirmed.is_empty(), "confirmed", format!("[{}]", confirmed.join(", "))),
            (set.prior_percent.is_some(), "prior_percent", format!("{prior:?}")),
        ],
    );
}

fn receive(text: &mut String, set: &ReceiveSettings, default: &ReceiveSettings) {
    let path = |path: &Option<PathBuf>| quoted(&path.as_ref().map(|path| path.to_string_lossy()).unwrap_or_default());
    let peers: Vec<String> = set.peers.iter().map(|peer| quoted(&peer.to_string())).collect();
    table(
        text,
        "receive",
        &[
            (set.ae_title != default.ae_title, "ae_title", quoted(&set.ae_title)),
            (set.address != default.address, "address", quoted(&set.address.to_string())),
            (set.port != default.port, "port", set.port.to_string()),
            (set.peers != default.peers, "peers", format!("[{}]", peers.join(", "))),
            (set.certificate.is_some(), "certificate", path(&set.certificate)),
            (set.key.is_some(), "key", path(&set.key)),
            (set.clients.is_some(), "clients", path(&set.clients)),
            (set.keep_days != default.keep_days, "keep_days", set.keep_days.to_string()),
            (set.object_mib != default.object_mib, "object_mib", set.object_mib.to_string()),
            (set.objects != default.objects, "objects", set.objects.to_string()),
            (set.idle_s != default.idle_s, "idle_s", set.idle_s.to_string()),
            (set.deadline_s != default.deadline_s, "deadline_s", set.deadline_s.to_string()),
            (set.associations != default.associations, "associations", set.associations.to_string()),
            (set.agree_min != default.agree_min, "agree_min", set.agree_min.to_string()),
        ],
    );
}

fn dose(text: &mut String, set: &DoseSettings, default: &DoseSettings) {
    let id = |id: &Option<String>| quoted(id.as_deref().unwrap_or_default());
    let confirmed: Vec<String> = set.confirmed.iter().map(|id| quoted(id)).collect();
    let (position, tube) = (code(set.position, LyingSetting::CODES), code(set.tube, TubeSetting::CODES));
    table(
        text,
        "dose",
        &[
            (set.coefficients.is_some(), "coefficients", id(&set.coefficients)),
            (set.levels.is_some(), "levels", id(&set.levels)),
            (!set.confirmed.is_empty(), "confirmed", format!("[{}]", confirmed.join(", "))),
            (set.position != default.position, "position", position),
            (set.tube != default.tube, "tube", tube),
        ],
    );
}

fn code<T: PartialEq>(value: T, codes: [(&str, T); 2]) -> String {
    quoted(codes.iter().find(|(_, one)| *one == value).map_or("", |(code, _)| code))
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

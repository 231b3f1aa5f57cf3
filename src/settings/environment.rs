//! Settings from `BRIMLINE_*` variables, handed in as a map.
//!
//! Variables with another name are not looked at: some belong to tests and to packaging.

use super::dose::{DoseLayer, LyingSetting, TubeSetting};
use super::member::WindowSize;
use super::{Layer, ReceiveLayer, SettingsError};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::str::FromStr;

/// Reads the variables that set a member; an empty one counts as not set.
///
/// # Errors
/// [`SettingsError`] naming the variable.
pub fn from_environment(variables: &BTreeMap<String, String>) -> Result<Layer, SettingsError> {
    let text = |member: &str| variables.get(&variable(member)).filter(|value| !value.is_empty()).cloned();
    let window: Option<WindowSize> = parsed("window", text("window"))?;
    let mut layer = Layer {
        site: text("site"),
        language: text("language"),
        decimal_sign: parsed("decimal_sign", text("decimal_sign"))?,
        pedal_key: parsed("pedal_key", text("pedal_key"))?,
        hold_ms: number("hold_ms", text("hold_ms"))?,
        store: text("store").map(PathBuf::from),
        signers: text("signers").map(|list| list.split(',').map(|code| code.trim().to_owned()).collect()),
        review_index: text("review_index"),
        ..Layer::default()
    };
    layer.entry.burst_ms = number("entry.burst_ms", text("entry.burst_ms"))?;
    layer.entry.burst_answers = number("entry.burst_answers", text("entry.burst_answers"))?;
    layer.entry.late_ms = number("entry.late_ms", text("entry.late_ms"))?;
    layer.window.width = window.map(|size| size.width);
    layer.window.height = window.map(|size| size.height);
    layer.window.full_screen = switch("window.full_screen", text("window.full_screen").as_deref())?;
    layer.receive = receive(&text)?;
    layer.dose = dose(&text)?;
    layer.judge(variable)?;
    Ok(layer)
}

/// `receive.ae_title` is set by `BRIMLINE_RECEIVE_AE_TITLE`, and so on; peers part with commas.
fn receive(text: &dyn Fn(&str) -> Option<String>) -> Result<ReceiveLayer, SettingsError> {
    let path = |member: &str| text(member).map(PathBuf::from);
    let address = text("receive.address").map(|text| text.parse().map_err(|_| format!("\"{text}\" is no IP address")));
    let peers = text("receive.peers").map(|list| list.split(',').map(|peer| peer.trim().parse()).collect());
    Ok(ReceiveLayer {
        ae_title: text("receive.ae_title"),
        address: address.transpose().map_err(|reason| wrong("receive.address", reason))?,
        port: number("receive.port", text("receive.port"))?,
        peers: peers.transpose().map_err(|reason| wrong("receive.peers", reason))?,
        certificate: path("receive.certificate"),
        key: path("receive.key"),
        clients: path("receive.clients"),
        keep_days: number("receive.keep_days", text("receive.keep_days"))?,
        object_mib: number("receive.object_mib", text("receive.object_mib"))?,
        objects: number("receive.objects", text("receive.objects"))?,
        idle_s: number("receive.idle_s", text("receive.idle_s"))?,
        deadline_s: number("receive.deadline_s", text("receive.deadline_s"))?,
        associations: number("receive.associations", text("receive.associations"))?,
        agree_min: number("receive.agree_min", text("receive.agree_min"))?,
    })
}

/// `dose.levels` is set by `BRIMLINE_DOSE_LEVELS`, and so on; what is confirmed parts with commas.
fn dose(text: &dyn Fn(&str) -> Option<String>) -> Result<DoseLayer, SettingsError> {
    Ok(DoseLayer {
        coefficients: text("dose.coefficients"),
        levels: text("dose.levels"),
        confirmed: text("dose.confirmed").map(|list| list.split(',').map(|id| id.trim().to_owned()).collect()),
        position: code("dose.position", text("dose.position").as_deref(), LyingSetting::CODES)?,
        tube: code("dose.tube", text("dose.tube").as_deref(), TubeSetting::CODES)?,
    })
}

fn code<T: Copy>(member: &str, text: Option<&str>, codes: [(&str, T); 2]) -> Result<Option<T>, SettingsError> {
    let Some(text) = text else { return Ok(None) };
    let found = codes.iter().find(|(code, _)| *code == text).map(|(_, value)| *value);
    let [(first, _), (second, _)] = codes;
    found.map(Some).ok_or_else(|| wrong(member, format!("\"{text}\" is neither \"{first}\" nor \"{second}\"")))
}

/// `hold_ms` is set by `BRIMLINE_HOLD_MS`, `entry.late_ms` by `BRIMLINE_ENTRY_LATE_MS`, both numbers of the window
/// by `BRIMLINE_WINDOW`.
fn variable(member: &str) -> String {
    let member = match member {
        "window.width" | "window.height" => "window",
        other => other,
    };
    format!("BRIMLINE_{}", member.replace('.', "_").to_ascii_uppercase())
}

fn parsed<T: FromStr<Err = String>>(member: &str, text: Option<String>) -> Result<Option<T>, SettingsError> {
    let read = text.map(|text| text.parse().map_err(|reason| wrong(member, reason)));
    read.transpose()
}

fn number<T: FromStr>(member: &str, text: Option<String>) -> Result<Option<T>, SettingsError> {
    let read = text.map(|text| text.parse().map_err(|_| wrong(member, format!("\"{text}\" is not a whole number"))));
    read.transpose()
}

fn switch(member: &str, text: Option<&str>) -> Result<Option<bool>, SettingsError> {
    match text {
        None => Ok(None),
        Some("true" | "1") => Ok(Some(true)),
        Some("false" | "0") => Ok(Some(false)),
        Some(other) => Err(wrong(member, format!("\"{other}\" is neither \"true\" nor \"false\""))),
    }
}

fn wrong(member: &str, reason: String) -> SettingsError {
    SettingsError::Member { member: variable(member), reason }
}

//! Members with a shape of their own, and the range of every number.

use serde::Deserialize;
use std::fmt;
use std::str::FromStr;

/// Held touch, milliseconds. Common practice, no source: shorter is a tap, longer tires the finger.
pub(super) const HOLD_MS: (u64, u64) = (300, 1_500);
/// Common practice, no source.
pub(super) const BURST_MS: (u64, u64) = (100, 10_000);
/// Common practice, no source. One answer alone is no burst.
pub(super) const BURST_ANSWERS: (u64, u64) = (2, 20);
/// Ten seconds to a day. Common practice, no source.
pub(super) const LATE_MS: (u64, u64) = (10_000, 86_400_000);
/// Logical pixels: the grid is laid out for 1280 and more.
pub(super) const WINDOW_WIDTH: (u64, u64) = (1_280, 7_680);
/// Logical pixels: the grid is laid out for 800 and more.
pub(super) const WINDOW_HEIGHT: (u64, u64) = (800, 4_320);
/// Characters.
const SITE_MAX: usize = 80;
/// Codes of roles, the same as in pathways; a test holds the two lists equal.
const ROLE_CODES: [&str; 6] =
    ["surgeon", "assistant", "scrub-nurse", "circulating-nurse", "radiographer", "anaesthetist"];

/// The sign between whole and broken part of a number on screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DecimalSign {
    #[default]
    Point,
    Comma,
}

impl DecimalSign {
    #[must_use]
    pub fn character(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }
}

impl FromStr for DecimalSign {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "point" => Ok(Self::Point),
            "comma" => Ok(Self::Comma),
            _ => Err(format!("\"{text}\" is neither \"point\" nor \"comma\"")),
        }
    }
}

/// A key that neither types, nor moves the focus, nor presses what has it: F1 to F24 and a few others.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct PedalKey(String);

/// Keys beside F1 to F24 that pedals and clickers send.
const OTHER_KEYS: [&str; 7] = ["PageUp", "PageDown", "Home", "End", "Insert", "Pause", "ScrollLock"];

impl PedalKey {
    /// The name, for instance "F9".
    #[must_use]
    pub fn name(&self) -> &str {
        &self.0
    }
}

impl Default for PedalKey {
    fn default() -> Self {
        Self("F9".to_owned())
    }
}

impl FromStr for PedalKey {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let function_key = (1..=24).any(|number| text == format!("F{number}"));
        if function_key || OTHER_KEYS.contains(&text) {
            return Ok(Self(text.to_owned()));
        }
        Err(format!("\"{text}\" is no key for a pedal: F1 to F24, {}", OTHER_KEYS.join(", ")))
    }
}

impl TryFrom<String> for PedalKey {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl fmt::Display for PedalKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Size of the window, logical pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WindowSize {
    pub width: u32,
    pub height: u32,
}

impl Default for WindowSize {
    fn default() -> Self {
        Self { width: 1_280, height: 800 }
    }
}

impl FromStr for WindowSize {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (width, height) = text.split_once('x').ok_or_else(|| format!("\"{text}\" is not of the form 1280x800"))?;
        let number = |part: &str| part.parse().map_err(|_| format!("\"{part}\" is not a whole number of pixels"));
        Ok(Self { width: number(width)?, height: number(height)? })
    }
}

pub(super) fn judge_site(site: &str) -> Result<(), String> {
    let length = site.chars().count();
    if site.trim().is_empty() || length > SITE_MAX || site.chars().any(char::is_control) {
        return Err(format!("1 to {SITE_MAX} printable characters are wanted"));
    }
    Ok(())
}

/// The shape of a BCP 47 tag (RFC 5646): a language of two or three letters, then parts of up to eight.
pub(super) fn judge_language(tag: &str) -> Result<(), String> {
    let mut parts = tag.split('-');
    let language = parts.next().unwrap_or("");
    let language_fits = (2..=3).contains(&language.len()) && language.chars().all(|c| c.is_ascii_lowercase());
    let part_fits = |part: &str| (1..=8).contains(&part.len()) && part.chars().all(|c| c.is_ascii_alphanumeric());
    if language_fits && tag.len() <= 35 && parts.all(part_fits) {
        return Ok(());
    }
    Err(format!("\"{tag}\" is no language tag such as \"en\" or \"de-AT\""))
}

/// The name of a section of libpq's service file.
pub(super) fn judge_service(service: &str) -> Result<(), String> {
    let fits = |letter: char| letter.is_ascii_graphic() && !matches!(letter, '[' | ']' | '=' | '#');
    if (1..=SITE_MAX).contains(&service.len()) && service.chars().all(fits) {
        return Ok(());
    }
    Err(format!("\"{}\" is no name of a libpq service", service.escape_debug()))
}

pub(super) fn judge_signers(signers: &[String]) -> Result<(), String> {
    if signers.is_empty() {
        return Err("at least one role signs; leave the member out to take the pathway's own".to_owned());
    }
    for (index, code) in signers.iter().enumerate() {
        if !ROLE_CODES.contains(&code.as_str()) {
            return Err(format!("\"{code}\" is no role; roles are {}", ROLE_CODES.join(", ")));
        }
        if signers[..index].contains(code) {
            return Err(format!("the role \"{code}\" stands twice"));
        }
    }
    Ok(())
}

//! One source of settings: every member optional, judged in one place.

use super::SettingsError;
use super::dose::DoseLayer;
use super::judgement::{EligibilityLayer, PinLayer};
use super::machine::MachineLayer;
use super::member::{self, DecimalSign, PedalKey};
use super::receive::{self, ReceiveLayer};
use serde::Deserialize;
use std::path::PathBuf;

/// Members that one source sets.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// Format version of the file, read and judged before everything else.
    #[serde(default, rename = "brimline_settings")]
    pub(super) format: Option<u32>,
    pub site: Option<String>,
    pub language: Option<String>,
    pub decimal_sign: Option<DecimalSign>,
    pub pedal_key: Option<PedalKey>,
    pub hold_ms: Option<u32>,
    pub store: Option<PathBuf>,
    pub signers: Option<Vec<String>>,
    pub review_index: Option<String>,
    #[serde(default)]
    pub entry: EntryLayer,
    #[serde(default)]
    pub window: WindowLayer,
    #[serde(default)]
    pub receive: ReceiveLayer,
    #[serde(default)]
    pub dose: DoseLayer,
    #[serde(default)]
    pub machine: MachineLayer,
    #[serde(default)]
    pub pin: PinLayer,
    #[serde(default)]
    pub eligibility: EligibilityLayer,
}

/// Members of `[entry]`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EntryLayer {
    pub burst_ms: Option<u64>,
    pub burst_answers: Option<u32>,
    pub late_ms: Option<u64>,
}

/// Members of `[window]`, logical pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WindowLayer {
    pub width: Option<u32>,
    pub height: Option<u32>,
    pub full_screen: Option<bool>,
}

impl Layer {
    /// What this layer sets, and for the rest what the other sets.
    #[must_use]
    pub fn over(self, below: Self) -> Self {
        Self {
            format: None,
            site: self.site.or(below.site),
            language: self.language.or(below.language),
            decimal_sign: self.decimal_sign.or(below.decimal_sign),
            pedal_key: self.pedal_key.or(below.pedal_key),
            hold_ms: self.hold_ms.or(below.hold_ms),
            store: self.store.or(below.store),
            signers: self.signers.or(below.signers),
            review_index: self.review_index.or(below.review_index),
            entry: EntryLayer {
                burst_ms: self.entry.burst_ms.or(below.entry.burst_ms),
                burst_answers: self.entry.burst_answers.or(below.entry.burst_answers),
                late_ms: self.entry.late_ms.or(below.entry.late_ms),
            },
            window: WindowLayer {
                width: self.window.width.or(below.window.width),
                height: self.window.height.or(below.window.height),
                full_screen: self.window.full_screen.or(below.window.full_screen),
            },
            receive: self.receive.over(below.receive),
            dose: self.dose.over(below.dose),
            machine: self.machine.over(below.machine),
            pin: self.pin.over(below.pin),
            eligibility: self.eligibility.over(below.eligibility),
        }
    }

    /// Judges values that came as flags, so that a refusal names the flag: `--hold-ms`.
    ///
    /// # Errors
    /// [`SettingsError`] naming the flag.
    pub fn from_flags(self) -> Result<Self, SettingsError> {
        self.judge(|member| format!("--{}", member.replace(['.', '_'], "-")))?;
        Ok(self)
    }

    /// Judges the values; `name` turns a member's path into how its source calls it.
    pub(super) fn judge(&self, name: fn(&str) -> String) -> Result<(), SettingsError> {
        let within = |member: &str, value: Option<u64>, range: (u64, u64)| match value {
            Some(value) if !(range.0..=range.1).contains(&value) => {
                Err(SettingsError::OutOfRange { member: name(member), value, from: range.0, to: range.1 })
            }
            _ => Ok(()),
        };
        within("hold_ms", self.hold_ms.map(u64::from), member::HOLD_MS)?;
        within("entry.burst_ms", self.entry.burst_ms, member::BURST_MS)?;
        within("entry.burst_answers", self.entry.burst_answers.map(u64::from), member::BURST_ANSWERS)?;
        within("entry.late_ms", self.entry.late_ms, member::LATE_MS)?;
        within("window.width", self.window.width.map(u64::from), member::WINDOW_WIDTH)?;
        within("window.height", self.window.height.map(u64::from), member::WINDOW_HEIGHT)?;
        for ((member, range), value) in receive::NUMBERS.into_iter().zip(self.receive.numbers()) {
            within(member, value, range)?;
        }
        self.receive.judge(name)?;
        self.dose.judge(name)?;
        self.machine.judge(name)?;
        self.pin.judge(name)?;
        self.eligibility.judge(name)?;
        let wrong = |member: &str, reason: String| SettingsError::Member { member: name(member), reason };
        if let Some(site) = &self.site {
            member::judge_site(site).map_err(|reason| wrong("site", reason))?;
        }
        if let Some(language) = &self.language {
            member::judge_language(language).map_err(|reason| wrong("language", reason))?;
        }
        if let Some(service) = &self.review_index {
            member::judge_service(service).map_err(|reason| wrong("review_index", reason))?;
        }
        if let Some(signers) = &self.signers {
            member::judge_signers(signers).map_err(|reason| wrong("signers", reason))?;
        }
        Ok(())
    }
}

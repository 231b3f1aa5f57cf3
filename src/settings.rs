//! Site settings: types, defaults, validation, and which of several sources holds.
//!
//! A member comes from a flag, else from a `BRIMLINE_*` variable, else from `settings.toml`, else from its default.
//! Each source becomes a [`Layer`] whose values are judged where they were read, so that a refusal names the source's
//! own member. What this module does not do: it reads no file and no environment (bytes and variables come in as
//! arguments), and it names no other module, because it lies under all of them. It holds no secret, and no member
//! takes one. What may never change: the meaning of format 1.

mod dose;
mod environment;
mod error;
mod file;
mod judgement;
mod layer;
mod machine;
mod member;
mod receive;
mod write;

pub use dose::{DoseLayer, DoseSettings, LyingSetting, TubeSetting};
pub use environment::from_environment;
pub use error::SettingsError;
pub use file::{FORMAT, MAX_BYTES, read};
pub use judgement::{EligibilityLayer, EligibilitySettings, PinLayer, PinSettings, UNSURE};
pub use layer::{EntryLayer, Layer, WindowLayer};
pub use machine::{CountsSetting, DISPLAYS, DisplaySetting, LENGTHS, MachineLayer, MachineSettings};
pub use member::{DecimalSign, PedalKey, WindowSize};
pub use receive::{Peer, ReceiveLayer, ReceiveSettings};
pub use write::write;

use std::path::PathBuf;

/// What holds for this site, complete.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Name of the site, as it stands in records, where a disclosure can show or hide it.
    pub site: Option<String>,
    /// Language of the screens, a BCP 47 tag.
    pub language: String,
    /// The decimal sign of number pads and of what the screens show; files always use the point.
    pub decimal_sign: DecimalSign,
    /// The key a USB pedal or clicker sends for one shot.
    pub pedal_key: PedalKey,
    /// How long a critical confirmation is held, milliseconds, 300 to 1500.
    pub hold_ms: u32,
    /// Where cases and people are kept; `None`: the platform's data directory.
    pub store: Option<PathBuf>,
    /// Codes of the roles whose signatures make a record complete; empty: those the pathway names.
    pub signers: Vec<String>,
    /// The libpq service whose PostgreSQL index Review reads and fills; `None`: the store's own file.
    pub review_index: Option<String>,
    pub entry: EntryLimits,
    pub window: WindowSize,
    /// Fill the screen rather than open a window.
    pub full_screen: bool,
    /// Receiving dose reports and images.
    pub receive: ReceiveSettings,
    /// Coefficients and levels of dose.
    pub dose: DoseSettings,
    /// What was learnt of the room's C-arm.
    pub machine: MachineSettings,
    /// Limits of pin findings.
    pub pin: PinSettings,
    /// Published thresholds that the site confirmed.
    pub eligibility: EligibilitySettings,
}

/// When entries are marked for the team to look at again.
///
/// Source: that lists are ticked in a burst or long afterwards is a published failure of checklists (Kulp et al.,
/// CHI 2020); the numbers themselves are common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EntryLimits {
    /// Answers within this many milliseconds of each other are a burst.
    pub burst_ms: u64,
    /// From this many answers on.
    pub burst_answers: u32,
    /// An answer this long after its step was left is late, milliseconds.
    pub late_ms: u64,
}

impl Default for EntryLimits {
    fn default() -> Self {
        Self { burst_ms: 2_000, burst_answers: 3, late_ms: 300_000 }
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            site: None,
            language: "en".to_owned(),
            decimal_sign: DecimalSign::Point,
            pedal_key: PedalKey::default(),
            hold_ms: 600,
            store: None,
            signers: Vec::new(),
            review_index: None,
            entry: EntryLimits::default(),
            window: WindowSize::default(),
            full_screen: false,
            receive: ReceiveSettings::default(),
            dose: DoseSettings::default(),
            machine: MachineSettings::default(),
            pin: PinSettings::default(),
            eligibility: EligibilitySettings::default(),
        }
    }
}

impl Settings {
    /// Lays the sources over the defaults: `flags` over `environment` over `file`.
    #[must_use]
    pub fn of(flags: Layer, environment: Layer, file: Layer) -> Self {
        let chosen = flags.over(environment).over(file);
        let default = Self::default();
        Self {
            site: chosen.site.or(default.site),
            language: chosen.language.unwrap_or(default.language),
            decimal_sign: chosen.decimal_sign.unwrap_or(default.decimal_sign),
            pedal_key: chosen.pedal_key.unwrap_or(default.pedal_key),
            hold_ms: chosen.hold_ms.unwrap_or(default.hold_ms),
            store: chosen.store.or(default.store),
            signers: chosen.signers.unwrap_or(default.signers),
            review_index: chosen.review_index.or(default.review_index),
            entry: EntryLimits {
                burst_ms: chosen.entry.burst_ms.unwrap_or(default.entry.burst_ms),
                burst_answers: chosen.entry.burst_answers.unwrap_or(default.entry.burst_answers),
                late_ms: chosen.entry.late_ms.unwrap_or(default.entry.late_ms),
            },
            window: WindowSize {
                width: chosen.window.width.unwrap_or(default.window.width),
                height: chosen.window.height.unwrap_or(default.window.height),
            },
            full_screen: chosen.window.full_screen.unwrap_or(default.full_screen),
            receive: chosen.receive.complete(),
            dose: chosen.dose.complete(),
            machine: chosen.machine.complete(),
            pin: PinSettings { margin_mm: chosen.pin.margin_mm },
            eligibility: chosen.eligibility.complete(),
        }
    }
}

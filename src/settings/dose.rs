//! Members of `[dose]`: which sets of coefficients and levels hold, and which of them the site checked.
//!
//! Nothing counts as confirmed by default: what stands from memory is said to until a site names it here.

use super::SettingsError;
use serde::Deserialize;

/// Dose, complete.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DoseSettings {
    /// Id of the set of coefficients for effective dose; `None`: the program's default.
    pub coefficients: Option<String>,
    /// Id of the set of notification levels; `None`: the program's default.
    pub levels: Option<String>,
    /// Ids of what the site compared with the publication itself.
    pub confirmed: Vec<String>,
    /// How patients lie.
    pub position: LyingSetting,
    /// Where the tube is, but for a lateral.
    pub tube: TubeSetting,
}

impl Default for DoseSettings {
    fn default() -> Self {
        Self {
            coefficients: None,
            levels: None,
            confirmed: Vec::new(),
            position: LyingSetting::Prone,
            tube: TubeSetting::UnderTable,
        }
    }
}

/// How patients lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LyingSetting {
    Prone,
    Supine,
}

impl LyingSetting {
    pub(super) const CODES: [(&'static str, Self); 2] = [("prone", Self::Prone), ("supine", Self::Supine)];
}

/// Where the tube is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TubeSetting {
    UnderTable,
    AboveTable,
}

impl TubeSetting {
    pub(super) const CODES: [(&'static str, Self); 2] =
        [("under-table", Self::UnderTable), ("above-table", Self::AboveTable)];
}

/// Members that one source sets.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DoseLayer {
    pub coefficients: Option<String>,
    pub levels: Option<String>,
    pub confirmed: Option<Vec<String>>,
    pub position: Option<LyingSetting>,
    pub tube: Option<TubeSetting>,
}

/// Sets that come with the program and may be chosen; a test holds the lists equal to the sets themselves.
const COEFFICIENTS: [&str; 1] = ["icrp-103"];
const LEVELS: [&str; 2] = ["ncrp-168", "aapm-mppg-12a"];
/// What a site may confirm beside those.
const SCATTER: &str = "scatter";

impl DoseLayer {
    /// What this layer sets, and for the rest what the other sets.
    #[must_use]
    pub fn over(self, below: Self) -> Self {
        Self {
            coefficients: self.coefficients.or(below.coefficients),
            levels: self.levels.or(below.levels),
            confirmed: self.confirmed.or(below.confirmed),
            position: self.position.or(below.position),
            tube: self.tube.or(below.tube),
        }
    }

    /// Laid over the defaults.
    #[must_use]
    pub fn complete(self) -> DoseSettings {
        let default = DoseSettings::default();
        DoseSettings {
            coefficients: self.coefficients,
            levels: self.levels,
            confirmed: self.confirmed.unwrap_or_default(),
            position: self.position.unwrap_or(default.position),
            tube: self.tube.unwrap_or(default.tube),
        }
    }

    /// Judges the ids; `name` turns a member's path into how its source calls it.
    pub(super) fn judge(&self, name: fn(&str) -> String) -> Result<(), SettingsError> {
        let one_of = |member: &str, id: &str, known: &[&str]| {
            if known.contains(&id) {
                return Ok(());
            }
            let reason = format!("\"{id}\" is none of {}", known.join(", "));
            Err(SettingsError::Member { member: name(member), reason })
        };
        if let Some(id) = &self.coefficients {
            one_of("dose.coefficients", id, &COEFFICIENTS)?;
        }
        if let Some(id) = &self.levels {
            one_of("dose.levels", id, &LEVELS)?;
        }
        let all: Vec<&str> = COEFFICIENTS.into_iter().chain(LEVELS).chain([SCATTER]).collect();
        self.confirmed.iter().flatten().try_for_each(|id| one_of("dose.confirmed", id, &all))
    }
}

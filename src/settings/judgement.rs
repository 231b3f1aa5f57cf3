//! Members of `[pin]` and `[eligibility]`: what a site decided of limits and of published thresholds.
//!
//! Nothing counts as confirmed by default: a threshold that is remembered and not firm decides nothing until a site names
//! it here.

use super::SettingsError;
use serde::Deserialize;

/// Limits of pin findings, complete.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PinSettings {
    /// A margin below it asks a question, mm; `None`: the program's default.
    pub margin_mm: Option<f64>,
}

/// Eligibility, complete.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EligibilitySettings {
    /// Thresholds the site compared with the policy itself: `policy/criterion`.
    pub confirmed: Vec<String>,
    /// Probability before the tests, per cent, from and to; `None`: the program's default.
    pub prior_percent: Option<[f64; 2]>,
}

/// Members of `[pin]` that one source sets.
#[derive(Debug, Clone, Copy, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PinLayer {
    pub margin_mm: Option<f64>,
}

/// Members of `[eligibility]` that one source sets.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EligibilityLayer {
    pub confirmed: Option<Vec<String>>,
    pub prior_percent: Option<[f64; 2]>,
}

/// A margin that a site may ask for, mm. Common practice, no source.
const MARGIN_MM: [f64; 2] = [1.0, 20.0];
/// Probabilities before the tests, per cent.
const PRIOR_PERCENT: [f64; 2] = [1.0, 99.0];
/// Thresholds that are not firm, and that a site may confirm; a test holds the list equal to the policies themselves.
pub const UNSURE: &[&str] = &["isass-2016/block-relief", "isass-2016/severity-scored"];

impl PinLayer {
    /// What this layer sets, else what the other sets.
    #[must_use]
    pub fn over(self, below: Self) -> Self {
        Self { margin_mm: self.margin_mm.or(below.margin_mm) }
    }

    pub(super) fn judge(self, name: fn(&str) -> String) -> Result<(), SettingsError> {
        let [from, to] = MARGIN_MM;
        match self.margin_mm {
            Some(mm) if !(from..=to).contains(&mm) => Err(SettingsError::Member {
                member: name("pin.margin_mm"),
                reason: format!("{mm} is outside {from} to {to}"),
            }),
            _ => Ok(()),
        }
    }
}

impl EligibilityLayer {
    /// What this layer sets, else what the other sets.
    #[must_use]
    pub fn over(self, below: Self) -> Self {
        Self {
            confirmed: self.confirmed.or(below.confirmed),
            prior_percent: self.prior_percent.or(below.prior_percent),
        }
    }

    /// As it stands.
    #[must_use]
    pub fn complete(self) -> EligibilitySettings {
        EligibilitySettings { confirmed: self.confirmed.unwrap_or_default(), prior_percent: self.prior_percent }
    }

    pub(super) fn judge(&self, name: fn(&str) -> String) -> Result<(), SettingsError> {
        let wrong = |member: &str, reason: String| Err(SettingsError::Member { member: name(member), reason });
        for id in self.confirmed.iter().flatten() {
            if !UNSURE.contains(&id.as_str()) {
                return wrong("eligibility.confirmed", format!("\"{id}\" is none of {}", UNSURE.join(", ")));
            }
        }
        let Some([from, to]) = self.prior_percent else { return Ok(()) };
        let [least, most] = PRIOR_PERCENT;
        let holds = from <= to && [from, to].iter().all(|percent| (least..=most).contains(percent));
        if holds {
            return Ok(());
        }
        wrong("eligibility.prior_percent", format!("[{from}, {to}] is no range within {least} to {most}"))
    }
}

//! National notification levels: what prompts the team to tell somebody and to look after the patient.
//!
//! Patients have no upper bound of dose, and none of these is one. This operation lies far below all of them, so they
//! hardly ever speak; the working figure is the site's own usual. The levels are data in `levels.json`, each set with
//! its source and whether it was written from memory.

use super::Figures;
use crate::strict_json::{self, ReadError};
use serde::{Deserialize, Serialize};

/// Version of the data's form.
const FORMAT: u32 = 1;
/// Largest file of levels accepted, bytes.
pub const LEVELS_MAX_BYTES: u64 = 64 << 10;
const BUILT_IN: &[u8] = include_bytes!("levels.json");

/// The sets of levels that come with the program or that a site keeps.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NotificationLevels {
    /// Version of the form, 1.
    pub brimline_notification_levels: u32,
    pub sets: Vec<LevelSet>,
}

/// One publication's levels.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LevelSet {
    pub id: String,
    pub title: String,
    /// Not checked against the publication's own text; said on screen until a site confirms it.
    pub from_memory: bool,
    pub levels: Vec<Level>,
}

/// What a level is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Metric {
    ReferenceAirKerma,
    KermaAreaProduct,
    FluoroscopyTime,
}

/// Unit of a level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum LevelUnit {
    #[serde(rename = "mGy")]
    Milligray,
    #[serde(rename = "Gy.cm2")]
    GraySquareCentimetre,
    #[serde(rename = "min")]
    Minute,
}

/// One level.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Level {
    pub metric: Metric,
    pub unit: LevelUnit,
    /// First notification.
    pub first: f64,
    /// And again after each of these.
    pub then_every: f64,
    /// From here on the dose is substantial: the patient is told and seen again.
    pub substantial: f64,
    #[serde(default)]
    pub note: Option<String>,
}

/// A level that was reached.
#[derive(Debug, Clone, PartialEq)]
pub struct Reached<'a> {
    pub level: &'a Level,
    /// The figure in the level's unit.
    pub value: f64,
    /// How many notifications are due by now, at least 1.
    pub notifications: u32,
    pub substantial: bool,
}

impl NotificationLevels {
    /// The sets that come with the program.
    #[must_use]
    pub fn built_in() -> Self {
        Self::read(BUILT_IN).expect("the built-in levels are held by a test")
    }

    /// Reads sets of levels.
    ///
    /// # Errors
    /// [`ReadError`] names the place; a level has to be above zero and its unit that of its metric.
    pub fn read(bytes: &[u8]) -> Result<Self, ReadError> {
        let read: Self = strict_json::read(bytes, "brimline_notification_levels", FORMAT, LEVELS_MAX_BYTES)?;
        for (number, set) in read.sets.iter().enumerate() {
            for (at, level) in set.levels.iter().enumerate() {
                if !level.is_sound() {
                    let reason = "amounts above zero, the first not above the substantial one, in the metric's unit";
                    return Err(ReadError::Content {
                        place: format!("sets[{number}].levels[{at}]"),
                        reason: reason.to_owned(),
                    });
                }
            }
        }
        Ok(read)
    }

    /// The set of that id.
    #[must_use]
    pub fn set(&self, id: &str) -> Option<&LevelSet> {
        self.sets.iter().find(|set| set.id == id)
    }
}

impl Level {
    fn is_sound(&self) -> bool {
        let unit = match self.metric {
            Metric::ReferenceAirKerma => LevelUnit::Milligray,
            Metric::KermaAreaProduct => LevelUnit::GraySquareCentimetre,
            Metric::FluoroscopyTime => LevelUnit::Minute,
        };
        let amounts = [self.first, self.then_every, self.substantial];
        unit == self.unit
            && amounts.iter().all(|amount| amount.is_finite() && *amount > 0.0)
            && self.first <= self.substantial
    }

    fn value(&self, figures: &Figures) -> Option<f64> {
        match self.metric {
            Metric::ReferenceAirKerma => figures.reference_air_kerma.map(|kerma| kerma.0),
            Metric::KermaAreaProduct => figures.kerma_area_product.map(|area| area.0),
            Metric::FluoroscopyTime => figures.fluoroscopy_time.map(crate::units::Seconds::minutes),
        }
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count that saturates is meant")]
    fn reached(&self, figures: &Figures) -> Option<Reached<'_>> {
        let value = self.value(figures).filter(|value| *value >= self.first)?;
        let notifications = 1 + ((value - self.first) / self.then_every).floor() as u32;
        Some(Reached { level: self, value, notifications, substantial: value >= self.substantial })
    }
}

impl LevelSet {
    /// The levels that these figures reach; mostly none.
    #[must_use]
    pub fn reached(&self, figures: &Figures) -> Vec<Reached<'_>> {
        self.levels.iter().filter_map(|level| level.reached(figures)).collect()
    }
}

impl Reached<'_> {
    /// What the screen says: what was reached, and that it asks for follow-up.
    #[must_use]
    pub fn words(&self) -> String {
        let (what, unit) = match self.level.metric {
            Metric::ReferenceAirKerma => ("Reference air kerma", "mGy"),
            Metric::KermaAreaProduct => ("Kerma-area product", "Gy·cm²"),
            Metric::FluoroscopyTime => ("Fluoroscopy time", "min"),
        };
        let value = self.value;
        if self.substantial {
            return format!("{what} {value:.0} {unit}: substantial. Tell the patient, arrange follow-up of the skin.");
        }
        let first = self.level.first;
        format!("{what} {value:.0} {unit}: notification level {first:.0} {unit} reached. Tell the surgeon, note it.")
    }
}

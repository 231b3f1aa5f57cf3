//! Scatter that reaches the staff, as an upper bound. It is not a dosimeter.
//!
//! A linear bound at 1 m, the inverse square beyond; nearer than 1 m that law fails and nothing is said. Lead aprons
//! let through what a table says. The figures are data in `scatter.json`. What it does not do: no dose of a person, no
//! sum over cases, no shield of the room.

use crate::strict_json::{self, ReadError};
use crate::units::{GrayCm2, Kilovolts, Micrograys};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Version of the data's form.
const FORMAT: u32 = 1;
/// Largest file accepted, bytes.
pub const SCATTER_MAX_BYTES: u64 = 64 << 10;
const BUILT_IN: &[u8] = include_bytes!("scatter.json");
/// Tube voltages that the bound was given for. Common practice, no source.
const KV: std::ops::RangeInclusive<f64> = 50.0..=125.0;

/// The words that stand with every such figure.
pub const NOT_A_DOSIMETER: &str = "upper bound of scatter, not a dosimeter";

/// Scatter at 1 m and what aprons let through.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scatter {
    /// Version of the form, 1.
    pub brimline_scatter_figures: u32,
    pub source: String,
    /// Not checked against the publication's own text.
    pub from_memory: bool,
    ugy_per_gy_cm2_at_1_m: Line,
    aprons: Vec<Apron>,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    per_kv: f64,
    base: f64,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Apron {
    lead_mm: f64,
    /// Tube voltage, kV, and share let through; ascending.
    transmission: Vec<[f64; 2]>,
}

/// An upper bound for somebody standing there.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StaffBound {
    /// Air kerma of scatter in front of the apron.
    pub unshielded: Micrograys,
    /// Behind it, if an apron of the table is worn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub behind_apron: Option<Micrograys>,
    pub distance_m: f64,
    pub from_memory: bool,
}

/// Why there is no bound.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum StaffError {
    #[error("{distance_m} m is nearer than 1 m, where the inverse square does not hold")]
    TooNear { distance_m: f64 },
    #[error("{0} kV is outside what the bound was given for")]
    Voltage(f64),
    #[error("{0} Gy·cm² is no kerma-area product")]
    KermaArea(f64),
}

impl Scatter {
    /// The figures that come with the program.
    #[must_use]
    pub fn built_in() -> Self {
        Self::read(BUILT_IN).expect("the built-in figures are held by a test")
    }

    /// Reads figures of scatter and aprons.
    ///
    /// # Errors
    /// [`ReadError`] names the place: a table ascends, and what passes lies between 0 and 1 and rises with voltage.
    pub fn read(bytes: &[u8]) -> Result<Self, ReadError> {
        let read: Self = strict_json::read(bytes, "brimline_scatter_figures", FORMAT, SCATTER_MAX_BYTES)?;
        for (at, apron) in read.aprons.iter().enumerate() {
            let rises = apron.transmission.windows(2).all(|two| two[0][0] < two[1][0] && two[0][1] <= two[1][1]);
            let shares = apron.transmission.iter().all(|[_, share]| *share > 0.0 && *share < 1.0);
            if !rises || !shares || apron.transmission.len() < 2 {
                return Err(ReadError::Content {
                    place: format!("aprons[{at}].transmission"),
                    reason: "two points at least, voltages ascending, shares rising between 0 and 1".to_owned(),
                });
            }
        }
        Ok(read)
    }

    /// Share of scatter that lead of that thickness lets through, between 0 and 1; `None` outside the table.
    ///
    /// Between two voltages the logarithm is linear.
    #[must_use]
    pub fn transmission(&self, lead_mm: f64, kv: Kilovolts) -> Option<f64> {
        let apron = self.aprons.iter().find(|apron| (apron.lead_mm - lead_mm).abs() < 1e-9)?;
        let pair = apron.transmission.windows(2).find(|two| (two[0][0]..=two[1][0]).contains(&kv.0))?;
        let share = (kv.0 - pair[0][0]) / (pair[1][0] - pair[0][0]);
        Some((pair[0][1].ln() * (1.0 - share) + pair[1][1].ln() * share).exp())
    }

    /// Upper bound for somebody at that distance from the patient, m, with an apron of that much lead, mm.
    ///
    /// # Errors
    /// [`StaffError`].
    pub fn bound(
        &self,
        area: GrayCm2,
        kv: Kilovolts,
        distance_m: f64,
        lead_mm: Option<f64>,
    ) -> Result<StaffBound, StaffError> {
        if !(area.0.is_finite() && area.0 >= 0.0) {
            return Err(StaffError::KermaArea(area.0));
        }
        if !KV.contains(&kv.0) {
            return Err(StaffError::Voltage(kv.0));
        }
        if !(distance_m.is_finite() && distance_m >= 1.0) {
            return Err(StaffError::TooNear { distance_m });
        }
        let Line { per_kv, base } = self.ugy_per_gy_cm2_at_1_m;
        let unshielded = area.0 * (per_kv * kv.0 + base) / (distance_m * distance_m);
        let behind = lead_mm.and_then(|lead_mm| self.transmission(lead_mm, kv));
        Ok(StaffBound {
            unshielded: Micrograys(unshielded),
            behind_apron: behind.map(|share| Micrograys(unshielded * share)),
            distance_m,
            from_memory: self.from_memory,
        })
    }
}

impl StaffBound {
    /// The words on the screen.
    #[must_use]
    pub fn words(&self) -> String {
        let behind =
            self.behind_apron.map(|behind| format!(", {:.2} µGy behind the apron", behind.0)).unwrap_or_default();
        let memory = if self.from_memory { "; coefficient from memory, not confirmed by this site" } else { "" };
        let (unshielded, distance_m) = (self.unshielded.0, self.distance_m);
        format!("at most {unshielded:.1} µGy at {distance_m:.1} m{behind}: {NOT_A_DOSIMETER}{memory}")
    }
}

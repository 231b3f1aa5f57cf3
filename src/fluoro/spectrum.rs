//! Photon energies of a beam as a detector weighs them: one line, or a few.

use super::material::ENERGIES_KEV;

/// Lines with weights that sum to one.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    lines: Vec<(f64, f64)>,
}

/// Why lines are no spectrum.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SpectrumError {
    #[error("a spectrum needs a line")]
    Empty,
    #[error("{kev} keV lies outside {} to {} keV", ENERGIES_KEV.0, ENERGIES_KEV.1)]
    Energy { kev: f64 },
    #[error("the weight {weight} of {kev} keV is not positive")]
    Weight { kev: f64, weight: f64 },
}

impl Spectrum {
    /// One energy, keV.
    ///
    /// # Errors
    /// [`SpectrumError::Energy`] outside the table of materials.
    pub fn line(kev: f64) -> Result<Self, SpectrumError> {
        Self::of(&[(kev, 1.0)])
    }

    /// Energies in keV with positive weights, which are scaled to sum to one.
    ///
    /// # Errors
    /// [`SpectrumError`], with the line at fault.
    pub fn of(lines: &[(f64, f64)]) -> Result<Self, SpectrumError> {
        for &(kev, weight) in lines {
            if !(ENERGIES_KEV.0..=ENERGIES_KEV.1).contains(&kev) {
                return Err(SpectrumError::Energy { kev });
            }
            if !(weight > 0.0 && weight.is_finite()) {
                return Err(SpectrumError::Weight { kev, weight });
            }
        }
        let whole: f64 = lines.iter().map(|(_, weight)| weight).sum();
        if lines.is_empty() {
            return Err(SpectrumError::Empty);
        }
        Ok(Self { lines: lines.iter().map(|(kev, weight)| (*kev, weight / whole)).collect() })
    }

    /// Energy in keV and weight of each line.
    #[must_use]
    pub fn lines(&self) -> &[(f64, f64)] {
        &self.lines
    }
}

impl Default for Spectrum {
    /// 57 keV, the mean energy behind a pelvis.
    ///
    /// Source: 80 kVp, tungsten at 12°, 3 mm Al and 0.1 mm Cu behind 20 cm of water: 56.8 keV, computed with the open
    /// library spekpy.
    fn default() -> Self {
        Self { lines: vec![(57.0, 1.0)] }
    }
}

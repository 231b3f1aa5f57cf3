//! One picture of a scene, from geometry to grey values, as a console makes it of one pulse.

use super::cast::CastError;
use super::display::{Polarity, Shown};
use super::exposure::{Exposure, Signal};
use super::raster::Raster;
use super::scene::Scene;
use crate::carm::Pose;
use rand_core::Rng;

/// How pictures are made and shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Imaging {
    pub raster: Raster,
    pub exposure: Exposure,
    /// Share of the slow change over the picture that is taken down, 0 to 1; common practice, no source.
    pub levelling: f32,
    /// What counts as slow: standard deviation at the detector, mm.
    pub slow_mm: f64,
    pub polarity: Polarity,
    /// Threads that share the work; the picture does not depend on how many.
    pub workers: usize,
}

impl Default for Imaging {
    /// 512 by 512 pixels over a detector of 300 mm.
    fn default() -> Self {
        Self {
            raster: Raster::square(512, 300.0),
            exposure: Exposure::default(),
            levelling: 0.7,
            slow_mm: 20.0,
            polarity: Polarity::DenseDark,
            workers: 2,
        }
    }
}

impl Imaging {
    /// What the detector holds of one pulse.
    ///
    /// # Errors
    /// [`CastError`].
    pub fn signal(&self, scene: &Scene, pose: &Pose, random: &mut impl Rng) -> Result<Signal, CastError> {
        let paths = scene.paths(pose, &self.raster, self.workers)?;
        Ok(self.exposure.expose(&paths, random, self.workers))
    }

    /// The signal as the screen has it.
    #[must_use]
    pub fn shown(&self, signal: &Signal) -> Shown {
        Shown::levelled(signal, self.levelling, self.slow_mm / self.raster.pitch_mm, self.polarity, self.workers)
    }
}

/// One pulse, shown.
///
/// # Errors
/// [`CastError`].
pub fn picture(scene: &Scene, pose: &Pose, imaging: &Imaging, random: &mut impl Rng) -> Result<Shown, CastError> {
    imaging.signal(scene, pose, random).map(|signal| imaging.shown(&signal))
}

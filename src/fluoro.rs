//! Synthetic X-ray pictures: how far each ray runs through which material, and what a detector makes of it.
//!
//! Paths are exact for the triangles given: closed surfaces are rasterised with signed depth, watertight by
//! construction. What it does not do: no clock and no ambient randomness (noise comes from a generator handed in), no
//! scatter by tracking of photons, no geometry of its own. What may never change: the frame, patient LPS in mm.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "places become pixels and lengths single precision, held at the ends of their range"
)]

mod bands;
mod cast;
mod curves;
mod display;
mod exposure;
mod material;
mod monitor;
mod picture;
mod raster;
mod scene;
mod shows;
mod smooth;
mod spectrum;

pub use cast::{CastError, cast};
pub use display::{Polarity, Shown, Window};
pub use exposure::{Exposure, Signal};
pub use material::{ENERGIES_KEV, Material};
pub use monitor::Monitor;
pub use picture::{Imaging, picture};
pub use raster::Raster;
pub use scene::{Body, Paths, Scene};
pub use shows::{Structure, apart_deg, pose_of, structures};
pub use spectrum::{Spectrum, SpectrumError};

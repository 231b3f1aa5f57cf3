//! The picture of a shot: the person's solids and the pin as it stood, seen by the beam.
//!
//! What it does not do: it draws no mark, name or number into a picture. The pin counts as lying in soft tissue, in bone
//! too; a picture is true to that within what the projector says of bodies in bodies.

use super::chance::Chance;
use super::control::Shot;
use super::driven::DrivenPin;
use super::session::PIN_MM;
use crate::carm::Point;
use crate::fluoro::{Body, CastError, Imaging, Material, Raster, Scene, Shown, Signal};
use crate::pelvis::{Mesh, Pelvis, shapes};

/// Flats of the pin.
const FLATS: u32 = 24;
/// The pin stands out of the bone by this, mm.
const STANDS_OUT_MM: f64 = 90.0;
/// Stream of the noise of pictures.
const NOISE: u64 = 31;
/// Pieces of which a bent pin is made.
const PIECES: u32 = 6;
/// A bow smaller than this is drawn as none, mm.
const STRAIGHT_MM: f64 = 0.5;

/// What the pin looks like: straight pieces, the outer end included.
#[must_use]
pub fn pin_surface(pin: &DrivenPin) -> Vec<Mesh> {
    let tail = pin.entry - pin.axis.into_inner() * STANDS_OUT_MM;
    let mut ends: Vec<Point> = vec![tail, pin.entry];
    if pin.bow.norm() < STRAIGHT_MM || pin.depth <= 0.0 {
        ends = vec![tail, pin.at(pin.depth)];
    } else {
        ends.extend((1..=PIECES).map(|piece| pin.at(pin.depth * f64::from(piece) / f64::from(PIECES))));
    }
    ends.windows(2).map(|pair| shapes::rod(pair[0], pair[1], PIN_MM / 2.0, FLATS)).collect()
}

/// How a shot is imaged: `side` pixels each way over what its picture shows; `workers` threads draw it.
#[must_use]
pub fn imaging(shot: &Shot, side: usize, workers: usize) -> Imaging {
    Imaging { raster: Raster::square(side, 2.0 * shot.half_field), workers, ..Imaging::default() }
}

/// What the detector holds of `shot`; `solids` are the person's, `seed` that of the exercise.
///
/// # Errors
/// [`CastError`].
pub fn signal(solids: &Pelvis, shot: &Shot, seed: u32, imaging: &Imaging) -> Result<Signal, CastError> {
    pulse((solids, seed), shot, 0, imaging)
}

/// The same of one pulse of a run: each has its own noise.
///
/// # Errors
/// [`CastError`].
pub fn pulse((solids, seed): (&Pelvis, u32), shot: &Shot, number: u32, imaging: &Imaging) -> Result<Signal, CastError> {
    let pin = shot.pin.as_ref().map(pin_surface).unwrap_or_default();
    let mut scene = Scene::of(solids);
    let steel = |surface| Body { surface, inside: Material::StainlessSteel, outside: Material::SoftTissue };
    scene.bodies.extend(pin.iter().map(steel));
    let mut chance = Chance::of(u64::from(seed), NOISE + u64::from(shot.number) + (u64::from(number) << 32));
    imaging.signal(&scene, &shot.pose, chance.generator())
}

/// The same as the screen shows it. To be called off the window's thread.
///
/// # Errors
/// [`CastError`].
pub fn picture(solids: &Pelvis, shot: &Shot, seed: u32, imaging: &Imaging) -> Result<Shown, CastError> {
    signal(solids, shot, seed, imaging).map(|signal| imaging.shown(&signal))
}

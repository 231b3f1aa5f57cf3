//! The picture of a shot: the person's solids and the pin, seen by the beam.
//!
//! What it does not do: it draws no mark, name or number into a picture. The pin counts as lying in soft tissue where it
//! has not met bone; a picture is true to that within what the projector says of bodies in bodies.

use super::chance::Chance;
use super::control::Shot;
use super::session::{PIN_MM, Rehearsal};
use crate::carm::Point;
use crate::fluoro::{Body, CastError, Exposure, Material, Raster, Scene, Signal};
use crate::pelvis::{Mesh, Pelvis, shapes};

/// Flats of the pin.
const FLATS: u32 = 24;
/// The pin stands out of the bone by this, mm.
const STANDS_OUT_MM: f64 = 90.0;
/// Stream of the noise of pictures.
const NOISE: u64 = 31;
/// Pieces of which a bent pin is made.
const PIECES: u32 = 6;

/// What the pin looks like now: straight pieces, the outer end included.
#[must_use]
pub fn pin_surface(rehearsal: &Rehearsal) -> Vec<Mesh> {
    let Some(pin) = rehearsal.pin() else { return Vec::new() };
    let tail = pin.entry - pin.axis.into_inner() * STANDS_OUT_MM;
    let mut ends: Vec<Point> = vec![tail, pin.entry];
    if pin.bow.norm() < 0.5 || pin.depth <= 0.0 {
        ends = vec![tail, pin.at(pin.depth)];
    } else {
        ends.extend((1..=PIECES).map(|piece| pin.at(pin.depth * f64::from(piece) / f64::from(PIECES))));
    }
    ends.windows(2).map(|pair| shapes::rod(pair[0], pair[1], PIN_MM / 2.0, FLATS)).collect()
}

/// What the detector holds of `shot`; `solids` are the person's, `workers` threads draw it.
///
/// # Errors
/// [`CastError`].
pub fn picture(
    rehearsal: &Rehearsal,
    solids: &Pelvis,
    shot: &Shot,
    raster: &Raster,
    workers: usize,
) -> Result<Signal, CastError> {
    let pin = pin_surface(rehearsal);
    let mut scene = Scene::of(solids);
    let steel = |surface| Body { surface, inside: Material::StainlessSteel, outside: Material::SoftTissue };
    scene.bodies.extend(pin.iter().map(steel));
    let paths = scene.paths(&shot.pose, raster, workers)?;
    let mut chance = Chance::of(u64::from(rehearsal.exercise().seed), NOISE + u64::from(shot.number));
    Ok(Exposure::default().expose(&paths, chance.generator(), workers))
}

//! Bodies of material, and how much of the beam passes them.
//!
//! A body is a closed surface with one material inside and another just outside: a cavity, a cortical shell or a pin in
//! bone is said by what its surface divides. What it does not do: it does not find out what lies around a body. A pin
//! that leaves the bone it is said to lie in is taken for one in bone all along its way.

use super::bands::in_bands;
use super::cast::{CastError, cast};
use super::curves::exp;
use super::material::Material;
use super::raster::Raster;
use super::spectrum::Spectrum;
use crate::carm::Pose;
use crate::pelvis::{Mesh, Pelvis};

/// A closed surface and the materials on its two sides.
#[derive(Debug, Clone, Copy)]
pub struct Body<'a> {
    pub surface: &'a Mesh,
    pub inside: Material,
    pub outside: Material,
}

/// Bodies in the patient frame.
#[derive(Debug, Clone, Default)]
pub struct Scene<'a> {
    pub bodies: Vec<Body<'a>>,
}

/// How far each ray runs behind surfaces of each pair of materials.
#[derive(Debug, Clone)]
pub struct Paths {
    raster: Raster,
    /// Materials inside and outside, and mm for each pixel, row by row.
    lengths: Vec<((Material, Material), Vec<f32>)>,
}

impl<'a> Scene<'a> {
    /// A model person: bones as shell and inside, in soft tissue, with the gas there is.
    #[must_use]
    pub fn of(pelvis: &'a Pelvis) -> Self {
        let body = |surface, inside, outside| Body { surface, inside, outside };
        let mut bodies = vec![body(&pelvis.envelope, Material::SoftTissue, Material::Air)];
        for bone in pelvis.bones() {
            bodies.push(body(&bone.outer, Material::CorticalBone, Material::SoftTissue));
            bodies.push(body(&bone.inner, Material::SpongyBone, Material::CorticalBone));
        }
        bodies.extend(pelvis.gas.iter().map(|bubble| body(bubble, Material::Air, Material::SoftTissue)));
        Self { bodies }
    }

    /// Path lengths for each pixel.
    ///
    /// # Errors
    /// [`CastError`]; `surface` counts the bodies sorted by their pair of materials.
    pub fn paths(&self, pose: &Pose, raster: &Raster, workers: usize) -> Result<Paths, CastError> {
        let mut pairs: Vec<(Material, Material)> = Vec::new();
        for body in &self.bodies {
            if !pairs.contains(&(body.inside, body.outside)) {
                pairs.push((body.inside, body.outside));
            }
        }
        let of = |pair: &(Material, Material)| {
            self.bodies.iter().filter(|body| (body.inside, body.outside) == *pair).map(|body| body.surface).collect()
        };
        let groups: Vec<Vec<&Mesh>> = pairs.iter().map(of).collect();
        let groups: Vec<&[&Mesh]> = groups.iter().map(Vec::as_slice).collect();
        let pictures = cast(pose, raster, &groups, workers)?;
        Ok(Paths { raster: *raster, lengths: pairs.into_iter().zip(pictures).collect() })
    }
}

impl Paths {
    #[must_use]
    pub fn raster(&self) -> &Raster {
        &self.raster
    }

    /// Length in mm along each ray in bodies of that pair of materials, row by row.
    #[must_use]
    pub fn length(&self, inside: Material, outside: Material) -> Option<&[f32]> {
        self.lengths.iter().find(|(pair, _)| *pair == (inside, outside)).map(|(_, lengths)| lengths.as_slice())
    }

    /// The share of the beam that arrives without having been scattered, for each pixel. `workers`: threads to share the
    /// rows, at least one is used; the result does not depend on how many.
    ///
    /// Source: Beer and Lambert, each energy by itself.
    #[must_use]
    pub fn transmission(&self, spectrum: &Spectrum, workers: usize) -> Vec<f32> {
        let line = |&(kev, weight): &(f64, f64)| {
            let per_mm = |(inside, outside): &(Material, Material)| {
                (inside.linear_attenuation(kev) - outside.linear_attenuation(kev)) as f32
            };
            (weight as f32, self.lengths.iter().map(|(pair, _)| per_mm(pair)).collect::<Vec<f32>>())
        };
        let lines: Vec<_> = spectrum.lines().iter().map(line).collect();
        let mut passed = vec![0.0_f32; self.raster.pixels()];
        in_bands(&mut passed, self.raster.columns, workers, |first_row, band| {
            for (at, passed) in band.chunks_mut(BLOCK).enumerate() {
                let first = first_row * self.raster.columns + at * BLOCK;
                for (weight, per_mm) in &lines {
                    self.pass(first, *weight, per_mm, passed);
                }
            }
        });
        passed
    }

    /// Adds what passes of one energy to the pixels from number `first` on.
    fn pass(&self, first: usize, weight: f32, per_mm: &[f32], passed: &mut [f32]) {
        let mut depth = [0.0_f32; BLOCK];
        let depth = &mut depth[..passed.len()];
        for ((_, lengths), per_mm) in self.lengths.iter().zip(per_mm) {
            depth.iter_mut().zip(&lengths[first..]).for_each(|(depth, length)| *depth += per_mm * length);
        }
        passed.iter_mut().zip(depth).for_each(|(passed, depth)| *passed += weight * exp(-*depth));
    }
}

/// Pixels worked on at a time, so that their sums stay in the processor's nearest memory.
const BLOCK: usize = 1024;

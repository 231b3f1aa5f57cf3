//! Bodies of material, and how much of the beam passes them.
//!
//! A body is a closed surface with one material inside and another just outside: a cavity, a cortical shell or a pin in
//! bone is said by what its surface divides. What it does not do: it does not find out what lies around a body. A pin
//! that leaves the bone it is said to lie in is taken for one in bone all along its way.

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

    /// The share of the beam that arrives without having been scattered, for each pixel.
    ///
    /// Source: Beer and Lambert, each energy by itself.
    #[must_use]
    pub fn transmission(&self, spectrum: &Spectrum) -> Vec<f32> {
        let mut passed = vec![0.0_f32; self.raster.pixels()];
        let mut depth = vec![0.0_f32; self.raster.pixels()];
        for &(kev, weight) in spectrum.lines() {
            depth.fill(0.0);
            for ((inside, outside), lengths) in &self.lengths {
                let per_mm = (inside.linear_attenuation(kev) - outside.linear_attenuation(kev)) as f32;
                depth.iter_mut().zip(lengths).for_each(|(depth, length)| *depth += per_mm * length);
            }
            let weight = weight as f32;
            passed.iter_mut().zip(&depth).for_each(|(passed, depth)| *passed += weight * exp(-depth));
        }
        passed
    }
}

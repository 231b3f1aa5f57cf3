//! What absorbs: materials with their density and mass attenuation, from the table beside this file.
//!
//! What it does not do: no spectrum (that is `spectrum`) and no geometry. What may never change: the names, which
//! stand in scenes and images.

use serde::Deserialize;
use std::sync::OnceLock;

/// Lowest and highest photon energy of the table, keV.
pub const ENERGIES_KEV: (f64, f64) = (30.0, 120.0);

const TABLE: &str = include_str!("materials.json");

/// A material of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Material {
    Air,
    Fat,
    Muscle,
    SoftTissue,
    Water,
    SpongyBone,
    CorticalBone,
    TitaniumAlloy,
    StainlessSteel,
}

impl Material {
    /// Every material, in the order of [`Material::index`].
    pub const ALL: [Self; 9] = [
        Self::Air,
        Self::Fat,
        Self::Muscle,
        Self::SoftTissue,
        Self::Water,
        Self::SpongyBone,
        Self::CorticalBone,
        Self::TitaniumAlloy,
        Self::StainlessSteel,
    ];

    fn name(self) -> &'static str {
        match self {
            Self::Air => "air",
            Self::Fat => "adipose",
            Self::Muscle => "muscle",
            Self::SoftTissue => "soft-tissue",
            Self::Water => "water",
            Self::SpongyBone => "spongiosa",
            Self::CorticalBone => "cortical-bone",
            Self::TitaniumAlloy => "titanium-alloy",
            Self::StainlessSteel => "stainless-steel",
        }
    }

    fn index(self) -> usize {
        Self::ALL.iter().position(|one| *one == self).expect("every material stands in the list of all")
    }

    /// Density, g/cm³.
    #[must_use]
    pub fn density(self) -> f64 {
        table()[self.index()].density_g_cm3
    }

    /// Mass attenuation coefficient with coherent scattering, cm²/g, at `energy_kev`, which is held within
    /// [`ENERGIES_KEV`]. Interpolated in both logarithms.
    ///
    /// Source: elemental cross sections of Elam, Ravel and Sieber, Radiat Phys Chem 2002;63:121, weighted by mass
    /// fraction; compositions by ICRU Reports 44 and 46, as the table names them.
    #[must_use]
    pub fn mass_attenuation(self, energy_kev: f64) -> f64 {
        let row = &table()[self.index()].mass_attenuation_cm2_g;
        let held = energy_kev.clamp(ENERGIES_KEV.0, ENERGIES_KEV.1);
        let below = (ENERGIES_KEV.0 as usize..ENERGIES_KEV.1 as usize - 1).rfind(|kev| *kev as f64 <= held);
        let below = below.unwrap_or(ENERGIES_KEV.0 as usize);
        let at = below - ENERGIES_KEV.0 as usize;
        let part = (held / below as f64).ln() / ((below + 1) as f64 / below as f64).ln();
        (row[at].ln() + part * (row[at + 1] / row[at]).ln()).exp()
    }

    /// Linear attenuation coefficient, 1/mm, at `energy_kev`.
    #[must_use]
    pub fn linear_attenuation(self, energy_kev: f64) -> f64 {
        const MM_PER_CM: f64 = 10.0;
        self.mass_attenuation(energy_kev) * self.density() / MM_PER_CM
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    #[serde(rename = "brimline_materials")]
    _format: u32,
    #[serde(rename = "about")]
    _about: String,
    #[serde(rename = "source")]
    _source: String,
    energies_kev: Vec<u32>,
    materials: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    density_g_cm3: f64,
    #[serde(rename = "composition")]
    _composition: serde::de::IgnoredAny,
    #[serde(rename = "composition_source")]
    _composition_source: String,
    mass_attenuation_cm2_g: Vec<f64>,
}

/// The rows in the order of [`Material::ALL`].
fn table() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        let mut table: Table = serde_json::from_str(TABLE).expect("the table beside this file is well formed");
        let energies = ENERGIES_KEV.0 as u32..=ENERGIES_KEV.1 as u32;
        assert!(energies.eq(table.energies_kev.iter().copied()), "the table holds each whole keV");
        let mut take = |name: &str| {
            let at = table.materials.iter().position(|row| row.name == name).expect("the table holds every material");
            table.materials.swap_remove(at)
        };
        Material::ALL.iter().map(|material| take(material.name())).collect()
    })
}

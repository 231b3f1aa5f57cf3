//! Members of `[machine]`: what was learnt once of the room's C-arm.
//!
//! A display is learnt from its reading with the joint at zero and from the way it counts; `carm` turns that into what the
//! displays read. Lengths are from the machine's own sheet, or measured. What it does not do: nothing here has a default
//! that a site did not say; a machine that nobody learnt has no display.

use super::SettingsError;
use super::dose::TubeSetting;
use serde::Deserialize;

/// The machine, complete.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MachineSettings {
    /// What the room calls it; cases with another C-arm are not told its readings.
    pub name: Option<String>,
    /// Where the tube was when the displays were learnt.
    pub tube: Option<TubeSetting>,
    /// The displays in the order wag, tilt, orbit; `None`: not learnt.
    pub displays: [Option<DisplaySetting>; 3],
    /// Lengths in the order of [`LENGTHS`]; `None`: not said.
    pub lengths_mm: [Option<f64>; 8],
}

/// One joint's display.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DisplaySetting {
    /// What it reads with the joint at zero, degrees.
    pub zero_deg: f64,
    pub counts: CountsSetting,
}

/// Which way a display counts; the ways themselves are those of `carm`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CountsSetting {
    Up,
    Down,
}

impl CountsSetting {
    pub(super) const CODES: [(&'static str, Self); 2] = [("up", Self::Up), ("down", Self::Down)];
}

/// Members of the displays, in the order of [`MachineSettings::displays`].
pub const DISPLAYS: [&str; 3] = ["wag", "tilt", "orbit"];

/// Members of the lengths, in the order of [`MachineSettings::lengths_mm`].
pub const LENGTHS: [&str; 8] = [
    "source_to_detector_mm",
    "source_to_isocentre_mm",
    "receptor_distance_mm",
    "receptor_half_width_mm",
    "tube_distance_mm",
    "tube_half_width_mm",
    "table_thickness_mm",
    "half_width_mm",
];

/// Degrees that a display can read.
const ZERO_DEG: [f64; 2] = [-360.0, 360.0];
/// Lengths of a machine and a table, mm.
const LENGTH_MM: [f64; 2] = [1.0, 2_000.0];
/// Longest name, characters.
const NAME_MAX: usize = 80;

impl MachineSettings {
    /// The length of that member.
    #[must_use]
    pub fn length_mm(&self, member: &str) -> Option<f64> {
        let at = LENGTHS.iter().position(|known| *known == member)?;
        self.lengths_mm[at]
    }

    /// Source to detector and source to isocentre, mm, where both are said and go together.
    #[must_use]
    pub fn distances_mm(&self) -> Option<[f64; 2]> {
        let (detector, isocentre) =
            (self.length_mm("source_to_detector_mm")?, self.length_mm("source_to_isocentre_mm")?);
        (detector > isocentre).then_some([detector, isocentre])
    }

    /// Whether a case with that C-arm is told of this machine: where either has no name, there is but one.
    #[must_use]
    pub fn is(&self, c_arm: Option<&str>) -> bool {
        match (self.name.as_deref(), c_arm) {
            (Some(name), Some(c_arm)) => name == c_arm,
            _ => true,
        }
    }
}

/// Members that one source sets.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineLayer {
    pub name: Option<String>,
    pub tube: Option<TubeSetting>,
    pub wag: Option<DisplaySetting>,
    pub tilt: Option<DisplaySetting>,
    pub orbit: Option<DisplaySetting>,
    pub source_to_detector_mm: Option<f64>,
    pub source_to_isocentre_mm: Option<f64>,
    pub receptor_distance_mm: Option<f64>,
    pub receptor_half_width_mm: Option<f64>,
    pub tube_distance_mm: Option<f64>,
    pub tube_half_width_mm: Option<f64>,
    pub table_thickness_mm: Option<f64>,
    pub half_width_mm: Option<f64>,
}

impl MachineLayer {
    /// What this layer sets, and for the rest what the other sets.
    #[must_use]
    pub fn over(self, below: Self) -> Self {
        Self {
            name: self.name.or(below.name),
            tube: self.tube.or(below.tube),
            wag: self.wag.or(below.wag),
            tilt: self.tilt.or(below.tilt),
            orbit: self.orbit.or(below.orbit),
            source_to_detector_mm: self.source_to_detector_mm.or(below.source_to_detector_mm),
            source_to_isocentre_mm: self.source_to_isocentre_mm.or(below.source_to_isocentre_mm),
            receptor_distance_mm: self.receptor_distance_mm.or(below.receptor_distance_mm),
            receptor_half_width_mm: self.receptor_half_width_mm.or(below.receptor_half_width_mm),
            tube_distance_mm: self.tube_distance_mm.or(below.tube_distance_mm),
            tube_half_width_mm: self.tube_half_width_mm.or(below.tube_half_width_mm),
            table_thickness_mm: self.table_thickness_mm.or(below.table_thickness_mm),
            half_width_mm: self.half_width_mm.or(below.half_width_mm),
        }
    }

    fn lengths(&self) -> [Option<f64>; 8] {
        [
            self.source_to_detector_mm,
            self.source_to_isocentre_mm,
            self.receptor_distance_mm,
            self.receptor_half_width_mm,
            self.tube_distance_mm,
            self.tube_half_width_mm,
            self.table_thickness_mm,
            self.half_width_mm,
        ]
    }

    /// As it stands.
    #[must_use]
    pub fn complete(self) -> MachineSettings {
        let lengths_mm = self.lengths();
        MachineSettings { name: self.name, tube: self.tube, displays: [self.wag, self.tilt, self.orbit], lengths_mm }
    }

    /// Judges the values; `name` turns a member's path into how its source calls it.
    pub(super) fn judge(&self, name: fn(&str) -> String) -> Result<(), SettingsError> {
        let wrong = |member: String, reason: String| Err(SettingsError::Member { member: name(&member), reason });
        let within = |member: String, value: f64, [from, to]: [f64; 2]| {
            if (from..=to).contains(&value) {
                return Ok(());
            }
            wrong(member, format!("{value} is outside {from} to {to}"))
        };
        for (member, display) in DISPLAYS.iter().zip([self.wag, self.tilt, self.orbit]) {
            if let Some(display) = display {
                within(format!("machine.{member}.zero_deg"), display.zero_deg, ZERO_DEG)?;
            }
        }
        for (member, length) in LENGTHS.iter().zip(self.lengths()) {
            if let Some(length) = length {
                within(format!("machine.{member}"), length, LENGTH_MM)?;
            }
        }
        if let (Some(detector), Some(isocentre)) = (self.source_to_detector_mm, self.source_to_isocentre_mm)
            && detector <= isocentre
        {
            return wrong(
                "machine.source_to_detector_mm".to_owned(),
                format!("{detector} is not behind the isocentre at {isocentre}"),
            );
        }
        let named = self.name.as_deref().unwrap_or("-");
        if named.trim().is_empty() || named.chars().count() > NAME_MAX || named.chars().any(char::is_control) {
            return wrong("machine.name".to_owned(), format!("1 to {NAME_MAX} printable characters are wanted"));
        }
        Ok(())
    }
}

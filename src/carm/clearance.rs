//! Clearance: how near the ends of the C come to table and patient, and at which tilt they touch.
//!
//! Seen from the side, both ends are plates square to the beam, the table and the patient a slab; turned about the
//! isocentre by a tilt t, a plate at distance d with half-width r stands `d cos t - r sin t` above or below the isocentre.
//! At a lateral both plates stand beside the slab. What it does not do: no cables, arm boards, drapes or side rails, no
//! stand, no bend of the table, and no tilt and orbit at once: a gap here is no promise that the way is free.

use crate::units::{Degrees, Millimetres};
use thiserror::Error;

/// The ends of a machine, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArmProfile {
    /// From isocentre to the face of the image receptor, and half the receptor's width along the table.
    pub receptor_distance: Millimetres,
    pub receptor_half_width: Millimetres,
    /// From isocentre to the face of the tube's housing, and half its width along the table.
    pub tube_distance: Millimetres,
    pub tube_half_width: Millimetres,
}

/// What the ends must clear, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TableAndPatient {
    /// Table top with mattress.
    pub table_thickness: Millimetres,
    /// Patient above the table top, where the receptor passes.
    pub patient_thickness: Millimetres,
    /// Half the greater of the widths of table and patient.
    pub half_width: Millimetres,
    /// The isocentre above the table top.
    pub isocentre_height: Millimetres,
}

/// Which end comes nearest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    Upper,
    Lower,
}

/// The gap at one tilt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Negative: this deep in the slab.
    pub gap: Millimetres,
    pub end: End,
}

/// The outlook of one view with a support under the pelvis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WithSupport {
    /// How far the support turns the pelvis back.
    pub support: Degrees,
    /// The tilt the view then needs, from the vertical.
    pub tilt: Degrees,
    pub gap: Gap,
}

/// Why there is no clearance.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ClearanceError {
    #[error("{what}: {value} mm is not plausible (0 to 1500)")]
    Implausible { what: &'static str, value: f64 },
}

/// A machine around a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    upper: Plate,
    lower: Plate,
    /// From isocentre to the sides of table and patient.
    half_width: f64,
}

/// An end of the C: its face, half its width, and how far the slab reaches toward it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Plate {
    distance: f64,
    half_width: f64,
    slab: f64,
}

impl Plate {
    fn gap(&self, tilt: Degrees) -> f64 {
        let (sin, cos) = tilt.radians().abs().sin_cos();
        self.distance * cos - self.half_width * sin - self.slab
    }

    /// The tilt at which the gap is 0: `d cos t - r sin t = √(d² + r²) cos(t + atan(r/d))`.
    fn touches_at(&self) -> f64 {
        let reach = self.distance.hypot(self.half_width);
        ((self.slab / reach).clamp(-1.0, 1.0).acos() - self.half_width.atan2(self.distance)).to_degrees().max(0.0)
    }
}

impl Clearance {
    /// `tube_under`: the tube is the lower end.
    ///
    /// # Errors
    /// [`ClearanceError::Implausible`].
    pub fn of(arm: &ArmProfile, around: &TableAndPatient, tube_under: bool) -> Result<Self, ClearanceError> {
        let lengths = [
            ("isocentre to receptor", arm.receptor_distance),
            ("half-width of the receptor", arm.receptor_half_width),
            ("isocentre to tube housing", arm.tube_distance),
            ("half-width of the tube housing", arm.tube_half_width),
            ("thickness of the table", around.table_thickness),
            ("thickness of the patient", around.patient_thickness),
            ("half-width of table and patient", around.half_width),
            ("height of the isocentre above the table top", around.isocentre_height),
        ];
        if let Some((what, value)) = lengths.into_iter().find(|(_, length)| !(0.0..=1500.0).contains(&length.0)) {
            return Err(ClearanceError::Implausible { what, value: value.0 });
        }
        let above = around.patient_thickness.0 - around.isocentre_height.0;
        let below = around.table_thickness.0 + around.isocentre_height.0;
        let receptor = (arm.receptor_distance.0, arm.receptor_half_width.0);
        let tube = (arm.tube_distance.0, arm.tube_half_width.0);
        let plate = |(distance, half_width), slab| Plate { distance, half_width, slab };
        let (up, down) = if tube_under { (receptor, tube) } else { (tube, receptor) };
        Ok(Self { upper: plate(up, above), lower: plate(down, below), half_width: around.half_width.0 })
    }

    /// The gap at `tilt` from the vertical, the orbit at zero.
    #[must_use]
    pub fn at(&self, tilt: Degrees) -> Gap {
        least(self.upper.gap(tilt), self.lower.gap(tilt))
    }

    /// The first tilt from the vertical, either way, that collides; 0 if it collides upright.
    #[must_use]
    pub fn first_collision(&self) -> (Degrees, End) {
        let (upper, lower) = (self.upper.touches_at(), self.lower.touches_at());
        if upper < lower { (Degrees(upper), End::Upper) } else { (Degrees(lower), End::Lower) }
    }

    /// The gap at a lateral, where both ends stand beside the table: `Upper` is the end that stands above at zero orbit.
    #[must_use]
    pub fn at_lateral(&self) -> Gap {
        least(self.upper.distance - self.half_width, self.lower.distance - self.half_width)
    }

    /// What a support under the pelvis would change for a view at `inlet` from the vertical (outlet negative).
    #[must_use]
    pub fn with_supports(&self, inlet: Degrees) -> [WithSupport; 4] {
        [0.0, 10.0, 15.0, 20.0].map(|support| {
            let tilt = Degrees((inlet.0 + support).abs());
            WithSupport { support: Degrees(support), tilt, gap: self.at(tilt) }
        })
    }
}

fn least(upper: f64, lower: f64) -> Gap {
    let (gap, end) = if upper < lower { (upper, End::Upper) } else { (lower, End::Lower) };
    Gap { gap: Millimetres(gap), end }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn machine(receptor_distance: f64) -> ArmProfile {
        let mm = Millimetres;
        ArmProfile {
            receptor_distance: mm(receptor_distance),
            receptor_half_width: mm(160.0),
            tube_distance: mm(420.0),
            tube_half_width: mm(170.0),
        }
    }

    fn around() -> TableAndPatient {
        let [table_thickness, patient_thickness, half_width, isocentre_height] =
            [80.0, 230.0, 250.0, 110.0].map(Millimetres);
        TableAndPatient { table_thickness, patient_thickness, half_width, isocentre_height }
    }

    fn clearance(tube_under: bool) -> Clearance {
        Clearance::of(&machine(330.0), &around(), tube_under).expect("plausible")
    }

    /// Corners of a rectangle turned point by point, and the least distance to the slab, without the closed form.
    fn by_corners(distance: f64, half_width: f64, slab: f64, tilt: f64) -> f64 {
        let turn = nalgebra::Rotation2::new(tilt.to_radians());
        let corners = [[-half_width, distance], [half_width, distance], [-half_width, 900.0], [half_width, 900.0]];
        let heights = corners.map(|[x, y]| (turn * nalgebra::Vector2::new(x, y)).y);
        heights.into_iter().fold(f64::INFINITY, f64::min) - slab
    }

    /// Source: plane geometry, the corners turned one by one.
    #[test]
    fn the_gap_is_that_of_the_turned_corners() {
        for tilt in [-60.0, -43.0, -25.0, 0.0, 10.0, 25.0, 43.0, 63.0] {
            let found = clearance(true).at(Degrees(tilt)).gap.0;
            let brute = by_corners(330.0, 160.0, 120.0, tilt).min(by_corners(420.0, 170.0, 190.0, tilt));
            assert!((found - brute).abs() < 1e-9, "{tilt}: {found} for {brute}");
        }
    }

    #[test]
    fn the_first_tilt_that_collides_is_where_the_gap_closes() {
        for tube_under in [true, false] {
            let clearance = clearance(tube_under);
            let (tilt, end) = clearance.first_collision();
            assert!(clearance.at(tilt).gap.0.abs() < 1e-9 && clearance.at(tilt).end == end);
            assert!(clearance.at(Degrees(tilt.0 - 0.1)).gap.0 > 0.0 && clearance.at(Degrees(tilt.0 + 0.1)).gap.0 < 0.0);
        }
    }

    /// Source: in 72 scans with 5 machines the tilt of an outlet collided in 17 % of set-ups and 15 to 20° of retroversion
    /// cured 95 to 99 %: a support takes from an outlet tilt, and adds to an inlet tilt.
    #[test]
    fn a_support_clears_an_outlet_and_costs_an_inlet() {
        let [bare, ten, fifteen, twenty] = clearance(true).with_supports(Degrees(-43.0));
        assert!(bare.gap.gap.0 < ten.gap.gap.0 && fifteen.gap.gap.0 < twenty.gap.gap.0);
        assert!((twenty.tilt.0 - 23.0).abs() < 1e-12);
        let [bare, .., twenty] = clearance(true).with_supports(Degrees(25.0));
        assert!(twenty.gap.gap.0 < bare.gap.gap.0 && (twenty.tilt.0 - 45.0).abs() < 1e-12);
    }

    #[test]
    fn at_a_lateral_the_ends_pass_beside_the_table() {
        assert_eq!(clearance(true).at_lateral(), Gap { gap: Millimetres(80.0), end: End::Upper });
    }

    #[test]
    fn a_length_that_is_none_is_refused_by_name() {
        let fault = Clearance::of(&machine(f64::NAN), &around(), true).expect_err("refused");
        assert!(fault.to_string().starts_with("isocentre to receptor: "), "{fault}");
    }
}

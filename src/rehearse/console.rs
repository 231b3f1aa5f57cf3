//! What the synthetic machine's console counts: every shot costs, and the account is drawn up as for a live case.
//!
//! The machine holds the detector's signal, so a shot costs more the more soft tissue its central ray passes. What it
//! does not do: no dose to anybody. The figures are a model's and are nobody's dose.

use crate::carm::{Direction, Point, Pose};
use crate::dose::{Account, Moment, Reading, ShownAirKerma, ShownKermaArea, Source, account};
use crate::fluoro::Material;
use crate::units::{AirKermaUnit, KermaAreaUnit, Seconds};

/// Running totals.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Console {
    pub shots: u32,
    /// At the reference point, mGy.
    pub air_kerma: f64,
    /// Gy·cm².
    pub kerma_area: f64,
    pub seconds: f64,
}

/// Air kerma at the reference point of one shot through [`USUAL_MM`] of soft tissue over the whole field, mGy: about 10 mGy a
/// minute. Source of the size: skin rates of 9 to 18 mGy/min with fields of 36 to 40 cm (UK table).
const USUAL_MGY: f64 = 0.08;
const USUAL_MM: f64 = 200.0;
/// The control of the machine gives no more than this many times the usual, about 40 mGy a minute. Source of the limit,
/// 44 mGy a minute without automatic control: 21 CFR 1020.32, from memory.
const MOST: f64 = 4.0;
/// A magnified picture takes this share of the field's width, and the exposure goes with one over its square.
///
/// Source: exposure rises about with the square of the magnification (PMC3097666).
pub const MAGNIFIED: f64 = 0.7;
/// Effective energy behind a pelvis, keV. Common practice, no source.
const KEV: f64 = 60.0;
/// One shot, seconds. Common practice, no source.
pub const SHOT_S: f64 = 0.5;
/// The longest run of one press, seconds. Source of the size, 5 min until a machine's own timer sounds: IEC 60601-2-54,
/// from memory.
pub const RUN_MAX_S: f64 = 300.0;
/// From isocentre to the reference point, mm. Source: IEC 60601-2-43, 15 cm toward the source, as DICOM code 113860 names
/// it.
const REFERENCE_MM: f64 = 150.0;

/// What one shot costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// mGy.
    pub air_kerma: f64,
    /// Gy·cm².
    pub kerma_area: f64,
}

impl Cost {
    /// A shot of that pose through a trunk of these half axes, over a detector of `half_field` mm each way, of which a
    /// magnified picture uses [`MAGNIFIED`].
    #[must_use]
    pub fn of(pose: &Pose, isocentre: &Point, girth: [f64; 2], half_field: f64, magnified: bool) -> Self {
        let through = chord(&pose.source, &pose.beam(), girth);
        let per_mm = Material::SoftTissue.linear_attenuation(KEV);
        let field = if magnified { MAGNIFIED } else { 1.0 };
        let air_kerma = USUAL_MGY * ((per_mm * (through - USUAL_MM)).exp() / (field * field)).min(MOST);
        let to_reference = (isocentre - pose.source).norm() - REFERENCE_MM;
        let side_cm = 2.0 * half_field * field * to_reference / pose.source_to_detector_mm() / 10.0;
        Self { air_kerma, kerma_area: air_kerma * side_cm * side_cm / 1000.0 }
    }
}

/// How far a ray runs inside an upright elliptic trunk, mm.
fn chord(source: &Point, beam: &Direction, [half_width, half_depth]: [f64; 2]) -> f64 {
    let (x, y) = (source.x / half_width, source.y / half_depth);
    let (u, v) = (beam.x / half_width, beam.y / half_depth);
    let (square, middle, rest) = (u * u + v * v, x * u + y * v, x * x + y * y - 1.0);
    let root = middle * middle - square * rest;
    if square < 1e-12 || root <= 0.0 { 0.0 } else { 2.0 * root.sqrt() / square }
}

impl Console {
    /// Counts one shot.
    pub fn count(&mut self, cost: &Cost) {
        self.shots += 1;
        self.air_kerma += cost.air_kerma;
        self.kerma_area += cost.kerma_area;
        self.seconds += SHOT_S;
    }

    /// Adds what a run of `seconds` costs beyond its first shot, counted already; `cost`: of one shot.
    pub fn run(&mut self, cost: &Cost, seconds: f64) {
        let more = seconds / SHOT_S - 1.0;
        self.air_kerma += more * cost.air_kerma;
        self.kerma_area += more * cost.kerma_area;
        self.seconds += seconds - SHOT_S;
    }

    /// What it shows, as somebody at a live case would read it.
    #[must_use]
    pub fn reading(&self, moment: Moment, at_ms: u64) -> Reading {
        Reading {
            machine: "synthetic machine".to_owned(),
            moment,
            at_ms,
            source: Source::Console,
            kerma_area_product: Some(ShownKermaArea {
                value: self.kerma_area,
                unit: KermaAreaUnit::GraySquareCentimetre,
            }),
            reference_air_kerma: Some(ShownAirKerma { value: self.air_kerma, unit: AirKermaUnit::Milligray }),
            fluoroscopy_time: Some(Seconds(self.seconds)),
            shots: Some(self.shots),
            confirmed: false,
        }
    }

    /// The account from opening to now.
    #[must_use]
    pub fn account(&self, at_ms: u64) -> Account {
        account(&[Self::default().reading(Moment::Opening, 0), self.reading(Moment::End, at_ms)])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::Vector;

    /// Source: the axes of an ellipse.
    #[test]
    fn a_chord_is_the_axis_it_runs_along() {
        let along = |direction: Vector| {
            let beam = Direction::new_normalize(direction);
            chord(&Point::from(direction * -650.0), &beam, [180.0, 115.0])
        };
        assert!((along(Vector::x()) - 360.0).abs() < 1e-9 && (along(Vector::y()) - 230.0).abs() < 1e-9);
        let tilted = along(Vector::new(0.0, 0.6, 0.8));
        assert!((tilted - 230.0 / 0.6).abs() < 1e-9, "longer by the cosine");
    }

    #[test]
    fn a_lateral_costs_more_than_a_vertical_shot_and_the_account_adds_up() {
        let mut console = Console::default();
        let cost_of = |beam: Vector, magnified| {
            let beam = Direction::new_normalize(beam);
            let pose = Pose::looking(
                beam,
                Point::origin(),
                crate::units::Millimetres(650.0),
                crate::units::Millimetres(1000.0),
                crate::units::Degrees(0.0),
            );
            Cost::of(&pose, &Point::origin(), [180.0, 115.0], 150.0, magnified)
        };
        let cost = |beam| cost_of(beam, false);
        let magnified = cost_of(Vector::y(), true);
        let vertical = cost(Vector::y());
        // Air kerma grows as the field shrinks; their product stays.
        assert!((magnified.air_kerma / vertical.air_kerma * MAGNIFIED * MAGNIFIED - 1.0).abs() < 1e-9);
        assert!((magnified.kerma_area / vertical.kerma_area - 1.0).abs() < 1e-9);
        let lateral = cost(Vector::x());
        // The control drives the long way to its limit and the short way by what 30 mm more of soft tissue take.
        let short = USUAL_MGY * (Material::SoftTissue.linear_attenuation(KEV) * 30.0).exp();
        assert!((lateral.air_kerma - USUAL_MGY * MOST).abs() < 1e-12 && (vertical.air_kerma - short).abs() < 1e-12);
        assert!(lateral.air_kerma > vertical.air_kerma);
        console.count(&lateral);
        console.count(&vertical);
        let total = console.account(60_000).total.expect("two readings");
        assert_eq!(total.shots, Some(2));
        assert!((total.reference_air_kerma.unwrap().0 - lateral.air_kerma - vertical.air_kerma).abs() < 1e-9);
    }
}

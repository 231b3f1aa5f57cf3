//! Where source and detector stand, and the central projection between patient and picture.
//!
//! What it does not do: no pixels (a picture's spacing is the importer's), no distortion of an image intensifier, and no
//! opinion on which pose is a view. The image plane may stand at any tilt to the beam; [`Pose::looking`] builds the
//! usual one, at right angles.

use super::space::{Direction, Point, Rotation, Vector, head, posterior};
use crate::units::{Degrees, Millimetres};

/// A place on the detector, millimetres in the detector's own plane (not at the patient), from the detector's centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ImagePoint {
    /// Along the rows, to the right on the picture.
    pub across_mm: f64,
    /// Along the columns, down on the picture.
    pub down_mm: f64,
}

/// From the source through the patient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ray {
    /// The source.
    pub origin: Point,
    pub direction: Direction,
}

/// One position of a C-arm in the patient frame. The image plane passes through `detector_centre`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    pub source: Point,
    pub detector_centre: Point,
    /// To the right on the picture.
    pub across: Direction,
    /// Down on the picture; at right angles to `across`.
    pub down: Direction,
}

/// A beam whose head-foot part is less than this across the picture has no head side to put at the top.
const NO_HEAD_SIDE: f64 = 1e-9;

impl Pose {
    /// The pose whose central ray runs along `beam` through `isocentre`, the detector at right angles to it.
    ///
    /// `beam`: from source to detector. `source_to_isocentre` and `source_to_detector`: positive, the second the larger.
    /// At `roll` 0 the picture is seen from the detector with the patient's head at the top (the patient's chest, for a
    /// beam along the body), so that at DICOM 0/0 the patient's left is on the right of the picture. A positive `roll`
    /// turns the picture's axes clockwise, and so what it shows anticlockwise.
    #[must_use]
    pub fn looking(
        beam: Direction,
        isocentre: Point,
        source_to_isocentre: Millimetres,
        source_to_detector: Millimetres,
        roll: Degrees,
    ) -> Self {
        let source = isocentre - beam.into_inner() * source_to_isocentre.0;
        let upright = upright(&beam);
        // Seen from the detector the viewer looks against the beam, so turning the axes clockwise is a turn about -beam.
        let turn = Rotation::from_axis_angle(&-beam, roll.radians());
        let down = turn * -upright;
        let across = Direction::new_normalize(beam.cross(&down));
        Self { source, detector_centre: source + beam.into_inner() * source_to_detector.0, across, down }
    }

    /// The plane's normal, toward whoever looks at the picture or away, as `across` and `down` have it.
    fn normal(&self) -> Vector {
        self.across.cross(&self.down)
    }

    /// Where the shadow of `point` falls; `None` for a point level with the source or behind it.
    #[must_use]
    pub fn project(&self, point: &Point) -> Option<ImagePoint> {
        let normal = self.normal();
        let along = point - self.source;
        // The share of the way from source to image plane, on the plane's own side of the source.
        let share = along.dot(&normal) / (self.detector_centre - self.source).dot(&normal);
        if share.is_nan() || share <= 0.0 {
            return None;
        }
        let shadow = self.source + along / share - self.detector_centre;
        Some(ImagePoint { across_mm: shadow.dot(&self.across), down_mm: shadow.dot(&self.down) })
    }

    /// The ray that ends at `place` on the detector.
    #[must_use]
    pub fn ray(&self, place: ImagePoint) -> Ray {
        let end = self.point_of(place);
        Ray { origin: self.source, direction: Direction::new_normalize(end - self.source) }
    }

    /// Where `place` of the picture stands in the patient frame.
    #[must_use]
    pub fn point_of(&self, place: ImagePoint) -> Point {
        self.detector_centre + self.across.into_inner() * place.across_mm + self.down.into_inner() * place.down_mm
    }

    /// From the source to the detector's centre.
    #[must_use]
    pub fn beam(&self) -> Direction {
        Direction::new_normalize(self.detector_centre - self.source)
    }

    /// The distance from the source to the detector's centre, DICOM (0018,1110).
    #[must_use]
    pub fn source_to_detector_mm(&self) -> f64 {
        (self.detector_centre - self.source).norm()
    }

    /// How much larger than life `point` is pictured: the distance to the image plane over the distance to `point`, both
    /// along the plane's normal. `None` for a point level with the source or behind it.
    #[must_use]
    pub fn magnification_at(&self, point: &Point) -> Option<f64> {
        let normal = self.normal();
        let magnification = (self.detector_centre - self.source).dot(&normal) / (point - self.source).dot(&normal);
        (magnification > 0.0 && magnification.is_finite()).then_some(magnification)
    }
}

/// The direction across `beam` that stands at the top of an unrolled picture.
fn upright(beam: &Direction) -> Direction {
    let across = |axis: Direction| axis.into_inner() - beam.into_inner() * axis.dot(beam);
    Direction::try_new(across(head()), NO_HEAD_SIDE).unwrap_or_else(|| Direction::new_normalize(across(-posterior())))
}

/// Magnification of what stands `source_to_object` from the source, SID over SOD; 1 at the detector.
///
/// Source: DICOM PS3.3, Estimated Radiographic Magnification Factor (0018,1114).
#[must_use]
pub fn magnification(source_to_detector: Millimetres, source_to_object: Millimetres) -> f64 {
    source_to_detector.0 / source_to_object.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::PositionerAngles;

    const ROUNDING_MM: f64 = 1e-9;

    fn looking(primary: f64, secondary: f64, roll: f64) -> Pose {
        let angles = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) };
        let (to_isocentre, to_detector) = (Millimetres(650.0), Millimetres(1000.0));
        Pose::looking(angles.beam(), Point::origin(), to_isocentre, to_detector, Degrees(roll))
    }

    /// Source: magnification is SID over SOD, DICOM (0018,1114); 1000 over 650 is 1.538, over 700 is 1.429.
    #[test]
    fn a_pin_of_3_2_mm_images_as_4_92_mm() {
        for (to_object, factor, pictured) in [(650.0, 1.538, 4.92), (610.0, 1.639, 5.25), (690.0, 1.449, 4.64)] {
            let found = magnification(Millimetres(1000.0), Millimetres(to_object));
            assert!((found - factor).abs() < 5e-4, "{found}");
            assert!((3.2 * found - pictured).abs() < 5e-3 + 1e-9, "{}", 3.2 * found);
        }
        assert!((magnification(Millimetres(1000.0), Millimetres(700.0)) - 1.429).abs() < 5e-4);
    }

    #[test]
    fn with_the_chest_to_the_detector_left_is_right_and_head_is_up() {
        let place = looking(0.0, 0.0, 0.0).project(&Point::new(10.0, 0.0, 20.0)).expect("in front of the source");
        assert!(
            (place.across_mm - 10.0 / 0.65).abs() < ROUNDING_MM && (place.down_mm + 20.0 / 0.65).abs() < ROUNDING_MM
        );
    }

    #[test]
    fn swapping_source_and_detector_mirrors_the_picture() {
        let place = looking(180.0, 0.0, 0.0).project(&Point::new(10.0, 0.0, 20.0)).expect("in front of the source");
        assert!(
            (place.across_mm + 10.0 / 0.65).abs() < ROUNDING_MM && (place.down_mm + 20.0 / 0.65).abs() < ROUNDING_MM
        );
    }

    #[test]
    fn roll_turns_what_is_shown_anticlockwise() {
        // The head, at the top, goes to the left.
        let place = looking(0.0, 0.0, 90.0).project(&Point::new(0.0, 0.0, 20.0)).expect("in front of the source");
        assert!((place.across_mm + 20.0 / 0.65).abs() < ROUNDING_MM && place.down_mm.abs() < ROUNDING_MM, "{place:?}");
    }

    #[test]
    fn the_ray_of_a_shadow_passes_through_what_casts_it() {
        let mut pose = looking(13.6, -42.2, 7.0);
        // A plane that is not at right angles to the beam.
        pose.across = Direction::new_normalize(pose.across.into_inner() + pose.beam().into_inner() * 0.2);
        let point = Point::new(12.0, -34.0, 56.0);
        let ray = pose.ray(pose.project(&point).expect("in front of the source"));
        assert!((point - ray.origin).cross(&ray.direction).norm() < ROUNDING_MM);
    }

    #[test]
    fn nothing_is_seen_of_a_point_behind_the_source_or_level_with_it() {
        let pose = looking(0.0, 0.0, 0.0);
        assert_eq!(pose.project(&Point::new(0.0, 651.0, 0.0)), None);
        assert_eq!(pose.project(&Point::new(5.0, 650.0, 0.0)), None);
        assert_eq!(pose.magnification_at(&Point::new(5.0, 650.0, 0.0)), None);
    }

    #[test]
    fn a_beam_along_the_body_has_the_chest_at_the_top() {
        let place = looking(0.0, 90.0, 0.0).project(&Point::new(0.0, -10.0, 0.0)).expect("in front of the source");
        assert!(place.down_mm < 0.0 && place.across_mm.abs() < ROUNDING_MM, "{place:?}");
    }
}

//! Where a picture stands: spacing and the plane it belongs to, beam angles, distances, the patient's position.
//!
//! Source of every rule: DICOM PS3.3, 10.7 (pixel spacing and its calibration), C.8.7.5 (positioner), C.8.19.6 (distances),
//! C.7.6.2 (image plane). A spacing on the detector is never handed out as one in the patient.

use crate::units::Side;

/// What a file says of its geometry; what it does not say is absent.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Geometry {
    pub spacing: Option<Spacing>,
    /// Height of a pixel over its width, where the file says it without a spacing: DICOM (0028,0034).
    pub pixel_aspect: Option<f64>,
    /// Source to detector, mm, DICOM (0018,1110).
    pub source_to_detector_mm: Option<f64>,
    /// Source to isocentre or centre of the field of view, never to the skin, mm, DICOM (0018,1111).
    pub source_to_object_mm: Option<f64>,
    /// Source to detector over source to object, DICOM (0018,1114).
    pub magnification: Option<f64>,
    /// Positioner primary angle, degrees, positive toward the patient's left, DICOM (0018,1510). Mobile C-arms often
    /// write the room's angles here or none: a view is never named by it alone.
    pub primary_deg: Option<f64>,
    /// Positioner secondary angle, degrees, positive toward the head, DICOM (0018,1511).
    pub secondary_deg: Option<f64>,
    pub patient_position: Option<PatientPosition>,
    /// Side of the patient that is pictured, if a paired structure is: DICOM (0020,0060) or (0020,0062).
    pub laterality: Option<Side>,
    /// Of a slice: where it lies in the patient.
    pub slice: Option<SlicePlane>,
}

/// Distance between the centres of neighbouring pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spacing {
    /// Between columns, along a row, mm.
    pub across_mm: f64,
    /// Between rows, along a column, mm.
    pub down_mm: f64,
    pub at: SpacingAt,
}

/// In which plane a spacing holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpacingAt {
    /// On the detector: everything in the patient is pictured larger.
    Detector,
    /// In the patient, at the depth that the file's calibration chose.
    Patient(Depth),
    /// In the slice itself: no magnification.
    Slice,
}

/// How a projection's spacing was brought into the patient: DICOM (0028,0A02).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// From the machine's own geometry, at a depth it assumed.
    Geometry,
    /// From an object of known size in the picture.
    Fiducial,
}

impl Geometry {
    /// How much larger than life the picture shows what lies at the stated distance from the source.
    ///
    /// Source: DICOM PS3.3, (0018,1114) is source to detector over source to object.
    #[must_use]
    pub fn stated_magnification(&self) -> Option<f64> {
        let from_distances = match (self.source_to_detector_mm, self.source_to_object_mm) {
            (Some(detector), Some(object)) if object > 0.0 && detector >= object => Some(detector / object),
            _ => None,
        };
        from_distances.or(self.magnification.filter(|factor| *factor >= 1.0))
    }

    /// The spacing at the stated distance from the source: the slice's own, the calibrated one, or the detector's
    /// divided by the magnification. `None` where the file gives no ground for one.
    #[must_use]
    pub fn spacing_in_patient(&self) -> Option<Spacing> {
        let spacing = self.spacing?;
        if spacing.at != SpacingAt::Detector {
            return Some(spacing);
        }
        let factor = self.stated_magnification()?;
        let (across_mm, down_mm) = (spacing.across_mm / factor, spacing.down_mm / factor);
        Some(Spacing { across_mm, down_mm, at: SpacingAt::Patient(Depth::Geometry) })
    }

    /// Height of a pixel over its width; 1 where the file does not say otherwise.
    #[must_use]
    pub fn aspect(&self) -> f64 {
        self.spacing.map(|spacing| spacing.down_mm / spacing.across_mm).or(self.pixel_aspect).unwrap_or(1.0)
    }
}

/// How the patient lay, DICOM (0018,5100): which end went into the machine first, and which side was up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PatientPosition {
    pub head_first: bool,
    pub lies: Lies,
}

/// On what the patient lay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    Prone,
    Supine,
    OnLeft,
    OnRight,
}

impl PatientPosition {
    /// Reads DICOM's code: "HFP" is head first, prone.
    #[must_use]
    pub fn of_code(code: &str) -> Option<Self> {
        let (head_first, lies) = match (code.get(..2)?, code.get(2..)?) {
            ("HF", lies) => (true, lies),
            ("FF", lies) => (false, lies),
            _ => return None,
        };
        let lies = match lies {
            "P" => Lies::Prone,
            "S" => Lies::Supine,
            "DL" => Lies::OnLeft,
            "DR" => Lies::OnRight,
            _ => return None,
        };
        Some(Self { head_first, lies })
    }
}

/// Where a slice lies, in the patient frame (LPS, mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlicePlane {
    /// Centre of the upper left pixel, DICOM (0020,0032).
    pub origin_mm: [f64; 3],
    /// Unit vector along a row, to the right on the picture: first half of DICOM (0020,0037).
    pub across: [f64; 3],
    /// Unit vector along a column, down on the picture: second half.
    pub down: [f64; 3],
}

/// The anatomical plane a slice is nearest to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plane {
    Axial,
    Coronal,
    Sagittal,
}

impl SlicePlane {
    /// The nearest anatomical plane, and how far the slice is turned out of it, degrees, 0 to 54.8.
    #[must_use]
    pub fn nearest(&self) -> (Plane, f64) {
        let [ax, ay, az] = self.across;
        let [dx, dy, dz] = self.down;
        let normal = [ay * dz - az * dy, az * dx - ax * dz, ax * dy - ay * dx];
        let planes = [(Plane::Sagittal, normal[0]), (Plane::Coronal, normal[1]), (Plane::Axial, normal[2])];
        let (plane, along) =
            planes.into_iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).expect("there are three planes");
        (plane, along.abs().min(1.0).acos().to_degrees())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn detector(across_mm: f64) -> Geometry {
        let spacing = Some(Spacing { across_mm, down_mm: across_mm, at: SpacingAt::Detector });
        Geometry { spacing, ..Geometry::default() }
    }

    /// Source: magnification 1000 over 650 is 1.538, so that a 3.2 mm pin images as 4.92 mm; computed from the
    /// definition of DICOM (0018,1114).
    #[test]
    fn a_detector_spacing_is_divided_by_the_magnification() {
        let mut geometry = detector(0.2);
        assert_eq!(geometry.spacing_in_patient(), None, "without distances nothing is known of the patient");
        geometry.source_to_detector_mm = Some(1000.0);
        geometry.source_to_object_mm = Some(650.0);
        let factor = geometry.stated_magnification().expect("both distances stand there");
        assert!((factor - 1.538).abs() < 5e-4 && (3.2 * factor - 4.92).abs() < 5e-3);
        let spacing = geometry.spacing_in_patient().expect("distances and detector spacing");
        assert!((spacing.across_mm - 0.13).abs() < 1e-12);
        assert_eq!(spacing.at, SpacingAt::Patient(Depth::Geometry));
    }

    #[test]
    fn a_distance_to_the_object_beyond_the_detector_is_no_ground_for_a_spacing() {
        let mut geometry = detector(0.2);
        geometry.source_to_detector_mm = Some(650.0);
        geometry.source_to_object_mm = Some(1000.0);
        assert_eq!(geometry.spacing_in_patient(), None);
    }

    /// Source: the codes of DICOM PS3.3 C.7.3.1.1.2.
    #[test]
    fn hfp_is_head_first_and_prone() {
        assert_eq!(PatientPosition::of_code("HFP"), Some(PatientPosition { head_first: true, lies: Lies::Prone }));
        assert_eq!(PatientPosition::of_code("FFDL"), Some(PatientPosition { head_first: false, lies: Lies::OnLeft }));
        for other in ["", "H", "HF", "XFP", "HFX", "é"] {
            assert_eq!(PatientPosition::of_code(other), None, "{other}");
        }
    }

    #[test]
    fn a_slice_is_named_by_its_normal_and_its_turn_is_said() {
        let coronal = SlicePlane { origin_mm: [0.0; 3], across: [1.0, 0.0, 0.0], down: [0.0, 0.0, -1.0] };
        assert_eq!(coronal.nearest(), (Plane::Coronal, 0.0));
        let (sin, cos) = 40_f64.to_radians().sin_cos();
        let outlet = SlicePlane { down: [0.0, sin, -cos], ..coronal };
        let (plane, turned) = outlet.nearest();
        assert!(plane == Plane::Coronal && (turned - 40.0).abs() < 1e-9, "{plane:?} {turned}");
    }
}

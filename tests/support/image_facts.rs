//! A picture of ours held against what pydicom read from the same file.

use brimline::ports::image::{Depth, Geometry, GreyImage, Lies, Modality, SpacingAt};
use brimline::units::Side;
use serde_json::Value;

/// Rounding of a decimal read by two programs and of `slope * value + intercept`.
const ROUNDING: f64 = 1e-9;

/// Asserts that pixels, display and geometry are what pydicom found, by the standard's rules.
pub fn agrees(name: &str, image: &GreyImage, found: &Value) {
    let values: Vec<f64> = (0..image.pixels.len())
        .map(|at| image.rescale.value(image.pixels.at(at).expect("within the picture")))
        .collect();
    same(name, "values", Some(&values), list(&found["values"]).as_deref());
    assert_eq!(Some(u64::from(image.height)), found["rows"].as_u64(), "{name}: rows");
    assert_eq!(Some(u64::from(image.width)), found["columns"].as_u64(), "{name}: columns");
    assert_eq!(image.low_is_white, found["photometric"] == "MONOCHROME1", "{name}: photometric interpretation");
    let window = image.window.map(|window| vec![window.centre, window.width]);
    let first = |member: &str| list(&found[member]).and_then(|values| values.first().copied());
    let wanted = first("WindowCenter").zip(first("WindowWidth")).map(|(centre, width)| vec![centre, width]);
    same(name, "window", window.as_deref(), wanted.as_deref());
    modality(name, image, found);
    spacing(name, &image.geometry, found, image.modality);
    beam(name, &image.geometry, found);
    patient(name, &image.geometry, found);
}

fn modality(name: &str, image: &GreyImage, found: &Value) {
    let wanted = match found["sop_class"].as_str().expect("a class") {
        "1.2.840.10008.5.1.4.1.1.2" => Modality::Slice,
        "1.2.840.10008.5.1.4.1.1.7" => Modality::Capture,
        _ => Modality::Projection,
    };
    assert_eq!(image.modality, wanted, "{name}: modality");
}

/// DICOM PS3.3, 10.7.1.3: a calibrated spacing before the detector's; without a calibration no spacing in the patient.
fn spacing(name: &str, geometry: &Geometry, found: &Value, modality: Modality) {
    let (patient, detector) = (list(&found["PixelSpacing"]), list(&found["ImagerPixelSpacing"]));
    let depth = match found["calibration"].as_str() {
        Some("FIDUCIAL") => Some(Depth::Fiducial),
        Some("GEOMETRY") => Some(Depth::Geometry),
        _ => None,
    };
    let (wanted, at) = match (modality, depth) {
        (Modality::Slice, _) => (patient, SpacingAt::Slice),
        (_, Some(depth)) if patient.is_some() => (patient, SpacingAt::Patient(depth)),
        _ => (detector, SpacingAt::Detector),
    };
    // The distance between rows comes first.
    let ours = geometry.spacing.map(|spacing| vec![spacing.down_mm, spacing.across_mm]);
    same(name, "spacing", ours.as_deref(), wanted.as_deref());
    assert!(geometry.spacing.is_none_or(|spacing| spacing.at == at), "{name}: plane of the spacing");
    let aspect = list(&found["PixelAspectRatio"]).map(|values| vec![values[0] / values[1]]);
    same(name, "aspect", geometry.pixel_aspect.map(|aspect| vec![aspect]).as_deref(), aspect.as_deref());
}

fn beam(name: &str, geometry: &Geometry, found: &Value) {
    let members = [
        ("DistanceSourceToDetector", geometry.source_to_detector_mm),
        ("DistanceSourceToPatient", geometry.source_to_object_mm),
        ("EstimatedRadiographicMagnificationFactor", geometry.magnification),
        ("PositionerPrimaryAngle", geometry.primary_deg),
        ("PositionerSecondaryAngle", geometry.secondary_deg),
    ];
    for (member, ours) in members {
        let angle = member.ends_with("Angle");
        let wanted = list(&found[member]).filter(|values| angle || values[0] > 0.0);
        same(name, member, ours.map(|value| vec![value]).as_deref(), wanted.as_deref());
    }
}

fn patient(name: &str, geometry: &Geometry, found: &Value) {
    let code = geometry.patient_position.map(|position| {
        let lies = match position.lies {
            Lies::Prone => "P",
            Lies::Supine => "S",
            Lies::OnLeft => "DL",
            Lies::OnRight => "DR",
        };
        format!("{}{lies}", if position.head_first { "HF" } else { "FF" })
    });
    assert_eq!(code.as_deref(), found["position"].as_str(), "{name}: patient position");
    let side = geometry.laterality.map(|side| if side == Side::Left { "L" } else { "R" });
    assert_eq!(side, found["laterality"].as_str(), "{name}: laterality");
    let origin = geometry.slice.map(|slice| slice.origin_mm.to_vec());
    same(name, "ImagePositionPatient", origin.as_deref(), list(&found["ImagePositionPatient"]).as_deref());
    let axes = geometry.slice.map(|slice| [slice.across, slice.down].concat());
    same(name, "ImageOrientationPatient", axes.as_deref(), list(&found["ImageOrientationPatient"]).as_deref());
}

fn list(value: &Value) -> Option<Vec<f64>> {
    value.as_array().map(|values| values.iter().map(|value| value.as_f64().expect("a number")).collect())
}

fn same(name: &str, member: &str, ours: Option<&[f64]>, theirs: Option<&[f64]>) {
    let close = match (ours, theirs) {
        (Some(ours), Some(theirs)) => {
            ours.len() == theirs.len()
                && ours.iter().zip(theirs).all(|(a, b)| (a - b).abs() <= ROUNDING * b.abs().max(1.0))
        }
        (None, None) => true,
        _ => false,
    };
    assert!(close, "{name}: {member}: {ours:?}, pydicom {theirs:?}");
}

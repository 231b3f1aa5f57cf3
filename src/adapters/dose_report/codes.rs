//! Codes of PS3.16 that a dose report is read by. Those without a scheme in their name are of the scheme DCM.
//!
//! Source: PS3.16 Annex D and TID 10001 to 10007, 10040 to 10042; a test holds meanings against pydicom's copy.

use crate::dose::{EventType, Plane, ReferencePoint};

pub const REPORT: &str = "113701";
pub const ACCUMULATED: &str = "113702";
pub const EVENT: &str = "113706";
pub const ACCUMULATED_ENHANCED: &str = "130500";
pub const EVENT_ENHANCED: &str = "130501";
pub const DETAILS_ENHANCED: &str = "130505";
pub const SCOPE: &str = "113705";
pub const STARTED_COVER: &str = "113809";
pub const ENDED_COVER: &str = "113810";
pub const CALIBRATION: &str = "122505";
pub const FILTERS: &str = "113771";

/// Scheme and code of a coded value.
pub type Pair<'a> = (&'a str, &'a str);

/// Whether a scheme is SNOMED's under one of its older designators: SRT, and SNM3 before it.
pub fn is_older_snomed(scheme: &str) -> bool {
    matches!(scheme, "SRT" | "SNM3" | "99SDM")
}

/// CID 10003.
pub fn plane(pair: Pair<'_>) -> Option<Plane> {
    match pair {
        ("DCM", "113622") => Some(Plane::Single),
        ("DCM", "113620") => Some(Plane::A),
        ("DCM", "113621") => Some(Plane::B),
        ("DCM", "113890") => Some(Plane::All),
        _ => None,
    }
}

/// CID 10002.
pub fn event_type(pair: Pair<'_>) -> Option<EventType> {
    match pair {
        ("SCT", "44491008") => Some(EventType::Fluoroscopy),
        (scheme, "P5-06000") if is_older_snomed(scheme) => Some(EventType::Fluoroscopy),
        ("DCM", "113611") => Some(EventType::StationaryAcquisition),
        ("DCM", "113612") => Some(EventType::SteppingAcquisition),
        ("DCM", "113613") => Some(EventType::RotationalAcquisition),
        _ => None,
    }
}

/// CID 10025.
pub fn reference_point(pair: Pair<'_>) -> Option<ReferencePoint> {
    match pair {
        ("DCM", "113860") => Some(ReferencePoint::IsocentreTowardSource),
        ("DCM", "113861") => Some(ReferencePoint::InFrontOfImageInput),
        ("DCM", "113862") => Some(ReferencePoint::AboveTableTop),
        ("DCM", "113863") => Some(ReferencePoint::AboveTableTop30Cm),
        ("DCM", "113864") => Some(ReferencePoint::FromTableCentreLine),
        _ => None,
    }
}

/// CID 10006: the material of a filter as its chemical symbol, for those usual in fluoroscopy.
pub fn material(pair: Pair<'_>) -> Option<&'static str> {
    match pair {
        ("SCT", "12503006") => Some("Al"),
        ("SCT", "66925006") => Some("Cu"),
        // Those that end in F9 are "or compound", of older editions: from memory.
        (scheme, "C-12000" | "C-120F9") if is_older_snomed(scheme) => Some("Al"),
        (scheme, "C-12700" | "C-127F9") if is_older_snomed(scheme) => Some("Cu"),
        _ => None,
    }
}

/// CID 10004: whether the beam is pulsed.
pub fn pulsed(pair: Pair<'_>) -> Option<bool> {
    match pair {
        ("DCM", "113630") => Some(false),
        ("DCM", "113631") => Some(true),
        _ => None,
    }
}

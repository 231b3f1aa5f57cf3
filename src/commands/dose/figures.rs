//! The figures of a dose report in the order they are printed, each with its unit and its attribute.
//!
//! Source of codes and names: PS3.16 TID 10002, 10003, 10003B, 10003C, 10004, 10007.

use crate::dose::{IrradiationEvent, PlaneTotals};

/// One figure: name, unit, attribute, and where it stands.
pub(super) struct Figure<T> {
    pub name: &'static str,
    pub unit: &'static str,
    /// Code of the scheme DCM and its meaning.
    pub attribute: &'static str,
    pub of: fn(&T) -> Option<f64>,
}

const fn figure<T>(
    name: &'static str,
    unit: &'static str,
    attribute: &'static str,
    of: fn(&T) -> Option<f64>,
) -> Figure<T> {
    Figure { name, unit, attribute, of }
}

#[allow(clippy::cast_precision_loss, reason = "counts of frames, pulses and events are far below 2^52")]
fn count(count: Option<u64>) -> Option<f64> {
    count.map(|count| count as f64)
}

/// Totals of a plane.
pub(super) const TOTALS: [Figure<PlaneTotals>; 10] = [
    figure("kerma-area product", "Gy·cm²", "113722 Dose Area Product Total", |t| t.kerma_area_product.map(|v| v.0)),
    figure("  of fluoroscopy", "Gy·cm²", "113726 Fluoro Dose Area Product Total", |t| {
        t.fluoroscopy_kerma_area_product.map(|v| v.0)
    }),
    figure("  of acquisitions", "Gy·cm²", "113727 Acquisition Dose Area Product Total", |t| {
        t.acquisition_kerma_area_product.map(|v| v.0)
    }),
    figure("reference air kerma", "mGy", "113725 Dose (RP) Total", |t| t.reference_air_kerma.map(|v| v.0)),
    figure("  of fluoroscopy", "mGy", "113728 Fluoro Dose (RP) Total", |t| t.fluoroscopy_air_kerma.map(|v| v.0)),
    figure("  of acquisitions", "mGy", "113729 Acquisition Dose (RP) Total", |t| t.acquisition_air_kerma.map(|v| v.0)),
    figure("fluoroscopy time", "s", "113730 Total Fluoro Time", |t| t.fluoroscopy_time.map(|v| v.0)),
    figure("acquisition time", "s", "113855 Total Acquisition Time", |t| t.acquisition_time.map(|v| v.0)),
    figure("radiographic frames", "", "113731 Total Number of Radiographic Frames", |t| count(t.frames)),
    figure("irradiation events", "", "113812 Total Number of Irradiation Events", |t| count(t.events)),
];

/// Figures of an event; the first [`COLUMNS`] are columns of the table.
pub(super) const EVENT: [Figure<IrradiationEvent>; 21] = [
    figure("PKA", "Gy·cm²", "122130 Dose Area Product", |e| e.kerma_area_product.map(|v| v.0)),
    figure("air kerma", "mGy", "113738 Dose (RP)", |e| e.reference_air_kerma.map(|v| v.0)),
    figure("duration", "s", "113742 Irradiation Duration", |e| e.duration.map(|v| v.0)),
    figure("pulses", "", "113768 Number of Pulses", |e| count(e.pulses)),
    figure("primary", "°", "112011 Positioner Primary Angle", |e| e.primary_angle_deg),
    figure("secondary", "°", "112012 Positioner Secondary Angle", |e| e.secondary_angle_deg),
    figure("primary end", "°", "113739 Positioner Primary End Angle", |e| e.primary_end_angle_deg),
    figure("secondary end", "°", "113740 Positioner Secondary End Angle", |e| e.secondary_end_angle_deg),
    figure("column angle", "°", "113770 Column Angulation", |e| e.column_angle_deg),
    figure("pulse rate", "pulses/s", "113791 Pulse Rate", |e| e.pulse_rate),
    figure("pulse width", "ms", "113793 Pulse Width", |e| e.pulse_width_ms),
    figure("exposure time", "ms", "113824 Exposure Time", |e| e.exposure_time_ms),
    figure("tube voltage", "kV", "113733 KVP", |e| e.tube_voltage.map(|v| v.0)),
    figure("tube current", "mA", "113734 X-Ray Tube Current", |e| e.tube_current.map(|v| v.0)),
    figure("source to detector", "mm", "113750 Distance Source to Detector", |e| e.source_to_detector_mm),
    figure("source to isocentre", "mm", "113748 Distance Source to Isocenter", |e| e.source_to_isocentre_mm),
    figure("source to reference point", "mm", "113737 Distance Source to Reference Point", |e| {
        e.source_to_reference_point_mm
    }),
    figure("source to table", "mm", "113792 Distance Source to Table Plane", |e| e.source_to_table_mm),
    figure("field area", "cm²", "113790 Collimated Field Area", |e| e.field_area_cm2),
    figure("filters", "", "113771 X-Ray Filters", |e| count((!e.filters.is_empty()).then_some(e.filters.len() as u64))),
    figure("saved images", "", "113795 Acquired Image", |e| {
        count((!e.images.is_empty()).then_some(e.images.len() as u64))
    }),
];

/// Figures that are columns of the table of events.
pub(super) const COLUMNS: usize = 6;

/// Six significant digits at the most: no display states more, and binary conversion adds digits that mean nothing.
pub(super) fn shown(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    if (1e-4..1e9).contains(&rounded.abs()) { format!("{rounded}") } else { format!("{rounded:e}") }
}

//! Accumulated totals of a plane: TID 10002, 10004, 10007, and 10041 of the enhanced report.

use super::codes;
use super::content::Node;
use super::quantities::Quantity;
use super::reading::{Reading, TotalSteps};
use crate::dose::{DoseReport, PlaneTotals, ReportFault};
use crate::units::{GrayCm2, Milligray, Seconds};

/// Containers within a container of figures; the enhanced report groups by them.
pub(super) const NESTED_MAX: usize = 4;

impl Reading {
    /// Reads one container of totals.
    pub fn totals(&mut self, index: usize, container: Node<'_>, report: &mut DoseReport) {
        let mut totals = PlaneTotals {
            plane: None,
            kerma_area_product: None,
            reference_air_kerma: None,
            fluoroscopy_kerma_area_product: None,
            fluoroscopy_air_kerma: None,
            fluoroscopy_time: None,
            acquisition_kerma_area_product: None,
            acquisition_air_kerma: None,
            acquisition_time: None,
            frames: None,
            events: None,
            reference_point: None,
            calibrations: Vec::new(),
        };
        let mut steps = TotalSteps::default();
        let place = format!("totals {}", index + 1);
        self.total_items(container, &place, &mut totals, &mut steps, 0);
        for (missing, attribute) in [
            (totals.plane.is_none() && container.children().next().is_some(), "113764 Acquisition Plane"),
            (totals.kerma_area_product.is_none(), "113722 Dose Area Product Total"),
        ] {
            if missing {
                self.note(ReportFault::Missing { place: place.clone(), attribute: attribute.to_owned() });
            }
        }
        report.planes.push(totals);
        self.total_steps.push(steps);
    }

    fn total_items(
        &mut self,
        container: Node<'_>,
        place: &str,
        totals: &mut PlaneTotals,
        steps: &mut TotalSteps,
        nested: usize,
    ) {
        for child in container.children() {
            match child.dcm() {
                Some("113764" | "113832") => {
                    let plane = child.code_value().and_then(codes::plane);
                    self.put(&mut totals.plane, plane, place, "113764");
                }
                Some("113780") => {
                    let point = self.reference_point(child);
                    self.put(&mut totals.reference_point, point, place, "113780");
                }
                Some(codes::CALIBRATION) => {
                    let calibration = self.calibration(child, place);
                    totals.calibrations.push(calibration);
                }
                Some(code) => self.total(code, child, place, totals, steps),
                None => {}
            }
            if child.is_container() && !child.is(codes::CALIBRATION) && nested < NESTED_MAX {
                self.total_items(child, place, totals, steps, nested + 1);
            }
        }
    }

    fn total(&mut self, code: &str, node: Node<'_>, place: &str, totals: &mut PlaneTotals, steps: &mut TotalSteps) {
        let (slot, step) = match code {
            "113722" => (&mut totals.kerma_area_product, &mut steps.all.kerma_area),
            "113726" => (&mut totals.fluoroscopy_kerma_area_product, &mut steps.fluoroscopy.kerma_area),
            "113727" => (&mut totals.acquisition_kerma_area_product, &mut steps.acquisition.kerma_area),
            _ => return self.total_kerma_or_time(code, node, place, totals, steps),
        };
        let Some((value, half)) = self.number(node, Quantity::KermaArea, place, code) else { return };
        if self.put(slot, Some(GrayCm2(value)), place, code) {
            *step = half;
        }
    }

    fn total_kerma_or_time(
        &mut self,
        code: &str,
        node: Node<'_>,
        place: &str,
        totals: &mut PlaneTotals,
        steps: &mut TotalSteps,
    ) {
        let (slot, step) = match code {
            "113725" => (&mut totals.reference_air_kerma, &mut steps.all.air_kerma),
            "113728" => (&mut totals.fluoroscopy_air_kerma, &mut steps.fluoroscopy.air_kerma),
            "113729" => (&mut totals.acquisition_air_kerma, &mut steps.acquisition.air_kerma),
            _ => return self.total_time_or_count(code, node, place, totals, steps),
        };
        let Some((value, half)) = self.number(node, Quantity::AirKerma, place, code) else { return };
        if self.put(slot, Some(Milligray(value)), place, code) {
            *step = half;
        }
    }

    fn total_time_or_count(
        &mut self,
        code: &str,
        node: Node<'_>,
        place: &str,
        totals: &mut PlaneTotals,
        steps: &mut TotalSteps,
    ) {
        match code {
            "113730" | "113855" => {
                let (slot, step) = if code == "113730" {
                    (&mut totals.fluoroscopy_time, &mut steps.fluoroscopy.duration)
                } else {
                    (&mut totals.acquisition_time, &mut steps.acquisition.duration)
                };
                let Some((value, half)) = self.number(node, Quantity::Duration, place, code) else { return };
                if self.put(slot, Some(Seconds(value)), place, code) {
                    *step = half;
                }
            }
            "113731" => {
                let count = self.count(node, place, code);
                self.put(&mut totals.frames, count, place, code);
            }
            "113812" => {
                let count = self.count(node, place, code);
                self.put(&mut totals.events, count, place, code);
            }
            _ => {}
        }
    }

    /// A whole number, within what a double holds exactly.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "judged whole and below 2^53")]
    pub fn count(&mut self, node: Node<'_>, place: &str, attribute: &str) -> Option<u64> {
        self.number(node, Quantity::Count, place, attribute).map(|(value, _)| value as u64)
    }
}

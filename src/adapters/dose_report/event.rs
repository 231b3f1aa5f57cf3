//! One irradiation event: TID 10003 with 10003A, 10003B and 10003C, and 10042 of the enhanced report.

use super::codes;
use super::content::Node;
use super::quantities::Quantity;
use super::reading::{Reading, Steps};
use super::totals::NESTED_MAX;
use crate::dose::{DoseReport, EventType, IrradiationEvent, ReportFault};
use crate::units::{GrayCm2, Kilovolts, Milliamperes, Milligray, Seconds};

/// Figures that a report may state once a pulse; the event keeps their mean.
#[derive(Default)]
struct PerPulse {
    voltage: Vec<f64>,
    current: Vec<f64>,
    mean_current: Vec<f64>,
    pulse_width: Vec<f64>,
}

/// Values of one figure within one event.
const PER_PULSE_MAX: usize = 100_000;

impl Reading {
    /// Reads one event.
    pub fn event(&mut self, index: usize, container: Node<'_>, report: &mut DoseReport) {
        let mut event = IrradiationEvent::default();
        let (mut steps, mut pulses) = (Steps::default(), PerPulse::default());
        let place = format!("event {}", index + 1);
        self.event_items(container, &place, &mut event, (&mut steps, &mut pulses), 0);
        event.tube_voltage = mean(&pulses.voltage).map(Kilovolts);
        event.tube_current = mean(&pulses.mean_current).or_else(|| mean(&pulses.current)).map(Milliamperes);
        event.pulse_width_ms = mean(&pulses.pulse_width);
        for (missing, attribute) in [
            (event.event_type.is_none(), "113721 Irradiation Event Type"),
            (event.plane.is_none(), "113764 Acquisition Plane"),
        ] {
            if missing {
                self.note(ReportFault::Missing { place: place.clone(), attribute: attribute.to_owned() });
            }
        }
        report.events.push(event);
        self.event_steps.push(steps);
    }

    fn event_items(
        &mut self,
        container: Node<'_>,
        place: &str,
        event: &mut IrradiationEvent,
        (steps, pulses): (&mut Steps, &mut PerPulse),
        nested: usize,
    ) {
        for child in container.children() {
            match child.name() {
                Some(("DCM", codes::FILTERS)) => {
                    let filter = self.filter(child, place);
                    event.filters.extend(filter);
                }
                Some(("DCM", code)) => {
                    let taken = self.event_item(code, child, place, event)
                        || self.event_dose(code, child, place, event, steps)
                        || self.event_per_pulse(code, child, place, pulses);
                    if !taken {
                        self.event_geometry(code, child, place, event);
                    }
                }
                _ => {}
            }
            if child.is_container() && !child.is(codes::FILTERS) && nested < NESTED_MAX {
                self.event_items(child, place, event, (&mut *steps, &mut *pulses), nested + 1);
            }
        }
    }

    /// Identity, time and kind; whether the code is one of them.
    fn event_item(&mut self, code: &str, node: Node<'_>, place: &str, event: &mut IrradiationEvent) -> bool {
        match code {
            "113769" | "113853" => {
                let uid = node.uid_value().map(str::to_owned);
                self.put(&mut event.uid, uid, place, code);
            }
            // The enhanced report states the begin of the irradiation itself.
            "111526" | "113809" => {
                let time = self.time(node, place, code);
                self.put(&mut event.started, time, place, code);
            }
            "113764" | "113832" => {
                let plane = node.code_value().and_then(codes::plane);
                self.put(&mut event.plane, plane, place, code);
            }
            "113721" => {
                let known = node.code_value().and_then(codes::event_type);
                let kind = known.or_else(|| node.meaning(&self.texts).map(EventType::Other));
                self.put(&mut event.event_type, kind, place, code);
            }
            "125203" => {
                let protocol = node.meaning(&self.texts);
                self.put(&mut event.protocol, protocol, place, code);
            }
            "113780" => {
                let point = self.reference_point(node);
                self.put(&mut event.reference_point, point, place, code);
            }
            "113732" => {
                let pulsed = node.code_value().and_then(codes::pulsed);
                self.put(&mut event.pulsed, pulsed, place, code);
            }
            "113795" => event.images.extend(node.image().map(str::to_owned)),
            _ => return false,
        }
        true
    }

    /// Dose, time and pulses; whether the code is one of them.
    fn event_dose(
        &mut self,
        code: &str,
        node: Node<'_>,
        place: &str,
        event: &mut IrradiationEvent,
        steps: &mut Steps,
    ) -> bool {
        let quantity = match code {
            "122130" => Quantity::KermaArea,
            "113738" => Quantity::AirKerma,
            "113742" => Quantity::Duration,
            "113768" => Quantity::Count,
            "113791" => Quantity::Rate,
            "113824" | "113735" => Quantity::ShortDuration,
            _ => return false,
        };
        if quantity == Quantity::Count {
            let pulses = self.count(node, place, code);
            self.put(&mut event.pulses, pulses, place, code);
            return true;
        }
        let Some((value, half)) = self.number(node, quantity, place, code) else { return true };
        match code {
            "122130" if self.put(&mut event.kerma_area_product, Some(GrayCm2(value)), place, code) => {
                steps.kerma_area = half;
            }
            "113738" if self.put(&mut event.reference_air_kerma, Some(Milligray(value)), place, code) => {
                steps.air_kerma = half;
            }
            "113742" if self.put(&mut event.duration, Some(Seconds(value)), place, code) => steps.duration = half,
            "113791" => {
                self.put(&mut event.pulse_rate, Some(value), place, code);
            }
            "113824" | "113735" => {
                self.put(&mut event.exposure_time_ms, Some(value), place, code);
            }
            _ => {}
        }
        true
    }

    /// What may be stated once a pulse; whether the code is one of them.
    fn event_per_pulse(&mut self, code: &str, node: Node<'_>, place: &str, pulses: &mut PerPulse) -> bool {
        let (list, quantity) = match code {
            "113733" => (&mut pulses.voltage, Quantity::Voltage),
            "113734" => (&mut pulses.current, Quantity::Current),
            "113767" => (&mut pulses.mean_current, Quantity::Current),
            "113793" => (&mut pulses.pulse_width, Quantity::ShortDuration),
            _ => return false,
        };
        if let Some((value, _)) = self.number(node, quantity, place, code)
            && list.len() < PER_PULSE_MAX
        {
            list.push(value);
        }
        true
    }

    /// Where the machine stood.
    fn event_geometry(&mut self, code: &str, node: Node<'_>, place: &str, event: &mut IrradiationEvent) {
        let (slot, quantity) = match code {
            "112011" => (&mut event.primary_angle_deg, Quantity::Angle),
            "112012" => (&mut event.secondary_angle_deg, Quantity::Angle),
            "113739" => (&mut event.primary_end_angle_deg, Quantity::Angle),
            "113740" => (&mut event.secondary_end_angle_deg, Quantity::Angle),
            "113770" => (&mut event.column_angle_deg, Quantity::Angle),
            "113750" => (&mut event.source_to_detector_mm, Quantity::Length),
            "113748" => (&mut event.source_to_isocentre_mm, Quantity::Length),
            "113737" => (&mut event.source_to_reference_point_mm, Quantity::Length),
            "113792" => (&mut event.source_to_table_mm, Quantity::Length),
            "113790" => (&mut event.field_area_cm2, Quantity::Area),
            _ => return,
        };
        let value = self.number(node, quantity, place, code).map(|(value, _)| value);
        self.put(slot, value, place, code);
    }
}

fn mean(values: &[f64]) -> Option<f64> {
    // One value stays as it is written, to the last bit.
    match values {
        [] => None,
        [one] => Some(*one),
        many => {
            #[allow(clippy::cast_precision_loss, reason = "at most PER_PULSE_MAX values")]
            let count = many.len() as f64;
            Some(many.iter().sum::<f64>() / count)
        }
    }
}

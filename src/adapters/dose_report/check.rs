//! Holding a report against itself: totals against events, identity and order of events, what must be there.
//!
//! Two figures agree if they differ by no more than their last written digits allow. The fluoroscopy time is allowed
//! one pulse interval an event besides: one side may count from first to last pulse, the other while the switch is
//! closed (PS3.16, 113742 and 113730).

use super::reading::{Reading, Steps, TotalSteps};
use crate::dose::{DoseReport, EventType, Figure, IrradiationEvent, Plane, PlaneTotals, ReportFault};
use std::collections::HashMap;

/// What binary arithmetic may add over thousands of additions, relative to the sum.
const SUM_ROUNDING: f64 = 1e-12;

/// A sum over events, how much their digits leave open, and whether all of them stated it.
struct Sum {
    value: f64,
    open: f64,
    events: usize,
    complete: bool,
}

impl Reading {
    /// Notes every contradiction and every gap.
    pub fn check(&mut self, report: &DoseReport) {
        if report.planes.is_empty() {
            let nothing = report.events.is_empty();
            self.note(if nothing { ReportFault::Nothing } else { ReportFault::NoTotals });
        }
        self.check_events(&report.events);
        let steps = std::mem::take(&mut self.total_steps);
        for (totals, steps) in report.planes.iter().zip(&steps) {
            self.check_parts(totals, steps);
            if !report.events.is_empty() {
                self.check_totals(report, totals, steps);
            }
        }
        self.total_steps = steps;
    }

    fn check_events(&mut self, events: &[IrradiationEvent]) {
        let mut seen: HashMap<&str, usize> = HashMap::new();
        let mut before = None;
        for (index, event) in events.iter().enumerate() {
            match event.uid.as_deref() {
                None => self.note(ReportFault::EventWithoutUid { event: index }),
                Some(uid) => match seen.get(uid) {
                    Some(earlier) => self.note(ReportFault::EventTwice { event: index, earlier: *earlier }),
                    None => {
                        seen.insert(uid, index);
                    }
                },
            }
            let Some(started) = event.started else {
                self.note(ReportFault::EventWithoutTime { event: index });
                continue;
            };
            if before.is_some_and(|before| started.local < before) {
                self.note(ReportFault::EventOutOfOrder { event: index });
            }
            before = Some(started.local);
        }
    }

    /// A total is the sum of its two parts, fluoroscopy and acquisitions (PS3.16 TID 10004).
    fn check_parts(&mut self, totals: &PlaneTotals, steps: &TotalSteps) {
        let kerma_area = [
            totals.kerma_area_product.map(|value| value.0),
            totals.fluoroscopy_kerma_area_product.map(|value| value.0),
            totals.acquisition_kerma_area_product.map(|value| value.0),
        ];
        let air_kerma = [
            totals.reference_air_kerma.map(|value| value.0),
            totals.fluoroscopy_air_kerma.map(|value| value.0),
            totals.acquisition_air_kerma.map(|value| value.0),
        ];
        let of = |which: fn(&Steps) -> f64| which(&steps.all) + which(&steps.fluoroscopy) + which(&steps.acquisition);
        for (figure, stated, open) in [
            (Figure::KermaAreaProduct, kerma_area, of(|steps| steps.kerma_area)),
            (Figure::ReferenceAirKerma, air_kerma, of(|steps| steps.air_kerma)),
        ] {
            let [Some(total), Some(fluoroscopy), Some(acquisition)] = stated else { continue };
            let parts = fluoroscopy + acquisition;
            if (total - parts).abs() > open + SUM_ROUNDING * total.abs() {
                self.note(ReportFault::PartsDisagree { plane: totals.plane, figure, total, parts });
            }
        }
    }

    fn check_totals(&mut self, report: &DoseReport, totals: &PlaneTotals, steps: &TotalSteps) {
        let figures = figures(totals, steps);
        for (figure, total, half, value, step, which) in figures {
            // Air kerma of two planes lies at two reference points; it is no sum.
            let both =
                totals.plane == Some(Plane::All) && report.events.iter().any(|event| event.plane == Some(Plane::B));
            let kerma =
                matches!(figure, Figure::ReferenceAirKerma | Figure::FluoroscopyAirKerma | Figure::AcquisitionAirKerma);
            if both && kerma {
                continue;
            }
            let Some(total) = total else { continue };
            let mut sum = Sum { value: 0.0, open: half, events: 0, complete: true };
            for (event, steps) in report.events.iter().zip(&self.event_steps) {
                if of_plane(event, totals.plane) && of_kind(event, which) {
                    sum.add(value(event), step(steps), slack(figure, event));
                }
            }
            self.compare(totals.plane, figure, total, &sum);
        }
        let count = report.events.iter().filter(|event| of_plane(event, totals.plane)).count();
        if let Some(stated) = totals.events.filter(|stated| *stated != count as u64) {
            #[allow(clippy::cast_precision_loss, reason = "counts of events are far below 2^52")]
            let (total, sum) = (stated as f64, count as f64);
            self.note(ReportFault::TotalsDisagree { plane: totals.plane, figure: Figure::Events, total, sum });
        }
    }

    /// Where some events do not state the figure, the sum is a lower bound and can only be too large.
    fn compare(&mut self, plane: Option<Plane>, figure: Figure, total: f64, sum: &Sum) {
        if sum.events == 0 && !sum.complete {
            return;
        }
        let open = sum.open + SUM_ROUNDING * sum.value.abs();
        let beyond = if sum.complete { (sum.value - total).abs() } else { sum.value - total };
        if beyond > open {
            self.note(ReportFault::TotalsDisagree { plane, figure, total, sum: sum.value });
        }
    }
}

impl Sum {
    fn add(&mut self, value: Option<f64>, half: f64, slack: f64) {
        match value {
            Some(value) => {
                self.value += value;
                self.open += half + slack;
                self.events += 1;
            }
            None => self.complete = false,
        }
    }
}

/// Which events a total is over: all, or those of fluoroscopy (`true`), or those of acquisitions (`false`).
type Kind = Option<bool>;
/// Figure, stated total, its half step, the event's figure, the event's half step, which events.
type Row = (Figure, Option<f64>, f64, fn(&IrradiationEvent) -> Option<f64>, fn(&Steps) -> f64, Kind);

fn figures(totals: &PlaneTotals, steps: &TotalSteps) -> [Row; 8] {
    let area: fn(&IrradiationEvent) -> Option<f64> = |event| event.kerma_area_product.map(|value| value.0);
    let kerma: fn(&IrradiationEvent) -> Option<f64> = |event| event.reference_air_kerma.map(|value| value.0);
    let time: fn(&IrradiationEvent) -> Option<f64> = |event| event.duration.map(|value| value.0);
    let area_step: fn(&Steps) -> f64 = |steps| steps.kerma_area;
    let kerma_step: fn(&Steps) -> f64 = |steps| steps.air_kerma;
    let time_step: fn(&Steps) -> f64 = |steps| steps.duration;
    let TotalSteps { all, fluoroscopy, acquisition } = steps;
    let areas =
        [totals.kerma_area_product, totals.fluoroscopy_kerma_area_product, totals.acquisition_kerma_area_product]
            .map(|total| total.map(|value| value.0));
    let kermas = [totals.reference_air_kerma, totals.fluoroscopy_air_kerma, totals.acquisition_air_kerma]
        .map(|total| total.map(|value| value.0));
    let times = [totals.fluoroscopy_time, totals.acquisition_time].map(|total| total.map(|value| value.0));
    [
        (Figure::KermaAreaProduct, areas[0], all.kerma_area, area, area_step, None),
        (Figure::FluoroscopyKermaAreaProduct, areas[1], fluoroscopy.kerma_area, area, area_step, Some(true)),
        (Figure::AcquisitionKermaAreaProduct, areas[2], acquisition.kerma_area, area, area_step, Some(false)),
        (Figure::ReferenceAirKerma, kermas[0], all.air_kerma, kerma, kerma_step, None),
        (Figure::FluoroscopyAirKerma, kermas[1], fluoroscopy.air_kerma, kerma, kerma_step, Some(true)),
        (Figure::AcquisitionAirKerma, kermas[2], acquisition.air_kerma, kerma, kerma_step, Some(false)),
        (Figure::FluoroscopyTime, times[0], fluoroscopy.duration, time, time_step, Some(true)),
        (Figure::AcquisitionTime, times[1], acquisition.duration, time, time_step, Some(false)),
    ]
}

fn of_plane(event: &IrradiationEvent, plane: Option<Plane>) -> bool {
    match plane {
        Some(Plane::A | Plane::B) => event.plane == plane,
        _ => true,
    }
}

fn of_kind(event: &IrradiationEvent, kind: Kind) -> bool {
    let fluoroscopy = event.event_type == Some(EventType::Fluoroscopy);
    kind.is_none_or(|wanted| fluoroscopy == wanted)
}

fn slack(figure: Figure, event: &IrradiationEvent) -> f64 {
    let timed = matches!(figure, Figure::FluoroscopyTime | Figure::AcquisitionTime);
    match event.pulse_rate {
        Some(rate) if timed && rate > 0.0 => 1.0 / rate,
        _ => 0.0,
    }
}

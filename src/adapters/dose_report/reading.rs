//! What is carried along while a report is read: its text, its zone, what was found, and how finely figures are
//! written.

use super::content::Node;
use super::quantities::{Quantity, decimal, ucum};
use crate::adapters::dataset::{Texts, times};
use crate::dose::{MachineTime, ReportFault};

/// Findings that are kept; a report with more is beyond repair, and the rest are counted.
const FINDINGS_MAX: usize = 1_000;

pub(super) struct Reading {
    pub texts: Texts,
    zone: Option<i16>,
    findings: Vec<ReportFault>,
    more: usize,
    /// Half the last written digit of each figure that is summed, in its unit; one entry an event.
    pub event_steps: Vec<Steps>,
    /// The same of the totals, one entry a container.
    pub total_steps: Vec<TotalSteps>,
}

/// Half steps of an event's figures.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Steps {
    pub kerma_area: f64,
    pub air_kerma: f64,
    pub duration: f64,
}

/// Half steps of a container's totals: of all, of fluoroscopy, of acquisitions.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct TotalSteps {
    pub all: Steps,
    pub fluoroscopy: Steps,
    pub acquisition: Steps,
}

impl Reading {
    pub fn of(texts: Texts, zone: Option<i16>) -> Self {
        Self { texts, zone, findings: Vec::new(), more: 0, event_steps: Vec::new(), total_steps: Vec::new() }
    }

    pub fn note(&mut self, fault: ReportFault) {
        if self.findings.len() < FINDINGS_MAX {
            self.findings.push(fault);
        } else {
            self.more += 1;
        }
    }

    pub fn findings(mut self) -> Vec<ReportFault> {
        if self.more > 0 {
            let what = format!("{} findings more", self.more);
            self.findings.push(ReportFault::PassedOver { place: "report".to_owned(), what });
        }
        self.findings
    }

    /// A number in the unit of its quantity, and half its last digit; what is wrong with it is noted.
    pub fn number(&mut self, node: Node<'_>, quantity: Quantity, place: &str, attribute: &str) -> Option<(f64, f64)> {
        let (text, unit) = node.number()?;
        let (place, attribute) = (|| place.to_owned(), || attribute.to_owned());
        let Some((value, half)) = decimal(text) else {
            let text = text.chars().take(64).collect();
            self.note(ReportFault::Unreadable { place: place(), attribute: attribute(), text });
            return None;
        };
        let converted = ucum(unit).and_then(|code| match quantity.convert(value, code) {
            Some(converted) => Ok((converted, quantity.convert(half, code).unwrap_or(0.0))),
            None => Err(code.to_owned()),
        });
        match converted {
            Ok((converted, half)) if quantity.can_be(converted) => Some((converted, half)),
            Ok(_) => {
                self.note(ReportFault::ImpossibleValue { place: place(), attribute: attribute(), value });
                None
            }
            Err(unit) => {
                self.note(ReportFault::UnknownUnit { place: place(), attribute: attribute(), value, unit });
                None
            }
        }
    }

    /// A date and time; what is none is noted.
    pub fn time(&mut self, node: Node<'_>, place: &str, attribute: &str) -> Option<MachineTime> {
        let text = node.date_time()?;
        let time = times::date_time(text, self.zone);
        if time.is_none() {
            let text = text.chars().take(64).collect();
            self.note(ReportFault::Unreadable { place: place.to_owned(), attribute: attribute.to_owned(), text });
        }
        time
    }

    /// Puts a value where none stands yet; another value for the same is noted and not taken.
    pub fn put<T: PartialEq + std::fmt::Debug>(
        &mut self,
        slot: &mut Option<T>,
        value: Option<T>,
        place: &str,
        attribute: &str,
    ) -> bool {
        match (&*slot, value) {
            (None, Some(value)) => {
                *slot = Some(value);
                true
            }
            (Some(kept), Some(other)) if *kept != other => {
                let (kept, other) = (format!("{kept:?}"), format!("{other:?}"));
                let (place, attribute) = (place.to_owned(), attribute.to_owned());
                self.note(ReportFault::StatedTwice { place, attribute, kept, other });
                false
            }
            _ => false,
        }
    }
}

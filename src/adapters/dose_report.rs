//! Reading the machine's dose report: X-Ray Radiation Dose SR (PS3.16 TID 10001 and below), and the enhanced one
//! (TID 10040) where it maps.
//!
//! Old and new codes of one meaning, SRT and SCT, are read alike. Units come from the UCUM code beside each number
//! and are never assumed: a number in an unknown unit is named and not taken over. Totals are held against the
//! events to the precision they are written in, and what disagrees, is missing or stands twice becomes a finding of
//! the report. What it does not do: it drops no report for a finding, corrects nothing, and judges no plausibility
//! of a dose. What may never change: a figure that is not in the report is absent, never zero.

mod check;
mod codes;
mod content;
mod event;
mod media;
mod parts;
mod quantities;
mod reading;
mod totals;

pub use media::media_index;

use crate::adapters::dataset::{self, DatasetError, Texts, Walked, times};
use crate::dose::{DoseReport, EVENTS_MAX, FORMAT, ReportFault, ReportKind};
use crate::ports::{ReportReader, Unread};
use content::Node;
use dicom_core::Tag;
use dicom_dictionary_std::{tags, uids};
use reading::Reading;

/// Reads dose reports from DICOM files.
#[derive(Debug, Clone, Copy, Default)]
pub struct DicomReports;

impl ReportReader for DicomReports {
    fn read(&self, bytes: &[u8]) -> Result<DoseReport, Unread> {
        read(bytes)
    }

    fn media_index(&self, bytes: &[u8]) -> Result<Vec<Vec<String>>, Unread> {
        media_index(bytes)
    }
}

impl From<DatasetError> for Unread {
    fn from(fault: DatasetError) -> Self {
        match fault {
            DatasetError::NotDicom => Self::NotDicom,
            other => Self::Unreadable { reason: other.to_string() },
        }
    }
}

/// Attributes that a report is read from; everything else is passed over unread.
fn keep(tag: Tag) -> bool {
    matches!(
        tag,
        tags::SPECIFIC_CHARACTER_SET
            | tags::SOP_CLASS_UID
            | tags::SOP_INSTANCE_UID
            | tags::CONTENT_DATE
            | tags::CONTENT_TIME
            | tags::TIMEZONE_OFFSET_FROM_UTC
            | tags::ACCESSION_NUMBER
            | tags::MANUFACTURER
            | tags::MANUFACTURER_MODEL_NAME
            | tags::DEVICE_SERIAL_NUMBER
            | tags::STATION_NAME
            | tags::PATIENT_ID
            | tags::STUDY_INSTANCE_UID
    ) || content::keep(tag)
}

/// Reads a report from the bytes of a DICOM file.
///
/// # Errors
/// [`Unread`] if it is no DICOM file, another object, or beyond the bounds; everything less is a finding within.
pub fn read(bytes: &[u8]) -> Result<DoseReport, Unread> {
    let opened = dataset::open(bytes)?;
    let walked = opened.walk(keep)?;
    report(&walked, &opened.class)
}

fn report(walked: &Walked<'_>, class_of_file: &str) -> Result<DoseReport, Unread> {
    let root = Node(&walked.dataset);
    let class = walked.dataset.uid(tags::SOP_CLASS_UID).unwrap_or(class_of_file);
    let kind = match class {
        uids::X_RAY_RADIATION_DOSE_SR_STORAGE => ReportKind::XRayRadiationDose,
        uids::ENHANCED_X_RAY_RADIATION_DOSE_SR_STORAGE => ReportKind::EnhancedXRayRadiationDose,
        // A report may come in one of the general classes of structured reports; its root then says what it is.
        _ if root.is(codes::REPORT) => ReportKind::XRayRadiationDose,
        _ => return Err(Unread::OtherObject { class: class.to_owned() }),
    };
    let mut reading = Reading::of(Texts::of(&walked.dataset), times::zone_of(&walked.dataset));
    let mut report = reading.head(kind, root);
    let containers = |code| root.children().filter(move |child| child.is(code));
    let (totals, events) = match kind {
        ReportKind::XRayRadiationDose => (codes::ACCUMULATED, codes::EVENT),
        ReportKind::EnhancedXRayRadiationDose => (codes::ACCUMULATED_ENHANCED, codes::EVENT_ENHANCED),
    };
    for (index, container) in containers(totals).take(TOTALS_MAX).enumerate() {
        reading.totals(index, container, &mut report);
    }
    for (index, container) in containers(events).enumerate() {
        if index >= EVENTS_MAX {
            return Err(Unread::Unreadable { reason: format!("more than {EVENTS_MAX} irradiation events") });
        }
        reading.event(index, container, &mut report);
    }
    reading.check(&report);
    note_rest(walked, root, &mut reading);
    report.faults = reading.findings();
    Ok(report)
}

/// Accumulated containers that are read: one a plane, and one over all.
const TOTALS_MAX: usize = 16;

/// What was passed over, and an early end.
fn note_rest(walked: &Walked<'_>, root: Node<'_>, reading: &mut Reading) {
    let whole = || "report".to_owned();
    let details = root.children().filter(|child| child.is(codes::DETAILS_ENHANCED)).count();
    if details > 0 {
        reading.note(ReportFault::PassedOver { place: whole(), what: format!("{details} containers of details") });
    }
    if walked.private > 0 {
        let what = format!("{} elements of private groups", walked.private);
        reading.note(ReportFault::PassedOver { place: whole(), what });
    }
    if let Some(at) = walked.truncated_at {
        reading.note(ReportFault::Truncated { place: format!("byte {at}") });
    }
}

impl Reading {
    /// What stands outside the containers of figures.
    fn head(&mut self, kind: ReportKind, root: Node<'_>) -> DoseReport {
        let uid = |tag| root.0.uid(tag).map(str::to_owned);
        let mut report = DoseReport {
            brimline_dose_report: FORMAT,
            kind,
            uid: uid(tags::SOP_INSTANCE_UID),
            study_uid: uid(tags::STUDY_INSTANCE_UID),
            scope: None,
            scope_uid: None,
            patient_number: self.texts.text(root.0, tags::PATIENT_ID),
            accession_number: self.texts.text(root.0, tags::ACCESSION_NUMBER),
            written: times::written(root.0),
            covers_from: None,
            covers_to: None,
            device: self.device(root),
            planes: Vec::new(),
            events: Vec::new(),
            faults: Vec::new(),
        };
        for child in root.children() {
            match child.dcm() {
                Some(codes::SCOPE) => {
                    report.scope = child.meaning(&self.texts);
                    report.scope_uid = child.children().find_map(Node::uid_value).map(str::to_owned);
                }
                Some(codes::STARTED_COVER) => report.covers_from = self.time(child, "report", "113809"),
                Some(codes::ENDED_COVER) => report.covers_to = self.time(child, "report", "113810"),
                _ => {}
            }
        }
        if root.name().is_none() {
            self.note(ReportFault::Missing { place: "report".to_owned(), attribute: "the root's concept".to_owned() });
        }
        report
    }
}

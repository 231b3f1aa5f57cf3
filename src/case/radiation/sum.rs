//! What the case cost, from what was read and reported: one answer, with where it comes from.

use super::{JoinedReport, Logged, LoggedReading, MachineSetting, Radiation};
use crate::dose::{Account, Figures, Finding, Reading, Source, account};
use crate::dose::{IrradiationEvent, Moment};
use std::collections::BTreeSet;

impl Radiation {
    /// Readings that count, in the order they were taken; a corrected one stands where the wrong one stood.
    #[must_use]
    pub fn standing(&self) -> Vec<&LoggedReading> {
        let mut standing: Vec<&LoggedReading> = self.readings.iter().filter(|one| one.replaced_by.is_none()).collect();
        standing.sort_by_key(|one| (one.reading.at_ms, one.seq));
        standing
    }

    /// The account of the console's readings; positions in its findings are those of [`Self::standing`].
    #[must_use]
    pub fn account(&self) -> Account {
        let readings: Vec<Reading> = self.standing().into_iter().map(|one| one.reading.clone()).collect();
        account(&readings)
    }

    /// What asks for a second look if this reading were added, before it is.
    #[must_use]
    pub fn would_find(&self, reading: &Reading, replaces: Option<u64>) -> Vec<Finding> {
        let others = self.standing().into_iter().filter(|one| Some(one.seq) != replaces);
        let mut readings: Vec<Reading> = others.map(|one| one.reading.clone()).collect();
        let at = readings.partition_point(|one| one.at_ms <= reading.at_ms);
        readings.insert(at, reading.clone());
        let of_it = |finding: &Finding| finding.reading() == at && finding.asks();
        account(&readings).findings.into_iter().filter(of_it).collect()
    }

    /// Reports that count: a later report of the same study and device stands for the earlier.
    #[must_use]
    pub fn standing_reports(&self) -> Vec<&Logged<JoinedReport>> {
        let later = |at: usize, of: &str| self.reports[at + 1..].iter().any(|one| one.what.of.as_deref() == Some(of));
        let numbered = self.reports.iter().enumerate();
        let stands = |at: usize, one: &Logged<JoinedReport>| !one.what.of.as_deref().is_some_and(|of| later(at, of));
        numbered.filter(|(at, one)| stands(*at, one)).map(|(_, one)| one).collect()
    }

    /// What the case cost, and by which source: the machine's reports, unless the consoles of more machines were read
    /// than reports came; else the readings. `true`: at least so much.
    #[must_use]
    pub fn figures(&self) -> Option<(Figures, Source, bool)> {
        let reports = self.standing_reports();
        let standing = self.standing();
        let machines: BTreeSet<&str> = standing.iter().map(|one| one.reading.machine.as_str()).collect();
        if !reports.is_empty() && reports.len() >= machines.len() {
            let sum = reports.iter().map(|one| one.what.figures).reduce(Figures::plus)?;
            return Some((sum, Source::Report, false));
        }
        let account = self.account();
        account.total.map(|total| (total, Source::Console, account.at_least))
    }

    /// UIDs of the reports and images that the case holds.
    pub fn uids(&self) -> impl Iterator<Item = &str> {
        let reports = self.reports.iter().filter_map(|report| report.what.uid.as_deref());
        reports.chain(self.images.iter().filter_map(|image| image.what.uid.as_deref()))
    }

    /// Whether the console of that machine was read at that moment.
    #[must_use]
    pub fn is_read(&self, machine: &str, moment: Moment) -> bool {
        self.standing().iter().any(|one| one.reading.machine == machine && one.reading.moment == moment)
    }

    /// How the machine is set now, as far as it was logged.
    #[must_use]
    pub fn set_now(&self) -> Vec<MachineSetting> {
        let mut now: Vec<MachineSetting> = Vec::new();
        for one in &self.settings {
            let setting = one.what.setting;
            now.retain(|other| !other.same_thing(setting));
            now.push(setting);
        }
        now
    }
}

impl JoinedReport {
    /// What of a report the case keeps; `file` and `sha256` name the file it stands in.
    #[must_use]
    pub fn of(report: &crate::dose::DoseReport, file: String, sha256: String, by_person: bool) -> Self {
        let count = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let device = report.device.uid.clone().or_else(|| report.device.serial.clone());
        Self {
            file,
            sha256,
            uid: report.uid.clone(),
            of: report.study_uid.clone().zip(device).map(|(study, device)| format!("{study} {device}")),
            figures: figures(report),
            events: count(report.events.len()),
            faults: count(report.faults.len()),
            by_person,
        }
    }
}

/// Totals over the planes; where the report has none, the sums over its events.
fn figures(report: &crate::dose::DoseReport) -> Figures {
    let totals = report.totals();
    let events = &report.events;
    let sum = |of: fn(&IrradiationEvent) -> Option<f64>| {
        let known: Vec<f64> = events.iter().filter_map(of).collect();
        (known.len() == events.len() && !known.is_empty()).then(|| known.iter().sum::<f64>())
    };
    let area = || sum(|event| event.kerma_area_product.map(|area| area.0)).map(crate::units::GrayCm2);
    let kerma = || sum(|event| event.reference_air_kerma.map(|kerma| kerma.0)).map(crate::units::Milligray);
    let time = || sum(|event| event.duration.map(|time| time.0)).map(crate::units::Seconds);
    Figures {
        kerma_area_product: totals.kerma_area_product.or_else(area),
        reference_air_kerma: totals.reference_air_kerma.or_else(kerma),
        fluoroscopy_time: totals.fluoroscopy_time.or_else(time),
        shots: (!events.is_empty()).then(|| u32::try_from(events.len()).unwrap_or(u32::MAX)).or(totals.shots),
    }
}

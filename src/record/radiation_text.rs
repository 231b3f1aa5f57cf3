//! The radiation of a record as lines.

use super::claim::Claim;
use super::radiation::{RadiationEntry, ReadingEntry, ReportEntry};
use super::text::{clock, line, shown};
use crate::case::Configured;
use crate::dose::reconcile::{Brief, Method, Row, Tag};
use crate::dose::{DisplayAccuracy, Figures, Shown, skin_words};

pub(super) fn radiation(out: &mut String, entry: &RadiationEntry, configured: &Configured) {
    if entry.is_empty() {
        return;
    }
    line(out, "", "\nDose");
    if let Some(total) = &entry.total {
        let at_least = if total.at_least { "at least " } else { "" };
        line(out, "  ", format_args!("In all, by {}: {at_least}{}", total.source.word(), figures(&total.figures)));
        accuracy(out, &total.figures);
        if let Some(words) = skin_words(&total.figures) {
            line(out, "  ", words);
        }
    }
    if let Some(dose) = &entry.effective_dose {
        line(out, "  ", format_args!("Estimate: {}", dose.words()));
    }
    for reading in &entry.readings {
        line(out, "  ", read(reading, entry));
    }
    for finding in &entry.findings {
        let moment = counting(entry).nth(finding.reading()).map_or("", |reading| reading.moment.words());
        line(out, "  ", format_args!("look again, {moment}: {}", finding.words()));
    }
    for one in &entry.settings {
        line(out, "  ", format_args!("{} at {}: {}", clock(one.at), one.place, one.setting.words()));
    }
    for report in &entry.reports {
        self::report(out, report);
    }
    if !entry.images.is_empty() {
        line(out, "  ", format_args!("Images received: {}", entry.images.len()));
    }
    sets(out, configured);
}

fn accuracy(out: &mut String, figures: &Figures) {
    if let Some(area) = figures.kerma_area_product {
        line(out, "  ", format_args!("Product: {}", DisplayAccuracy::of_kerma_area(area).words()));
    }
    if let Some(kerma) = figures.reference_air_kerma {
        line(out, "  ", format_args!("Air kerma: {}", DisplayAccuracy::of_air_kerma(kerma, None).words()));
    }
}

fn counting(entry: &RadiationEntry) -> impl Iterator<Item = &ReadingEntry> {
    let mut counting: Vec<&ReadingEntry> = entry.readings.iter().filter(|one| one.replaced_by.is_none()).collect();
    counting.sort_by_key(|one| (one.at.ms, one.seq));
    counting.into_iter()
}

fn read(reading: &ReadingEntry, entry: &RadiationEntry) -> String {
    let at = usize::try_from(reading.machine).unwrap_or(usize::MAX);
    let machine =
        entry.machines.get(at).map_or_else(|| shown(&Claim::<String>::Withheld), |one| shown(&one.c_arm_name));
    let confirmed = if reading.confirmed { ", looked at again" } else { "" };
    let corrected = reading.replaced_by.map_or(String::new(), |by| format!(", corrected by entry {by}"));
    let (time, moment, what) = (clock(reading.at), reading.moment.words(), console(&reading.shown));
    format!("{time} {machine}, {moment}: {what} by {}{confirmed}{corrected}", reading.by.role)
}

fn console(shown: &Shown) -> String {
    let parts = [
        shown.kerma_area_product.map(|one| format!("{} {}", one.value, one.unit.symbol())),
        shown.reference_air_kerma.map(|one| format!("{} {}", one.value, one.unit.symbol())),
        shown.fluoroscopy_time.map(|one| format!("{} s", one.0)),
        shown.shots.map(|one| format!("{one} exposures")),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn figures(figures: &Figures) -> String {
    let parts = [
        figures.kerma_area_product.map(|one| format!("{:.3} Gy·cm²", one.0)),
        figures.reference_air_kerma.map(|one| format!("{:.1} mGy", one.0)),
        figures.fluoroscopy_time.map(|one| format!("{:.1} s", one.0)),
        figures.shots.map(|one| format!("{one} exposures")),
    ];
    let known = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
    if known.is_empty() { "unknown".to_owned() } else { known }
}

fn report(out: &mut String, report: &ReportEntry) {
    let how = if report.by_person { "joined by a person" } else { "joined by number and time" };
    let superseded = if report.superseded { ", a later one stands for it" } else { "" };
    let faults = if report.faults > 0 { format!(", {} findings in it", report.faults) } else { String::new() };
    let (what, events) = (figures(&report.figures), report.events);
    line(out, "  ", format_args!("Report of the machine: {what}, {events} events, {how}{superseded}{faults}"));
    if let Some(brief) = &report.reconciled {
        reconciled(out, brief);
    }
}

fn reconciled(out: &mut String, brief: &Brief) {
    let how = match brief.method {
        Method::TappedShots => "laid on the counted shots".to_owned(),
        Method::StepTimes { sd_s, .. } => format!("by step times alone, clocks within about {sd_s:.0} s"),
    };
    line(out, "    ", format_args!("attributed {how}{}", if brief.ambiguous { "; two ways fit equally" } else { "" }));
    for row in &brief.rows {
        line(out, "    ", step(row));
    }
    for (count, what) in [
        (brief.counted_not_reported, "counted, not on the machine"),
        (brief.reported_not_counted, "on the machine, not counted"),
        (brief.outside, "on the machine, outside the case"),
        (brief.untimed, "on the machine, without a time"),
    ] {
        if count > 0 {
            line(out, "    ", format_args!("{what}: {count}"));
        }
    }
}

fn step(row: &Row) -> String {
    let of = Figures {
        kerma_area_product: row.kerma_area_product,
        reference_air_kerma: row.reference_air_kerma,
        fluoroscopy_time: row.duration,
        shots: None,
    };
    let sure = row.confidence.map_or(String::new(), |sure| format!(", {:.0} % sure", sure * 100.0));
    let events = if row.events == 1 { "1 event".to_owned() } else { format!("{} events", row.events) };
    format!("{}: {events}, {} counted, {}{sure}", tag(&row.tag), row.counted, figures(&of))
}

fn tag(tag: &Tag) -> String {
    let side = tag.side.map_or(String::new(), |side| format!(" {side}"));
    let implant = tag.implant.map_or(String::new(), |implant| format!(" {implant}"));
    let view = tag.view.as_ref().map_or(String::new(), |view| format!(", {view}"));
    format!("{}{side}{implant}{view}", tag.step)
}

fn sets(out: &mut String, configured: &Configured) {
    let dose = &configured.dose;
    let mark = |from_memory: bool| if from_memory { " (from memory, not confirmed by this site)" } else { "" };
    let (coefficients, levels) = (mark(dose.coefficients_from_memory), mark(dose.levels_from_memory));
    line(out, "  ", format_args!("Coefficients {}{coefficients}, levels {}{levels}", dose.coefficients, dose.levels));
}

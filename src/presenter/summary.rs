//! A record as the lines of its screen.

use super::{clocks, dose_rows, phrases};
use crate::carm::Words;
use crate::record::{CheckEntry, Claim, PlaceEntry, Record, RecordedAnswer};
use brimline_ui::SummaryLine;

/// Stands where a disclosure is missing.
const WITHHELD: &str = "(withheld)";

/// The whole record: the case, what asks for attention, then each step.
pub(super) fn lines(record: &Record, decimal_sign: char) -> Vec<SummaryLine> {
    let mut lines = of_case(record, decimal_sign);
    lines.extend(attention(record));
    lines.extend(findings(record, decimal_sign));
    lines.push(heading("Steps"));
    lines.extend(record.places.iter().map(step));
    lines
}

fn heading(label: &str) -> SummaryLine {
    SummaryLine { label: label.into(), heading: true, ..SummaryLine::default() }
}

fn line(label: &str, text: String, heed: bool) -> SummaryLine {
    SummaryLine { label: label.into(), text: text.into(), heed, heading: false }
}

fn shown(claim: &Claim<String>) -> String {
    match claim {
        Claim::Withheld => WITHHELD.to_owned(),
        Claim::Disclosed(value) => value.clone().unwrap_or_default(),
    }
}

fn of_case(record: &Record, decimal_sign: char) -> Vec<SummaryLine> {
    let shots = &record.shots;
    let runs = shots.entries.iter().filter(|entry| entry.seconds.is_some()).count() as u64;
    let seconds = phrases::number(shots.run_seconds, decimal_sign);
    let mut lines = vec![
        heading("Case"),
        line("Pathway", format!("{}, version {}", record.pathway.id, record.pathway.version), false),
        line("Opened", shown(&record.opened_at), false),
        line("Number", shown(&record.patient.patient_number), false),
        line("Shots", format!("{} in all, {}, {seconds} s", shots.total, phrases::several(runs, "run")), false),
    ];
    lines.extend(dose(record));
    if let (Some(incision), Some(closure)) = (record.incision, record.closure) {
        let span = clocks::long(closure.ms.saturating_sub(incision.ms));
        lines.push(line("Incision to closure", span, incision.by_wall || closure.by_wall));
    }
    for side in &record.implants {
        let count = phrases::several(side.implants, "implant");
        lines.push(line("Implants", format!("{} side: {count}", side.side), false));
    }
    let readings = checks(record).filter_map(|(place, check)| match &check.done.as_ref()?.answer {
        RecordedAnswer::Measured { value, unit, .. } => {
            let value = phrases::number(*value, decimal_sign);
            Some(line(&place.title, format!("{}: {value} {}", check.text, unit.symbol()), false))
        }
        RecordedAnswer::Scanned => Some(line(&place.title, format!("{}: {}", check.text, shown(&check.words)), false)),
        _ => None,
    });
    lines.extend(readings);
    lines
}

/// What the case cost, what that means, and how the machine's report lay on the counted shots.
fn dose(record: &Record) -> Vec<SummaryLine> {
    let radiation = &record.radiation;
    let total = radiation.total.as_ref().map(|total| {
        let at_least = if total.at_least { "at least " } else { "" };
        line("Dose", format!("{at_least}{}", dose_rows::figures(&total.figures, total.source)), total.at_least)
    });
    let estimate = radiation.effective_dose.as_ref().map(|dose| line("Effective dose", dose.words(), false));
    let briefs = radiation.reports.iter().filter(|report| !report.superseded);
    let briefs = briefs.filter_map(|report| report.reconciled.as_ref());
    let briefs = briefs.map(|brief| line("Reconciled", dose_rows::reconciled_words(brief), brief.ambiguous));
    total.into_iter().chain(estimate).chain(briefs).collect()
}

fn checks(record: &Record) -> impl Iterator<Item = (&PlaceEntry, &CheckEntry)> {
    record.places.iter().flat_map(|place| place.checks.iter().map(move |check| (place, check)))
}

/// Spoken words, what was not done, deviations, corrections, stops and interruptions.
fn attention(record: &Record) -> Vec<SummaryLine> {
    let mut lines = Vec::new();
    for passed in &record.overrides {
        lines.push(line("Passed by word", format!("{}: {}", passed.gate, shown(&passed.reason)), true));
    }
    let not_done = checks(record)
        .filter(|(_, check)| check.done.as_ref().is_some_and(|done| matches!(done.answer, RecordedAnswer::NotDone)));
    lines
        .extend(not_done.map(|(_, check)| line("Not done", format!("{}: {}", check.text, shown(&check.reason)), true)));
    for remark in &record.remarks {
        lines.push(line(if remark.deviation { "Deviation" } else { "Note" }, shown(&remark.note), remark.deviation));
    }
    for correction in &record.shots.corrections {
        let text = format!("{} to {} shots: {}", correction.from, correction.to, shown(&correction.reason));
        lines.push(line("Corrected", text, true));
    }
    for moved in &record.shots.moved {
        lines.push(line("Moved", format!("{}: {}", phrases::moved(moved.shots.0), shown(&moved.other_case)), true));
    }
    for (one, other) in record.signers_together() {
        let text = format!("the {one} and the {other} are one person: the second signature is not an independent one");
        lines.push(line("One person", text, true));
    }
    for stop in &record.stops {
        lines.push(line("Stopped", shown(&stop.reason), true));
    }
    if record.returns > 0 {
        let times = phrases::several(record.returns, "time");
        lines.push(line("Interrupted", format!("the program was started again {times}"), true));
    }
    if let Some(from) = &record.continues {
        let text = format!("continues a journal that was damaged behind entry {}", from.seq);
        lines.push(line("Journal", text, true));
    }
    if !lines.is_empty() {
        lines.insert(0, heading("Asks for attention"));
    }
    lines
}

/// View corrections and pin findings, each with what it rests on.
fn findings(record: &Record, decimal_sign: char) -> Vec<SummaryLine> {
    let number = |value: f64, places: usize| format!("{value:.places$}").replace('.', &decimal_sign.to_string());
    let mut lines = Vec::new();
    for entry in &record.view_findings {
        let finding = &entry.finding;
        let (off, left) = (number(finding.off_by_deg, 1), number(finding.remaining_mm, 1));
        let said = finding.instruction(&Words::built_in());
        let text = format!("{said} · off by {off}°, {left} mm should remain");
        lines.push(line(finding.view.word(), text, finding.within_doubt));
    }
    for entry in &record.pin_findings {
        let finding = &entry.finding;
        let nearest = finding.margins.iter().min_by(|a, b| a.margin_mm.value.total_cmp(&b.margin_mm.value));
        let margin = nearest.map(|margin| {
            let (value, doubt) = (number(margin.margin_mm.value, 1), number(margin.margin_mm.plus_minus, 1));
            format!("{value} ± {doubt} mm to {}", margin.edge)
        });
        let marks = entry.marks.iter().map(ToString::to_string);
        let said = std::iter::once(entry.decided.word().to_owned()).chain(margin).chain(marks);
        let label = format!("Pin, {}", finding.side);
        lines.push(line(&label, said.collect::<Vec<_>>().join(" · "), !entry.marks.is_empty()));
    }
    for entry in &record.re_aims {
        let held = if entry.voided { " · void since patient or table moved" } else { "" };
        let text = format!("{} · {}, {}{held}", entry.re_aim, entry.re_aim.line.word(), entry.re_aim.proven.word());
        lines.push(line("Re-aim", text, entry.voided));
    }
    if !record.moves.is_empty() {
        let times = phrases::several(u32::try_from(record.moves.len()).unwrap_or(u32::MAX), "time");
        lines.push(line("Moved", format!("patient or table, {times}"), false));
    }
    if !lines.is_empty() {
        lines.insert(0, heading("View and pin findings"));
    }
    lines
}

fn step(place: &PlaceEntry) -> SummaryLine {
    let done = place.checks.iter().filter(|check| check.done.is_some()).count();
    let (all, shots) = (place.checks.len(), phrases::several(place.shots, "shot"));
    let side = place.place.side.map(|side| format!(", {side}")).unwrap_or_default();
    let implant = place.place.implant.map(|implant| format!(", implant {implant}")).unwrap_or_default();
    let text = format!("{done} of {all} checks{side}{implant} · {shots} · {}", clocks::long(place.stay_ms));
    line(&place.title, text, done < all)
}

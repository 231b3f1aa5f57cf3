//! A reconciliation as text: what each step cost, how sure that is, and what does not fit.

use crate::case::Case;
use crate::dose::reconcile::{Explanation, MachineSequence, Method, Reconciliation, Row, Tag};
use crate::dose::{DoseReport, Plane, PlaneTotals};
use chrono::{DateTime, FixedOffset};
use std::fmt::Write;

/// What the text is about.
pub struct Told<'a> {
    pub case: &'a Case,
    pub report: &'a DoseReport,
    pub machine: &'a MachineSequence,
    pub outcome: &'a Reconciliation,
    pub opened_at: DateTime<FixedOffset>,
}

/// Events of one kind that are listed one by one.
const LISTED_MAX: usize = 20;
/// Fewer matched shots than this fit the report of another case now and then, as simulated pairs show.
const FEW: usize = 8;
/// Below this an attribution is worth a look.
const SURE: f64 = 0.95;

/// The whole text.
pub fn text(told: &Told<'_>) -> String {
    let mut lines = head(told);
    lines.extend(told.report.planes.iter().map(totals));
    lines.extend(clocks(told.outcome));
    lines.push(String::new());
    lines.extend(table(told));
    lines.extend(leftovers(told));
    lines.extend(told.report.faults.iter().take(LISTED_MAX).map(|fault| format!("In the report: {fault}.")));
    lines.push(String::new());
    lines.push("Sure: the least sure event of the row, for the step and then for the view as well.".to_owned());
    lines.push("View: the one the team answered next; shots behind the last answer of a step have none.".to_owned());
    lines.push("Sums are the machine's own figures. Advisory: the team's reading of the case decides.".to_owned());
    lines.join("\n")
}

fn head(told: &Told<'_>) -> Vec<String> {
    let label = &told.case.plan().label;
    let device = &told.report.device;
    let named = [&device.manufacturer, &device.model, &device.serial].into_iter().flatten().cloned();
    let machine = named.collect::<Vec<_>>().join(" ");
    let machine = if machine.is_empty() { "an unnamed machine".to_owned() } else { machine };
    let (events, opened) = (told.report.events.len(), told.opened_at.format("%Y-%m-%d %H:%M:%S %:z"));
    vec![format!("Case {label}, opened {opened}. Report of {machine}: {}.", number(events, "event"))]
}

/// What the report states for a plane as a whole, which holds with no event at all.
fn totals(plane: &PlaneTotals) -> String {
    let figure = |value: Option<f64>, digits: usize, unit: &str| {
        value.map_or(format!("- {unit}"), |value| format!("{value:.digits$} {unit}"))
    };
    let name = match plane.plane {
        Some(Plane::A) => "Totals of plane A",
        Some(Plane::B) => "Totals of plane B",
        _ => "Totals of the report",
    };
    let area = figure(plane.kerma_area_product.map(|area| area.0), 3, "Gy·cm²");
    let kerma = figure(plane.reference_air_kerma.map(|kerma| kerma.0), 2, "mGy");
    let time = figure(plane.fluoroscopy_time.map(|time| time.0), 1, "s of fluoroscopy");
    format!("{name}: {area}, {kerma}, {time}.")
}

fn number(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

fn clocks(outcome: &Reconciliation) -> Vec<String> {
    match outcome.method {
        Method::StepTimes { .. } if outcome.attributions.is_empty() => {
            vec!["The report holds no event with a time, so nothing can be attributed to a step.".to_owned()]
        }
        Method::StepTimes { offset_s, sd_s, taps_do_not_fit } => {
            let why = if taps_do_not_fit {
                "The tapped shots fit this report at no offset of the clocks: is it this case's report?"
            } else {
                "No shot was tapped."
            };
            let clock = if offset_s == 0.0 { "right".to_owned() } else { ahead(offset_s) };
            let clock = format!("the machine's clock is taken to be {clock}, give or take {sd_s:.0} s");
            vec![why.to_owned(), format!("Step times alone attribute; {clock}.")]
        }
        Method::TappedShots => {
            let best = &outcome.explanations[0];
            let mut lines = vec![clock_line(best)];
            if best.matched < FEW {
                lines.push("So few shots may fit by chance: look whether this is the case's report.".to_owned());
            }
            if outcome.ambiguous {
                let other = &outcome.explanations[1];
                lines.push(format!(
                    "Two explanations fit equally: the machine's clock may as well be {}, {} matched. The first is shown; \"sure\" counts both.",
                    ahead(other.clock.offset_s), number(other.matched, "shot"),
                ));
            }
            lines
        }
    }
}

fn clock_line(best: &Explanation) -> String {
    let clock = &best.clock;
    let interval = clock.offset_interval_s.map_or("too few shots for an interval".to_owned(), |[from, to]| {
        format!("95 % from {} to {}", signed(from), signed(to))
    });
    let [from, to] = clock.drift_interval_ppm;
    format!(
        "The machine's clock is {} ({interval}; the press delay included), drift {:+.0} ppm ({from:+.0} to {to:+.0}). {} matched.",
        ahead(clock.offset_s),
        clock.drift_ppm,
        number(best.matched, "shot"),
    )
}

fn ahead(offset_s: f64) -> String {
    let (size, word) = (clock_time(offset_s.abs()), if offset_s < 0.0 { "behind" } else { "ahead" });
    format!("{size} {word}")
}

/// Seconds, or hours, minutes and seconds, with a tenth.
fn clock_time(seconds: f64) -> String {
    let (hours, rest) = ((seconds / 3_600.0).floor(), seconds % 3_600.0);
    let (minutes, rest) = ((rest / 60.0).floor(), rest % 60.0);
    match (hours > 0.0, minutes > 0.0) {
        (true, _) => format!("{hours} h {minutes} min {rest:.1} s"),
        (false, true) => format!("{minutes} min {rest:.1} s"),
        _ => format!("{rest:.1} s"),
    }
}

fn signed(seconds: f64) -> String {
    format!("{}{}", if seconds < 0.0 { "-" } else { "+" }, clock_time(seconds.abs()))
}

fn table(told: &Told<'_>) -> Vec<String> {
    let heads = ["Step", "View", "Events", "Counted", "Time s", "PKA Gy·cm²", "Kerma mGy", "Sure %", "View %"];
    let mut cells: Vec<Vec<String>> = vec![heads.iter().map(|head| (*head).to_owned()).collect()];
    cells.extend(told.outcome.rows.iter().map(|row| cells_of(told.case, row)));
    cells.push(sum_of(told.outcome));
    let width = |column: usize| cells.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..heads.len()).map(width).collect();
    cells.iter().map(|row| aligned(row, &widths)).collect()
}

/// Words to the left, figures to the right.
fn aligned(row: &[String], widths: &[usize]) -> String {
    let mut line = String::new();
    for (column, (cell, width)) in row.iter().zip(widths).enumerate() {
        let gap = if column == 0 { "" } else { "  " };
        // Writing to a string cannot fail.
        let _ = if column < 2 { write!(line, "{gap}{cell:<width$}") } else { write!(line, "{gap}{cell:>width$}") };
    }
    line.trim_end().to_owned()
}

fn cells_of(case: &Case, row: &Row) -> Vec<String> {
    let percent = |share: Option<f64>| share.map_or("-".to_owned(), percent);
    let view = row.tag.view.clone().unwrap_or_else(|| "-".to_owned());
    let mut cells = vec![place(case, &row.tag), view, row.events.to_string(), row.counted.to_string()];
    cells.extend(figures(row));
    cells.push(percent(row.confidence));
    cells.push(if row.tag.view.is_some() { percent(row.view_confidence) } else { "-".to_owned() });
    cells
}

/// Never a round hundred: nothing here is certain.
fn percent(share: f64) -> String {
    if share >= 0.99 { ">99".to_owned() } else { format!("{:.0}", (share * 100.0).floor()) }
}

/// Time, kerma-area product and air kerma; a star where events state none, so that the sum is too low.
fn figures(row: &Row) -> [String; 3] {
    let star = if row.without_figures > 0 { "*" } else { "" };
    let figure =
        |value: Option<f64>, digits: usize| value.map_or("-".to_owned(), |value| format!("{value:.digits$}{star}"));
    [
        figure(row.duration.map(|time| time.0), 1),
        figure(row.kerma_area_product.map(|area| area.0), 3),
        figure(row.reference_air_kerma.map(|kerma| kerma.0), 2),
    ]
}

fn sum_of(outcome: &Reconciliation) -> Vec<String> {
    let rows = &outcome.rows;
    let sum = |values: Vec<f64>, digits: usize| {
        if values.is_empty() { "-".to_owned() } else { format!("{:.digits$}", values.iter().sum::<f64>()) }
    };
    vec![
        "All of the case".to_owned(),
        String::new(),
        rows.iter().map(|row| row.events).sum::<u32>().to_string(),
        rows.iter().map(|row| row.counted).sum::<i64>().to_string(),
        sum(rows.iter().filter_map(|row| row.duration).map(|time| time.0).collect(), 1),
        sum(rows.iter().filter_map(|row| row.kerma_area_product).map(|area| area.0).collect(), 3),
        sum(rows.iter().filter_map(|row| row.reference_air_kerma).map(|kerma| kerma.0).collect(), 2),
        String::new(),
        String::new(),
    ]
}

fn place(case: &Case, tag: &Tag) -> String {
    let mut words = case.pathway().step(&tag.step).map_or_else(|| tag.step.clone(), |(_, step)| step.title.clone());
    if let Some(side) = tag.side {
        words = format!("{words}, {side}");
    }
    match tag.implant {
        Some(implant) => format!("{words}, implant {implant}"),
        None => words,
    }
}

fn leftovers(told: &Told<'_>) -> Vec<String> {
    let outcome = told.outcome;
    let mut lines = Vec::new();
    let counted = outcome.counted_not_reported.iter().map(|left| {
        let (when, shots) = (since_opening(i64::try_from(left.at_ms).unwrap_or(i64::MAX)), left.shots as usize);
        format!("{when}  {}, {}", place(told.case, &outcome.tags[left.tag]), number(shots, "shot"))
    });
    list(&mut lines, "Counted, not on the machine", counted.collect());
    list(&mut lines, "On the machine, not counted", events(told, &outcome.reported_not_counted));
    list(&mut lines, "Outside the case", events(told, &outcome.outside));
    let unsure = |one: &&crate::dose::reconcile::Attribution| one.confidence < SURE && one.tag.is_some();
    let unsure: Vec<usize> = outcome.attributions.iter().filter(unsure).map(|one| one.event).collect();
    list(&mut lines, "Less than 95 % sure of the step", events(told, &unsure));
    if !outcome.untimed.is_empty() {
        lines.push(format!("Without a time, in no step: {}", number(outcome.untimed.len(), "event")));
    }
    if outcome.rows.iter().any(|row| row.without_figures > 0) {
        lines.push("* some events state no dose, so the sum is too low".to_owned());
    }
    if !lines.is_empty() {
        lines.insert(0, String::new());
    }
    lines
}

fn events(told: &Told<'_>, wanted: &[usize]) -> Vec<String> {
    let one = |event: &usize| {
        let attribution = told.outcome.attributions.iter().find(|one| one.event == *event)?;
        let place = attribution.tag.map_or("outside".to_owned(), |tag| place(told.case, &told.outcome.tags[tag]));
        let figures = told.machine.events.iter().find(|one| one.event == *event)?;
        let area = figures.kerma_area_product.map_or(String::new(), |area| format!(", {:.3} Gy·cm²", area.0));
        let (when, sure) = (since_opening(attribution.at_ms), percent(attribution.confidence));
        Some(format!("{when}  event {}, {place}{area}, {sure} % sure", event + 1))
    };
    wanted.iter().filter_map(one).collect()
}

fn list(lines: &mut Vec<String>, title: &str, items: Vec<String>) {
    if items.is_empty() {
        return;
    }
    lines.push(format!("{title}: {}", items.len()));
    let more = items.len().saturating_sub(LISTED_MAX);
    lines.extend(items.into_iter().take(LISTED_MAX).map(|item| format!("  {item}")));
    if more > 0 {
        lines.push(format!("  and {more} more"));
    }
}

/// Time since opening, hours, minutes and seconds.
fn since_opening(ms: i64) -> String {
    let (sign, seconds) = (if ms < 0 { "-" } else { "" }, ms.unsigned_abs() / 1_000);
    format!("{sign}{}:{:02}:{:02}", seconds / 3_600, seconds / 60 % 60, seconds % 60)
}

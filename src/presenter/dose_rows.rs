//! From the account of a case to the words and rows of its screen.

use super::app::App;
use super::case_view::title;
use super::dose::SETTINGS;
use super::usual::Book;
use super::{clocks, say};
use crate::case::{Case, LoggedReading, UNNAMED_MACHINE};
use crate::dose::reconcile::{Brief, Method, Row};
use crate::dose::{
    Against, DisplayAccuracy, Figures, Moment, NoPose, NotificationLevels, Reading, Scatter, Source, Usual, skin_words,
};
use crate::pathway::Place;
use crate::units::Kilovolts;
use brimline_ui::{FieldLine, SettingGroup, SettingKey, SummaryLine};

/// Tube voltage and lead that the bound for staff is stated for. Common practice, no source.
const STAFF_KV: Kilovolts = Kilovolts(80.0);
const STAFF_LEAD_MM: f64 = 0.5;
/// The bar reaches so far beyond the middle half. Common practice, no source.
const BAR: f64 = 1.6;

/// The head of the screen.
pub(super) struct Head {
    pub total: String,
    pub detail: String,
    pub usual: String,
    pub from: f32,
    pub to: f32,
    pub now: f32,
}

pub(super) fn head(app: &App, case: &Case, book: &Book) -> Head {
    let Some((figures, source, at_least)) = case.state().radiation.figures() else {
        let total = if case.state().radiation.readings.is_empty() { "No reading yet" } else { "One reading so far" };
        let detail = "A difference of two readings is what lay between them".to_owned();
        return Head { total: total.to_owned(), detail, usual: String::new(), from: 0.0, to: 0.0, now: 0.0 };
    };
    let area = figures.kerma_area_product.map(|area| area.0);
    let compared = area.zip(book.area(case));
    let usual = compared.as_ref().map(|(area, usual)| usual.words(*area, "Gy·cm²")).unwrap_or_default();
    let (from, to, now) = compared.map_or((0.0, 0.0, 0.0), |(area, usual)| scale(&usual, area));
    Head { total: total(app, &figures, at_least), detail: detail(&figures, source), usual, from, to, now }
}

/// The leading figure.
fn total(app: &App, figures: &Figures, at_least: bool) -> String {
    let words = figures.kerma_area_product.map(|area| format!("{:.2} Gy·cm²", area.0));
    let words = words.or_else(|| figures.reference_air_kerma.map(|kerma| format!("{:.1} mGy", kerma.0)));
    let words = words.unwrap_or_else(|| "Unknown".to_owned());
    let words = words.replace('.', &app.settings.decimal_sign.character().to_string());
    if at_least { format!("at least {words}") } else { words }
}

/// All figures of a total in one line, with where they come from.
pub(super) fn figures(figures: &Figures, source: Source) -> String {
    let area = figures.kerma_area_product.map(|area| format!("{:.2} Gy·cm²", area.0));
    let kerma = figures.reference_air_kerma.map(|kerma| format!("{:.1} mGy", kerma.0));
    let time = figures.fluoroscopy_time.map(|time| clocks::short(time.0));
    let source = Some(format!("by {}", source.word()));
    [area, kerma, time, source].into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

fn detail(figures: &Figures, source: Source) -> String {
    let kerma = figures.kerma_area_product.and(figures.reference_air_kerma).map(|kerma| format!("{:.0} mGy", kerma.0));
    let time = figures.fluoroscopy_time.map(|time| clocks::short(time.0));
    let shots = figures.shots.map(|shots| format!("{shots} shots"));
    let accuracy = figures.kerma_area_product.map(|area| DisplayAccuracy::of_kerma_area(area).words());
    let source = Some(format!("by {}", source.word()));
    [kerma, time, shots, source, accuracy].into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

/// Begin and end of the middle half and a figure, on a bar from 0 to 1; no bar without a usual.
#[allow(clippy::cast_possible_truncation, reason = "a share of a bar")]
pub(super) fn scale(usual: &Usual, value: f64) -> (f32, f32, f32) {
    let Usual::Known { lower, upper, .. } = usual else { return (0.0, 0.0, 0.0) };
    let whole = (upper * BAR).max(f64::EPSILON);
    ((lower / whole) as f32, (upper / whole) as f32, (value / whole) as f32)
}

/// The usual number of shots in words, and whether the count is above it; empty below 20 cases.
pub(super) fn usual_shots(usual: &Usual, shots: u32) -> (String, bool) {
    match usual {
        Usual::Known { lower, upper, .. } => {
            let above = usual.against(f64::from(shots)) == Some(Against::Above);
            (format!("usual {lower:.0} to {upper:.0}"), above)
        }
        Usual::TooFew { .. } => (String::new(), false),
    }
}

/// What one reading says, in the units of the console.
pub(super) fn read(reading: &Reading) -> String {
    let area = reading.kerma_area_product.map(|shown| format!("{} {}", shown.value, shown.unit.symbol()));
    let kerma = reading.reference_air_kerma.map(|shown| format!("{} {}", shown.value, shown.unit.symbol()));
    let time = reading.fluoroscopy_time.map(|time| clocks::short(time.0));
    let shots = reading.shots.map(|shots| format!("{shots} shots"));
    [area, kerma, time, shots].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// The last reading for the shot panel: its figure, and when it was read.
pub(super) fn last(case: &Case, book: &Book) -> (String, String) {
    let standing = case.state().radiation.standing();
    let due = case.reading_due().map(|moment| format!("read {}", moment.words()));
    let Some(last) = standing.last() else {
        return ("Dose".to_owned(), due.unwrap_or_else(|| "no reading yet".to_owned()));
    };
    let figure = |reading: &Reading| {
        let area = reading.kerma_area_product.map(|shown| format!("{} {}", shown.value, shown.unit.symbol()));
        area.or_else(|| reading.reference_air_kerma.map(|shown| format!("{} {}", shown.value, shown.unit.symbol())))
    };
    let words = figure(&last.reading).unwrap_or_else(|| read(&last.reading));
    let usual = match book.area(case) {
        Some(Usual::Known { lower, upper, .. }) => Some(format!("usual {lower:.1} to {upper:.1} Gy·cm²")),
        _ => None,
    };
    let when = due.unwrap_or_else(|| last.reading.moment.words().to_owned());
    (words, [Some(when), usual].into_iter().flatten().collect::<Vec<_>>().join(" · "))
}

/// Readings in the order they were taken, then the moments that are not read yet.
pub(super) fn readings(case: &Case) -> Vec<FieldLine> {
    let radiation = &case.state().radiation;
    let (standing, findings) = (radiation.standing(), radiation.account().findings);
    let machine = case.state().c_arm.as_deref().unwrap_or(UNNAMED_MACHINE);
    let many = standing.iter().any(|one| one.reading.machine != machine);
    let mut lines: Vec<FieldLine> = standing
        .iter()
        .enumerate()
        .map(|(at, one)| {
            let found = findings.iter().any(|finding| finding.reading() == at && finding.asks());
            reading(case, one, many, found)
        })
        .collect();
    let due = case.reading_due();
    for moment in Moment::ALL.into_iter().filter(|moment| !radiation.is_read(machine, *moment)) {
        let detail = if due == Some(moment) { "due now" } else { "" };
        lines.push(FieldLine {
            id: format!("due-{}", moment.words()).into(),
            label: say::capitalised(moment.words()).into(),
            detail: detail.into(),
            locked: !case.state().signed.is_empty(),
            ..FieldLine::default()
        });
    }
    lines
}

fn reading(case: &Case, one: &LoggedReading, many: bool, found: bool) -> FieldLine {
    let corrected = case.state().radiation.readings.iter().find(|wrong| wrong.replaced_by == Some(one.seq));
    let was = corrected.map(|wrong| format!("was {}", read(&wrong.reading)));
    let machine = many.then(|| one.reading.machine.clone());
    let heed = found && !one.reading.confirmed;
    let when = Some(clocks::wall(case, one.at));
    let detail = [when, was, machine].into_iter().flatten().collect::<Vec<_>>().join(" · ");
    FieldLine {
        id: one.seq.to_string().into(),
        label: say::capitalised(one.reading.moment.words()).into(),
        value: read(&one.reading).into(),
        detail: detail.into(),
        heed,
        locked: !case.state().signed.is_empty(),
    }
}

/// The first reading that asks for a second look and did not get one, in words; empty: none.
pub(super) fn look_again(case: &Case) -> String {
    let radiation = &case.state().radiation;
    let (standing, findings) = (radiation.standing(), radiation.account().findings);
    let open = findings.iter().filter(|finding| finding.asks()).find_map(|finding| {
        let one = standing.get(finding.reading()).filter(|one| !one.reading.confirmed)?;
        Some(format!("{}: {}", say::capitalised(one.reading.moment.words()), finding.words()))
    });
    open.unwrap_or_default()
}

/// What a touched row stands for: a moment, and the reading to be corrected.
pub(super) fn touched(case: &Case, id: &str) -> Option<(Moment, Option<u64>)> {
    if let Some(words) = id.strip_prefix("due-") {
        return Moment::ALL.into_iter().find(|moment| moment.words() == words).map(|moment| (moment, None));
    }
    let seq: u64 = id.parse().ok()?;
    let found = case.state().radiation.readings.iter().find(|one| one.seq == seq)?;
    Some((found.reading.moment, Some(seq)))
}

/// The keys of the machine's settings; what holds now is chosen.
pub(super) fn settings(case: &Case) -> Vec<SettingGroup> {
    let now = case.state().radiation.set_now();
    let key = |(id, text): &(&str, &str)| {
        let setting = SETTINGS.iter().find(|(known, _)| known == id).map(|(_, setting)| setting);
        let chosen = setting.is_some_and(|setting| now.contains(setting));
        SettingKey { id: (*id).into(), text: (*text).into(), label: (*text).into(), chosen }
    };
    let group = |label: &str, keys: &[(&str, &str)]| SettingGroup {
        label: label.into(),
        keys: super::case_view::model(keys.iter().map(key).collect()),
    };
    let pulses =
        [("pulse-2", "2"), ("pulse-4", "4"), ("pulse-8", "8"), ("pulse-15", "15"), ("continuous", "No pulses")];
    vec![
        group("Pulses a second", &pulses),
        group("Magnification", &[("magnify-0", "Off"), ("magnify-1", "1"), ("magnify-2", "2")]),
        group("Collimation", &[("collimate-in", "Drawn in"), ("collimate-open", "Open")]),
    ]
}

fn line(label: &str, text: String) -> SummaryLine {
    SummaryLine { label: label.into(), text: text.into(), ..SummaryLine::default() }
}

/// Estimates named as what they are, levels, and what asks for a second look.
pub(super) fn estimates(case: &Case) -> Vec<SummaryLine> {
    let (radiation, configured) = (&case.state().radiation, &case.state().configured().dose);
    let mut lines = Vec::new();
    let figures = radiation.figures().map(|(figures, ..)| figures).unwrap_or_default();
    if let Some(estimate) = radiation.effective_dose(configured) {
        lines.push(line("Effective dose", estimate.map_or_else(|why| why.to_string(), |dose| dose.words())));
    }
    if let Some(area) = figures.kerma_area_product
        && let Ok(mut bound) = Scatter::built_in().bound(area, STAFF_KV, 1.0, Some(STAFF_LEAD_MM))
    {
        bound.from_memory = configured.scatter_from_memory;
        lines.push(line("Staff at 1 m", bound.words()));
    }
    let levels = NotificationLevels::built_in();
    if let Some(set) = levels.set(&configured.levels) {
        let reached = set.reached(&figures);
        let memory = if configured.levels_from_memory { "; from memory, not confirmed by this site" } else { "" };
        let none = reached.is_empty().then(|| line("Levels", format!("None reached of {}{memory}", set.title)));
        lines.extend(none);
        lines.extend(reached.iter().map(|one| SummaryLine { heed: true, ..line("Level", one.words()) }));
    }
    if let Some(words) = skin_words(&figures) {
        lines.push(SummaryLine { heed: true, ..line("Skin", words) });
    }
    let standing = radiation.standing();
    for finding in radiation.account().findings {
        let moment = standing.get(finding.reading()).map_or("", |one| one.reading.moment.words());
        lines.push(line("Look again", format!("{}: {}", say::capitalised(moment), finding.words())));
    }
    lines.push(line(
        "Advisory",
        "A medical physicist and local policy decide what follows from these figures.".to_owned(),
    ));
    lines
}

/// What each step and view cost; by shots alone where no report has come.
pub(super) fn steps(case: &Case) -> (Vec<SummaryLine>, String) {
    let radiation = &case.state().radiation;
    let mut lines = Vec::new();
    for report in radiation.standing_reports() {
        if let Some(brief) = radiation.reconciled.get(&report.seq) {
            lines.extend(reconciled(case, &brief.what));
        }
    }
    if !lines.is_empty() {
        return (lines, String::new());
    }
    let places = case.state().shots_here.iter().filter(|(_, shots)| **shots > 0);
    let lines = places.map(|(place, shots)| line(&title(case, place), format!("{shots} shots counted"))).collect();
    (lines, "No report of the machine has come: shots as they were counted".to_owned())
}

/// The words of a reconciliation in one line.
pub(super) fn reconciled_words(brief: &Brief) -> String {
    let events: u32 = brief.rows.iter().map(|row| row.events).sum();
    let how = match brief.method {
        Method::TappedShots => "laid on the counted shots",
        Method::StepTimes { .. } => "by step times alone",
    };
    let clock = brief.clock.as_ref().map(|clock| {
        let sign = if clock.offset_s < 0.0 { "behind" } else { "ahead" };
        format!("machine's clock {} {sign}", clocks::short(clock.offset_s.abs()))
    });
    let tie = brief.ambiguous.then(|| "two ways fit equally".to_owned());
    let left = [
        (brief.counted_not_reported, "counted, not on the machine"),
        (brief.reported_not_counted, "on the machine, not counted"),
        (brief.outside, "outside the case"),
        (brief.untimed, "without a time"),
    ];
    let left = left.into_iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}"));
    let head = Some(format!("{events} events {how}"));
    head.into_iter().chain(clock).chain(tie).chain(left).collect::<Vec<_>>().join(" · ")
}

fn reconciled(case: &Case, brief: &Brief) -> Vec<SummaryLine> {
    let heed = brief.ambiguous || brief.outside > 0;
    let head = SummaryLine { heed, ..line("Reconciled", reconciled_words(brief)) };
    std::iter::once(head).chain(brief.rows.iter().map(|row| step(case, row))).collect()
}

fn step(case: &Case, row: &Row) -> SummaryLine {
    let tag = &row.tag;
    let place = Place { step: tag.step.clone(), side: tag.side, implant: tag.implant };
    let label = case.step_at(&place).map_or_else(|| tag.step.clone(), |_| title(case, &place));
    let view = tag.view.as_ref().map(|view| say::capitalised(view));
    let events = Some(format!("{} events, {} counted", row.events, row.counted));
    let time = row.duration.map(|time| clocks::short(time.0));
    let area = row.kerma_area_product.map(|area| format!("{:.2} Gy·cm²", area.0));
    let kerma = row.reference_air_kerma.map(|kerma| format!("{:.1} mGy", kerma.0));
    let sure = row.confidence.map(|sure| format!("{:.0} % sure", sure * 100.0));
    let text = [view, events, time, area, kerma, sure].into_iter().flatten().collect::<Vec<_>>().join(" · ");
    line(&label, text)
}

/// The last image that came while the team was at its place, with its pose as the file states it.
pub(super) fn image_here(case: &Case) -> Option<String> {
    let here = &case.state().here;
    let last = case.state().radiation.images.iter().rev().find(|image| image.what.place == *here)?;
    let frames = last.what.frames.map(|frames| format!("{frames} frames, ")).unwrap_or_default();
    let each = if last.what.frames.is_some() { " in each" } else { "" };
    let pose = match (last.what.pose, last.what.no_pose) {
        (Some(pose), _) => format!("primary {:.0}°, secondary {:.0}°{each}", pose.primary_deg, pose.secondary_deg),
        (None, why) => why.unwrap_or(NoPose::NotStated).words().to_owned(),
    };
    Some(format!("Image received {}: {frames}{pose}", clocks::wall(case, last.at)))
}

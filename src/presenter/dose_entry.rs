//! One reading of the console being entered: its figures in whichever unit the console shows.
//!
//! What is implausible is asked about once and then kept as it was read. What it does not do: it refuses no figure.

use super::app::{App, Shared};
use super::around::{self, AroundAsked};
use super::asked::Asked;
use super::dose::{as_reader, fill};
use super::questions::{self, NumberOf, row};
use super::{dose_rows, say};
use crate::case::{Case, RadiationCommand, UNNAMED_MACHINE};
use crate::dose::{Finding, Moment, Reading, Shown, ShownAirKerma, ShownKermaArea};
use crate::units::{AirKermaUnit, KermaAreaUnit, Seconds};
use brimline_ui::{FieldLine, PickRow};

/// What an overlay asks about the reading.
pub(super) enum DoseAsked {
    /// A figure or a unit, by its field.
    Field(String),
    /// Whether an implausible figure stands so on the console.
    StandsSo,
}

/// The reading as far as it is entered.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    moment: Moment,
    machine: String,
    /// Number of the reading it corrects, with its words.
    replaces: Option<(u64, String)>,
    area: Option<f64>,
    area_unit: KermaAreaUnit,
    kerma: Option<f64>,
    kerma_unit: AirKermaUnit,
    time: Option<f64>,
    in_minutes: bool,
    shots: Option<u32>,
}

impl Draft {
    /// Nothing entered yet, in the units of the reading before.
    pub fn new(case: &Case, moment: Moment, replaces: Option<u64>) -> Self {
        let standing = case.state().radiation.standing();
        let wrong = standing.iter().find(|one| Some(one.seq) == replaces);
        let own = case.state().c_arm.clone().unwrap_or_else(|| UNNAMED_MACHINE.to_owned());
        let before = standing.iter().rev().map(|one| &one.reading);
        let area = before.clone().find_map(|one| one.kerma_area_product).map(|shown| shown.unit);
        let kerma = before.clone().find_map(|one| one.reference_air_kerma).map(|shown| shown.unit);
        Self {
            moment,
            machine: wrong.map_or(own, |one| one.reading.machine.clone()),
            replaces: wrong.map(|one| (one.seq, dose_rows::read(&one.reading))),
            area: None,
            area_unit: area.unwrap_or(KermaAreaUnit::CentigraySquareCentimetre),
            kerma: None,
            kerma_unit: kerma.unwrap_or(AirKermaUnit::Milligray),
            time: None,
            in_minutes: true,
            shots: None,
        }
    }

    /// What was entered, as the console shows it.
    pub fn shown(&self) -> Shown {
        let (area_unit, kerma_unit) = (self.area_unit, self.kerma_unit);
        Shown {
            kerma_area_product: self.area.map(|value| ShownKermaArea { value, unit: area_unit }),
            reference_air_kerma: self.kerma.map(|value| ShownAirKerma { value, unit: kerma_unit }),
            fluoroscopy_time: self
                .time
                .map(|time| if self.in_minutes { Seconds::of_minutes(time) } else { Seconds(time) }),
            shots: self.shots,
        }
    }

    /// Beside the main action.
    pub fn words(&self) -> String {
        let corrects = self.replaces.as_ref().map(|(_, was)| format!("in place of {was}"));
        corrects.unwrap_or_else(|| format!("{}, {}", self.moment.words(), self.machine))
    }

    fn unit_of_time(&self) -> &'static str {
        if self.in_minutes { "min" } else { "s" }
    }

    /// The rows of the screen.
    pub fn fields(&self, app: &App, case: &Case) -> Vec<FieldLine> {
        let last = case.state().radiation.standing().into_iter().rev().map(|one| &one.reading);
        let before = last.clone().find(|one| one.machine == self.machine).map(Reading::figures);
        let was = |figure: Option<String>| figure.map(|figure| format!("before {figure}")).unwrap_or_default();
        let area = before.and_then(|figures| figures.kerma_area_product);
        let area = was(area.map(|area| rounded(app, area.in_unit(self.area_unit))));
        let kerma = before.and_then(|figures| figures.reference_air_kerma);
        let kerma = was(kerma.map(|kerma| rounded(app, kerma.in_unit(self.kerma_unit))));
        let time = before.and_then(|figures| figures.fluoroscopy_time);
        let time = was(time.map(|time| rounded(app, if self.in_minutes { time.minutes() } else { time.0 })));
        let shots = was(before.and_then(|figures| figures.shots).map(|shots| shots.to_string()));
        let value = |value: Option<f64>, unit: &str| {
            value.map(|value| format!("{} {unit}", app.decimal(value))).unwrap_or_default()
        };
        vec![
            field("area", "Dose area", &value(self.area, self.area_unit.symbol()), &area),
            field("area-unit", "Unit of dose area", self.area_unit.symbol(), ""),
            field("kerma", "Air kerma", &value(self.kerma, self.kerma_unit.symbol()), &kerma),
            field("kerma-unit", "Unit of air kerma", self.kerma_unit.symbol(), ""),
            field("time", "Time of fluoroscopy", &value(self.time, self.unit_of_time()), &time),
            field("time-unit", "Unit of time", self.unit_of_time(), ""),
            field(
                "shots",
                "Shots of the console",
                &self.shots.map(|shots| shots.to_string()).unwrap_or_default(),
                &shots,
            ),
            field("moment", "When", &say::capitalised(self.moment.words()), ""),
        ]
    }
}

/// A figure of another unit, as a hint beside an entry.
fn rounded(app: &App, value: f64) -> String {
    app.decimal((value * 100.0).round() / 100.0)
}

fn field(id: &str, label: &str, value: &str, detail: &str) -> FieldLine {
    FieldLine { id: id.into(), label: label.into(), value: value.into(), detail: detail.into(), ..FieldLine::default() }
}

/// Asks for a figure or a unit.
pub(super) fn ask(app: &Shared, id: &str) {
    let Some(draft) = around::of(app).dose.borrow().draft.clone() else { return };
    let asked = AroundAsked::Dose(DoseAsked::Field(id.to_owned()));
    let (title, unit) = match id {
        "area" => ("Dose area", draft.area_unit.symbol()),
        "kerma" => ("Air kerma", draft.kerma_unit.symbol()),
        "time" => ("Time of fluoroscopy", draft.unit_of_time()),
        "shots" => ("Shots of the console", ""),
        "time-unit" => return change(app, |draft| draft.in_minutes = !draft.in_minutes),
        _ => {
            let (title, rows) = choices(&draft, id);
            return questions::pick(app, asked, title, "As the console shows it, read aloud", rows);
        }
    };
    let hint = "The running total, read aloud and repeated";
    questions::number(app, asked, &NumberOf { title, hint, unit, range: "", negatives: false, refusal: "" });
}

fn choices(draft: &Draft, id: &str) -> (&'static str, Vec<PickRow>) {
    match id {
        "area-unit" => {
            let of = |unit: KermaAreaUnit| row(unit.symbol(), unit.symbol(), "", unit == draft.area_unit);
            ("Unit of dose area", KermaAreaUnit::ALL.into_iter().map(of).collect())
        }
        "kerma-unit" => {
            let of = |unit: AirKermaUnit| row(unit.symbol(), unit.symbol(), "", unit == draft.kerma_unit);
            ("Unit of air kerma", AirKermaUnit::ALL.into_iter().map(of).collect())
        }
        _ => {
            let of =
                |moment: Moment| row(moment.words(), &say::capitalised(moment.words()), "", moment == draft.moment);
            ("When was it read", Moment::ALL.into_iter().map(of).collect())
        }
    }
}

fn change(app: &Shared, does: impl FnOnce(&mut Draft)) {
    if let Some(draft) = around::of(app).dose.borrow_mut().draft.as_mut() {
        does(draft);
    }
    fill(app);
}

/// A unit or a moment was picked.
pub(super) fn picked(app: &Shared, asked: &DoseAsked, id: &str) {
    around::close(app);
    let DoseAsked::Field(field) = asked else { return };
    change(app, |draft| match field.as_str() {
        "area-unit" => {
            draft.area_unit =
                KermaAreaUnit::ALL.into_iter().find(|unit| unit.symbol() == id).unwrap_or(draft.area_unit);
        }
        "kerma-unit" => {
            draft.kerma_unit =
                AirKermaUnit::ALL.into_iter().find(|unit| unit.symbol() == id).unwrap_or(draft.kerma_unit);
        }
        _ => draft.moment = Moment::ALL.into_iter().find(|moment| moment.words() == id).unwrap_or(draft.moment),
    });
}

/// A figure was typed.
pub(super) fn number(app: &Shared, asked: DoseAsked, text: &str) {
    let DoseAsked::Field(id) = &asked else { return around::close(app) };
    let sign = app.borrow().settings.decimal_sign.character();
    let value: Option<f64> =
        text.replace(sign, ".").parse().ok().filter(|value: &f64| value.is_finite() && *value >= 0.0);
    let whole = value.filter(|value| value.fract() == 0.0 && *value <= f64::from(u32::MAX));
    let fits = if id == "shots" { whole.is_some() } else { value.is_some() };
    if !fits {
        super::numbers::refuse(app, if id == "shots" { "A whole number" } else { "That is not a number" });
        return around::ask(app, AroundAsked::Dose(asked));
    }
    around::close(app);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "judged above")]
    let count = whole.map(|value| value as u32);
    change(app, |draft| match id.as_str() {
        "area" => draft.area = value,
        "kerma" => draft.kerma = value,
        "time" => draft.time = value,
        _ => draft.shots = count,
    });
}

/// Keeps the reading; what is implausible is asked about first.
pub(super) fn keep(app: &Shared, confirmed: bool) {
    let Some(draft) = around::of(app).dose.borrow().draft.clone() else { return };
    let replaces = draft.replaces.as_ref().map(|(seq, _)| *seq);
    let found: Vec<Finding> = {
        let app = app.borrow();
        let Some(open) = &app.open else { return };
        let reading = draft.shown().reading(draft.machine.clone(), draft.moment, open.elapsed().ms, confirmed);
        open.case().state().radiation.would_find(&reading, replaces)
    };
    if !found.is_empty() && !confirmed {
        around::ask(app, AroundAsked::Dose(DoseAsked::StandsSo));
        let text = found.iter().map(Finding::words).collect::<Vec<_>>().join(". ");
        let shown = say::Message {
            title: "Look at the console again",
            text: &text,
            safe: "It is kept as it was read, and marked.",
            advice: "A wrong unit is the most frequent reason.",
            accept: "It stands so",
            held: true,
            decline: "Read again",
            heed: true,
        };
        return say::message(app, Asked::Around, &shown);
    }
    let command = RadiationCommand::ReadConsole {
        moment: draft.moment,
        machine: Some(draft.machine.clone()),
        shown: draft.shown(),
        confirmed,
        replaces,
    };
    if as_reader(app, command) {
        around::of(app).dose.borrow_mut().draft = None;
    }
    fill(app);
}

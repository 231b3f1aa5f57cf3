//! Every state of the dose screen, and of what it adds to others, filled with invented figures.

use crate::scenes::{Scene, model, over, place};
use brimline_ui::{
    AddendumView, AppWindow, CaseView, Dose, DoseShows, FieldLine, Home, MarkedLine, NumberAsked, Over, PickAsked,
    PickRow, Place, RowState, SignOff, SummaryLine,
};
use slint::{ComponentHandle, Model};

pub const SCENES: &[Scene] = &[
    Scene { name: "dose", set: |app| place(app, Place::Dose) },
    Scene { name: "dose-none", set: none },
    Scene { name: "dose-odd", set: odd },
    Scene { name: "dose-reading", set: reading },
    Scene { name: "dose-machine", set: |app| shows(app, DoseShows::Machine) },
    Scene { name: "dose-estimates", set: estimates },
    Scene { name: "dose-steps", set: steps },
    Scene { name: "number-reading", set: number },
    Scene { name: "operate-no-reading", set: operate_no_reading },
    Scene { name: "operate-usual", set: operate_usual },
    Scene { name: "sign-off-dose", set: sign_off },
    Scene { name: "home-received", set: home_received },
    Scene { name: "pick-received", set: pick_received },
    Scene { name: "addendum-report", set: addendum_report },
];

fn shows(app: &AppWindow, shows: DoseShows) {
    place(app, Place::Dose);
    app.global::<Dose>().set_shows(shows);
}

/// Nothing was read yet, and there is nothing to compare with.
fn none(app: &AppWindow) {
    place(app, Place::Dose);
    let dose = app.global::<Dose>();
    dose.set_total("No reading yet".into());
    dose.set_total_detail("A difference of two readings is what lay between them".into());
    dose.set_usual("".into());
    dose.set_usual_to(0.0);
    let line = |label: &str| FieldLine { id: label.into(), label: label.into(), ..FieldLine::default() };
    let moments = ["At opening", "After the scouts", "After the pins", "After the implants", "At the end"];
    dose.set_fields(model(moments.map(line).to_vec()));
    dose.set_main_detail("at opening".into());
}

fn field(id: &str, label: &str, value: &str, detail: &str, heed: bool) -> FieldLine {
    let (id, label) = (id.into(), label.into());
    FieldLine { id, label, value: value.into(), detail: detail.into(), heed, ..FieldLine::default() }
}

/// Two machines, a correction, and a figure that asks for a second look.
fn odd(app: &AppWindow) {
    place(app, Place::Dose);
    let dose = app.global::<Dose>();
    dose.set_total("at least 2.66 Gy·cm²".into());
    dose.set_notice("After the pins: Does not follow in Gy·cm²; it would in dGy·cm²".into());
    dose.set_notice_heed(true);
    dose.set_usual("no usual yet: 4 comparable cases of 20".into());
    dose.set_usual_to(0.0);
    dose.set_fields(model(vec![
        field("1", "At opening", "0 cGy·cm², 0 mGy, 0:00, 0 shots", "09:18 · C-arm 2", false),
        field(
            "2",
            "After the scouts",
            "50.4 cGy·cm², 3.25 mGy, 0:06, 8 shots",
            "09:37 · was 504 cGy·cm² · C-arm 2",
            false,
        ),
        field("3", "After the scouts", "1204 µGy·m², 88 mGy, 12:40, 410 shots", "09:44 · C-arm 5", false),
        field("4", "After the pins", "14.2 Gy·cm²", "10:16 · C-arm 5", true),
        field("due-4", "After the implants", "", "due now", false),
        field("due-5", "At the end", "", "", false),
    ]));
}

fn reading(app: &AppWindow) {
    shows(app, DoseShows::Reading);
    let dose = app.global::<Dose>();
    dose.set_fields(model(vec![
        field("area", "Dose area", "381.1 cGy·cm²", "before 265.5", false),
        field("area-unit", "Unit of dose area", "cGy·cm²", "", false),
        field("kerma", "Air kerma", "", "before 17.13", false),
        field("kerma-unit", "Unit of air kerma", "mGy", "", false),
        field("time", "Time of fluoroscopy", "0.7 min", "before 0.45", false),
        field("time-unit", "Unit of time", "min", "", false),
        field("shots", "Shots of the console", "", "before 42", false),
        field("moment", "When", "After the implants", "", false),
    ]));
    dose.set_main("Keep the reading".into());
    dose.set_main_detail("after the implants, C-arm 2".into());
}

/// A check that reads the console, in the unit of the pathway.
fn number(app: &AppWindow) {
    over(app, Over::Number);
    let asked = app.global::<NumberAsked>();
    asked.set_title("Closing dose reading".into());
    asked.set_hint("".into());
    asked.set_unit("cGy·cm²".into());
    asked.set_range("expected 0 to 2000 cGy·cm², accepted 0 to 1000000 cGy·cm²".into());
    asked.set_other("Other unit or figure".into());
    asked.set_typed("381.1".into());
}

fn line(label: &str, text: &str, heed: bool) -> SummaryLine {
    SummaryLine { label: label.into(), text: text.into(), heed, ..SummaryLine::default() }
}

fn estimates(app: &AppWindow) {
    shows(app, DoseShows::Estimates);
    app.global::<Dose>().set_lines(model(vec![
        line("Effective dose", "about 0.37 mSv effective dose by ICRP 103: population average, not this patient; coefficients from memory, not confirmed by this site", false),
        line("Staff at 1 m", "at most 13.2 µGy at 1.0 m, 0.18 µGy behind the apron: upper bound of scatter, not a dosimeter; coefficient from memory, not confirmed by this site", false),
        line("Levels", "None reached of NCRP Report 168 (2010), as the interventional radiologists' guideline of 2009; from memory, not confirmed by this site", false),
        line("Level", "Fluoroscopy time 31 min: notification level 30 min reached. Tell the surgeon, note it.", true),
        line("Look again", "After the pins: Does not follow in Gy·cm²; it would in dGy·cm²", false),
        line("Advisory", "A medical physicist and local policy decide what follows from these figures.", false),
    ]));
}

fn steps(app: &AppWindow) {
    shows(app, DoseShows::Steps);
    app.global::<Dose>().set_lines(model(vec![
        line("Reconciled", "65 events laid on the counted shots · machine's clock 1:34 ahead · 1 counted, not on the machine · 2 on the machine, not counted", true),
        line("Every view before draping", "Outlet, working · 4 events, 4 counted · 0:03 · 0.27 Gy·cm² · 1.7 mGy · 99 % sure", false),
        line("Guide pin · 1", "23 events, 23 counted · 0:14 · 1.42 Gy·cm² · 9.2 mGy · 97 % sure", false),
        line("Guide pin · 2", "16 events, 15 counted · 0:10 · 0.98 Gy·cm² · 6.3 mGy · 95 % sure", false),
        line("Joint work · 1", "6 events, 6 counted · 0:04 · 0.36 Gy·cm² · 2.3 mGy · 99 % sure", false),
        line("Implant · 1", "6 events, 6 counted · 0:04 · 0.38 Gy·cm² · 2.4 mGy · 99 % sure", false),
        line("Implant · 2", "6 events, 6 counted · 0:04 · 0.37 Gy·cm² · 2.4 mGy · 99 % sure", false),
        line("Close and hand over", "3 events, 3 counted · 0:02 · 0.19 Gy·cm² · 1.2 mGy · 99 % sure", false),
    ]));
}

fn operate_no_reading(app: &AppWindow) {
    place(app, Place::Operate);
    let view = app.global::<CaseView>();
    let mut shots = view.get_shots();
    (shots.usual, shots.dose, shots.dose_detail) = ("".into(), "Dose".into(), "read after the scouts".into());
    view.set_shots(shots);
}

/// The longest figures beside the usual, above it.
fn operate_usual(app: &AppWindow) {
    place(app, Place::Operate);
    let view = app.global::<CaseView>();
    let mut shots = view.get_shots();
    (shots.here, shots.case, shots.time) = (118, 204, "12:34".into());
    (shots.usual, shots.above, shots.now) = ("usual 28 to 65".into(), true, 1.0);
    (shots.dose, shots.dose_detail) =
        ("12345.6 mGy·cm²".into(), "after the implants · usual 10.2 to 14.8 Gy·cm²".into());
    view.set_shots(shots);
}

fn sign_off(app: &AppWindow) {
    place(app, Place::SignOff);
    let sign_off = app.global::<SignOff>();
    let dose = MarkedLine {
        id: "d".into(),
        tag: "Dose".into(),
        text: "65 events laid on the counted shots · machine's clock 1:34 ahead · 1 counted, not on the machine".into(),
        detail: "the machine's report · 11:52".into(),
        state: RowState::Unusual,
        spoken: false,
    };
    let mut lines: Vec<MarkedLine> = sign_off.get_lines().iter().collect();
    lines.insert(2, dose);
    sign_off.set_lines(model(lines));
}

fn home_received(app: &AppWindow) {
    place(app, Place::Home);
    app.global::<Home>().set_received(3);
}

fn pick_received(app: &AppWindow) {
    place(app, Place::Home);
    over(app, Over::Pick);
    let row = |id: &str, text: &str, detail: &str| PickRow {
        id: id.into(),
        text: text.into(),
        detail: detail.into(),
        ..PickRow::default()
    };
    let asked = app.global::<PickAsked>();
    asked.set_title("Received, waits for a person".into());
    asked.set_hint("Nothing joins a case by itself unless patient number and time agree".into());
    asked.set_columns(1);
    asked.set_rows(model(vec![
        row("0", "Dose report · DEMO-0002", "made 11 Mar 11:04 · its case is signed: can be added to the record"),
        row("1", "Image · DEMO-0007", "made 11 Mar 10:31 · no case has that number"),
        row("2", "Picture of a screen · no patient number", "made no time · it names no patient"),
    ]));
}

fn addendum_report(app: &AppWindow) {
    place(app, Place::Addendum);
    let view = app.global::<AddendumView>();
    view.set_kind("Dose report that came later".into());
    view.set_question("As the machine reports it; the signed record is not changed".into());
    let locked = |label: &str, value: &str| FieldLine { locked: true, ..field(label, label, value, "", false) };
    view.set_rows(model(vec![
        locked("Dose area", "4.029 Gy·cm²"),
        locked("Air kerma", "25.99 mGy"),
        locked("Fluoroscopy time", "41.3 s"),
        locked("Irradiation events", "65"),
        field("note", "Note", "", "may stay empty", false),
        field("signer", "Written and signed by", "K. Brandt, surgeon", "", false),
    ]));
    view.set_refusal("".into());
    view.set_ready(true);
}

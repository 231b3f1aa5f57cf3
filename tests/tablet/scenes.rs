//! Every state of every screen that is looked at, filled with invented people and words.

use brimline_ui::{
    AppWindow, CaseView, CheckAsk, CheckLine, CountAsked, GateRole, GateView, NumberAsked, Operate, OperatedSide,
    OptionKey, Over, PickAsked, PickRow, Place, RibbonFold, RibbonSegment, RowState, SavedState, Shell, TextAsked,
};
use slint::{ComponentHandle, Model, ModelRc, SharedString, VecModel};

/// A named state of the window.
pub struct Scene {
    pub name: &'static str,
    pub set: fn(&AppWindow),
}

pub const SCENES: &[Scene] = &[
    Scene { name: "operate-view", set: |_| {} },
    Scene { name: "operate-re-aimed", set: re_aimed },
    Scene { name: "operate-rows", set: rows },
    Scene { name: "operate-second-page", set: second_page },
    Scene { name: "operate-kinds", set: kinds },
    Scene { name: "operate-not-done", set: marking },
    Scene { name: "operate-empty", set: empty },
    Scene { name: "operate-rehearsal", set: rehearsal },
    Scene { name: "operate-not-saved", set: not_saved },
    Scene { name: "operate-read-only", set: read_only },
    Scene { name: "operate-next-day", set: next_day },
    Scene { name: "ending", set: ending },
    Scene { name: "gate-waits", set: |app| place(app, Place::Gate) },
    Scene { name: "gate-ready", set: gate_ready },
    Scene { name: "gate-released", set: gate_released },
    Scene { name: "gate-crowded", set: gate_crowded },
    Scene { name: "stop", set: |app| place(app, Place::Stop) },
    Scene { name: "number", set: number },
    Scene { name: "number-refused", set: number_refused },
    Scene { name: "number-clock", set: clock },
    Scene { name: "passcode", set: passcode },
    Scene { name: "text", set: text },
    Scene { name: "pick", set: |app| over(app, Over::Pick) },
    Scene { name: "pick-long", set: pick_long },
    Scene { name: "pick-right-case", set: pick_right_case },
    Scene { name: "reason", set: |app| over(app, Over::Reason) },
    Scene { name: "message", set: |app| over(app, Over::Message) },
    Scene { name: "steps", set: |app| over(app, Over::Steps) },
    Scene { name: "more", set: |app| over(app, Over::More) },
    Scene { name: "count", set: |app| over(app, Over::Count) },
    Scene { name: "count-complete", set: count_complete },
];

pub fn place(app: &AppWindow, place: Place) {
    app.global::<Shell>().set_place(place);
}

pub fn over(app: &AppWindow, over: Over) {
    app.global::<Shell>().set_over(over);
}

pub fn model<T: Clone + 'static>(rows: Vec<T>) -> ModelRc<T> {
    ModelRc::new(VecModel::from(rows))
}

/// An open check of a kind.
pub fn line(id: &str, ask: CheckAsk, text: &str) -> CheckLine {
    CheckLine { id: id.into(), ask, text: text.into(), ..CheckLine::default() }
}

fn closed(state: RowState, text: &str, detail: &str) -> CheckLine {
    CheckLine { state, detail: detail.into(), ..line(text, CheckAsk::Confirm, text) }
}

pub fn options(texts: &[(&str, bool)]) -> ModelRc<OptionKey> {
    let key = |(text, heed): &(&str, bool)| OptionKey { id: (*text).into(), text: (*text).into(), heed: *heed };
    model(texts.iter().map(key).collect())
}

fn step(app: &AppWindow, title: &str, hint: &str, checks: Vec<CheckLine>) {
    let operate = app.global::<Operate>();
    operate.set_title(title.into());
    operate.set_hint(hint.into());
    operate.set_checks(model(checks));
}

fn re_aimed(app: &AppWindow) {
    let criteria = ["Upper border of the symphysis at the S2 body", "S1 and S2 foramina are seen"].map(Into::into);
    let outlet = CheckLine {
        view: "Outlet, working · planned 43° · plan turned 6° ± 2° back".into(),
        angle: "37°".into(),
        angle_words: "displays: tilt 121°, orbit 0° · tilt: image receptor 37° toward the head".into(),
        criteria: model(criteria.to_vec()),
        criteria_lines: 2,
        scale: true,
        shows: true,
        ..line("outlet", CheckAsk::View, "Outlet before draping")
    };
    step(app, "Every view before draping", "", vec![outlet]);
}

pub fn rows(app: &AppWindow) {
    app.global::<CaseView>().set_side(OperatedSide::Left);
    let side = "Side on consent, mark on skin and films all say left";
    let checks = vec![
        closed(
            RowState::Confirmed,
            "Patient says name, birth date and what is to be done",
            "10:02 · anaesthetist · R. Oyelaran logged it",
        ),
        CheckLine {
            held: true,
            detail: "Each looked at, not recalled".into(),
            ..line("side", CheckAsk::Confirm, side)
        },
        closed(
            RowState::NotDone,
            "Baseline power and feeling of L5 and S1 said aloud",
            "not done: asleep on arrival · 10:05",
        ),
        closed(
            RowState::Unusual,
            "Reference dose on the console before the first shot",
            "412 mGy, expected 0 to 5 · 10:09 · radiographer",
        ),
    ];
    step(app, "Before the patient sleeps", "Read aloud, one after the other", checks);
    let operate = app.global::<Operate>();
    operate.set_pages(3);
    operate.set_checks_after(5);
}

fn second_page(app: &AppWindow) {
    rows(app);
    app.global::<Operate>().set_page(1);
}

pub fn kinds(app: &AppWindow) {
    let cover = [("Cefazolin", false), ("Vancomycin or fluoroquinolone", false), ("Withheld", true)];
    let checks = vec![
        CheckLine {
            options: options(&[("Yes", false), ("No", false)]),
            ..line("monitored", CheckAsk::Choice, "Nerves monitored during the case")
        },
        CheckLine {
            options: options(&cover),
            detail: "60 minutes, 120 for vancomycin or a fluoroquinolone".into(),
            ..line("antibiotic", CheckAsk::Choice, "Antibiotic given before the incision")
        },
        CheckLine {
            detail: "runs 60 minutes until the incision".into(),
            ..line("timer", CheckAsk::Timer, "Antibiotic is in")
        },
        closed(RowState::Blocked, "Implant size, lot and expiry read aloud", "waits for the gate before it"),
    ];
    step(app, "Nerves, antibiotic and implants", "", checks);
    app.global::<Operate>().set_next("Gate: anaesthetic".into());
}

fn marking(app: &AppWindow) {
    kinds(app);
    app.global::<Operate>().set_marking(true);
}

fn empty(app: &AppWindow) {
    step(app, "Graft", "", vec![]);
}

fn rehearsal(app: &AppWindow) {
    app.global::<CaseView>().set_rehearsal(true);
}

fn not_saved(app: &AppWindow) {
    let case = app.global::<CaseView>();
    case.set_saved(SavedState::NotSaved);
    case.set_unsaved(14);
    case.set_banner(
        "The disk is full: touches count on and are kept in memory. A crash would lose the last 14.".into(),
    );
    let mut shots = case.get_shots();
    (shots.here, shots.case, shots.now, shots.above) = (128, 1043, 1.2, true);
    case.set_shots(shots);
}

/// A case resumed the next day: the night is folded.
fn next_day(app: &AppWindow) {
    rows(app);
    let case = app.global::<CaseView>();
    let segment = |title: &str, from: f32, to: f32, here: bool| RibbonSegment { title: title.into(), from, to, here };
    case.set_ribbon(model(vec![
        segment("Ready", 0.0, 0.14, false),
        segment("Position", 0.14, 0.27, false),
        segment("Scout views", 0.27, 0.58, false),
        segment("Guide pin", 0.58, 0.77, true),
    ]));
    case.set_ribbon_folds(model(vec![RibbonFold { from: 0.4, to: 0.46, words: "14 h".into() }]));
    case.set_shot_ticks(model(vec![0.29, 0.31, 0.34, 0.37, 0.48, 0.5, 0.55, 0.61, 0.64, 0.7]));
}

fn clock(app: &AppWindow) {
    over(app, Over::Number);
    let asked = app.global::<NumberAsked>();
    asked.set_title("Done at".into());
    asked.set_hint("Pin tip read on the inlet and named aloud".into());
    asked.set_unit("".into());
    asked.set_range("Hours, then minutes: from 09:58 to 10:42".into());
    asked.set_fractions(false);
    asked.set_clock(true);
    asked.set_typed("1031".into());
}

fn read_only(app: &AppWindow) {
    rows(app);
    let case = app.global::<CaseView>();
    case.set_saved(SavedState::ReadOnly);
    case.set_counting(false);
    case.set_banner("Damaged after entry 212: shown read only. Nothing before it is lost.".into());
    app.global::<Operate>().set_read_only(true);
}

fn ending(app: &AppWindow) {
    kinds(app);
    place(app, Place::Ending);
    app.global::<Operate>().set_ending(true);
    app.global::<Operate>().set_title("Abandoned: before leaving the room".into());
    app.global::<Operate>().set_next("Close the case".into());
}

fn gate_ready(app: &AppWindow) {
    place(app, Place::Gate);
    let gate = app.global::<GateView>();
    gate.set_open(model(vec![]));
    gate.set_not_done(model(vec![]));
    gate.set_ready(true);
}

fn gate_released(app: &AppWindow) {
    gate_ready(app);
    let gate = app.global::<GateView>();
    let at: SharedString = "10:31".into();
    let all = gate.get_roles().iter().map(|role| GateRole { released: true, at: at.clone(), ..role }).collect();
    gate.set_roles(model(all));
    gate.set_released(true);
}

fn gate_crowded(app: &AppWindow) {
    place(app, Place::Gate);
    let gate = app.global::<GateView>();
    let long: SharedString = "Implant sizes, lots and expiry read aloud before anything is opened on the table".into();
    gate.set_title("Start of surgery, left side first, then right".into());
    gate.set_open(model(vec![long.clone(); 9]));
    gate.set_not_done(model(vec![long; 3]));
}

fn number(app: &AppWindow) {
    over(app, Over::Number);
    app.global::<NumberAsked>().set_typed("12.5".into());
}

fn number_refused(app: &AppWindow) {
    number(app);
    let asked = app.global::<NumberAsked>();
    asked.set_negatives(true);
    asked.set_typed("125".into());
    asked.set_refusal("125 mm lies outside 0 to 60 mm: read the scale again".into());
}

fn passcode(app: &AppWindow) {
    number(app);
    let asked = app.global::<NumberAsked>();
    asked.set_title("Passcode of K. Brandt".into());
    asked.set_unit("".into());
    asked.set_range("".into());
    asked.set_secret(true);
    asked.set_fractions(false);
    asked.set_typed("123456".into());
}

fn text(app: &AppWindow) {
    over(app, Over::Text);
    app.global::<TextAsked>().set_typed("Pin redirected once, then".into());
}

fn pick_long(app: &AppWindow) {
    over(app, Over::Pick);
    let row = |number: i32| PickRow {
        id: number.to_string().into(),
        text: format!("Person {number}").into(),
        ..PickRow::default()
    };
    app.global::<PickAsked>().set_rows(model((1..=23).map(row).collect::<Vec<_>>()));
}

/// Stopped as opened in error, with shots that belong elsewhere.
fn pick_right_case(app: &AppWindow) {
    over(app, Over::Pick);
    let row = |id: &str, text: &str, detail: &str, heed: bool| PickRow {
        id: id.into(),
        text: text.into(),
        detail: detail.into(),
        heed,
        ..PickRow::default()
    };
    let asked = app.global::<PickAsked>();
    asked.set_title("2 shots counted here: which case is the right one".into());
    asked.set_hint("Both records will tell where they went".into());
    asked.set_rows(model(vec![
        row("a", "Lindgren, O. · 0415", "open since 10:02 · Lateral scout · 3 shots", false),
        row(
            "later",
            "The right case is not open yet",
            "open it from Home, then come back to this one and close it",
            false,
        ),
        row("stay", "They stay with this case", "no other patient was exposed; the case is closed", true),
    ]));
}

fn count_complete(app: &AppWindow) {
    over(app, Over::Count);
    let asked = app.global::<CountAsked>();
    asked.set_refusal("".into());
    asked.set_complete(true);
}

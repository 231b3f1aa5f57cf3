//! Every state of the screens around a case, filled with invented people and words.

use crate::scenes::{Scene, model, over, place};
use brimline_ui::{
    AddendumView, AppWindow, CaseLine, CaseView, FieldLine, Home, OperatedSide, Over, PasscodeAsked, People,
    PeopleShows, PersonLine, PickAsked, PickRow, Place, RecordView, Returning, ReviewLine, RowState, SetUp, SetUpPage,
    SettingsView, SignOff, SignerLine, SignerState, SummaryLine, Verdict,
};
use slint::{ComponentHandle, Model, SharedString};

pub const SCENES: &[Scene] = &[
    Scene { name: "first-start", set: |app| place(app, Place::FirstStart) },
    Scene { name: "home", set: |app| place(app, Place::Home) },
    Scene { name: "home-empty", set: home_empty },
    Scene { name: "home-many", set: home_many },
    Scene { name: "set-up", set: |app| place(app, Place::SetUp) },
    Scene { name: "set-up-new", set: set_up_new },
    Scene { name: "set-up-both-sides", set: set_up_both },
    Scene { name: "set-up-team", set: set_up_team },
    Scene { name: "set-up-ready", set: set_up_ready },
    Scene { name: "set-up-one-person", set: set_up_one_person },
    Scene { name: "set-up-pathways", set: set_up_pathways },
    Scene { name: "returning", set: |app| place(app, Place::Returning) },
    Scene { name: "returning-damaged", set: returning_damaged },
    Scene { name: "sign-off", set: |app| place(app, Place::SignOff) },
    Scene { name: "sign-off-clean", set: sign_off_clean },
    Scene { name: "sign-off-long", set: sign_off_long },
    Scene { name: "sign-off-complete", set: sign_off_complete },
    Scene { name: "sign-off-one-person", set: sign_off_one_person },
    Scene { name: "sign-off-signing", set: sign_off_signing },
    Scene { name: "sign-passcode", set: passcode },
    Scene { name: "sign-passcode-waits", set: passcode_waits },
    Scene { name: "record", set: |app| place(app, Place::Record) },
    Scene {
        name: "record-incomplete",
        set: |app| record(app, Verdict::Incomplete, "The circulating nurse has not signed"),
    },
    Scene {
        name: "record-at-fault",
        set: |app| record(app, Verdict::AtFault, "Signature of the surgeon does not hold"),
    },
    Scene { name: "record-added", set: record_added },
    Scene { name: "addendum", set: |app| place(app, Place::Addendum) },
    Scene { name: "addendum-both-sides", set: addendum_both },
    Scene { name: "addendum-correction", set: addendum_correction },
    Scene { name: "people", set: |app| place(app, Place::People) },
    Scene { name: "people-none", set: people_none },
    Scene { name: "people-many", set: people_many },
    Scene { name: "people-draft", set: people_draft },
    Scene { name: "people-busy", set: people_busy },
    Scene { name: "settings", set: |app| place(app, Place::Settings) },
    Scene { name: "settings-many", set: settings_many },
    Scene { name: "about", set: |app| place(app, Place::About) },
];

/// Rows over and over, so that a list turns.
fn repeated<T: Clone + 'static>(rows: slint::ModelRc<T>, count: usize) -> slint::ModelRc<T> {
    let all: Vec<T> = rows.iter().collect();
    model(all.into_iter().cycle().take(count).collect())
}

fn home_empty(app: &AppWindow) {
    place(app, Place::Home);
    app.global::<Home>().set_cases(model(Vec::new()));
}

fn home_many(app: &AppWindow) {
    place(app, Place::Home);
    let home = app.global::<Home>();
    let long = CaseLine {
        side: OperatedSide::Both,
        patient: "Ashdown-Featherstonehaugh, Theodora Maximiliana · 0412".into(),
        detail: "Primary percutaneous fusion, lateral transarticular, prone, one side".into(),
        ..CaseLine::default()
    };
    let mut rows: Vec<CaseLine> = repeated(home.get_cases(), 9).iter().collect();
    rows.insert(0, long);
    home.set_cases(model(rows));
    home.set_banner("The disk is full: touches count on, marked not saved".into());
}

fn set_up_new(app: &AppWindow) {
    place(app, Place::SetUp);
    let set_up = app.global::<SetUp>();
    let empty = |field: FieldLine| FieldLine { value: "".into(), heed: true, ..field };
    set_up.set_plan(model(set_up.get_plan().iter().map(empty).collect()));
    set_up.set_side(OperatedSide::None);
    set_up.set_patient("".into());
    set_up.set_procedure("".into());
    set_up.set_cautions(model(Vec::<SharedString>::new()));
}

fn set_up_both(app: &AppWindow) {
    place(app, Place::SetUp);
    let set_up = app.global::<SetUp>();
    set_up.set_side(OperatedSide::Both);
    set_up.set_plan(repeated(set_up.get_plan(), 13));
    set_up.set_cautions(repeated(set_up.get_cautions(), 5));
}

fn set_up_team(app: &AppWindow) {
    place(app, Place::SetUp);
    app.global::<SetUp>().set_page(SetUpPage::Team);
}

pub fn set_up_ready(app: &AppWindow) {
    set_up_team(app);
    let set_up = app.global::<SetUp>();
    set_up.set_refusal("".into());
    set_up.set_ready(true);
}

fn returning_damaged(app: &AppWindow) {
    place(app, Place::Returning);
    app.global::<CaseView>().set_rehearsal(true);
    let damaged = "The journal is damaged at line 118. Everything before it is whole: 117 entries, 21 shots.";
    app.global::<Returning>().set_damaged(damaged.into());
}

fn sign_off_clean(app: &AppWindow) {
    place(app, Place::SignOff);
    let sign_off = app.global::<SignOff>();
    sign_off.set_lines(model(Vec::new()));
    sign_off.set_refusal("".into());
    sign_off.set_main_enabled(true);
}

fn sign_off_long(app: &AppWindow) {
    place(app, Place::SignOff);
    let long = ReviewLine {
        text: "Gate before the incision passed although the anaesthetist had not yet said yes to the position".into(),
        tag: "Spoken word".into(),
        detail:
            "called to the next room for an emergency, said yes by telephone to the circulating nurse, who repeated it \
                 aloud to everybody in the room"
                .into(),
        ..ReviewLine::default()
    };
    let spoken = ReviewLine { id: "long".into(), spoken: true, ..long.clone() };
    app.global::<SignOff>().set_lines(model(vec![spoken, ReviewLine { state: RowState::NotDone, ..long }]));
}

fn sign_off_complete(app: &AppWindow) {
    place(app, Place::SignOff);
    let sign_off = app.global::<SignOff>();
    let signed = |line: SignerLine| SignerLine { state: SignerState::Signed, detail: "11:42".into(), ..line };
    sign_off.set_signers(model(sign_off.get_signers().iter().map(signed).collect()));
    sign_off.set_complete(true);
}

pub fn passcode(app: &AppWindow) {
    place(app, Place::SignOff);
    over(app, Over::Passcode);
    app.global::<PasscodeAsked>().set_typed("48291".into());
}

pub fn passcode_waits(app: &AppWindow) {
    passcode(app);
    let asked = app.global::<PasscodeAsked>();
    asked.set_typed("".into());
    asked.set_refusal("That is not the passcode of K. Brandt".into());
    asked.set_wait_seconds(8);
}

/// What one person in two signing roles is told.
const ONE_PERSON: &str =
    "K. Brandt signs as surgeon and as circulating nurse: the second signature is not an independent one.";

fn set_up_one_person(app: &AppWindow) {
    set_up_ready(app);
    let set_up = app.global::<SetUp>();
    set_up.set_remark(ONE_PERSON.into());
    let signs = |field: FieldLine| match field.detail.as_str() {
        "signs" => FieldLine {
            value: "K. Brandt".into(),
            detail: "signs, and is another signer too".into(),
            heed: true,
            ..field
        },
        _ => field,
    };
    set_up.set_team(model(set_up.get_team().iter().map(signs).collect()));
}

fn set_up_pathways(app: &AppWindow) {
    place(app, Place::SetUp);
    over(app, Over::Pick);
    let row = |text: &str, detail: &str, barred: bool| PickRow {
        id: text.into(),
        text: text.into(),
        detail: detail.into(),
        barred,
        ..PickRow::default()
    };
    let first = row("Primary fusion, lateral, prone", "built in, version 1.0", false);
    let asked = app.global::<PickAsked>();
    asked.set_title("Pathway".into());
    asked.set_hint("".into());
    asked.set_rows(model(vec![
        PickRow { chosen: true, ..first },
        row("Revision for loosening", "built in, version 1.0", false),
        row("Primary fusion, as we do it here", "ours.json, version site 7", false),
        row("pathways/draft.json", "cannot be chosen: phases[2].steps[0].checks[1].id: stands twice", true),
    ]));
}

fn sign_off_one_person(app: &AppWindow) {
    sign_off_clean(app);
    let sign_off = app.global::<SignOff>();
    sign_off.set_remark(ONE_PERSON.into());
    let one =
        |line: SignerLine| SignerLine { name: "K. Brandt".into(), detail: "signs with the new key".into(), ..line };
    sign_off.set_signers(model(sign_off.get_signers().iter().map(one).collect()));
}

fn sign_off_signing(app: &AppWindow) {
    sign_off_clean(app);
    app.global::<SignOff>().set_signing("Signing as surgeon, K. Brandt: the record is being written".into());
}

fn record_added(app: &AppWindow) {
    place(app, Place::Record);
    let view = app.global::<RecordView>();
    view.set_may_add(true);
    let heading = SummaryLine { label: "Added later".into(), heading: true, ..SummaryLine::default() };
    let found = SummaryLine {
        label: "Recovery".into(),
        text: "right L5 power 5 of 5, feeling as before; right S1 power 4 of 5, feeling less · walks to the door · \
               K. Brandt, surgeon · 25 Nov 17:20"
            .into(),
        heed: true,
        ..SummaryLine::default()
    };
    view.set_lines(model([heading, found].into_iter().chain(view.get_lines().iter()).collect()));
}

fn addendum_both(app: &AppWindow) {
    place(app, Place::Addendum);
    let view = app.global::<AddendumView>();
    view.set_side(OperatedSide::Both);
    let (mut rows, note): (Vec<FieldLine>, Vec<FieldLine>) =
        view.get_rows().iter().partition(|row| row.id.contains("right"));
    let left = |row: &FieldLine| FieldLine { label: row.label.replace("right", "left").into(), ..row.clone() };
    let lefts: Vec<FieldLine> = rows.iter().map(left).collect();
    rows.extend(lefts.into_iter().chain(note));
    view.set_rows(model(rows));
}

fn addendum_correction(app: &AppWindow) {
    place(app, Place::Addendum);
    let view = app.global::<AddendumView>();
    view.set_kind("Correction".into());
    view.set_question("Say which entry is wrong and what is right".into());
    let rows = [
        ("entry", "Entry", "Reference dose on the console before the first shot"),
        ("note", "What is right", "The console showed 4.12, not 412: the point was not seen under the drape"),
        ("signer", "Written and signed by", "R. Oyelaran, circulating nurse"),
    ];
    let row = |(id, label, value): (&str, &str, &str)| FieldLine {
        id: id.into(),
        label: label.into(),
        value: value.into(),
        ..FieldLine::default()
    };
    view.set_rows(model(rows.map(row).to_vec()));
    view.set_refusal("".into());
    view.set_ready(true);
}

fn people_busy(app: &AppWindow) {
    place(app, Place::People);
    let people = app.global::<People>();
    people.set_busy(true);
    people.set_message("Making a key: a moment".into());
    people.set_message_heed(false);
}

fn record(app: &AppWindow, verdict: Verdict, detail: &str) {
    place(app, Place::Record);
    let view = app.global::<RecordView>();
    view.set_verdict(verdict);
    view.set_verdict_detail(detail.into());
}

fn people_none(app: &AppWindow) {
    place(app, Place::People);
    let people = app.global::<People>();
    people.set_shows(PeopleShows::Nothing);
    people.set_rows(model(Vec::new()));
}

fn people_many(app: &AppWindow) {
    place(app, Place::People);
    let people = app.global::<People>();
    let rows: Vec<PersonLine> = repeated(people.get_rows(), 14).iter().collect();
    people.set_rows(model(rows));
    people.set_retired(true);
    people.set_message("Retired. Old records stay valid.".into());
}

fn people_draft(app: &AppWindow) {
    place(app, Place::People);
    app.global::<People>().set_shows(PeopleShows::Draft);
}

fn settings_many(app: &AppWindow) {
    place(app, Place::Settings);
    let settings = app.global::<SettingsView>();
    settings.set_rows(repeated(settings.get_rows(), 14));
    settings.set_banner("settings.toml: not written, the disk is full".into());
}

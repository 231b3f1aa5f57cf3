//! Every state of the screens of a rehearsal: drawn, measured, and worn by the band.

use crate::looks::draw_each;
use crate::picture_scenes::pane;
use crate::scenes::{Scene, model, place};
use crate::touch::{MAIN, ROUNDING, apart, buttons, in_each, measure};
use brimline_ui::{
    AppWindow, CaseView, ControlKey, Debrief, DebriefShows, Exercise, ExerciseShows, FindingLine, ImagePane, Place,
    Rehearse,
};
use i_slint_backend_testing::ElementQuery;
use slint::{ComponentHandle, Model};

pub const SCENES: &[Scene] = &[
    Scene { name: "rehearse", set: |app| place(app, Place::Rehearse) },
    Scene { name: "rehearse-building", set: building },
    Scene { name: "exercise", set: exercise },
    Scene { name: "exercise-no-picture", set: no_picture },
    Scene { name: "exercise-refused", set: refused },
    Scene { name: "exercise-pin", set: pin },
    Scene { name: "exercise-mishap", set: mishap },
    Scene { name: "exercise-of-pathway", set: of_pathway },
    Scene { name: "operate-with-machine", set: with_machine },
    Scene { name: "debrief-failed", set: debrief },
    Scene { name: "debrief-passed", set: passed },
    Scene { name: "debrief-shots", set: shots },
    Scene { name: "debrief-no-shots", set: no_shots },
];

fn building(app: &AppWindow) {
    place(app, Place::Rehearse);
    app.global::<Rehearse>().set_busy("The model person is being built".into());
}

fn no_picture(app: &AppWindow) {
    place(app, Place::Exercise);
    app.global::<CaseView>().set_rehearsal(true);
    let screen = app.global::<Exercise>();
    screen.set_shots("0".into());
    screen.set_dose("0.00 mGy · 0.00 Gy·cm² at the console".into());
    screen.set_told("".into());
}

fn exercise(app: &AppWindow) {
    no_picture(app);
    let screen = app.global::<Exercise>();
    screen.set_pane(pane("Shot 12 · Inlet, anterior cortex · held: something moved since"));
    screen.set_shots("12".into());
    screen.set_dose("1.42 mGy · 0.61 Gy·cm² at the console".into());
    screen.set_told("Tilt: image receptor 5° toward the feet".into());
}

fn refused(app: &AppWindow) {
    exercise(app);
    let screen = app.global::<Exercise>();
    screen.set_told("Stopped: the image receptor would touch table or patient".into());
    screen.set_heed(true);
}

fn pin(app: &AppWindow) {
    exercise(app);
    let screen = app.global::<Exercise>();
    screen.set_shows(ExerciseShows::Pin);
    let lateral = pane("Shot 14 · Lateral");
    screen.set_pane(ImagePane { active: true, wanted: "the start of the pin".into(), ..lateral });
    screen.set_told("Touch the start on the lateral picture".into());
    screen.set_view("Lateral".into());
    screen.set_angle("along the body's axes".into());
}

fn mishap(app: &AppWindow) {
    pin(app);
    let screen = app.global::<Exercise>();
    let mut keys: Vec<ControlKey> = screen.get_others().iter().collect();
    keys.push(ControlKey {
        id: "handle".into(),
        text: "See to it".into(),
        detail: "bleeding".into(),
        heed: true,
        ..ControlKey::default()
    });
    screen.set_others(model(keys));
    screen.set_told("Blood wells up: see to it before anything goes further in".into());
    screen.set_heed(true);
}

fn of_pathway(app: &AppWindow) {
    exercise(app);
    app.global::<Exercise>().set_of_pathway(true);
}

fn with_machine(app: &AppWindow) {
    app.global::<CaseView>().set_rehearsal(true);
    app.global::<brimline_ui::Operate>().set_machine(true);
}

fn debrief(app: &AppWindow) {
    place(app, Place::Debrief);
    app.global::<CaseView>().set_rehearsal(true);
}

fn passed(app: &AppWindow) {
    debrief(app);
    let screen = app.global::<Debrief>();
    screen.set_passed(true);
    screen.set_verdict("Passed".into());
    screen.set_why(model(vec!["Passes rank by fewer shots, then less dose, then less time".into()]));
    let rows: Vec<FindingLine> = screen.get_numbers().iter().collect();
    screen.set_numbers(model(rows.into_iter().cycle().take(14).collect()));
}

fn shots(app: &AppWindow) {
    debrief(app);
    let screen = app.global::<Debrief>();
    screen.set_shows(DebriefShows::Shots);
    screen.set_pane(pane("Shot 3 · a model"));
}

fn no_shots(app: &AppWindow) {
    shots(app);
    let screen = app.global::<Debrief>();
    screen.set_pane(ImagePane { empty_text: "No shot was taken".into(), ..ImagePane::default() });
    screen.set_shot_words("No shot was taken".into());
    screen.set_taught("".into());
    screen.set_first(true);
    screen.set_last(true);
}

/// [R-TABLET-4] [R-TABLET-8]
#[test]
fn screens_of_a_rehearsal_are_drawn_at_both_sizes_without_a_warning() {
    draw_each(SCENES);
}

/// [R-TABLET-2] [R-TABLET-20]
#[test]
fn everything_touched_in_a_rehearsal_is_88_both_ways_apart_and_the_band_is_worn() {
    in_each(SCENES, |scene, stage| {
        let found = buttons(stage);
        measure(scene, &found);
        apart(scene, &found);
        let tallest = found.iter().map(|button| button.size.height).fold(0.0, f32::max);
        assert!(tallest + ROUNDING >= MAIN, "{}: {tallest}", scene.name);
        let bands = ElementQuery::from_root(&stage.app).match_inherits("RehearsalBand").find_all();
        assert_eq!(bands.len(), 1, "{}: the band", scene.name);
        let exercise = scene.name.starts_with("exercise");
        let stops = found.iter().filter(|button| button.label == "Stop").count();
        assert!(!exercise || stops == 1, "{}: Stop", scene.name);
    });
}

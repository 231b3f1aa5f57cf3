//! Holding, tapping, sliding off, and the pedal.

use crate::scenes;
use crate::stage::{SIZES, Stage, middle, wait};
use brimline_ui::{CaseView, CheckLine, NumberAsked, Operate, Over, Shell};
use slint::platform::{Key, WindowEvent};
use slint::{ComponentHandle, LogicalPosition, SharedString};
use std::cell::RefCell;
use std::rc::Rc;

/// What a callback was called with, in order.
type Log = Rc<RefCell<Vec<SharedString>>>;

fn answers(stage: &Stage) -> Log {
    let log = Log::default();
    let kept = log.clone();
    stage.app.global::<Operate>().on_answer(move |id| kept.borrow_mut().push(id));
    log
}

/// A stage with one critical check, and where it is held.
fn held_check() -> (Stage, Log, LogicalPosition) {
    let stage = Stage::open(SIZES[0]);
    scenes::rows(&stage.app);
    let log = answers(&stage);
    stage.frame();
    let at = middle(&stage.touchable("Side on consent, mark on skin and films all say left"));
    (stage, log, at)
}

#[test]
fn a_held_touch_answers_once_after_600_ms() {
    let (stage, log, at) = held_check();
    stage.press(at);
    wait(590);
    assert!(log.borrow().is_empty());
    wait(20);
    assert_eq!(*log.borrow(), ["side"]);
    wait(3000);
    stage.release(at);
    assert_eq!(*log.borrow(), ["side"]);
}

#[test]
fn a_held_touch_released_early_does_nothing_and_starts_afresh() {
    let (stage, log, at) = held_check();
    for _ in 0..5 {
        stage.press(at);
        wait(500);
        stage.release(at);
        wait(50);
    }
    assert!(log.borrow().is_empty());
}

#[test]
fn a_held_touch_that_slides_off_does_nothing() {
    let (stage, log, at) = held_check();
    stage.press(at);
    wait(300);
    stage.slide(LogicalPosition::new(at.x, at.y + 200.0));
    wait(2000);
    stage.release(LogicalPosition::new(at.x, at.y + 200.0));
    assert!(log.borrow().is_empty());
}

#[test]
fn a_held_touch_fills_as_it_runs() {
    let (stage, _log, at) = held_check();
    let shade = |stage: &Stage, x: f32| {
        let frame = stage.frame();
        let row = at.y as u32 + 36;
        frame.as_slice()[(row * frame.width()) as usize + x as usize]
    };
    let empty = shade(&stage, 330.0);
    stage.press(at);
    stage.frame();
    wait(300);
    let (early, late) = (shade(&stage, 330.0), shade(&stage, 780.0));
    assert_ne!(early, empty, "the left is filled at half time");
    assert_eq!(late, empty, "the right is not yet");
}

#[test]
fn the_whole_row_answers_a_tap() {
    let stage = Stage::open(SIZES[0]);
    scenes::kinds(&stage.app);
    let log = answers(&stage);
    stage.frame();
    let row = stage.touchable("Antibiotic is in");
    let (at, size) = (row.absolute_position(), row.size());
    stage.tap(LogicalPosition::new(at.x + 4.0, at.y + 4.0));
    stage.tap(LogicalPosition::new(at.x + size.width - 4.0, at.y + size.height - 4.0));
    assert_eq!(*log.borrow(), ["timer", "timer"]);
}

#[test]
fn an_option_is_one_touch_and_a_blocked_row_answers_nothing() {
    let stage = Stage::open(SIZES[0]);
    scenes::kinds(&stage.app);
    let log = answers(&stage);
    let chosen = Log::default();
    let kept = chosen.clone();
    stage.app.global::<Operate>().on_choose(move |touch| kept.borrow_mut().push(touch.option));
    stage.frame();
    stage.tap(middle(&stage.touchable("Nerves monitored during the case: No")));
    stage.tap(middle(&stage.touchable("Implant size, lot and expiry read aloud")));
    assert_eq!(*chosen.borrow(), ["No"]);
    assert!(log.borrow().is_empty());
}

#[test]
fn nothing_is_touched_through_an_overlay_but_a_shot_is_counted_beside_it() {
    let stage = Stage::open(SIZES[0]);
    scenes::rows(&stage.app);
    let log = answers(&stage);
    let shots = Rc::new(RefCell::new(0));
    let kept = shots.clone();
    stage.app.global::<CaseView>().on_count_shot(move || *kept.borrow_mut() += 1);
    let next = Log::default();
    let gone = next.clone();
    stage.app.global::<Operate>().on_turn(move |page| gone.borrow_mut().push(page.to_string().into()));
    scenes::over(&stage.app, Over::More);
    stage.frame();
    for y in (76..800).step_by(12) {
        stage.tap(LogicalPosition::new(700.0, y as f32));
        stage.tap(LogicalPosition::new(1100.0, y as f32));
    }
    assert!(log.borrow().is_empty() && next.borrow().is_empty());
    assert!(*shots.borrow() > 0);
}

/// [R-TABLET-5]
#[test]
fn the_pedal_counts_once_per_press_on_every_screen_and_under_every_overlay() {
    let stage = Stage::open(SIZES[0]);
    let pressed = Rc::new(RefCell::new(0));
    let kept = pressed.clone();
    stage.app.global::<Shell>().on_pedal(move || *kept.borrow_mut() += 1);
    let text = SharedString::from(Key::F9);
    for (turn, over) in [Over::Nothing, Over::Text, Over::Number, Over::Steps].into_iter().enumerate() {
        scenes::over(&stage.app, over);
        stage.frame();
        stage.app.window().dispatch_event(WindowEvent::KeyPressed { text: text.clone() });
        for _ in 0..30 {
            stage.app.window().dispatch_event(WindowEvent::KeyPressRepeated { text: text.clone() });
        }
        stage.app.window().dispatch_event(WindowEvent::KeyReleased { text: text.clone() });
        assert_eq!(*pressed.borrow(), turn + 1, "{over:?}");
    }
}

#[test]
fn a_number_is_typed_and_corrected_by_touch() {
    let stage = Stage::open(SIZES[0]);
    scenes::over(&stage.app, Over::Number);
    let taken = Log::default();
    let kept = taken.clone();
    stage.app.global::<NumberAsked>().on_accept(move |text| kept.borrow_mut().push(text));
    stage.frame();
    for label in ["1", "2", "decimal sign", "6", "erase one", "5", "Accept"] {
        stage.tap(middle(&stage.touchable(label)));
    }
    assert_eq!(*taken.borrow(), ["12.5"]);
}

#[test]
fn read_only_answers_nothing() {
    let stage = Stage::open(SIZES[0]);
    scenes::rows(&stage.app);
    let operate = stage.app.global::<Operate>();
    operate.set_checks(scenes::model(vec![CheckLine { id: "one".into(), text: "One".into(), ..CheckLine::default() }]));
    operate.set_read_only(true);
    let log = answers(&stage);
    stage.frame();
    stage.tap(middle(&stage.touchable("One")));
    assert!(log.borrow().is_empty());
}

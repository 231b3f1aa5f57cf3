//! The screens around a case: drawn, measured, and held where they ask to be held.

use crate::around_scenes::{SCENES, passcode, passcode_waits, set_up_ready};
use crate::looks::draw_each;
use crate::scenes::place;
use crate::stage::{SIZES, Stage, middle, wait};
use crate::touch::{MAIN, ROUNDING, apart, buttons, in_each, measure};
use brimline_ui::{PasscodeAsked, Place, SetUp, SignOff};
use slint::{ComponentHandle, SharedString};
use std::cell::RefCell;
use std::rc::Rc;

/// Longer than a held touch takes.
const HELD_MS: u64 = 700;

#[test]
fn screens_around_a_case_are_drawn_at_both_sizes_without_a_warning() {
    draw_each(SCENES);
}

#[test]
fn everything_touched_around_a_case_is_88_both_ways_apart_and_has_a_label() {
    in_each(SCENES, |scene, stage| {
        let found = buttons(stage);
        assert!(!found.is_empty(), "{}: nothing to touch", scene.name);
        measure(scene, &found);
        apart(scene, &found);
    });
}

#[test]
fn main_action_around_a_case_is_118_high() {
    in_each(SCENES, |scene, stage| {
        // A list to pick from has no main action: each of its rows is one.
        if scene.name == "set-up-pathways" {
            return;
        }
        let tallest = buttons(stage).iter().map(|button| button.size.height).fold(0.0, f32::max);
        assert!(tallest + ROUNDING >= MAIN, "{}: {tallest}", scene.name);
    });
}

/// What a callback was called with, in order.
type Heard = Rc<RefCell<Vec<SharedString>>>;

fn hears(heard: &Heard) -> impl Fn(SharedString) + use<> {
    let heard = heard.clone();
    move |word| heard.borrow_mut().push(word)
}

#[test]
fn nobody_signs_before_every_entry_was_turned_to() {
    let stage = Stage::open(SIZES[0]);
    place(&stage.app, Place::SignOff);
    let sign_off = stage.app.global::<SignOff>();
    sign_off.set_main_enabled(true);
    let heard = Heard::default();
    let hear = hears(&heard);
    sign_off.on_sign(move || hear("sign".into()));
    stage.frame();
    stage.tap(middle(&stage.touchable("Read on, page 1 of 2")));
    assert!(heard.borrow().is_empty());
    stage.frame();
    stage.tap(middle(&stage.touchable("Sign as surgeon, K. Brandt · passcode")));
    assert_eq!(*heard.borrow(), ["sign"]);
}

#[test]
fn a_spoken_word_is_held_by_the_surgeon_and_a_brush_does_not_count() {
    let stage = Stage::open(SIZES[0]);
    place(&stage.app, Place::SignOff);
    let heard = Heard::default();
    stage.app.global::<SignOff>().on_said(hears(&heard));
    stage.frame();
    let at = middle(&stage.touchable("Gate before incision passed without the anaesthetist"));
    stage.tap(at);
    assert!(heard.borrow().is_empty());
    stage.press(at);
    wait(HELD_MS);
    stage.release(at);
    assert_eq!(*heard.borrow(), ["w1"]);
}

#[test]
fn a_passcode_is_taken_from_six_digits_on_and_never_while_it_waits() {
    let stage = Stage::open(SIZES[0]);
    passcode(&stage.app);
    let heard = Heard::default();
    stage.app.global::<PasscodeAsked>().on_accept(hears(&heard));
    stage.frame();
    let (sign, six) = (middle(&stage.touchable("Sign")), middle(&stage.touchable("6")));
    stage.tap(sign);
    assert!(heard.borrow().is_empty(), "five digits are too few");
    stage.tap(six);
    stage.tap(sign);
    assert_eq!(*heard.borrow(), ["482916"]);
    passcode_waits(&stage.app);
    stage.frame();
    stage.tap(six);
    stage.tap(sign);
    assert_eq!(heard.borrow().len(), 1);
    assert_eq!(stage.app.global::<PasscodeAsked>().get_typed(), "");
}

#[test]
fn a_case_is_opened_by_a_held_touch_and_only_when_it_is_ready() {
    let stage = Stage::open(SIZES[0]);
    set_up_ready(&stage.app);
    let set_up = stage.app.global::<SetUp>();
    let heard = Heard::default();
    let hear = hears(&heard);
    set_up.on_open(move || hear("open".into()));
    stage.frame();
    let at = middle(&stage.touchable("Open the case"));
    let hold = || {
        stage.press(at);
        wait(HELD_MS);
        stage.release(at);
    };
    stage.tap(at);
    assert!(heard.borrow().is_empty(), "a brush opens nothing");
    set_up.set_ready(false);
    hold();
    assert!(heard.borrow().is_empty(), "not ready");
    set_up.set_ready(true);
    hold();
    assert_eq!(*heard.borrow(), ["open"]);
}

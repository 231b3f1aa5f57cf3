//! The screens with pictures: drawn, measured, and played through by touches.

use crate::flows::{alone, begin, only_case, open_case};
use crate::hand::Hand;
use crate::looks::draw_each;
use crate::picture_scenes::SCENES;
use crate::stage::wait;
use crate::touch::{MAIN, ROUNDING, apart, buttons, in_each, measure};
use brimline::carm::ViewName;
use brimline::case::PinDecision;
use brimline::pin;
use brimline::presenter::Shared;
use brimline_ui::{CorrectView, Over, PickAsked, PinShows, PinView, Place, Shell, StepList};
use slint::{ComponentHandle, LogicalPosition, Model};
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

/// A side of the pictures: the middle of the sample document, 512, is the middle of them.
const SIDE: u32 = 1025;
/// The known length is told to a tenth of a pixel where 512.8205 would be exact: 4e-5 of the 52 mm that the tip lies off the
/// centre, and the two rays at most double it. The rest is for single precision.
const TOUCHED_MM: f64 = 0.01;

#[test]
fn screens_with_pictures_are_drawn_at_both_sizes_without_a_warning() {
    draw_each(SCENES);
}

/// [R-TABLET-2]
#[test]
fn everything_touched_beside_pictures_is_88_both_ways_apart_and_has_a_label() {
    in_each(SCENES, |scene, stage| {
        let found = buttons(stage);
        measure(scene, &found);
        apart(scene, &found);
        let tallest = found.iter().map(|button| button.size.height).fold(0.0, f32::max);
        assert!(tallest + ROUNDING >= MAIN, "{}: {tallest}", scene.name);
        // Measuring for a plan belongs to no case.
        let stops = usize::from(!scene.name.starts_with("measure"));
        assert_eq!(found.iter().filter(|button| button.label == "Stop").count(), stops, "{}: Stop", scene.name);
    });
}

/// A grey picture of which nothing is known.
fn picture(path: &Path) {
    let mut encoder = png::Encoder::new(BufWriter::new(File::create(path).unwrap()), SIDE, SIDE);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let pixels: Vec<u8> = (0..SIDE * SIDE).map(|at| u8::try_from(at % 251).unwrap()).collect();
    encoder.write_header().unwrap().write_image_data(&pixels).unwrap();
}

/// Touches a place of a picture, in pixels from the centre of its first one.
fn touch_px(hand: &Hand, picture: &str, [across, down]: [f64; 2]) {
    let element = hand.find(picture).expect("the picture is shown");
    let (at, size) = (element.absolute_position(), element.size());
    let part = |px: f64| ((px + 0.5) / f64::from(SIDE)) as f32;
    let place = LogicalPosition::new(at.x + part(across) * size.width, at.y + part(down) * size.height);
    // The finger comes down beside the place, on the side where the picture goes on.
    let inward = if across > f64::from(SIDE) / 2.0 { -9.0 } else { 9.0 };
    let beside = LogicalPosition::new(place.x + inward, place.y - 5.0);
    hand.stage.press(beside);
    hand.stage.slide(place);
    hand.stage.release(place);
    wait(20);
}

pub fn go_to(hand: &Hand, title: &str) {
    let list = hand.stage.app.global::<StepList>();
    hand.stage.app.global::<brimline_ui::CaseView>().invoke_show_steps();
    let row = list.get_rows().iter().find(|row| row.text.starts_with(title));
    let listed = || list.get_rows().iter().map(|row| row.text.to_string()).collect::<Vec<_>>().join(" | ");
    let row = row.unwrap_or_else(|| panic!("{title} is not among {}", listed()));
    list.invoke_go(row.id);
}

fn pick(hand: &Hand, id: &str) {
    assert_eq!(hand.over(), Over::Pick);
    hand.stage.app.global::<PickAsked>().invoke_pick(id.into());
}

fn choose_pictures(hand: &Hand) {
    let window = hand.stage.app.clone_strong();
    let view = window.global::<PinView>();
    for (number, name) in ["a-inlet.png", "b-outlet.png"].iter().enumerate() {
        view.invoke_change(slint::format!("picture-{number}"));
        pick(hand, name);
        hand.until("a picture", |hand| {
            hand.stage.app.global::<PinView>().get_panes().row_data(number).is_some_and(|pane| pane.filled)
        });
    }
}

fn type_number(hand: &mut Hand, what: &str, digits: &str) {
    hand.stage.app.global::<PinView>().invoke_change(what.into());
    assert_eq!(hand.over(), Over::Number);
    hand.type_digits(digits);
    hand.touch("Accept");
}

/// A case at its guide pin, with two pictures in its folder.
fn at_the_pin(store: &Path) -> (Hand, Shared) {
    alone(store, 1);
    let (mut hand, app) = begin(store);
    open_case(&mut hand);
    let images = only_case(store).join("images");
    std::fs::create_dir_all(&images).unwrap();
    picture(&images.join("a-inlet.png"));
    picture(&images.join("b-outlet.png"));
    go_to(&hand, "Guide pin");
    (hand, app)
}

/// The other side of a picture.
fn mirrored([across, down]: [f64; 2]) -> [f64; 2] {
    [f64::from(SIDE - 1) - across, down]
}

/// The sample document's pin, as one that comes from the left; the case is of the left side.
fn sample_of_the_left_side() -> serde_json::Value {
    let document = include_bytes!("../vectors/pin/good-two-views.json");
    let mut document: serde_json::Value = serde_json::from_slice(document).unwrap();
    document["side"] = "left".into();
    for member in ["joint", "edges"] {
        document.as_object_mut().unwrap().remove(member);
    }
    for view in document["views"].as_array_mut().unwrap() {
        for at in ["/tip_px", "/shank_px/0"] {
            let at = view.pointer_mut(at).unwrap();
            let [across, down] = [0, 1].map(|axis| at[axis].as_f64().unwrap());
            *at = mirrored([across, down]).to_vec().into();
        }
    }
    document
}

/// [R-FINDING-1] [R-FINDING-2] The touches are those of the sample document, mirrored to the side of the case, so what is
/// found must be as well.
#[test]
fn a_pin_is_touched_on_two_pictures_found_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    let (mut hand, app) = at_the_pin(folder.path());
    hand.touch("More");
    hand.touch("Where the pin is");
    assert_eq!(hand.place(), Place::Pin);
    let window = hand.stage.app.clone_strong();
    let view = window.global::<PinView>();
    assert!(!view.get_ready() && view.get_missing().contains("choose a picture"), "{}", view.get_missing());
    view.invoke_change("view-0".into());
    pick(&hand, ViewName::InletBody.word());
    view.invoke_change("view-1".into());
    pick(&hand, ViewName::OutletWorking.word());
    choose_pictures(&hand);
    for (what, digits) in [("length-0", "100"), ("length-1", "100"), ("angle-0", "21"), ("angle-1", "43")] {
        type_number(&mut hand, what, digits);
    }
    view.invoke_change("frame".into());
    pick(&hand, "radiographer");
    hand.touch("Touch");
    let [inlet, outlet] = [0, 1].map(|pane| view.get_panes().row_data(pane).unwrap().caption);
    // 100 mm at the isocentre are 512.8 pixels of 0.3 mm on the detector at a magnification of 1000 over 650.
    let length = [[255.6, 900.0], [768.4, 900.0]];
    for at in [mirrored([680.4, 495.0]), mirrored([992.1, 479.6]), length[0], length[1]] {
        touch_px(&hand, &inlet, at);
    }
    for at in [mirrored([684.3, 654.7]), mirrored([1009.1, 735.2]), length[0], length[1]] {
        touch_px(&hand, &outlet, at);
    }
    assert!(view.get_ready(), "{}", view.get_missing());
    hand.touch("Find the pin");
    assert_eq!(view.get_shows(), PinShows::Finding);
    hand.touch("Keep");
    if hand.over() == Over::Message {
        hand.touch("Keep it");
    }
    assert_eq!(hand.place(), Place::Operate);
    let app = app.borrow();
    let (kept, decided) = &app.open.as_ref().unwrap().case().state().pin_findings[0].finding;
    assert_eq!(*decided, PinDecision::Kept);
    let wanted = pin::find(&pin::read(sample_of_the_left_side().to_string().as_bytes()).unwrap());
    assert_eq!(kept.views, wanted.views);
    let (tip, truth) = (kept.tip.expect("a position"), wanted.tip.expect("a position"));
    for (found, truth) in [(tip.left_mm, truth.left_mm), (tip.posterior_mm, truth.posterior_mm)] {
        assert!((found.value - truth.value).abs() < TOUCHED_MM, "{} for {}", found.value, truth.value);
    }
}

/// A touch on a mark moves it, and the loupe never lies beneath the finger.
#[test]
fn a_mark_is_touched_again_under_a_loupe_beside_the_finger() {
    let folder = tempfile::tempdir().unwrap();
    let (mut hand, _app) = at_the_pin(folder.path());
    hand.touch("More");
    hand.touch("Where the pin is");
    let window = hand.stage.app.clone_strong();
    let view = window.global::<PinView>();
    choose_pictures(&hand);
    hand.touch("Touch");
    let caption = view.get_panes().row_data(0).unwrap().caption;
    for x in [30.0, 512.0, 1000.0] {
        touch_px(&hand, &caption, [x, 600.0]);
        let marks = view.get_panes().row_data(0).unwrap().marks;
        assert!(marks.row_count() <= 2, "each touch set or moved one");
        view.invoke_choose_target("0-Tip".into());
    }
    let element = hand.find(&caption).unwrap();
    let (at, size) = (element.absolute_position(), element.size());
    for part in [0.05_f32, 0.3, 0.499, 0.501, 0.9] {
        let finger = LogicalPosition::new(at.x + part * size.width, at.y + 0.5 * size.height);
        hand.stage.press(finger);
        let pane = view.get_panes().row_data(0).unwrap();
        assert!(pane.magnified);
        let loupe = size.width / 2.0 - 64.0;
        let left = if pane.finger_x < 0.5 { part * size.width + 64.0 } else { part * size.width - 64.0 - loupe };
        let room = left >= -1.0 && left + loupe <= size.width + 1.0;
        let clear = left > part * size.width + 50.0 || left + loupe < part * size.width - 50.0;
        assert!(room && clear, "{part}: from {left}");
        hand.stage.release(finger);
        view.invoke_choose_target("0-Tip".into());
    }
    assert!(!view.get_panes().row_data(0).unwrap().magnified);
}

/// [R-FINDING-1]
#[test]
fn what_was_seen_on_an_outlet_is_typed_said_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    alone(folder.path(), 1);
    let (mut hand, app) = begin(folder.path());
    open_case(&mut hand);
    go_to(&hand, "Every view before draping");
    let views = hand.stage.app.global::<brimline_ui::Operate>().get_checks();
    assert!(views.row_count() > 0);
    hand.touch("More");
    hand.touch("Correct the view");
    assert_eq!(hand.place(), Place::Correct);
    let window = hand.stage.app.clone_strong();
    let view = window.global::<CorrectView>();
    assert!(!view.get_ready(), "nothing was seen yet");
    view.invoke_change("head".into());
    pick(&hand, "+");
    hand.type_digits("9");
    hand.touch("Accept");
    assert!(view.get_ready(), "{}", view.get_missing());
    hand.touch("Say the move");
    assert!(view.get_told(), "{}", view.get_notice());
    let said = view.get_moves().row_data(0).unwrap();
    hand.touch("Said to the radiographer");
    assert_eq!(hand.place(), Place::Operate);
    let app = app.borrow();
    let kept = &app.open.as_ref().unwrap().case().state().view_findings[0].finding;
    let words = kept.instruction(&brimline::carm::Words::built_in());
    assert!(words.to_lowercase().starts_with(&said.to_lowercase()), "{words} for {said}");
    assert_eq!(hand.stage.app.global::<Shell>().get_over(), Over::Nothing);
}

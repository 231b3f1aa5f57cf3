//! The plan re-aimed on the true lateral by touches, shown at the views, and void after a move; shots are counted meanwhile.

use crate::flows::{alone, begin, only_case, open_case};
use crate::hand::Hand;
use crate::pictures::{SIDE, go_to, pick, picture, touch_px};
use brimline::presenter::Shared;
use brimline_ui::{CaseView, Operate, Over, PinView, Place, ReAimView, Shell};
use serde_json::{Value, json};
use slint::{ComponentHandle, Model};
use std::path::Path;

/// The inlet angle of the anterior cortex in the plan, and by how much the pelvis is turned on the lateral, degrees.
const PLANNED_DEG: f64 = 25.0;
const TURNED_DEG: f64 = 6.0;
/// A touch lands within a tenth of a pixel over 400: far less.
const TOUCHED_DEG: f64 = 0.05;

/// A case at its scout views, its plan measured, with a lateral in its folder.
fn at_the_scouts(store: &Path) -> (Hand, Shared) {
    alone(store, 1);
    let path = store.join("plans/1.json");
    let mut plan: Value = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
    plan["brimline_plan"] = json!(2);
    plan["anatomy"] = json!({"midline": {"s1_anterior_cortex": {"deg": PLANNED_DEG, "plus_minus_deg": 2.0}}});
    std::fs::write(&path, plan.to_string()).unwrap();
    let (mut hand, app) = begin(store);
    open_case(&mut hand);
    let images = only_case(store).join("images");
    std::fs::create_dir_all(&images).unwrap();
    picture(&images.join("lateral.png"));
    picture(&images.join("outlet.png"));
    go_to(&hand, "Every view before draping");
    (hand, app)
}

/// The words at the view of that name.
fn at_view(hand: &Hand, name: &str) -> (String, String, String) {
    let checks = hand.stage.app.global::<Operate>().get_checks();
    let mut lines = checks.iter().filter(|line| line.view.starts_with(name));
    let line = lines.next().unwrap_or_else(|| panic!("{name} is not on this page"));
    (line.angle.to_string(), line.view.to_string(), line.angle_words.to_string())
}

/// Turns to the page with that view.
fn turn_to(hand: &mut Hand, name: &str) {
    for _ in 0..6 {
        let checks = hand.stage.app.global::<Operate>().get_checks();
        if checks.iter().any(|line| line.view.starts_with(name)) {
            return;
        }
        hand.touch("More checks");
    }
    panic!("{name} is on no page");
}

/// Touches cortex and plumb line of a prone patient whose head is at the right: the front is down.
fn touch_lateral(hand: &mut Hand) {
    let window = hand.stage.app.clone_strong();
    let view = window.global::<ReAimView>();
    view.invoke_change("picture".into());
    pick(hand, "lateral.png");
    hand.until("the lateral", |hand| hand.stage.app.global::<ReAimView>().get_pane().filled);
    assert!(view.get_missing().contains("head"), "{}", view.get_missing());
    view.invoke_change("head".into());
    pick(hand, "right");
    let caption = view.get_pane().caption;
    let middle = f64::from(SIDE - 1) / 2.0;
    let (sin, cos) = (PLANNED_DEG + TURNED_DEG).to_radians().sin_cos();
    let front = [middle + 250.0 * sin, middle + 250.0 * cos];
    let back = [middle - 250.0 * sin, middle - 250.0 * cos];
    for at in [front, back, [100.0, 150.0], [100.0, 850.0]] {
        touch_px(hand, &caption, at);
    }
}

/// [R-FINDING-4]
#[test]
fn a_true_lateral_re_aims_the_plan_until_the_table_moves() {
    let folder = tempfile::tempdir().unwrap();
    let (mut hand, app) = at_the_scouts(folder.path());
    turn_to(&mut hand, "Inlet");
    let (planned, ..) = at_view(&hand, "Inlet");
    hand.touch("More");
    hand.touch("Re-aim the plan");
    assert_eq!(hand.place(), Place::ReAim);
    touch_lateral(&mut hand);
    let window = hand.stage.app.clone_strong();
    let view = window.global::<ReAimView>();
    assert!(view.get_ready(), "{}", view.get_missing());
    hand.touch("Say the turn");
    assert!(view.get_told(), "{}", view.get_notice());
    assert!(view.get_said().starts_with("Plan turned 6°"), "{}", view.get_said());
    assert!(view.get_notice().contains("Void once patient or table moves"), "{}", view.get_notice());
    hand.touch("Use these tilts");
    assert_eq!(hand.place(), Place::Operate);
    {
        let app = app.borrow();
        let state = app.open.as_ref().unwrap().case().state();
        let turn = state.re_aim().expect("it holds").finding.turn_deg;
        assert!((turn - TURNED_DEG).abs() < TOUCHED_DEG, "{turn}");
    }
    turn_to(&mut hand, "Inlet");
    let (angle, remark, words) = at_view(&hand, "Inlet");
    let degrees = |text: &str| text.trim_end_matches('°').parse::<f64>().unwrap();
    assert!((degrees(&angle) - degrees(&planned) - TURNED_DEG).abs() < 0.5, "{angle} after {planned}");
    assert!(remark.contains("plan turned 6°"), "{remark}");
    assert!(remark.contains(&format!("planned {planned}")), "{remark}");
    assert!(words.contains(&format!("image receptor {angle}")), "{words}");
    hand.touch("More");
    hand.touch("Patient or table moved");
    assert_eq!(hand.over(), Over::Message);
    hand.touch("It moved");
    turn_to(&mut hand, "Inlet");
    let (angle, remark, _) = at_view(&hand, "Inlet");
    assert_eq!(angle, planned);
    assert!(remark.contains("moved"), "{remark}");
}

/// [R-FINDING-4] A picture from before the move and one from after it share no frame, whoever says so.
#[test]
fn a_move_voids_what_was_declared_unmoved_for_the_pin() {
    let folder = tempfile::tempdir().unwrap();
    let (mut hand, _app) = at_the_scouts(folder.path());
    go_to(&hand, "Guide pin");
    hand.touch("More");
    hand.touch("Where the pin is");
    let window = hand.stage.app.clone_strong();
    let view = window.global::<PinView>();
    let shown = |pane: usize| view.get_panes().row_data(pane).is_some_and(|pane| pane.filled);
    let frame = || view.get_fields().iter().find(|row| row.id == "frame").unwrap().value;
    view.invoke_change("picture-0".into());
    pick(&hand, "lateral.png");
    hand.until("the first picture", |_| shown(0));
    view.invoke_change("frame".into());
    pick(&hand, "surgeon");
    assert!(frame().contains("nothing moved"), "{}", frame());
    view.invoke_change("moved".into());
    hand.touch("It moved");
    assert_eq!((hand.place(), frame().as_str()), (Place::Pin, ""));
    view.invoke_change("frame".into());
    pick(&hand, "surgeon");
    view.invoke_change("picture-1".into());
    pick(&hand, "outlet.png");
    hand.until("the second picture", |_| shown(1));
    assert_eq!(frame(), "", "the two pictures lie on either side of the move");
    view.invoke_change("frame".into());
    let rows: Vec<_> = window.global::<brimline_ui::PickAsked>().get_rows().iter().map(|row| row.id).collect();
    assert_eq!(rows, ["landmarks", "unknown"], "nobody can say that nothing moved");
}

/// [R-TABLET-6] [R-TABLET-18]
#[test]
fn shots_are_counted_by_key_and_pedal_from_every_screen_with_pictures() {
    let folder = tempfile::tempdir().unwrap();
    let (mut hand, app) = at_the_scouts(folder.path());
    let shots = |app: &Shared| app.borrow().open.as_ref().unwrap().case().state().shots_total();
    let screens = [("Correct the view", Place::Correct), ("Re-aim the plan", Place::ReAim)];
    for (number, (words, place)) in (0..).zip(screens) {
        hand.touch("More");
        hand.touch(words);
        assert_eq!(hand.place(), place);
        let key = hand.find("+ 1 shot").expect("a shot key");
        assert!(key.size().height + crate::touch::ROUNDING >= crate::touch::MAIN);
        hand.touch("+ 1 shot");
        hand.stage.app.global::<Shell>().invoke_pedal();
        assert_eq!(shots(&app), 2 * (number + 1));
        assert_eq!(hand.place(), place, "the picture stays");
        hand.touch("Back");
    }
    go_to(&hand, "Guide pin");
    hand.touch("More");
    hand.touch("Where the pin is");
    hand.touch("+ 1 shot");
    assert_eq!((shots(&app), hand.place()), (5, Place::Pin));
    assert_eq!(hand.stage.app.global::<CaseView>().get_shots().case, 5);
}

//! What a view must show, at the step that asks for it: drawn beside the window, opened and closed by touch.

use crate::flows::{alone, begin, open_case};
use crate::hand::Hand;
use crate::looks;
use crate::pictures::go_to;
use brimline_ui::{CaseView, Operate, Place, TargetView};
use slint::{ComponentHandle, Model};

fn pictured(hand: &Hand) -> bool {
    hand.stage.app.global::<Operate>().get_checks().iter().any(|line| line.pictured)
}

/// [R-TARGET-3] Beside the window: shots count on while the picture is being made.
#[test]
fn what_a_view_must_show_is_drawn_opened_and_closed_by_touch() {
    let folder = tempfile::tempdir().unwrap();
    alone(folder.path(), 1);
    let (mut hand, _app) = begin(folder.path());
    open_case(&mut hand);
    go_to(&hand, "Every view before draping");
    let window = hand.stage.app.clone_strong();
    let (operate, view) = (window.global::<Operate>(), window.global::<TargetView>());
    let check = operate.get_checks().iter().find(|line| line.shows).expect("a view is asked for");
    assert!(!check.pictured, "nothing was drawn yet");
    let shots = window.global::<CaseView>().get_shots().case;
    hand.touch("+ 1 shot");
    assert_eq!(window.global::<CaseView>().get_shots().case, shots + 1);
    let tile = format!("{}: what it must show", check.text);
    hand.touch(&tile);
    assert_eq!(hand.place(), Place::Target);
    hand.until("the picture of the model", |_| view.get_pane().filled);
    assert_eq!(view.get_pane().caption, "model, not this patient");
    assert!(view.get_lines().row_count() > 0 && view.get_typical().starts_with("Typical, not measured: "));
    assert!(view.get_advisory().contains("the surgeon's reading of the image decides"));
    let size = view.get_pane().picture.size();
    assert_eq!((size.width, size.height), (520, 520), "resampled to what is shown");
    looks::keep("target-real", &hand.stage.frame());
    hand.touch("model, not this patient");
    assert_eq!(hand.place(), Place::Operate);
    assert!(pictured(&hand), "and stands small beside the criteria");
    looks::keep("target-real-small", &hand.stage.frame());
    hand.touch(&tile);
    hand.touch("Close");
    assert_eq!(hand.place(), Place::Operate);
    assert_eq!(hand.stage.warnings(), Vec::<String>::new());
}

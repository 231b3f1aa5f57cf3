//! Everything touched is measured, in every scene: 88 logical pixels both ways, inside the window, with a label.

use crate::scenes::{SCENES, Scene};
use crate::stage::{SIZES, Stage};
use i_slint_backend_testing::{AccessibleRole, ElementQuery};
use slint::{LogicalPosition, LogicalSize, SharedString};
use std::thread;

/// About 15 mm on a 10.1-inch tablet of 1280 × 800 (149 pixels an inch). Source: the size rule of the screens.
const LEAST: f32 = 88.0;
/// About 20 mm: the main action and the shot key.
pub const MAIN: f32 = 118.0;
/// Layout works in fractions of a pixel.
pub const ROUNDING: f32 = 0.5;

fn in_every_scene(check: fn(&Scene, &Stage)) {
    in_each(SCENES, check);
}

/// Opens each scene on a stage of its own and checks it there.
pub fn in_each(scenes: &'static [Scene], check: fn(&Scene, &Stage)) {
    for scene in scenes {
        let run = move || {
            let stage = Stage::open(SIZES[0]);
            (scene.set)(&stage.app);
            stage.frame();
            check(scene, &stage);
        };
        thread::spawn(run).join().expect("the scene holds");
    }
}

/// Every button once. An item of the toolkit carries the elements of all components it was built from, each with the
/// same role; only the first of them has the label. A button without a label stays, with an empty one.
pub fn buttons(stage: &Stage) -> Vec<Touched> {
    let all = ElementQuery::from_root(&stage.app).match_descendants().match_accessible_role(AccessibleRole::Button);
    let mut found: Vec<Touched> = Vec::new();
    for element in all.find_all() {
        let label = element.accessible_label().unwrap_or_default();
        let (at, size) = (element.absolute_position(), element.size());
        match found.iter_mut().find(|known| known.at == at && known.size == size) {
            Some(known) if known.label.is_empty() => known.label = label,
            Some(_) => {}
            None => found.push(Touched { label, at, size }),
        }
    }
    found
}

pub struct Touched {
    pub label: SharedString,
    pub at: LogicalPosition,
    pub size: LogicalSize,
}

#[test]
fn everything_touched_is_88_both_ways_inside_the_window_and_has_a_label() {
    in_every_scene(|scene, stage| {
        let found = buttons(stage);
        assert!(found.len() >= 4, "{}: only {} buttons", scene.name, found.len());
        measure(scene, &found);
    });
}

/// Size, place and label of everything touched.
pub fn measure(scene: &Scene, found: &[Touched]) {
    for Touched { label, at, size } in found {
        let name = format!("{}: \"{label}\" at {at:?}, {size:?}", scene.name);
        assert!(!label.is_empty(), "{name} has no label");
        assert!(size.width + ROUNDING >= LEAST && size.height + ROUNDING >= LEAST, "{name} is too small");
        assert!(at.x >= -ROUNDING && at.x + size.width <= 1280.0 + ROUNDING, "{name} leaves the window");
        assert!(at.y >= -ROUNDING && at.y + size.height <= 800.0 + ROUNDING, "{name} leaves the window");
    }
}

/// [R-TABLET-2]
#[test]
fn no_two_things_touched_lie_on_one_another() {
    in_every_scene(|scene, stage| {
        apart(scene, &buttons(stage));
    });
}

/// Nothing touched lies on anything else that is.
pub fn apart(scene: &Scene, found: &[Touched]) {
    for (index, one) in found.iter().enumerate() {
        for other in &found[index + 1..] {
            assert!(!overlap(one, other), "{}: {:?} on {:?}", scene.name, one.label, other.label);
        }
    }
}

fn overlap(one: &Touched, other: &Touched) -> bool {
    let (a, b, s, t) = (one.at, other.at, one.size, other.size);
    a.x + s.width > b.x + ROUNDING
        && b.x + t.width > a.x + ROUNDING
        && a.y + s.height > b.y + ROUNDING
        && b.y + t.height > a.y + ROUNDING
}

/// [R-TABLET-6]
#[test]
fn shot_key_and_main_action_are_118_high_and_stop_is_on_every_scene_of_a_running_case() {
    in_every_scene(|scene, stage| {
        let shot = stage.touchable("+ 1 shot, or pedal");
        assert!(shot.size().height + ROUNDING >= MAIN, "{}: the shot key", scene.name);
        let stops = buttons(stage).iter().filter(|button| button.label == "Stop").count();
        let without = ["stop", "ending", "operate-not-done"].contains(&scene.name);
        assert_eq!(stops, usize::from(!without), "{}: Stop", scene.name);
    });
}

//! From a rehearsal to the rows of its screen, and from its keys to controls.
//!
//! What it does not do: nothing is shown that a room would not know; what was noted for the score stays there.

use super::app::App;
use super::case_view::model;
use super::exercise::Running;
use super::say::capitalised;
use crate::carm::clearance::End;
use crate::carm::{Joint, Joints, Move, MoveKind, Tube, ViewName, Words};
use crate::case::Task;
use crate::plan::Plan;
use crate::rehearse::{Control, Image, InPicture, Mishap, Refusal, Rehearsal, Shot, Told};
use crate::units::Degrees;
use brimline_ui::{AppWindow, ControlKey, Exercise, ImagePane, JointLine};
use slint::ComponentHandle;

/// Steps of the table, mm, of the pin's direction, degrees, and of its way, mm.
const SHIFT_MM: f64 = 20.0;
const TURN_DEG: f64 = 2.0;
const WITHDRAW_MM: f64 = 5.0;
const DRILL_MM: f64 = 10.0;
/// How far the support turns the pelvis back, about, degrees. Source: 15 to 20° resolve most collisions (72 CTs, 5 C-arms).
pub(super) const SUPPORT_DEG: f64 = 15.0;

const JOINTS: [(Joint, &str, &str); 3] =
    [(Joint::Tilt, "tilt", "Tilt"), (Joint::Orbit, "orbit", "Orbit"), (Joint::Wag, "wag", "Wag")];

/// Fills the screen.
pub(super) fn fill(window: &AppWindow, app: &App, running: &Running, plan: &Plan) {
    let screen = window.global::<Exercise>();
    let session = &running.session;
    let task = session.exercise().task;
    screen.set_shows(running.shows);
    screen.set_pane(pane(running));
    screen.set_joints(model(joints(session)));
    screen.set_shifts(model(shifts()));
    screen.set_extras(model(extras(session.magnified(), running.supported)));
    screen.set_turns(model(turns()));
    screen.set_advances(model(advances()));
    screen.set_others(model(others(running)));
    screen.set_pin_words(pin_words(running.pin_mm).into());
    screen.set_shots(session.shots().len().to_string().into());
    screen.set_dose(dose(app, session).into());
    screen.set_told(running.told.as_str().into());
    screen.set_heed(running.heed);
    screen.set_view(running.view.word().into());
    screen.set_angle(angle(plan, running.view).into());
    screen.set_with_pin(matches!(task, Task::Pin | Task::Pathway));
    screen.set_of_pathway(task == Task::Pathway);
    screen.set_over(session.over());
}

fn key(id: &str, text: &str, detail: &str) -> ControlKey {
    ControlKey { id: id.into(), text: text.into(), detail: detail.into(), ..ControlKey::default() }
}

/// The picture that hangs, and what it is.
pub(super) fn pane(running: &Running) -> ImagePane {
    let (shot, held) = match running.session.image() {
        Image::None => (None, false),
        Image::Current(shot) => (Some(shot), false),
        Image::Held(shot) => (Some(shot), true),
    };
    let drawn = running.picture.as_ref().filter(|(number, _)| shot.is_some_and(|shot| shot.number == *number));
    ImagePane {
        caption: shot.map_or_else(String::new, |shot| caption(shot, held, running.live.is_some())).into(),
        empty_text: if shot.is_some() { "The picture is being made" } else { "No picture yet: take a shot" }.into(),
        picture: drawn.map(|(_, picture)| picture.clone()).unwrap_or_default(),
        filled: drawn.is_some(),
        active: running.setting,
        wanted: if running.setting { "the start of the pin" } else { "" }.into(),
        ..ImagePane::default()
    }
}

fn caption(shot: &Shot, held: bool, live: bool) -> String {
    let meant = shot.meant.map_or_else(String::new, |view| format!(" · {}", view.word()));
    let held = match (live, held) {
        (true, _) => " · live",
        (false, true) => " · held",
        (false, false) => "",
    };
    format!("Shot {}{held}{meant}", shot.number)
}

/// Where each joint stands, in the room's words without the joint's name.
fn joints(session: &Rehearsal) -> Vec<JointLine> {
    let stands = session.readings();
    let line = |(joint, id, name): (Joint, &str, &str)| {
        let (less, more) = (session.move_of(joint, Degrees(-1.0)), session.move_of(joint, Degrees(1.0)));
        JointLine {
            id: id.into(),
            name: name.into(),
            stands: stands_words(session, joint, &stands).into(),
            less: way(less.kind).into(),
            more: way(more.kind).into(),
        }
    };
    JOINTS.into_iter().map(line).collect()
}

fn stands_words(session: &Rehearsal, joint: Joint, stands: &Joints) -> String {
    let whole = stands.of(joint).0.round();
    if whole == 0.0 {
        return "0°".to_owned();
    }
    after_name(&Words::built_in().say(&session.move_of(joint, Degrees(whole))))
}

/// "image receptor 4° toward the feet" of "tilt: image receptor 4° toward the feet".
fn after_name(said: &str) -> String {
    said.split_once(": ").map_or_else(|| said.to_owned(), |(_, rest)| rest.to_owned())
}

fn way(kind: MoveKind) -> &'static str {
    match kind {
        MoveKind::TiltHead | MoveKind::WagHead => "to head",
        MoveKind::TiltFeet | MoveKind::WagFeet => "to feet",
        MoveKind::OrbitOver => "over",
        MoveKind::OrbitBack => "back",
    }
}

/// The table moves the patient under the beam; the keys say where the beam goes.
fn shifts() -> Vec<ControlKey> {
    let ways = [("head", "to head"), ("feet", "to feet"), ("left", "to left"), ("right", "to right")];
    let ways = ways.into_iter().chain([("back", "to back"), ("front", "to front")]);
    ways.map(|(id, detail)| key(id, "20 mm", detail)).collect()
}

/// What is switched on and off.
fn extras(magnified: bool, supported: bool) -> Vec<ControlKey> {
    vec![
        ControlKey { chosen: magnified, ..key("magnify", "Larger", "more dose") },
        ControlKey { chosen: supported, ..key("support", "Support", "15° back") },
    ]
}

/// The control of a key of the table.
pub(super) fn shift_of(id: &str) -> Option<Control> {
    let by = match id {
        "left" => [SHIFT_MM, 0.0, 0.0],
        "right" => [-SHIFT_MM, 0.0, 0.0],
        "back" => [0.0, SHIFT_MM, 0.0],
        "front" => [0.0, -SHIFT_MM, 0.0],
        "head" => [0.0, 0.0, SHIFT_MM],
        "feet" => [0.0, 0.0, -SHIFT_MM],
        _ => return None,
    };
    Some(Control::Shift { by })
}

fn turns() -> Vec<ControlKey> {
    let ways = [("tip-head", "to head"), ("tip-feet", "to feet"), ("tip-front", "to front"), ("tip-back", "to back")];
    ways.into_iter().map(|(id, detail)| key(id, "Tip 2°", detail)).collect()
}

fn advances() -> Vec<ControlKey> {
    vec![
        key("advance-1", "Advance", "1 mm"),
        key("advance-5", "Advance", "5 mm"),
        key("withdraw", "Draw back", "5 mm"),
        key("drill", "Drill", "10 mm"),
    ]
}

fn others(running: &Running) -> Vec<ControlKey> {
    let set = ControlKey { chosen: running.setting, ..key("set", "Set the pin", "touch a lateral") };
    let mut keys = vec![set, key("replace", "New pin", "straight")];
    if let Some(mishap) = running.happened {
        keys.push(ControlKey { heed: true, ..key("handle", "See to it", &mishap.to_string()) });
    }
    keys
}

/// The control of a key of the pin.
pub(super) fn pin_of(id: &str) -> Option<Control> {
    let turn = |head: f64, front: f64| Control::TurnPin { head: Degrees(head), front: Degrees(front) };
    Some(match id {
        "tip-head" => turn(TURN_DEG, 0.0),
        "tip-feet" => turn(-TURN_DEG, 0.0),
        "tip-front" => turn(0.0, TURN_DEG),
        "tip-back" => turn(0.0, -TURN_DEG),
        "advance-1" => Control::Advance { mm: 1.0 },
        "advance-5" => Control::Advance { mm: 5.0 },
        "withdraw" => Control::Withdraw { mm: WITHDRAW_MM },
        "drill" => Control::Drill { mm: DRILL_MM },
        "replace" => Control::ReplacePin,
        _ => return None,
    })
}

fn pin_words(mm: Option<f64>) -> String {
    mm.map_or_else(|| "No pin is set".to_owned(), |mm| format!("The pin stands {mm:.0} mm deep, by its own scale"))
}

/// What the console shows.
fn dose(app: &App, session: &Rehearsal) -> String {
    let total = session.dose().total;
    let kerma = total.and_then(|total| total.reference_air_kerma).map_or(0.0, |kerma| kerma.0);
    let area = total.and_then(|total| total.kerma_area_product).map_or(0.0, |area| area.0);
    format!("{} mGy · {} Gy·cm² at the console", app.fixed(kerma, 2), app.fixed(area, 2))
}

fn angle(plan: &Plan, view: ViewName) -> String {
    let planned = plan.views.iter().find(|planned| planned.view == view);
    planned.map_or_else(String::new, |planned| match view {
        ViewName::Ap | ViewName::Lateral => "along the body's axes".to_owned(),
        _ => format!("planned tilt {:.0}°", planned.tilt_deg),
    })
}

/// Keeps what came of a control for the screen.
pub(super) fn tell(running: &mut Running, control: Control, told: &Result<Told, Refusal>) {
    match told {
        Ok(Told::PinStands { mm }) => running.pin_mm = Some(*mm),
        Ok(Told::Happened(mishap)) => running.happened = Some(*mishap),
        Ok(Told::Handled) => running.happened = None,
        Ok(Told::Moved) => {
            if let Control::Support { back } = control {
                running.supported = back.0 > 0.0;
            }
        }
        // A lost view is seen to by finding it again.
        Ok(Told::Accepted) if running.happened == Some(Mishap::LostView) => running.happened = None,
        _ => {}
    }
    (running.told, running.heed) = match told {
        Ok(told) => words(running, control, told),
        Err(refusal) => (capitalised(&refusal.to_string()), true),
    };
}

/// What came of it in words, and whether it asks for attention.
fn words(running: &Running, control: Control, told: &Told) -> (String, bool) {
    let plain = |words: &str| (words.to_owned(), false);
    match told {
        Told::Moved => (moved(running, control), false),
        Told::Touched(end) => {
            let end = end_word(*end, running.session.exercise().tube);
            (format!("Stopped: {end} would touch table or patient"), true)
        }
        Told::Shown { contents: InPicture::Blank, .. } => {
            ("The picture is blank: nothing of the sacrum in it".into(), true)
        }
        Told::Shown { contents: InPicture::Bone, .. } => {
            plain(if running.pin_mm.is_some() { "The pin's tip lies outside the picture" } else { "" })
        }
        Told::Shown { .. } => plain(""),
        Told::Accepted => plain("Accepted: going on from this view"),
        Told::Rejected => plain("Not taken: move and take another"),
        Told::PinStands { .. } => plain("Take a shot to see where it stands"),
        Told::Handled => plain("Seen to"),
        Told::Happened(Mishap::Bleeding) => ("Blood wells up: see to it before anything goes further in".into(), true),
        Told::Happened(Mishap::LostView) => ("The machine was knocked: find the view again".into(), true),
        Told::Happened(Mishap::BentPin) => ("The pin is bent".into(), true),
        Told::Ended => plain("The exercise is over"),
    }
}

fn moved(running: &Running, control: Control) -> String {
    match control {
        Control::Drive { joint, by } => capitalised(&Words::built_in().say(&asked(&running.session, joint, by))),
        Control::Support { back } if back.0 > 0.0 => "Support under the pelvis: find every view again".to_owned(),
        Control::Support { .. } => "No support under the pelvis: find every view again".to_owned(),
        Control::Magnify { on: true } => "The middle alone, larger".to_owned(),
        Control::Magnify { on: false } => "The whole field".to_owned(),
        _ => "The beam moved over the patient".to_owned(),
    }
}

fn asked(session: &Rehearsal, joint: Joint, by: Degrees) -> Move {
    session.move_of(joint, by)
}

/// The end that stands above the patient is the image receptor while the tube is below.
fn end_word(end: End, tube: Tube) -> &'static str {
    match (end, tube) {
        (End::Upper, Tube::Under) | (End::Lower, Tube::Over) => "the image receptor",
        _ => "the tube",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_of_table_and_pin_has_its_control() {
        for key in &shifts() {
            assert!(matches!(shift_of(&key.id), Some(Control::Shift { .. })), "{}", key.id);
        }
        for key in turns().iter().chain(&advances()) {
            assert!(pin_of(&key.id).is_some(), "{}", key.id);
        }
        assert_eq!(shift_of("head"), Some(Control::Shift { by: [0.0, 0.0, 20.0] }), "toward the head is +z");
    }

    #[test]
    fn where_a_joint_stands_is_said_without_its_name() {
        assert_eq!(after_name("tilt: image receptor 4° toward the feet"), "image receptor 4° toward the feet");
        assert_eq!(end_word(End::Upper, Tube::Under), "the image receptor");
        assert_eq!(end_word(End::Upper, Tube::Over), "the tube");
    }
}

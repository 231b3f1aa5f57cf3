//! A view and a pin rehearsed by touches alone. Beside the tablet runs the same rehearsal in the core, told of the same
//! controls: it knows the truth, so that the hand can find a view, and what the tablet says must be what it says.

use crate::flows::{PASSCODE, alone, begin, only_case, sign};
use crate::hand::Hand;
use crate::looks;
use crate::stage::{middle, wait};
use brimline::adapters::files::RealDisk;
use brimline::carm::{ImagePoint, Joint, ViewName};
use brimline::case::CaseKind;
use brimline::open_case::{OpenCase, names};
use brimline::pelvis::Bones;
use brimline::people::PeopleStore;
use brimline::presenter::Shared;
use brimline::record;
use brimline::rehearse::{Control, Debrief as CoreDebrief, InPicture, Rehearsal, Score, Verdict};
use brimline::units::{Degrees, Side};
use brimline_ui::{Debrief, Exercise, JointMove, MessageShown, Over, Place, Rehearse, Shell};
use slint::platform::WindowEvent;
use slint::{ComponentHandle, LogicalPosition, Model};

/// More keys than any view takes from any start.
const KEYS_MAX: usize = 80;

struct Trainee {
    hand: Hand,
    app: Shared,
    /// The same rehearsal, told of the same controls.
    core: Rehearsal,
}

impl Trainee {
    /// From Home to the machine; `task`: the words of a row, or the exercise that is chosen already.
    fn begins(store: &std::path::Path, task: Option<&str>) -> Self {
        alone(store, 0);
        let (mut hand, app) = begin(store);
        hand.touch("Rehearse");
        assert_eq!(hand.place(), Place::Rehearse);
        if let Some(task) = task {
            hand.touch("Exercise");
            hand.touch(task);
        }
        hand.touch("Another person");
        assert_eq!(hand.stage.app.global::<Rehearse>().get_seed(), "Person 2");
        hand.touch("Begin");
        let there = [Place::Exercise, Place::Operate];
        hand.until("the machine", |hand| there.contains(&hand.place()) || hand.over() == Over::Message);
        let refused = hand.stage.app.global::<MessageShown>().get_text();
        assert_eq!(hand.over(), Over::Nothing, "{refused}");
        let exercise = app.borrow().open.as_ref().unwrap().case().state().opening.exercise.unwrap();
        assert_eq!(exercise.seed, 2);
        Self { hand, app, core: Rehearsal::begin(exercise, None) }
    }

    fn does(&mut self, label: &str, control: Control) {
        let told = self.core.act(control, 0);
        self.hand.touch(label);
        assert!(told.is_ok(), "{label}: {told:?}");
    }

    fn exposes(&mut self, view: ViewName) {
        self.does("Expose", Control::Expose { view: Some(view) });
    }

    /// Turns the joints until the beam lies within `within_deg` of a view, as somebody does who sees the truth.
    fn finds(&mut self, view: ViewName, within_deg: f64) {
        let joints = [(Joint::Tilt, "Tilt"), (Joint::Orbit, "Orbit"), (Joint::Wag, "Wag")];
        for _ in 0..KEYS_MAX {
            if off(&self.core, view) <= within_deg {
                return;
            }
            let keys = joints.iter().flat_map(|joint| [-5, -1, 1, 5].map(|by| (*joint, by)));
            let after = keys.map(|(joint, by)| {
                let mut core = self.core.clone();
                let control = Control::Drive { joint: joint.0, by: Degrees(f64::from(by)) };
                let _ = core.act(control, 0);
                (off(&core, view), joint.1, by, control)
            });
            let (_, name, by, control) = after.min_by(|one, other| one.0.total_cmp(&other.0)).unwrap();
            let label = self.key(name, by);
            self.does(&label, control);
        }
        panic!("{view} was not found");
    }

    /// The words on a key of a joint.
    fn key(&self, name: &str, by: i32) -> String {
        let joints = self.hand.stage.app.global::<Exercise>().get_joints();
        let line = joints.iter().find(|line| line.name == name).unwrap();
        format!("{name} {}° {}", by.abs(), if by < 0 { line.less } else { line.more })
    }

    fn screen(&self) -> Exercise<'_> {
        self.hand.stage.app.global::<Exercise>()
    }
}

/// How far the beam now is from a view.
fn off(core: &Rehearsal, view: ViewName) -> f64 {
    let mut core = core.clone();
    core.act(Control::Expose { view: Some(view) }, 0).unwrap();
    core.shots().last().unwrap().off.unwrap().counts
}

/// [R-TABLET-19] [R-TABLET-20]
#[test]
fn a_view_is_found_accepted_scored_replayed_and_signed_by_touches() {
    let folder = tempfile::tempdir().unwrap();
    let mut trainee = Trainee::begins(folder.path(), None);
    let view = ViewName::InletBody;
    trainee.exposes(view);
    trainee.hand.until("the first picture", |hand| hand.stage.app.global::<Exercise>().get_pane().filled);
    looks::keep("exercise-real", &trainee.hand.stage.frame());
    trainee.finds(view, 2.0);
    assert!(trainee.screen().get_pane().caption.contains("held"), "{}", trainee.screen().get_pane().caption);
    // The pedal takes a shot as the key does.
    trainee.core.act(Control::Expose { view: Some(view) }, 0).unwrap();
    trainee.hand.stage.app.global::<Shell>().invoke_pedal();
    assert_eq!(trainee.screen().get_shots(), "2");
    trainee.does("Accept view", Control::Accept { view });
    trainee.does("Finish", Control::Finish);
    assert_eq!(trainee.hand.place(), Place::Debrief);
    let window = trainee.hand.stage.app.clone_strong();
    let debrief = window.global::<Debrief>();
    assert_eq!(Score::of(&trainee.core, None).verdict, Verdict::Passed);
    assert_eq!(debrief.get_verdict(), "Passed");
    assert!(debrief.get_notice().contains("No force is felt") && debrief.get_notice().contains("unproven"));
    looks::keep("debrief-real-score", &trainee.hand.stage.frame());
    trainee.hand.touch("Shot by shot");
    let replayed = CoreDebrief::of(&trainee.core);
    for (at, one) in replayed.shots.iter().enumerate() {
        trainee.hand.until("a shot again", |_| debrief.get_pane().filled);
        assert_eq!(debrief.get_taught(), one.taught.to_string());
        let drawings = debrief.get_drawings();
        assert_eq!(drawings.row_count(), 2);
        assert!(drawings.iter().all(|drawing| !drawing.bones.is_empty() && !drawing.beam.is_empty()));
        looks::keep(&format!("debrief-real-{at}"), &trainee.hand.stage.frame());
        assert_eq!(debrief.get_last(), at + 1 == replayed.shots.len());
        if !debrief.get_last() {
            trainee.hand.touch("later shot");
        }
    }
    trainee.hand.touch("Sign the record");
    assert_eq!(trainee.hand.place(), Place::SignOff);
    sign(&mut trainee.hand, "surgeon", PASSCODE);
    trainee.hand.until("the record", |hand| hand.place() == Place::Record);
    let file = std::fs::read(only_case(folder.path()).join(names::RECORD)).unwrap();
    let roster = PeopleStore::new(&RealDisk, folder.path()).roster().unwrap();
    let verified = record::verify(&file, &roster).unwrap();
    assert_eq!(verified.document().kind, CaseKind::Rehearsal);
    assert_eq!(verified.document().exercise, Some(*trainee.core.exercise()));
    assert_eq!(trainee.hand.stage.warnings(), Vec::<String>::new());
}

/// [R-REHEARSE-9] [R-TABLET-19] A key or a pedal that is held is one shot with a picture that lives and follows the machine.
#[test]
fn a_held_key_is_a_run_whose_picture_follows_the_machine() {
    let folder = tempfile::tempdir().unwrap();
    let mut trainee = Trainee::begins(folder.path(), None);
    let key = middle(&trainee.hand.find("Expose, or pedal · hold: live").unwrap());
    trainee.hand.stage.press(key);
    wait(300);
    assert_eq!((trainee.screen().get_live(), trainee.screen().get_shots().as_str()), (false, "0"), "a tap is shorter");
    wait(200);
    assert_eq!((trainee.screen().get_live(), trainee.screen().get_shots().as_str()), (true, "1"));
    trainee.hand.until("a pulse", |hand| hand.stage.app.global::<Exercise>().get_pane().filled);
    assert!(trainee.screen().get_pane().caption.contains("live"), "{}", trainee.screen().get_pane().caption);
    looks::keep("exercise-live", &trainee.hand.stage.frame());
    trainee.screen().invoke_drive(JointMove { id: "tilt".into(), by: 10 });
    let before = trainee.screen().get_pane().picture.to_rgb8().unwrap().as_bytes().to_vec();
    trainee.hand.until("another pulse", |hand| {
        let picture = hand.stage.app.global::<Exercise>().get_pane().picture;
        picture.to_rgb8().is_some_and(|now| now.as_bytes() != before)
    });
    trainee.hand.stage.release(key);
    wait(20);
    assert!(!trainee.screen().get_live() && !trainee.screen().get_pane().caption.contains("live"));
    assert_eq!(trainee.screen().get_shots(), "1", "the same press");
    let seconds =
        |app: &Shared| app.borrow().open.as_ref().map(OpenCase::case).unwrap().state().shots.last().unwrap().seconds;
    assert!(seconds(&trainee.app).is_some_and(|seconds| seconds >= 0.5), "the case knows how long");
    trainee.hand.until("the last image", |hand| hand.stage.app.global::<Exercise>().get_pane().filled);
    // The pedal counts when it goes down, and is one run too.
    let pedal = slint::SharedString::from(char::from(slint::platform::Key::F9).to_string());
    trainee.hand.stage.app.window().dispatch_event(WindowEvent::KeyPressed { text: pedal.clone() });
    wait(20);
    wait(1_000);
    assert_eq!((trainee.screen().get_live(), trainee.screen().get_shots().as_str()), (true, "2"));
    wait(1_000);
    trainee.hand.stage.app.window().dispatch_event(WindowEvent::KeyReleased { text: pedal });
    wait(20);
    let held = seconds(&trainee.app).expect("a run");
    assert!((held - 2.0).abs() < 0.2, "{held} s");
    // A tap is a shot and no run.
    trainee.hand.stage.tap(key);
    wait(50);
    assert_eq!((trainee.screen().get_live(), trainee.screen().get_shots().as_str()), (false, "3"));
    assert_eq!(seconds(&trainee.app), None);
    let hand = &mut trainee.hand;
    hand.touch("Finish");
    hand.touch("Shot by shot");
    hand.until("the run again", |hand| hand.stage.app.global::<Debrief>().get_pane().filled);
    let words = hand.stage.app.global::<Debrief>().get_shot_words();
    assert!(words.contains("a run of"), "{words}");
    looks::keep("debrief-live", &hand.stage.frame());
    assert_eq!(trainee.hand.stage.warnings(), Vec::<String>::new());
}

/// Touches the picture where a place of the patient falls on it.
fn touch_at(trainee: &Trainee, at: ImagePoint, half: f64) {
    let caption = trainee.screen().get_pane().caption;
    let element = trainee.hand.find(&caption).expect("the picture is shown");
    let (corner, size) = (element.absolute_position(), element.size());
    let part = |mm: f64| (mm / (2.0 * half) + 0.5) as f32;
    let finger =
        LogicalPosition::new(corner.x + part(at.across_mm) * size.width, corner.y + part(at.down_mm) * size.height);
    trainee.hand.stage.press(finger);
    trainee.hand.stage.release(finger);
    wait(20);
}

/// [R-TABLET-19]
#[test]
fn a_pin_is_set_on_the_lateral_advanced_watched_and_stopped_when_unsure_by_touches() {
    let folder = tempfile::tempdir().unwrap();
    let mut trainee = Trainee::begins(folder.path(), Some("A guide pin"));
    trainee.finds(ViewName::Lateral, 2.0);
    let side = trainee.core.exercise().operated;
    let start = Bones::of(&trainee.core.person().shape).upper_corridor(usize::from(side == Side::Right))[0];
    let keys = [("to head", [0.0, 0.0, 20.0]), ("to feet", [0.0, 0.0, -20.0]), ("to back", [0.0, 20.0, 0.0])];
    let keys = keys.into_iter().chain([("to front", [0.0, -20.0, 0.0])]).collect::<Vec<_>>();
    let aside = |core: &Rehearsal| {
        let mut core = core.clone();
        core.act(Control::Expose { view: None }, 0).unwrap();
        let at = core.shots().last().unwrap().pose.project(&start).unwrap();
        at.across_mm.hypot(at.down_mm)
    };
    for _ in 0..8 {
        let moved = |by: [f64; 3]| {
            let mut core = trainee.core.clone();
            core.act(Control::Shift { by }, 0).unwrap();
            aside(&core)
        };
        let (way, by) = keys.iter().min_by(|one, other| moved(one.1).total_cmp(&moved(other.1))).copied().unwrap();
        if moved(by) >= aside(&trainee.core) {
            break;
        }
        trainee.does(&format!("20 mm, {way}"), Control::Shift { by });
    }
    trainee.exposes(ViewName::Lateral);
    trainee.hand.until("the lateral", |hand| hand.stage.app.global::<Exercise>().get_pane().filled);
    trainee.hand.touch("Pin");
    trainee.hand.touch("Set the pin");
    let shot = trainee.core.shots().last().unwrap().clone();
    let at = shot.pose.project(&start).unwrap();
    trainee.core.act(Control::SetPin { at }, 0).expect("bone is met there");
    touch_at(&trainee, at, shot.half_field);
    assert_eq!(trainee.screen().get_pin_words(), "The pin stands 0 mm deep, by its own scale");
    trainee.does("Advance, 5 mm", Control::Advance { mm: 5.0 });
    trainee.exposes(ViewName::Lateral);
    assert_eq!(trainee.core.shots().last().unwrap().contents, InPicture::BoneAndPin);
    trainee.hand.until("the pin's picture", |hand| hand.stage.app.global::<Exercise>().get_pane().filled);
    looks::keep("exercise-real-pin", &trainee.hand.stage.frame());
    assert_eq!(trainee.screen().get_pin_words(), "The pin stands 5 mm deep, by its own scale");
    trainee.does("Stop", Control::StopUnsure);
    assert_eq!(trainee.hand.place(), Place::Debrief);
    let window = trainee.hand.stage.app.clone_strong();
    let debrief = window.global::<Debrief>();
    assert_eq!(Score::of(&trainee.core, None).verdict, Verdict::StoppedUnsure);
    assert_eq!(debrief.get_verdict(), "Stopped when unsure");
    trainee.hand.touch("Shot by shot");
    trainee.hand.touch("later shot");
    trainee.hand.until("a shot again", |_| debrief.get_pane().filled);
    assert!(debrief.get_drawings().iter().all(|drawing| !drawing.pin.is_empty()), "the pin as it stood");
    looks::keep("debrief-real-pin", &trainee.hand.stage.frame());
    assert_eq!(trainee.hand.stage.warnings(), Vec::<String>::new());
}

/// [R-TABLET-18] The whole pathway is Operate itself: a shot there is taken by the machine, which stands one touch away.
#[test]
fn the_whole_pathway_is_operate_with_the_machine_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut trainee = Trainee::begins(folder.path(), Some("The whole pathway"));
    assert_eq!(trainee.hand.place(), Place::Operate);
    trainee.does("+ 1 shot", Control::Expose { view: Some(ViewName::Lateral) });
    trainee.hand.touch("C-arm");
    assert_eq!(trainee.hand.place(), Place::Exercise);
    assert_eq!(trainee.screen().get_shots(), "1");
    trainee.does("Expose", Control::Expose { view: Some(ViewName::Lateral) });
    assert!(trainee.hand.find("Finish").is_none(), "Operate ends the case");
    trainee.hand.touch("Back to the step");
    assert_eq!(trainee.hand.place(), Place::Operate);
    assert_eq!(trainee.hand.stage.app.global::<brimline_ui::CaseView>().get_shots().case, 2);
    trainee.hand.touch("Stop");
    trainee.hand.touch("Cancelled");
    while crate::hand::answer_one(&mut trainee.hand, &trainee.app) {}
    trainee.hand.touch("Close the case");
    assert_eq!(trainee.hand.place(), Place::Debrief);
    assert_eq!(trainee.hand.stage.app.global::<Debrief>().get_verdict(), "Stopped when unsure");
    assert_eq!(trainee.hand.stage.warnings(), Vec::<String>::new());
}

//! A rehearsal from a seed: what fails it, what ranks it, what the room is told and what the debrief says.

use crate::record_fixture::{self, Counted};
use crate::small_world::{self, TestClock};
use brimline::adapters::files::RealDisk;
use brimline::carm::{ImagePoint, Joint, Point, Tube, ViewName};
use brimline::case::{CaseKind, Command, Exercise, Opening, PersonKind, Task};
use brimline::journal;
use brimline::open_case::{CreateCase, OpenCase, OpenError, names};
use brimline::people::Role;
use brimline::pin::PinLine;
use brimline::record::{self, Meaning};
use brimline::rehearse::{
    BLIND_MM, Bone, Control, Debrief, Failure, InPicture, Lack, Mishap, Noted, PinRefusal, Refusal, Rehearsal, Score,
    Taught, Told, Truth, Verdict, WhyNothing, picture, solid,
};
use brimline::units::{Degrees, Side};
use std::sync::Arc;

fn exercise(task: Task, seed: u32) -> Exercise {
    let (operated, stand) = (Side::Right, Side::Left);
    Exercise { task, person: PersonKind::Normal, operated, stand, tube: Tube::Under, seed }
}

/// Somebody who knows how far off he is: what a rehearsal notes serves here to find the views, as no trainee could.
struct Trainee {
    rehearsal: Rehearsal,
    truth: Truth,
    ms: u64,
}

impl Trainee {
    fn at(task: Task, seed: u32) -> Self {
        let rehearsal = Rehearsal::begin(exercise(task, seed), None);
        let truth = Truth::of(&rehearsal.person().shape);
        Self { rehearsal, truth, ms: 0 }
    }

    fn act(&mut self, control: Control) -> Result<Told, Refusal> {
        self.ms += 5_000;
        self.rehearsal.act(control, self.ms)
    }

    fn does(&mut self, control: Control) -> Told {
        self.act(control).unwrap_or_else(|refusal| panic!("{control:?}: {refusal}"))
    }

    fn shoot(&mut self, view: ViewName) -> [f64; 2] {
        self.does(Control::Expose { view: Some(view) });
        let off = self.rehearsal.shots().last().unwrap().off.unwrap();
        [off.head_foot, off.across]
    }

    /// Goes to a view by what each move did to how far off it was.
    fn finds(&mut self, view: ViewName) {
        self.centres();
        let lateral = view == ViewName::Lateral;
        let rough = |view| match view {
            ViewName::InletBody => (Joint::Tilt, -25.0),
            ViewName::OutletWorking => (Joint::Tilt, 43.0),
            _ => (Joint::Orbit, 90.0),
        };
        let now = self.rehearsal.readings();
        let (joint, to) = rough(view);
        for joint in [Joint::Wag, Joint::Tilt, Joint::Orbit] {
            self.drives(joint, -now.of(joint).0);
        }
        self.drives(joint, to);
        let joints = if lateral { [Joint::Wag, Joint::Orbit] } else { [Joint::Tilt, Joint::Orbit] };
        let mut signs = [1.0, 1.0];
        let mut off = self.shoot(view);
        for _ in 0..30 {
            let counts = if lateral { off[0].hypot(off[1]) } else { off[0].abs() };
            if counts < 1.2 {
                return;
            }
            let axis = usize::from(lateral && off[1].abs() > off[0].abs());
            self.drives(joints[axis], signs[axis] * off[axis].abs().max(1.0).round());
            let next = self.shoot(view);
            if next[axis].abs() > off[axis].abs() {
                signs[axis] = -signs[axis];
            }
            off = next;
        }
        panic!("{view}: {off:?}");
    }

    fn drives(&mut self, joint: Joint, by: f64) {
        if by != 0.0 {
            self.does(Control::Drive { joint, by: Degrees(by) });
        }
    }

    /// Brings the central ray through the middle of S1 and S2.
    fn centres(&mut self) {
        self.does(Control::Expose { view: None });
        let pose = self.rehearsal.shots().last().unwrap().pose;
        let middle = self.truth.front_at(0.25);
        let beam = pose.beam().into_inner();
        let from_ray = (middle - pose.source) - beam * (middle - pose.source).dot(&beam);
        self.does(Control::Shift { by: [from_ray.x, from_ray.y, from_ray.z] });
    }

    /// The straight way across the joint with most bone around it, on the operated side.
    fn best(&self) -> PinLine {
        let side = self.rehearsal.exercise().operated;
        let foramen = self.truth.foramen(side, 1)[0];
        let lateral = if side == Side::Left { 1.0 } else { -1.0 };
        let x = foramen.centre.x + lateral * (foramen.radius + 3.0);
        let axis = if side == Side::Left { -nalgebra::Vector3::x_axis() } else { nalgebra::Vector3::x_axis() };
        let places = (-3..=5).flat_map(|y| (-3..=7).map(move |z| (f64::from(y) * 5.0, f64::from(z) * 5.0)));
        let lines = places.map(|(y, z)| {
            let tip = Point::new(x, foramen.centre.y + y, foramen.centre.z + z);
            let line = PinLine { tip, axis };
            (line, least(self.truth.bone(side), &line, 12.0))
        });
        lines.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap().0
    }

    /// A straight way across the joint above the foramen, whatever bone is around it.
    fn some_way(&self) -> PinLine {
        let side = self.rehearsal.exercise().operated;
        let foramen = self.truth.foramen(side, 1)[0];
        let axis = if side == Side::Left { -nalgebra::Vector3::x_axis() } else { nalgebra::Vector3::x_axis() };
        PinLine { tip: foramen.centre + nalgebra::Vector3::new(0.0, -5.0, 18.0) - axis.into_inner() * 10.0, axis }
    }

    /// Sets and drives the pin along a line, looked at every 8 mm.
    fn drives_pin(&mut self, line: &PinLine, short_mm: f64) {
        self.finds(ViewName::Lateral);
        self.does(Control::Accept { view: ViewName::Lateral });
        let pose = self.rehearsal.shots().last().unwrap().pose;
        let at = pose.project(&line.at(-60.0)).unwrap();
        self.does(Control::SetPin { at });
        self.aims(line);
        self.watched(line, short_mm);
    }

    /// Turns the pin until it points from its entry to the line's tip.
    fn aims(&mut self, line: &PinLine) {
        for _ in 0..4 {
            let pin = self.rehearsal.pin().unwrap();
            let (now, wanted) = (pin.axis, (line.tip - pin.entry).normalize());
            let head = (wanted.z.asin() - now.z.asin()).to_degrees();
            let front = ((-wanted.y).asin() - (-now.y).asin()).to_degrees();
            self.does(Control::TurnPin { head: Degrees(head), front: Degrees(front) });
        }
    }

    fn watched(&mut self, line: &PinLine, short_mm: f64) {
        let whole = (line.tip - self.rehearsal.pin().unwrap().entry).norm() - short_mm;
        while self.rehearsal.pin().unwrap().depth < whole - 0.5 {
            let mm = (whole - self.rehearsal.pin().unwrap().depth).min(8.0);
            self.does(Control::Advance { mm });
            self.does(Control::Expose { view: None });
        }
    }

    fn accepts(&mut self, view: ViewName) {
        self.finds(view);
        self.does(Control::Accept { view });
    }

    fn score(&self) -> Score {
        Score::of(&self.rehearsal, None)
    }
}

fn least(bone: &Bone, line: &PinLine, length: f64) -> f64 {
    bone.margins(line, length, 3.2).into_values().fold(f64::INFINITY, f64::min)
}

/// [R-REHEARSE-1]
#[test]
fn a_seed_and_the_same_controls_give_the_same_rehearsal() {
    let run = || {
        let mut trainee = Trainee::at(Task::View(ViewName::InletBody), 7);
        trainee.accepts(ViewName::InletBody);
        (trainee.rehearsal.shots().to_vec(), trainee.rehearsal.notes().to_vec())
    };
    assert_eq!(run(), run());
    let other = Trainee::at(Task::View(ViewName::InletBody), 8);
    assert_ne!(other.rehearsal.readings(), Trainee::at(Task::View(ViewName::InletBody), 7).rehearsal.readings());
}

/// [R-REHEARSE-1]
#[test]
fn every_view_can_be_found_from_a_random_start_and_passes() {
    for (seed, view) in [(1, ViewName::InletBody), (2, ViewName::OutletWorking), (3, ViewName::Lateral)] {
        let mut trainee = Trainee::at(Task::View(view), seed);
        trainee.accepts(view);
        trainee.does(Control::Finish);
        let score = trainee.score();
        assert_eq!(score.verdict, Verdict::Passed, "{view}: {score:?}");
        assert!(score.rank().is_some() && score.views[0].off.counts <= score.views[0].tolerance_deg);
    }
}

/// [R-REHEARSE-2]
#[test]
fn a_view_off_its_tolerance_is_not_done_and_ranks_nowhere() {
    let mut trainee = Trainee::at(Task::View(ViewName::OutletWorking), 4);
    trainee.finds(ViewName::InletBody);
    trainee.does(Control::Expose { view: Some(ViewName::OutletWorking) });
    trainee.does(Control::Accept { view: ViewName::OutletWorking });
    trainee.does(Control::Finish);
    let score = trainee.score();
    assert!(matches!(&score.verdict, Verdict::NotDone(lacks) if matches!(lacks[0], Lack::Off { .. })), "{score:?}");
    assert_eq!(score.rank(), None);
}

/// [R-REHEARSE-3]
#[test]
fn re_aiming_needs_both_views_again_after_the_pelvis_turned() {
    let mut trainee = Trainee::at(Task::ReAim, 5);
    trainee.finds(ViewName::InletBody);
    let turned = trainee.rehearsal.notes().iter().any(|note| matches!(note.what, Noted::PelvisTurned(_)));
    if !turned {
        trainee.does(Control::Expose { view: None });
    }
    trainee.accepts(ViewName::InletBody);
    trainee.accepts(ViewName::OutletWorking);
    trainee.does(Control::Finish);
    assert_eq!(trainee.score().verdict, Verdict::Passed);
}

/// [R-REHEARSE-2]
#[test]
fn a_watched_pin_in_bone_passes_with_its_margins() {
    let mut trainee = Trainee::at(Task::Pin, 3);
    let line = trainee.best();
    trainee.drives_pin(&line, 0.0);
    for view in [ViewName::InletBody, ViewName::OutletWorking] {
        trainee.accepts(view);
    }
    trainee.does(Control::Finish);
    let score = trainee.score();
    assert_eq!(score.verdict, Verdict::Passed, "{score:?}");
    assert!(!score.margins.is_empty() && score.redirections == 0 && score.collisions == 0);
    assert_eq!(score.dose.total.unwrap().shots, Some(score.shots), "the account counts every shot");
}

/// [R-REHEARSE-2]
#[test]
fn a_blind_advance_fails_whatever_else_was_good() {
    let mut trainee = Trainee::at(Task::Pin, 3);
    let line = trainee.best();
    trainee.drives_pin(&line, 20.0);
    trainee.does(Control::Advance { mm: BLIND_MM + 2.0 });
    for view in [ViewName::InletBody, ViewName::OutletWorking] {
        trainee.accepts(view);
    }
    trainee.does(Control::Finish);
    let score = trainee.score();
    assert!(
        matches!(&score.verdict, Verdict::Failed(why) if why.iter().any(|one| matches!(one, Failure::BlindAdvance { .. })))
    );
    assert_eq!(score.rank(), None);
}

/// [R-REHEARSE-2]
#[test]
fn a_breach_fails_and_stopping_before_it_counts_for() {
    let mut stopped = Trainee::at(Task::Pin, 6);
    let line = stopped.best();
    stopped.drives_pin(&line, 15.0);
    let mut through = Trainee { rehearsal: stopped.rehearsal.clone(), truth: stopped.truth.clone(), ms: stopped.ms };
    stopped.does(Control::StopUnsure);
    assert!(stopped.score().verdict == Verdict::StoppedUnsure && stopped.score().stopped_unsure);
    // On through the middle into the canal or beyond it.
    for _ in 0..12 {
        through.does(Control::Advance { mm: 8.0 });
        through.does(Control::Expose { view: None });
    }
    through.does(Control::StopUnsure);
    let score = through.score();
    assert!(
        matches!(&score.verdict, Verdict::Failed(why) if why.iter().any(|one| matches!(one, Failure::Breach { .. }))),
        "{score:?}"
    );
    assert!(score.stopped_unsure, "it is noted that he stopped");
}

/// [R-REHEARSE-2]
#[test]
fn an_accepted_view_that_hides_a_breach_fails() {
    // Forward out of the ala, a little: on an inlet far off the other part of the front stands out before it.
    let mut hidden = 0;
    for seed in 1..12 {
        let mut trainee = Trainee::at(Task::Pin, seed);
        let mut line = trainee.best();
        line.tip.y -= 16.0;
        trainee.drives_pin(&line, 0.0);
        for off in [30.0, -30.0, 60.0] {
            trainee.finds(ViewName::InletBody);
            trainee.drives(Joint::Tilt, off);
            trainee.does(Control::Expose { view: Some(ViewName::InletBody) });
            let _ = trainee.act(Control::Accept { view: ViewName::InletBody });
        }
        trainee.does(Control::Finish);
        let score = trainee.score();
        let Verdict::Failed(why) = &score.verdict else { continue };
        let hides = why.iter().filter(|one| matches!(one, Failure::HiddenBreach { .. })).count();
        assert!(hides == 0 || why.iter().any(|one| matches!(one, Failure::Breach { .. })), "{why:?}");
        hidden += hides;
    }
    assert!(hidden > 0, "no view hid a breach in eleven people");
}

/// [R-REHEARSE-3]
#[test]
fn a_mishap_comes_in_the_pathway_and_going_past_it_is_a_gate_missed() {
    let mut met = Vec::new();
    for seed in 1..14 {
        let mut trainee = Trainee::at(Task::Pathway, seed);
        let line = trainee.some_way();
        trainee.drives_pin(&line, 0.0);
        let notes = trainee.rehearsal.notes();
        let thrown = notes.iter().find_map(|note| match note.what {
            Noted::Thrown(mishap) => Some(mishap),
            _ => None,
        });
        let thrown = thrown.expect("a mishap in every pathway");
        if thrown == Mishap::BentPin {
            let depth = trainee.rehearsal.pin().unwrap().depth;
            trainee.does(Control::Drill { mm: depth.min(20.0) });
        }
        assert!(trainee.score().gates_missed > 0, "{thrown}: went on past it");
        met.push(thrown);
    }
    assert!(Mishap::ALL.iter().all(|mishap| met.contains(mishap)), "{met:?}");
}

/// [R-REHEARSE-3]
#[test]
fn what_was_seen_to_is_no_gate_missed() {
    let seed = (1..20).find(|seed| thrown_at(*seed) == Some(Mishap::Bleeding)).unwrap();
    let mut trainee = Trainee::at(Task::Pathway, seed);
    let line = trainee.some_way();
    trainee.drives_pin(&line, 20.0);
    let mut again = Trainee::at(Task::Pathway, seed);
    again.finds(ViewName::Lateral);
    let pose = again.rehearsal.shots().last().unwrap().pose;
    let at = pose.project(&line.at(-60.0)).unwrap();
    again.does(Control::SetPin { at });
    again.aims(&line);
    for _ in 0..5 {
        if let Told::Happened(mishap) = again.does(Control::Advance { mm: 8.0 }) {
            again.does(Control::Handle { mishap });
        }
        again.does(Control::Expose { view: None });
    }
    assert_eq!(again.score().gates_missed, 0);
    assert!(matches!(again.act(Control::Handle { mishap: Mishap::Bleeding }), Err(Refusal::NothingToHandle)));
}

fn thrown_at(seed: u32) -> Option<Mishap> {
    let mut trainee = Trainee::at(Task::Pathway, seed);
    let line = trainee.some_way();
    trainee.drives_pin(&line, 0.0);
    trainee.rehearsal.notes().iter().find_map(|note| match note.what {
        Noted::Thrown(mishap) => Some(mishap),
        _ => None,
    })
}

/// [R-REHEARSE-4]
#[test]
fn what_cannot_be_is_said_plainly_and_changes_nothing() {
    let mut trainee = Trainee::at(Task::Pin, 2);
    let says = |refused: Result<Told, Refusal>, wanted: &str| {
        let said = refused.expect_err("refused").to_string();
        assert!(said.contains(wanted), "{said}");
    };
    says(trainee.act(Control::Accept { view: ViewName::Lateral }), "no picture");
    says(trainee.act(Control::Drive { joint: Joint::Tilt, by: Degrees(f64::NAN) }), "no move");
    says(trainee.act(Control::Shift { by: [0.0, 1e9, 0.0] }), "no move");
    says(trainee.act(Control::Expose { view: Some(ViewName::InletAla) }), "does not show");
    says(trainee.act(Control::Advance { mm: 5.0 }), "no pin");
    trainee.does(Control::Shift { by: [0.0, 0.0, 400.0] });
    let told = trainee.does(Control::Expose { view: None });
    assert!(matches!(told, Told::Shown { contents: InPicture::Blank, .. }), "{told:?}");
    says(trainee.act(Control::Accept { view: ViewName::Lateral }), "blank");
    trainee.does(Control::Shift { by: [0.0, 0.0, -400.0] });
    trainee.centres();
    trainee.does(Control::Expose { view: None });
    says(trainee.act(Control::SetPin { at: ImagePoint { across_mm: 0.0, down_mm: 0.0 } }), "lateral");
    trainee.finds(ViewName::Lateral);
    says(trainee.act(Control::SetPin { at: ImagePoint { across_mm: 900.0, down_mm: 0.0 } }), "outside the picture");
    let corner = ImagePoint { across_mm: 149.0, down_mm: 149.0 };
    let outside = [corner, ImagePoint { across_mm: -149.0, ..corner }, ImagePoint { down_mm: -149.0, ..corner }];
    let refused = outside.into_iter().find_map(|at| trainee.act(Control::SetPin { at }).err());
    assert_eq!(refused, Some(Refusal::Pin(PinRefusal::OutsidePatient)));
    trainee.does(Control::Finish);
    says(trainee.act(Control::Finish), "over");
}

/// [R-REHEARSE-4]
#[test]
fn the_debrief_names_the_shot_that_taught_nothing() {
    let mut trainee = Trainee::at(Task::View(ViewName::Lateral), 9);
    trainee.centres();
    for _ in 0..2 {
        trainee.does(Control::Expose { view: None });
    }
    trainee.does(Control::Shift { by: [0.0, 0.0, 400.0] });
    trainee.does(Control::Expose { view: None });
    let debrief = Debrief::of(&trainee.rehearsal);
    let taught: Vec<Taught> = debrief.shots.iter().map(|shot| shot.taught).collect();
    assert_eq!(taught[2], Taught::Nothing(WhyNothing::SameAsBefore), "{taught:?}");
    assert_eq!(taught[3], Taught::Nothing(WhyNothing::Blank));
    assert_eq!(debrief.wasted().count(), 2);
    assert!(debrief.notice.contains("No force") && debrief.notice.contains("unproven"));
    assert!(solid(&trainee.rehearsal).len() > 500);
}

/// [R-REHEARSE-4]
#[test]
fn the_pin_stands_in_the_picture_and_is_darker_than_what_lies_around() {
    let mut trainee = Trainee::at(Task::Pin, 3);
    let line = trainee.best();
    let solids = trainee.rehearsal.solids();
    trainee.drives_pin(&line, 0.0);
    trainee.finds(ViewName::InletBody);
    let raster = brimline::fluoro::Raster::square(96, 300.0);
    let shot = trainee.rehearsal.shots().last().unwrap().clone();
    let with = picture(&trainee.rehearsal, &solids, &shot, &raster, 1).unwrap();
    let pin = trainee.rehearsal.pin().unwrap();
    let at = shot.pose.project(&(pin.entry - pin.axis.into_inner() * 20.0)).unwrap();
    let (column, row) = raster.place_of(at.across_mm, at.down_mm);
    let without = {
        let bare = Trainee::at(Task::Pin, 3);
        picture(&bare.rehearsal, &solids, &shot, &raster, 1).unwrap()
    };
    let pixel = row as usize * 96 + column as usize;
    assert!(with.values[pixel] < 0.8 * without.values[pixel], "{} {}", with.values[pixel], without.values[pixel]);
}

/// [R-REHEARSE-5]
#[test]
fn the_journal_of_a_rehearsal_is_a_live_cases_with_the_exercise_in_its_first_line() {
    let there = tempfile::tempdir().unwrap();
    let world = small_world::world(Arc::new(RealDisk), TestClock::new(), 5);
    let wanted = exercise(Task::Pathway, 77);
    let new = |kind, exercise| CreateCase { kind, exercise, ..small_world::new_case() };
    let mut case = OpenCase::create(&world, &there.path().join("one"), new(CaseKind::Rehearsal, Some(wanted))).unwrap();
    small_world::say(&mut case, Command::CountShots { shots: 1 });
    assert_eq!(case.close(), 2);
    let bytes = std::fs::read(there.path().join("one").join(names::JOURNAL)).unwrap();
    let opening = journal::read(&bytes).unwrap().journal.opening().clone();
    assert_eq!((opening.kind, opening.exercise), (CaseKind::Rehearsal, Some(wanted)));
    let line = String::from_utf8_lossy(&bytes);
    assert!(line.contains(
        r#""exercise":{"task":"pathway","person":"normal","operated":"right","stand":"left","tube":"under","seed":77}"#
    ));
    let live = OpenCase::create(&world, &there.path().join("two"), new(CaseKind::Live, Some(wanted)));
    assert!(matches!(live, Err(OpenError::NotHistory { .. })), "a live case rehearses nothing");
}

/// [R-REHEARSE-5]
#[test]
fn the_record_of_a_rehearsal_says_what_was_rehearsed_and_under_which_seed() {
    let wanted = exercise(Task::View(ViewName::InletBody), 4_000_000_000);
    let opening = Opening { kind: CaseKind::Rehearsal, exercise: Some(wanted), ..record_fixture::opening() };
    let case = record_fixture::case_opened_by(opening);
    let built =
        record::build(&case, &record_fixture::closing(), &record_fixture::name_of, &Counted::default()).unwrap();
    let signed = built.sign(&record_fixture::surgeon(), Role::Surgeon, Meaning::Responsibility, 200_000).unwrap();
    let file = signed.to_bytes();
    let parts = record_fixture::readable_parts(&file);
    assert!(
        record_fixture::holds(&parts, r#""exercise":{"operated":"right""#)
            && record_fixture::holds(&parts, "4000000000")
    );
}

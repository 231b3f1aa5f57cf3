//! A rehearsal from a seed: what fails it, what ranks it, what the room is told and what the debrief says.

use crate::trainee::{Trainee, exercise};
use brimline::carm::{ImagePoint, Joint, ViewName, Words};
use brimline::case::{Exercise, PersonKind, Task};
use brimline::dose::implausible;
use brimline::rehearse::{
    BLIND_MM, Control, Debrief, Failure, Image, InPicture, Lack, Mishap, Noted, PinRefusal, RUN_MAX_S, Refusal, SHOT_S,
    Shot, Taught, Told, Verdict, WhyNothing, imaging, signal, solid,
};
use brimline::units::Degrees;

/// [R-REHEARSE-5]
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

/// [R-REHEARSE-5]
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

/// [R-REHEARSE-9]
#[test]
fn a_run_costs_by_its_length_and_its_last_image_is_the_one_that_hangs() {
    let mut trainee = Trainee::at(Task::View(ViewName::InletBody), 7);
    let early = trainee.rehearsal.act(Control::LetGo { seconds: 3.0 }, 0);
    assert_eq!(early, Err(Refusal::NoRun), "nothing was exposed");
    trainee.does(Control::Expose { view: Some(ViewName::InletBody) });
    let first = trainee.rehearsal.shots()[0].clone();
    for seconds in [0.0, -1.0, f64::INFINITY, f64::NAN] {
        assert_eq!(trainee.rehearsal.act(Control::LetGo { seconds }, 0), Err(Refusal::NoRun), "{seconds}");
    }
    trainee.does(Control::Drive { joint: Joint::Tilt, by: Degrees(5.0) });
    assert!(matches!(trainee.rehearsal.image(), Image::Held(_)));
    trainee.does(Control::LetGo { seconds: 3.0 });
    let Image::Current(shot) = trainee.rehearsal.image() else { panic!("the last image of the run hangs") };
    assert_eq!((shot.number, shot.meant, shot.seconds), (1, first.meant, 3.0));
    assert_ne!(shot.pose, first.pose, "as things stood at its end");
    let total = trainee.rehearsal.dose().total.unwrap();
    assert_eq!((total.shots, total.fluoroscopy_time.unwrap().0), (Some(1), 3.0), "one press is one shot");
    // Counted for half a second where it began, and for the rest of its length where it ended.
    let rest = shot.cost.air_kerma * (1.0 - SHOT_S / shot.seconds);
    assert!((total.reference_air_kerma.unwrap().0 - first.cost.air_kerma - rest).abs() < 1e-12);
    // A press shorter than a shot is one, and no run outlasts the machine's own timer.
    for (held, counted) in [(0.1, SHOT_S), (2.0 * RUN_MAX_S, RUN_MAX_S)] {
        trainee.does(Control::Expose { view: Some(ViewName::InletBody) });
        trainee.does(Control::LetGo { seconds: held });
        assert_eq!(trainee.rehearsal.shots().last().unwrap().seconds, counted);
    }
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
    assert!(!score.margins.is_empty() && score.redirections == 0, "{score:?}");
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
    let mut through = stopped.clone();
    stopped.does(Control::StopUnsure);
    assert!(stopped.score().verdict == Verdict::StoppedUnsure && stopped.score().stopped_unsure);
    // Drawn back, turned toward the front and driven on, each advance watched.
    let depth = through.rehearsal.pin().unwrap().depth;
    through.does(Control::Withdraw { mm: depth - 4.0 });
    through.does(Control::TurnPin { head: Degrees(0.0), front: Degrees(35.0) });
    for _ in 0..8 {
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
        let line = trainee.out_in_front();
        trainee.drives_pin(&line, 0.0);
        for off in [30.0, -30.0, 60.0] {
            if !trainee.seeks(ViewName::InletBody) {
                continue;
            }
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
    let shot = trainee.rehearsal.shots().last().unwrap().clone();
    let how = imaging(&shot, 96, 1);
    let with = signal(&solids, &shot, 3, &how).unwrap();
    let pin = trainee.rehearsal.pin().unwrap();
    let at = shot.pose.project(&(pin.entry - pin.axis.into_inner() * 20.0)).unwrap();
    let (column, row) = how.raster.place_of(at.across_mm, at.down_mm);
    let without = signal(&solids, &Shot { pin: None, ..shot.clone() }, 3, &how).unwrap();
    let pixel = row as usize * 96 + column as usize;
    assert!(with.values[pixel] < 0.8 * without.values[pixel], "{} {}", with.values[pixel], without.values[pixel]);
}

/// [R-REHEARSE-4]
#[test]
fn a_move_into_table_or_patient_stops_and_is_said() {
    let mut trainee = Trainee::at(Task::View(ViewName::OutletWorking), 4);
    let told = trainee.does(Control::Drive { joint: Joint::Tilt, by: Degrees(80.0) });
    assert!(matches!(told, Told::Touched(_)), "{told:?}");
    let stood = trainee.rehearsal.readings().tilt.0;
    assert!(stood < 70.0, "{stood}");
    assert!(trainee.rehearsal.notes().iter().any(|note| matches!(note.what, Noted::Collided(_))));
    assert_eq!(trainee.does(Control::Drive { joint: Joint::Tilt, by: Degrees(-20.0) }), Told::Moved);
    assert!(trainee.score().collisions == 1 && trainee.rehearsal.readings().tilt.0 < stood - 15.0);
}

/// [R-REHEARSE-4] Come to from the other side, the same reading is another place; no beam moves before the play is used up.
#[test]
fn a_joint_has_play_and_goes_on_a_little_after_it_is_let_go() {
    let beam = |from: f64| {
        let mut trainee = Trainee::at(Task::View(ViewName::InletBody), 8);
        let to = 5.0 - trainee.rehearsal.readings().tilt.0;
        trainee.drives(Joint::Tilt, to + from);
        for _ in 0..40 {
            let by = 5.0 - trainee.rehearsal.readings().tilt.0;
            trainee.drives(Joint::Tilt, by);
        }
        trainee.does(Control::Expose { view: None });
        let shot = trainee.rehearsal.shots().last().unwrap();
        (shot.readings.tilt.0, shot.pose.beam().z.asin().to_degrees())
    };
    let (below, above) = (beam(-20.0), beam(20.0));
    assert_eq!(below.0, above.0, "the displays read the same");
    let apart = (below.1 - above.1).abs();
    assert!(apart > 0.3 && apart < 3.0, "{below:?} {above:?}");
    let mut trainee = Trainee::at(Task::View(ViewName::InletBody), 8);
    let before = trainee.rehearsal.readings().orbit.0;
    trainee.drives(Joint::Orbit, 30.0);
    let went = trainee.rehearsal.readings().orbit.0 - before;
    assert!((30.0..34.0).contains(&went), "never short of what was asked: {went}");
}

/// [R-REHEARSE-2] Source of the band: `dose::plausible`, the span of published orthopaedic series.
#[test]
fn shots_of_every_kind_of_person_and_view_cost_what_is_plausible() {
    for person in PersonKind::ALL {
        for (task, seed) in [(Task::View(ViewName::Lateral), 3), (Task::View(ViewName::InletBody), 3)] {
            for magnified in [false, true] {
                let mut trainee = Trainee::with(Exercise { person, ..exercise(task, seed) });
                trainee.does(Control::Magnify { on: magnified });
                let Task::View(view) = task else { unreachable!("both are views") };
                trainee.seeks(view);
                while trainee.rehearsal.shots().len() < 30 {
                    trainee.does(Control::Expose { view: None });
                }
                let account = trainee.rehearsal.dose();
                let figures = account.total.expect("two readings");
                assert_eq!(implausible(&figures), [], "{person} {view}: {figures:?}");
                assert!(account.findings.is_empty(), "{person}: {:?}", account.findings);
                let a_shot = figures.reference_air_kerma.unwrap().0 / 30.0;
                assert!((0.02..=0.4).contains(&a_shot), "{person} {view}: {a_shot} mGy a shot");
            }
        }
    }
}

/// [R-REHEARSE-2]
#[test]
fn a_picture_that_sees_the_pin_end_on_is_no_look_at_its_depth() {
    let mut trainee = Trainee::at(Task::Pin, 3);
    let line = trainee.best();
    trainee.prepares();
    trainee.finds(ViewName::Lateral);
    let pose = trainee.rehearsal.shots().last().unwrap().pose;
    trainee.does(Control::SetPin { at: pose.project(&line.at(-60.0)).unwrap() });
    for _ in 0..3 {
        trainee.does(Control::Advance { mm: 5.0 });
        trainee.does(Control::Expose { view: None });
        assert!(!trainee.rehearsal.shots().last().unwrap().shows_depth);
    }
    let verdict = trainee.score().verdict;
    assert!(matches!(&verdict, Verdict::Failed(why) if matches!(why[0], Failure::BlindAdvance { .. })), "{verdict:?}");
}

/// [R-REHEARSE-4]
#[test]
fn the_last_image_is_held_once_anything_moves_and_a_view_may_be_turned_down() {
    let mut trainee = Trainee::at(Task::View(ViewName::InletBody), 5);
    assert_eq!(trainee.rehearsal.image(), Image::None);
    trainee.centres();
    trainee.does(Control::Expose { view: None });
    assert!(matches!(trainee.rehearsal.image(), Image::Current(_)));
    assert_eq!(trainee.does(Control::Reject { view: ViewName::InletBody }), Told::Rejected);
    trainee.drives(Joint::Tilt, -4.0);
    assert!(matches!(trainee.rehearsal.image(), Image::Held(_)));
    assert_eq!(trainee.act(Control::Accept { view: ViewName::InletBody }), Err(Refusal::NoPicture));
    let words = Words::built_in();
    let said = words.say(&trainee.rehearsal.move_of(Joint::Tilt, Degrees(-4.0)));
    assert!(said.contains('4') && said.len() > 8, "{said}");
}

//! The case: gates, shots, stops, and that the state is the fold of the events.

use super::bench_case::{BenchCase, PLAN, actor, built_in};
use super::finding_samples::{correction_of, outlet_correction, pin_finding};
use brimline::case::{Answer, Case, Command, Did, Outcome, PinDecision, RangeVerdict, Refused, Status};
use brimline::pathway::{Check, CheckKind, Place};
use brimline::people::Role;
use brimline::units::Side;
use proptest::prelude::*;

/// The first fitting answer to a check.
pub fn plain_answer(check: &Check, by: Role) -> Answer {
    let second = if by == Role::ScrubNurse { Role::CirculatingNurse } else { Role::ScrubNurse };
    match &check.ask {
        CheckKind::Confirm => Answer::Confirmed,
        CheckKind::Choice { options } => Answer::Chosen { option: options[0].id.clone() },
        CheckKind::Measure { unit, expected, .. } => {
            Answer::Measured { value: expected.from, unit: *unit, range: RangeVerdict::Expected }
        }
        CheckKind::Count { items, .. } => Answer::Counted { numbers: vec![2; items.len()], second: actor(second) },
        CheckKind::View { .. } => Answer::ViewAccepted { scale_deg: Some(20.0), floor_mark: Some("A".to_owned()) },
        CheckKind::Pin { .. } => Answer::PinAccepted,
        CheckKind::Timer { .. } => Answer::TimerStarted { ago_min: 10 },
        CheckKind::Scan { .. } => Answer::Scanned { text: "10 x 45".to_owned() },
        CheckKind::Note => Answer::Noted { text: "as planned".to_owned() },
    }
}

fn places(case: &Case) -> Vec<Place> {
    case.places().into_iter().map(|at| at.place).collect()
}

fn finished() -> BenchCase {
    let mut bench = BenchCase::open(PLAN);
    let mut done = 0;
    while done < places(&bench.case).len() {
        let place = places(&bench.case)[done].clone();
        bench.says(Role::CirculatingNurse, Command::EnterStep { place: place.clone() }).expect("a step can be entered");
        bench.answer_all_of(&place);
        done += 1;
    }
    bench.says(Role::Surgeon, Command::Finish).expect("a case whose gates are passed can be finished");
    bench
}

#[test]
fn a_case_answered_in_order_finishes() {
    for pathway in ["primary-lateral-prone", "revision-loosening"] {
        let procedure = if pathway.starts_with("primary") { "primary" } else { "revision" };
        let plan = PLAN
            .replace("primary-lateral-prone", pathway)
            .replace("\"procedure\": \"primary\"", &format!("\"procedure\": \"{procedure}\""));
        let mut bench = BenchCase::open(&plan);
        let mut done = 0;
        while done < places(&bench.case).len() {
            let place = places(&bench.case)[done].clone();
            bench.answer_all_of(&place);
            done += 1;
        }
        bench.says(Role::Surgeon, Command::Finish).expect("finishes");
        assert_eq!(bench.case.state().status, Status::Closed(Outcome::Finished));
        assert!(bench.case.state().incision.is_some(), "{pathway}: the incision is marked");
    }
}

/// [R-CASE-2]
#[test]
fn an_unreleased_gate_refuses_what_comes_after_and_names_itself() {
    let mut bench = BenchCase::open(PLAN);
    let all = bench.case.places();
    let gate = all.iter().find(|at| at.step.gate.is_some()).expect("a gate").place.clone();
    let order = bench.case.step_at(&gate).expect("known").order;
    let later = all.iter().find(|at| at.step.order > order).expect("a later step").clone();
    let check = bench.case.checks_at(&later)[0].clone();
    let place = later.place.clone();
    let by = check.by.first().copied().unwrap_or(Role::Surgeon);
    let answer = plain_answer(&check, by);
    let refused = bench.says(by, Command::Answer { place, check: check.id, answer });
    assert!(matches!(refused, Err(Refused::GateClosed { place, .. }) if place == gate));
}

/// [R-CASE-9]
#[test]
fn a_spoken_override_opens_the_gate_and_stays_in_the_state() {
    let mut bench = BenchCase::open(PLAN);
    let gate = bench.case.places().into_iter().find(|at| at.step.gate.is_some()).expect("a gate").place;
    let by_nurse =
        bench.says(Role::ScrubNurse, Command::OverrideGate { place: gate.clone(), reason: "said so".to_owned() });
    assert_eq!(by_nurse, Err(Refused::OverrideNotBySurgeon));
    bench
        .says(Role::Surgeon, Command::OverrideGate { place: gate.clone(), reason: "bleeding elsewhere".to_owned() })
        .unwrap();
    assert!(bench.case.gate_passed(&gate));
    assert_eq!(bench.case.state().overrides().count(), 1);
}

/// [R-CASE-7]
#[test]
fn reopening_closes_the_gate_behind_it_again() {
    let mut bench = BenchCase::open(PLAN);
    let gate = bench.case.places().into_iter().find(|at| at.step.gate.is_some()).expect("a gate").place;
    let order = bench.case.step_at(&gate).expect("known").order;
    for place in
        bench.case.places().into_iter().filter(|at| at.step.order <= order).map(|at| at.place).collect::<Vec<_>>()
    {
        bench.answer_all_of(&place);
    }
    assert!(bench.case.gate_passed(&gate));
    let first = bench.case.places()[0].clone();
    let (place, check) = (first.place.clone(), bench.case.checks_at(&first)[0].id.clone());
    bench.says(Role::Surgeon, Command::Reopen { place, check, reason: "wrong film on the wall".to_owned() }).unwrap();
    assert!(!bench.case.gate_passed(&gate), "the team must release it again");
}

/// [R-CASE-8]
#[test]
fn three_answers_within_two_seconds_are_marked_as_a_burst() {
    let mut bench = BenchCase::open(PLAN);
    let at = bench.case.places()[0].clone();
    let checks: Vec<Check> = bench.case.checks_at(&at).into_iter().cloned().collect();
    let place = at.place.clone();
    for check in checks.iter().take(3) {
        let by = check.by.first().copied().unwrap_or(Role::Surgeon);
        bench.wait(500);
        let (check_id, answer) = (check.id.clone(), plain_answer(check, by));
        bench.at_once(by, Command::Answer { place: place.clone(), check: check_id, answer }).unwrap();
    }
    for check in checks.iter().take(3) {
        let flags = bench.case.state().answer(&place, &check.id).expect("answered").flags;
        assert!(flags.burst, "{} belongs to the burst", check.id);
    }
}

/// [R-CASE-10]
#[test]
fn a_measure_outside_its_limits_is_refused_and_outside_what_is_expected_marked() {
    let bench = finished();
    let pathway = bench.case.pathway().clone();
    let measure = pathway.steps().flat_map(|(_, step)| step.checks.iter().map(move |check| (step, check))).find_map(
        |(step, check)| match &check.ask {
            CheckKind::Measure { unit, expected, limits }
                if expected.to < limits.to && step.per == brimline::pathway::Scope::Case =>
            {
                Some((step.id.clone(), check.clone(), *unit, *expected, *limits))
            }
            _ => None,
        },
    );
    let (step, check, unit, expected, limits) = measure.expect("the pathway measures something");
    let mut bench = BenchCase::open(PLAN);
    bench.says(Role::Surgeon, Command::Stop { reason: "to reach every check".to_owned() }).unwrap();
    let by = check.by.first().copied().unwrap_or(Role::Surgeon);
    let place = Place::of_case(&step);
    let with = |value| Command::Answer {
        place: place.clone(),
        check: check.id.clone(),
        answer: Answer::Measured { value, unit, range: RangeVerdict::Expected },
    };
    assert!(matches!(bench.says(by, with(limits.to * 2.0 + 1.0)), Err(Refused::OutsideLimits { .. })));
    bench.says(by, with(f64::midpoint(expected.to, limits.to))).unwrap();
    let flags = bench.case.state().answer(&place, &check.id).expect("answered").flags;
    assert!(flags.unusual, "the verdict is computed, not taken from the command");
}

/// [R-CASE-9]
#[test]
fn the_surgeon_confirms_every_override_when_signing() {
    let mut bench = BenchCase::open(PLAN);
    let gate = bench.case.places().into_iter().find(|at| at.step.gate.is_some()).expect("a gate").place;
    bench.says(Role::Surgeon, Command::OverrideGate { place: gate, reason: "said so".to_owned() }).unwrap();
    bench.says(Role::Surgeon, Command::Stop { reason: String::new() }).unwrap();
    end(&mut bench, Outcome::Cancelled);
    let sign = |overrides_confirmed| Command::Sign {
        role: Role::Surgeon,
        payload: "0".repeat(64),
        overrides_confirmed,
        key: None,
    };
    assert_eq!(bench.says(Role::Surgeon, sign(0)), Err(Refused::OverridesNotConfirmed { confirmed: 0, gates: 1 }));
    bench.says(Role::Surgeon, sign(1)).unwrap();
    assert_eq!(bench.says(Role::Surgeon, sign(1)), Err(Refused::SignedAlready(Role::Surgeon)));
}

/// Answers the short list of an outcome and closes.
fn end(bench: &mut BenchCase, outcome: Outcome) {
    bench.says(Role::Surgeon, Command::ChooseOutcome { outcome }).expect("an outcome can be chosen after Stop");
    let list = bench.case.list_of(outcome).expect("it has a list").place;
    bench.answer_all_of(&list);
    bench.says(Role::Surgeon, Command::Close).expect("the answered list closes the case");
    assert_eq!(bench.case.state().status, Status::Closed(outcome));
}

/// Turns four numbers into a command that often fits the state.
fn command(bench: &BenchCase, [kind, place, check, extra]: [u16; 4]) -> (Role, Command) {
    let all = bench.case.places();
    let at = &all[usize::from(place) % all.len()];
    let here = at.place.clone();
    let found = at.step.checks[usize::from(check) % at.step.checks.len()].clone();
    let by = found.by.first().copied().unwrap_or(Role::Surgeon);
    let reason = "because".to_owned();
    let id = found.id.clone();
    let side = if extra % 2 == 0 { Side::Left } else { Side::Right };
    let command = match kind % 26 {
        0..=7 => Command::Answer { place: here, check: id, answer: plain_answer(&found, by) },
        8 => Command::NotDone { place: here, check: id, reason },
        9 => Command::Reopen { place: here, check: id, reason },
        10 | 11 => {
            let role = bench
                .case
                .gate_at(&here)
                .map_or(Role::Surgeon, |gate| gate.release[usize::from(extra) % gate.release.len()]);
            return (role, Command::ReleaseGate { place: here, role });
        }
        12 => return (Role::Surgeon, Command::OverrideGate { place: here, reason }),
        13 | 14 => Command::EnterStep { place: here },
        15 | 16 => Command::CountShots { shots: u32::from(extra % 6) },
        17 => Command::LogRun { seconds: f64::from(extra % 40) },
        18 => Command::CorrectShots { place: here, to: u32::from(extra % 9), reason },
        19 => Command::AddImplant { side },
        20 => Command::RejectView { place: here, check: id, failed: vec![0] },
        21 => Command::Pause { reason },
        22 => Command::Resume,
        23 => match &found.ask {
            CheckKind::View { view, .. } => {
                Command::CorrectView { place: here, check: id, finding: Box::new(correction_of(*view)) }
            }
            _ => Command::CorrectView { place: here, check: id, finding: Box::new(outlet_correction()) },
        },
        24 => {
            let side = here.side.unwrap_or(side);
            let decided = if extra % 3 == 0 { PinDecision::Redirected } else { PinDecision::Kept };
            Command::FindPin { place: here, check: id, finding: Box::new(pin_finding(side)), decided }
        }
        _ => match extra % 6 {
            0 => Command::Stop { reason },
            1 => Command::WithdrawStop,
            2 => Command::ChooseOutcome { outcome: Outcome::Abandoned },
            3 => Command::WriteNote { text: reason },
            4 => Command::NoteMove,
            _ => Command::NoteDeviation { text: reason },
        },
    };
    (by, command)
}

/// The moves of one random case.
fn moves() -> impl Strategy<Value = Vec<[u16; 4]>> {
    prop::collection::vec(prop::array::uniform4(any::<u16>()), 0..160)
}

fn played(moves: &[[u16; 4]]) -> BenchCase {
    let plan = PLAN.replace(r#""sides": ["#, r#""sides": [{"side": "right", "sacrum": "dysmorphic", "implants": [{"level": "S1", "diameter_mm": 10, "length_mm": 45}]}, "#);
    let mut bench = BenchCase::open(&plan);
    for chosen in moves {
        let (role, command) = command(&bench, *chosen);
        let before = bench.events.len();
        let refused = bench.says(role, command).is_err();
        assert!(!refused || bench.events.len() == before, "a refusal leaves no event");
    }
    bench
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    /// [R-CASE-1]
    #[test]
    fn replaying_any_journal_gives_the_same_state(moves in moves()) {
        let bench = played(&moves);
        let again = Case::replay(bench.case.pathway().clone(), bench.case.plan().clone(), &bench.events).unwrap();
        prop_assert_eq!(format!("{:?}", again.state()), format!("{:?}", bench.case.state()));
    }

    /// [R-CASE-3]
    #[test]
    fn shots_of_the_places_sum_to_shots_of_the_case(moves in moves()) {
        let bench = played(&moves);
        let mut independent = std::collections::BTreeMap::<Place, i64>::new();
        for event in &bench.events {
            match &event.did {
                Did::ShotsCounted { place, shots } => *independent.entry(place.clone()).or_default() += i64::from(*shots),
                Did::RunLogged { place, .. } => *independent.entry(place.clone()).or_default() += 1,
                Did::ShotsCorrected { place, from, to, .. } => *independent.entry(place.clone()).or_default() += i64::from(*to) - i64::from(*from),
                _ => {}
            }
        }
        prop_assert_eq!(i64::from(bench.case.state().shots_total()), independent.values().sum::<i64>());
        for (place, shots) in independent {
            prop_assert_eq!(i64::from(bench.case.state().shots_at(&place)), shots);
        }
    }

    /// [R-CASE-2]
    #[test]
    fn no_sequence_passes_an_unreleased_gate_except_by_a_named_override(moves in moves()) {
        let bench = played(&moves);
        let mut opened = Case::open(bench.case.pathway().clone(), bench.case.plan().clone(), &bench.events[0]).unwrap();
        for event in &bench.events[1..] {
            if let Did::CheckAnswered { place, .. } | Did::CheckNotDone { place, .. } = &event.did
                && opened.state().status == Status::Running
            {
                let order = opened.step_at(place).unwrap().order;
                for at in opened.places().iter().filter(|at| at.step.order < order && at.place.concerns(place)) {
                    let Some(gate) = at.step.gate else { continue };
                    let state = opened.state().gates.get(&at.place).cloned().unwrap_or_default();
                    let released = gate.release.iter().all(|role| state.released.iter().any(|(by, ..)| by == role));
                    prop_assert!(released || state.overridden.is_some(), "{} was answered behind {}", place, at.place);
                }
            }
            opened.apply(event).unwrap();
        }
    }

    /// [R-CASE-5]
    #[test]
    fn from_every_reachable_state_every_outcome_of_stop_can_be_closed(moves in moves()) {
        let bench = played(&moves);
        for outcome in [Outcome::Cancelled, Outcome::Abandoned, Outcome::Converted, Outcome::Void] {
            let mut bench = bench.clone();
            if matches!(bench.case.state().status, Status::Running | Status::Paused) {
                bench.says(Role::Surgeon, Command::Stop { reason: "enough".to_owned() }).unwrap();
            }
            end(&mut bench, outcome);
        }
    }
}

/// [R-CASE-6]
#[test]
fn two_pins_may_be_placed_before_the_first_is_drilled() {
    let plan = PLAN
        .replace(r#""implants": ["#, r#""implants": [{"level": "S1, upper", "diameter_mm": 10, "length_mm": 50}, "#);
    let mut bench = BenchCase::open(&plan);
    let pathway = built_in("primary-lateral-prone");
    let phase_of = |place: &Place| {
        pathway.phases.iter().position(|phase| phase.steps.iter().any(|step| step.id == place.step)).unwrap()
    };
    let pin_phase = pathway.phases.iter().position(|phase| phase.id == "guide-pin").expect("a guide pin phase");
    let before: Vec<Place> = places(&bench.case).into_iter().filter(|place| phase_of(place) < pin_phase).collect();
    for place in before {
        bench.answer_all_of(&place);
    }
    for implant in [1, 2] {
        let pins: Vec<Place> = places(&bench.case)
            .into_iter()
            .filter(|place| phase_of(place) == pin_phase && place.implant == Some(implant))
            .collect();
        assert!(!pins.is_empty());
        for place in pins {
            bench.answer_all_of(&place);
        }
    }
    let drilling = places(&bench.case)
        .into_iter()
        .find(|place| phase_of(place) > pin_phase && place.implant == Some(1))
        .expect("joint work");
    bench.answer_all_of(&drilling);
}

//! What was found on pictures: kept with its uncertainty, marked in the record, and never in anybody's way.

use super::bench_case::{BenchCase, PLAN};
use super::finding_samples::{correction_of, found, outlet_correction, pin_finding};
use brimline::carm::ViewName;
use brimline::case::{Case, Command, Did, PinDecision, Refused};
use brimline::journal::{self, Sum};
use brimline::pathway::{CheckKind, Place};
use brimline::people::Role;
use brimline::pin::{EdgeName, Measured, PinMark};
use brimline::units::Side;

/// The first check of the case that fits, with its place.
fn check(case: &Case, fits: impl Fn(&CheckKind) -> bool) -> (Place, String) {
    let places = case.places();
    let mut all = places.iter().flat_map(|at| case.checks_at(at).into_iter().map(move |check| (at, check)));
    let (at, check) = all.find(|(_, check)| fits(&check.ask)).expect("the pathway asks it");
    (at.place.clone(), check.id.clone())
}

fn outlet(case: &Case) -> (Place, String) {
    check(case, |kind| matches!(kind, CheckKind::View { view: ViewName::OutletWorking, .. }))
}

fn pin(case: &Case) -> (Place, String) {
    check(case, |kind| matches!(kind, CheckKind::Pin { .. }))
}

fn correct_view(place: Place, check: String) -> Command {
    Command::CorrectView { place, check, finding: Box::new(outlet_correction()) }
}

fn find_pin((place, check): (Place, String), side: Side) -> Command {
    Command::FindPin { place, check, finding: Box::new(pin_finding(side)), decided: PinDecision::Kept }
}

/// [R-FINDING-1]
#[test]
fn a_view_correction_given_is_kept_with_what_was_seen_told_and_left() {
    let mut bench = BenchCase::open(PLAN);
    let (place, check) = outlet(&bench.case);
    bench.says(Role::Radiographer, correct_view(place.clone(), check.clone())).expect("kept");
    let kept = &bench.case.state().view_findings[0];
    assert_eq!((&kept.place, &kept.check, kept.by.role), (&place, &check, Role::Radiographer));
    let finding = &kept.finding;
    assert!(!finding.moves.is_empty() && finding.remaining_mm > 0.0);
    assert!(finding.turns.iter().all(|turn| turn.sd_deg >= turn.bound_deg && turn.bound_deg > 0.0));
    let again = Case::replay(bench.case.pathway().clone(), bench.case.plan().clone(), &bench.events).unwrap();
    assert_eq!(again.state().view_findings, bench.case.state().view_findings);
}

/// [R-FINDING-2]
#[test]
fn a_finding_answers_no_check_passes_no_gate_and_waits_for_none() {
    let mut bench = BenchCase::open(PLAN);
    let side = Side::Left;
    let (view, at_pin) = (outlet(&bench.case), pin(&bench.case));
    assert!(bench.case.gate_in_the_way(&at_pin.0).is_some(), "the pin stands behind a gate");
    bench.says(Role::Surgeon, find_pin(at_pin.clone(), side)).expect("told although the gate is closed");
    bench.says(Role::Surgeon, Command::Pause { reason: "wait".to_owned() }).unwrap();
    bench.says(Role::Radiographer, correct_view(view.0.clone(), view.1.clone())).expect("told although paused");
    let state = bench.case.state();
    assert!(state.checks.is_empty() && state.gates.is_empty());
    assert_eq!((state.view_findings.len(), state.pin_findings.len()), (1, 1));
}

/// [R-FINDING-2]
#[test]
fn a_short_margin_and_missing_positions_are_marks_with_their_reason() {
    let short = pin_finding(Side::Right);
    assert!(short.marks().contains(&PinMark::ShortMargin { edge: EdgeName::S1Foramen }), "{:?}", short.marks());
    let unknown = found(include_bytes!("../vectors/pin/good-frame-unknown.json"));
    let marks = unknown.marks();
    assert!(matches!(&marks[..], [PinMark::AnglesOnly { .. }, ..]), "{marks:?}");
    assert!(marks[0].to_string().starts_with("angles only: nobody said"), "{}", marks[0]);
    let one = found(include_bytes!("../vectors/pin/good-one-view.json"));
    assert_eq!(one.marks()[0], PinMark::HeldBack);
}

/// [R-FINDING-3]
#[test]
fn a_finding_of_another_view_side_or_kind_is_refused_by_name() {
    let mut bench = BenchCase::open(PLAN);
    let (place, check) = outlet(&bench.case);
    let lateral = Box::new(correction_of(ViewName::Lateral));
    let command = Command::CorrectView { place: place.clone(), check: check.clone(), finding: lateral };
    let refused = bench.says(Role::Surgeon, command);
    assert!(matches!(refused, Err(Refused::AnotherView { wanted: ViewName::OutletWorking, .. })));
    let refused = bench.says(Role::Surgeon, find_pin((place, check), Side::Left));
    assert!(matches!(refused, Err(Refused::WrongKind { .. })));
    let at_pin = pin(&bench.case);
    let refused = bench.says(Role::Surgeon, find_pin(at_pin, Side::Right));
    assert!(matches!(refused, Err(Refused::AnotherSide { side: Side::Right, .. })), "{refused:?}");
}

/// [R-FINDING-3]
#[test]
fn a_number_that_is_none_or_beyond_everything_is_refused() {
    let mut bench = BenchCase::open(PLAN);
    let (place, check) = pin(&bench.case);
    for wrong in [f64::NAN, f64::INFINITY, 1e7] {
        let mut finding = pin_finding(Side::Left);
        finding.margins[0].margin_mm = Measured { value: wrong, plus_minus: 1.0 };
        let (place, check, decided) = (place.clone(), check.clone(), PinDecision::Redirected);
        let refused = bench.says(Role::Surgeon, Command::FindPin { place, check, finding: Box::new(finding), decided });
        assert!(matches!(refused, Err(Refused::NotPlausible { .. })), "{wrong}");
    }
    let mut finding = pin_finding(Side::Left);
    finding.margins = vec![finding.margins[0].clone(); 40];
    let decided = PinDecision::Kept;
    let refused = bench.says(Role::Surgeon, Command::FindPin { place, check, finding: Box::new(finding), decided });
    assert!(matches!(refused, Err(Refused::NotPlausible { .. })));
    assert!(bench.events.len() == 1, "nothing was written");
}

/// [R-FINDING-1]
#[test]
fn findings_read_back_from_a_journal_and_an_unknown_member_is_none() {
    let mut bench = BenchCase::open(PLAN);
    let ((place, check), at_pin) = (outlet(&bench.case), pin(&bench.case));
    bench.says(Role::Radiographer, correct_view(place, check)).unwrap();
    bench.says(Role::Surgeon, find_pin(at_pin, Side::Left)).unwrap();
    let mut bytes = Vec::new();
    let mut last = Sum::NONE;
    for event in &bench.events {
        let (line, sum) = journal::encode(event, &last).expect("a line");
        bytes.extend(line);
        last = sum;
    }
    let read = journal::read(&bytes).expect("a journal").journal;
    let told: Vec<&Did> = read.events().iter().map(|event| &event.did).collect();
    assert_eq!(told, bench.events.iter().map(|event| &event.did).collect::<Vec<_>>());
    let stranger = serde_json::json!({"pin-found": {"place": {"step": "x"}, "check": "y", "finding": {"who": "?"}}});
    assert!(serde_json::from_value::<Did>(stranger).is_err());
}

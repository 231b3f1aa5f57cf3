//! The plan re-aimed from one true lateral: kept, in force until a move is entered, and in the signed record.

use super::bench_case::{BenchCase, PLAN};
use brimline::carm::{PatientPosition, ReAim, SacralLine, VerticalProof, ViewName};
use brimline::case::{Case, Command, Did, Refused};
use brimline::pathway::{CheckKind, Place};
use brimline::people::{Role, Roster};
use brimline::record;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// The plan of tests, with the sacrum measured: anterior cortex 25° inlet, S2 to symphysis 43° outlet.
fn measured_plan() -> String {
    let mut plan: Value = serde_json::from_str(PLAN).unwrap();
    measure(&mut plan);
    plan.to_string()
}

fn measure(plan: &mut Value) {
    plan["brimline_plan"] = json!(2);
    plan["anatomy"] = json!({"midline": {
        "s1_anterior_cortex": {"deg": 25.0, "plus_minus_deg": 2.0},
        "s2_to_symphysis": {"deg": -43.0, "plus_minus_deg": 2.0},
    }});
}

fn check(case: &Case, wanted: ViewName) -> (Place, String) {
    let places = case.places();
    let mut all = places.iter().flat_map(|at| case.checks_at(at).into_iter().map(move |check| (at, check)));
    let fits = |kind: &CheckKind| matches!(kind, CheckKind::View { view, .. } if *view == wanted);
    let (at, check) = all.find(|(_, check)| fits(&check.ask)).expect("the pathway asks it");
    (at.place.clone(), check.id.clone())
}

fn turned(turn_deg: f64, placement: u32) -> ReAim {
    ReAim {
        line: SacralLine::AnteriorCortex,
        proven: VerticalProof::PlumbLine,
        position: PatientPosition::Prone,
        planned_deg: 25.0,
        turn_deg,
        sd_deg: 2.1,
        placement,
    }
}

fn re_aim((place, check): (Place, String), re_aim: ReAim) -> Command {
    Command::ReAim { place, check, re_aim: Box::new(re_aim) }
}

/// [R-FINDING-4]
#[test]
fn a_re_aim_holds_until_patient_or_table_moves() {
    let mut bench = BenchCase::open(&measured_plan());
    let lateral = check(&bench.case, ViewName::Lateral);
    bench.says(Role::Radiographer, re_aim(lateral.clone(), turned(6.0, 1))).expect("kept");
    let state = bench.case.state();
    assert_eq!(state.re_aim().map(|held| held.finding.turn_deg), Some(6.0));
    assert!(state.checks.is_empty(), "it answers no check");
    bench.says(Role::CirculatingNurse, Command::NoteMove).expect("a move is always entered");
    let state = bench.case.state();
    assert!(state.re_aim().is_none() && state.re_aim_void());
    assert_eq!((state.placement(), state.re_aims.len(), state.moves.len()), (2, 1, 1));
    bench.says(Role::Radiographer, re_aim(lateral, turned(-4.0, 2))).expect("measured anew");
    assert_eq!(bench.case.state().re_aim().map(|held| held.finding.turn_deg), Some(-4.0));
    let again = Case::replay(bench.case.pathway().clone(), bench.case.plan().clone(), &bench.events).unwrap();
    assert_eq!(again.state().re_aims, bench.case.state().re_aims);
    assert_eq!(again.state().moves, bench.case.state().moves);
}

/// [R-FINDING-4]
#[test]
fn a_re_aim_of_another_placement_view_or_line_is_refused_by_name() {
    let mut bench = BenchCase::open(&measured_plan());
    let (lateral, inlet) = (check(&bench.case, ViewName::Lateral), check(&bench.case, ViewName::InletBody));
    bench.says(Role::Surgeon, Command::NoteMove).unwrap();
    let refused = bench.says(Role::Surgeon, re_aim(lateral.clone(), turned(6.0, 1)));
    assert_eq!(refused, Err(Refused::MovedSince { measured: 1, now: 2 }));
    let refused = bench.says(Role::Surgeon, re_aim(inlet, turned(6.0, 2)));
    assert!(matches!(refused, Err(Refused::AnotherView { wanted: ViewName::InletBody, .. })), "{refused:?}");
    let unmeasured = ReAim { line: SacralLine::Endplate, ..turned(6.0, 2) };
    let refused = bench.says(Role::Surgeon, re_aim(lateral.clone(), unmeasured));
    assert_eq!(refused, Err(Refused::NotPlanned { line: "superior endplate of S1" }));
    for wrong in [26.0, f64::NAN] {
        let refused = bench.says(Role::Surgeon, re_aim(lateral.clone(), turned(wrong, 2)));
        assert!(matches!(refused, Err(Refused::OutOfRange { .. })), "{wrong}");
    }
    assert_eq!(bench.events.len(), 2, "only the move was written");
}

/// [R-FINDING-4]
#[test]
fn a_pathway_without_re_aims_and_moves_writes_neither_into_journal_or_record() {
    let bench = BenchCase::open(PLAN);
    let told = serde_json::to_string(&bench.events[0].did).unwrap();
    assert!(!told.contains("re_aim") && !told.contains("moves"), "{told}");
    let stranger = json!({"plan-re-aimed": {"place": {"step": "x"}, "check": "y", "re_aim": {"turn": 6}}});
    assert!(serde_json::from_value::<Did>(stranger).is_err());
}

/// A demo case in a folder of its own, its plan measured and its script with `more` where the scout views begin.
fn demo_with(folder: &Path, more: &[Value]) -> PathBuf {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases/04-abandoned-bleeding");
    let read = |name: &str| -> Value { serde_json::from_slice(&std::fs::read(demo.join(name)).unwrap()).unwrap() };
    let (mut plan, mut script) = (read("plan.json"), read("script.json"));
    measure(&mut plan);
    let commands = script["commands"].as_array_mut().unwrap();
    let at_scouts = |line: &Value| line["do"]["place"]["step"] == "scout-views" && line["do"]["do"] == "enter-step";
    let at = commands.iter().position(at_scouts).expect("the scouts are taken") + 1;
    for (number, action) in more.iter().enumerate() {
        let line = json!({"after_s": 5, "by": "radiographer", "logged_by": "circulating-nurse", "do": action});
        commands.insert(at + number, line);
    }
    std::fs::copy(demo.join("people.json"), folder.join("people.json")).unwrap();
    std::fs::write(folder.join("plan.json"), plan.to_string()).unwrap();
    std::fs::write(folder.join("script.json"), script.to_string()).unwrap();
    folder.join("script.json")
}

fn perform(store: &Path, script: &Path) -> std::process::Output {
    std::process::Command::new(env!("CARGO_BIN_EXE_brimline"))
        .arg("--store")
        .arg(store)
        .arg("perform")
        .arg(script)
        .env_remove("BRIMLINE_STORE")
        .output()
        .unwrap()
}

/// [R-FINDING-4]
#[test]
fn a_script_re_aims_and_the_signed_record_says_what_was_void() {
    let (store, folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let at = json!({"step": "scout-views"});
    let script = demo_with(
        folder.path(),
        &[
            json!({"do": "re-aim", "place": at, "check": "scout-lateral", "re_aim": turned(6.0, 1)}),
            json!({"do": "note-move"}),
        ],
    );
    let done = perform(store.path(), &script);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let said = String::from_utf8(done.stdout).unwrap();
    let roster = Roster::read(&std::fs::read(store.path().join("people/roster.json")).unwrap()).unwrap();
    let bytes = std::fs::read(said.lines().last().unwrap()).unwrap();
    let verified = record::verify(&bytes, &roster).unwrap();
    let document = verified.document();
    assert_eq!((document.re_aims.len(), document.moves.len()), (1, 1));
    assert!(document.re_aims[0].voided);
    let shown = record::text(document);
    assert!(shown.contains("plan turned 6° ± 2° back, void since patient or table moved"), "{shown}");
    assert!(shown.contains("Patient or table moved"), "{shown}");
}

/// [R-FINDING-4] [R-PERFORM-2]
#[test]
fn a_script_that_re_aims_by_a_line_nobody_measured_ends_with_the_reason() {
    let (store, folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let endplate = ReAim { line: SacralLine::Endplate, ..turned(6.0, 1) };
    let at = json!({"step": "scout-views"});
    let more = [json!({"do": "re-aim", "place": at, "check": "scout-lateral", "re_aim": endplate})];
    let done = perform(store.path(), &demo_with(folder.path(), &more));
    assert_eq!(done.status.code(), Some(1));
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(said.contains("the plan did not measure the superior endplate of S1"), "{said}");
}

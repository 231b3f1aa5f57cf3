//! Each demo case plays through the case itself, without a refusal, to a signed end.

use brimline::carm::correction::{Told, ViewFinding, correct};
use brimline::case::{
    Case, CaseKind, Closed, Command, Configured, Did, Event, FORMAT, Issue, JoinedReport, Opening, Outcome,
    PinDecision, RadiationCommand, Stamp, Status,
};
use brimline::commands::script::{self, Action, Cast, Line, Script};
use brimline::dose;
use brimline::pathway::{self, Place};
use brimline::people::{Actor, PersonId, Role};
use brimline::pin::PinMark;
use brimline::plan::{self, Plan};
use brimline::units::Side;
use chrono::{DateTime, FixedOffset};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DemoPeople {
    #[serde(rename = "brimline_demo_people")]
    format: u32,
    about: String,
    people: Vec<DemoPerson>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DemoPerson {
    name: String,
    roles: Vec<Role>,
    passcode: String,
}

/// One case being played: its events, and the state they fold to.
struct Play {
    folder: PathBuf,
    case: Case,
    events: Vec<Event>,
    cast: Cast,
    now: DateTime<FixedOffset>,
    boot_ms: u64,
    process: u32,
}

const FOLDERS: [&str; 4] =
    ["01-straightforward-left", "02-dysmorphic-right", "03-revision-power-cut", "04-abandoned-bleeding"];

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases").join(name)
}

fn people(folder: &Path, script: &Script) -> DemoPeople {
    let bytes = fs::read(folder.join(&script.people)).expect("the people file");
    serde_json::from_slice(&bytes).expect("demo people")
}

fn plan(folder: &Path, script: &Script) -> Plan {
    plan::read(&fs::read(folder.join(&script.plan)).expect("the plan file")).expect("a plan")
}

impl Play {
    fn open(folder: &Path, script: &Script) -> Self {
        let plan = plan(folder, script);
        let pathway = pathway::read(pathway::built_in(&plan.pathway).expect("a built-in pathway")).expect("no fault");
        let team: BTreeMap<Role, PersonId> = people(folder, script)
            .people
            .iter()
            .flat_map(|person| person.roles.iter().map(|role| (*role, PersonId(person.name.clone()))))
            .collect();
        assert!(pathway.team.iter().all(|role| team.contains_key(role)), "somebody is missing");
        let event = Event {
            seq: 1,
            stamp: Stamp { at: script.opened_at, process: 1, boot_ms: 1_000 },
            by: actor(&team, Role::CirculatingNurse),
            logged_by: actor(&team, Role::CirculatingNurse),
            did: Did::CaseOpened(Box::new(opening(&pathway, &team))),
        };
        let case = Case::open(Arc::new(pathway), Arc::new(plan), &event).expect("the case opens");
        let people = Cast { team, by_name: BTreeMap::new() };
        Self {
            folder: folder.to_owned(),
            case,
            events: vec![event],
            cast: people,
            now: script.opened_at,
            boot_ms: 1_000,
            process: 1,
        }
    }

    fn play(&mut self, number: usize, line: &Line) {
        let waited = Duration::from_secs_f64(line.after_s);
        assert!(!waited.is_zero(), "line {number}: time goes forward");
        self.now += waited;
        self.boot_ms += u64::try_from(waited.as_millis()).expect("a short wait");
        match line.action(number, &self.cast).expect("a command") {
            Action::PowerCut => self.cut(),
            Action::Case(command) => self.issue(number, line, command),
            Action::JoinReport(file) => {
                let report =
                    dose::read_report(&fs::read(self.folder.join(&file)).expect("a report")).expect("a report");
                let report = Box::new(JoinedReport::of(&report, file, "0".repeat(64), true));
                self.issue(number, line, Command::Radiation(RadiationCommand::JoinReport { report }));
            }
            Action::Sign(role) => {
                let overrides_confirmed = u32::try_from(self.case.state().overrides().count()).expect("a few");
                let payload = "0".repeat(64);
                self.issue(number, line, Command::Sign { role, payload, overrides_confirmed, key: None });
            }
        }
    }

    fn issue(&mut self, number: usize, line: &Line, command: Command) {
        let stamp = Stamp { at: self.now, process: self.process, boot_ms: self.boot_ms };
        let (by, logged_by) = (actor(&self.cast.team, line.by), actor(&self.cast.team, line.logged_by));
        let issue = Issue { stamp: stamp.clone(), by: by.clone(), logged_by: logged_by.clone(), command };
        let decided = self.case.decide(&issue);
        let decided = decided.unwrap_or_else(|refused| panic!("line {number}: {}: {refused}", line.action));
        assert!(!decided.is_empty(), "line {number} changes nothing");
        for did in decided {
            let seq = self.events.len() as u64 + 1;
            let event = Event { seq, stamp: stamp.clone(), by: by.clone(), logged_by: logged_by.clone(), did };
            self.case.apply(&event).expect("the case opens");
            self.events.push(event);
        }
    }

    /// The tablet is gone; what was durable is read again.
    fn cut(&mut self) {
        let (pathway, plan) = (self.case.pathway().clone(), self.case.plan().clone());
        let again = Case::replay(pathway, plan, &self.events).expect("the journal replays");
        assert_eq!(again.state().here, self.case.state().here);
        assert_eq!(again.state().shots_total(), self.case.state().shots_total());
        assert_eq!(again.state().checks, self.case.state().checks);
        self.case = again;
        self.process += 1;
        self.boot_ms = 900;
    }
}

fn actor(team: &BTreeMap<Role, PersonId>, role: Role) -> Actor {
    Actor::new(role, team[&role].clone())
}

fn opening(pathway: &pathway::Pathway, team: &BTreeMap<Role, PersonId>) -> Opening {
    Opening {
        brimline_journal: FORMAT,
        program: "test".to_owned(),
        kind: CaseKind::Live,
        exercise: None,
        case: "00000000-0000-4000-8000-000000000001".to_owned(),
        pathway: pathway.id.clone(),
        pathway_version: pathway.version.clone(),
        pathway_digest: String::new(),
        plan_digest: String::new(),
        nonce: String::new(),
        site: None,
        team: team.clone(),
        configured: Configured::default(),
        continues: None,
    }
}

fn read(folder: &Path) -> Script {
    script::read(&fs::read(folder.join("script.json")).expect("a script file")).expect("a script")
}

fn played(name: &str) -> Play {
    let folder = folder(name);
    let script = read(&folder);
    let mut play = Play::open(&folder, &script);
    for (number, line) in script.commands.iter().enumerate() {
        play.play(number, line);
    }
    play
}

fn has(play: &Play, wanted: impl Fn(&Did) -> bool) -> usize {
    play.events.iter().filter(|event| wanted(&event.did)).count()
}

#[test]
fn every_demo_case_ends_closed_and_signed_by_all_its_signers() {
    let outcomes = [Outcome::Finished, Outcome::Finished, Outcome::Finished, Outcome::Abandoned];
    for (name, outcome) in FOLDERS.into_iter().zip(outcomes) {
        let play = played(name);
        let state = play.case.state();
        assert_eq!(state.status, Status::Closed(outcome), "{name}");
        let signed: BTreeSet<_> = state.signed.keys().copied().collect();
        assert_eq!(signed, play.case.pathway().signers.iter().copied().collect(), "{name}");
    }
}

/// Nobody confirms several checks within moments: the demo shows how it is meant to be used.
#[test]
fn no_entry_of_a_demo_case_is_marked_as_a_burst() {
    for name in FOLDERS {
        let play = played(name);
        let entries = play.case.state().checks.iter();
        let burst: Vec<_> =
            entries.filter(|(_, entry)| entry.answer.as_ref().is_some_and(|answer| answer.flags.burst)).collect();
        assert!(burst.is_empty(), "{name}: {burst:?}");
    }
}

#[test]
fn the_straightforward_case_answers_every_check_in_59_minutes_skin_to_skin() {
    let play = played(FOLDERS[0]);
    let state = play.case.state();
    assert_eq!(state.checks.len(), 44);
    assert!(state.checks.values().all(|entry| {
        entry
            .answer
            .as_ref()
            .is_some_and(|answer| matches!(answer.outcome, Closed::Answered { .. }) && !answer.flags.unusual)
    }));
    let minutes = (state.closure.unwrap().ms - state.incision.unwrap().ms) / 60_000;
    // Source: Heiney et al., Int J Spine Surg 2015;9:40, pooled procedure time 59 min (27 to 78).
    assert_eq!(minutes, 59);
    assert!(state.incision.unwrap().ms < 60 * 60_000, "the antibiotic runs out before the incision");
}

/// [R-PATHWAY-4]
#[test]
fn a_check_that_hangs_on_an_answer_is_asked_only_once_it_was_given() {
    let place = Place::of_implant("graft", Side::Left, 1);
    let own_bone = played(FOLDERS[0]);
    assert!(own_bone.case.applicable_check(&place, "allograft-number").is_none());
    let place = Place { side: Some(Side::Right), ..place };
    let allograft = played(FOLDERS[1]);
    assert!(allograft.case.applicable_check(&place, "allograft-number").is_some());
}

#[test]
fn the_dysmorphic_case_shows_what_does_not_go_to_plan() {
    let play = played(FOLDERS[1]);
    let state = play.case.state();
    let outlet = &state.checks[&(Place::of_case("scout-views"), "scout-outlet".to_owned())];
    assert_eq!(outlet.rejected, 1);
    let outlet_at = play.events.iter().position(|event| matches!(&event.did, Did::ViewRejected { .. })).unwrap();
    // Between the shots stands the correction that was given.
    let around = &play.events[outlet_at - 2..outlet_at + 4];
    let shots = around.iter().filter(|event| matches!(event.did, Did::ShotsCounted { .. })).count();
    assert_eq!(shots, 4);
    assert_eq!(has(&play, |did| matches!(did, Did::CheckNotDone { .. })), 1);
    assert_eq!(state.overrides().count(), 1);
    assert_eq!(state.corrections.len(), 1);
    assert_eq!(state.implants[&Side::Right], 2);
    let entered = |step: &str, implant| {
        let place = Place::of_implant(step, Side::Right, implant);
        play.events
            .iter()
            .position(|event| matches!(&event.did, Did::StepEntered { place: to } if *to == place))
            .unwrap()
    };
    assert!(entered("pin-in", 1) < entered("pin-in", 2) && entered("pin-in", 2) < entered("joint", 1));
}

/// [R-FINDING-1] What the script says was found is what the program finds from the documents beside it.
#[test]
fn the_dysmorphic_case_keeps_a_view_correction_and_a_pin_finding_made_from_its_documents() {
    let play = played(FOLDERS[1]);
    let state = play.case.state();
    let [view] = &state.view_findings[..] else { panic!("{:?}", state.view_findings) };
    let document = fs::read(folder(FOLDERS[1]).join("correction.json")).expect("the document");
    let asked = brimline::commands::plan::correct::read(&document).expect("a document");
    let answer = correct(&asked.sighting).expect("an answer");
    assert_eq!(view.finding, ViewFinding::of(asked.view, Told::Typed, &asked.sighting, &answer));
    let [pin] = &state.pin_findings[..] else { panic!("{:?}", state.pin_findings) };
    let document = fs::read(folder(FOLDERS[1]).join("pin.json")).expect("the document");
    let found = brimline::pin::find(&brimline::pin::read(&document).expect("a document"));
    assert_eq!(pin.finding, (found, PinDecision::Redirected));
    assert!(pin.finding.0.marks().iter().any(|mark| matches!(mark, PinMark::ShortMargin { .. })));
}

#[test]
fn the_revision_is_cut_off_once_and_goes_on_where_it_stood() {
    let play = played(FOLDERS[2]);
    assert_eq!(play.case.state().returns, 1);
    assert_eq!(play.process, 2);
    let answered = play
        .case
        .state()
        .checks
        .keys()
        .filter(|(_, check)| check != "allograft-number" && check != "machine-clock-read");
    assert_eq!(answered.count(), 38);
}

#[test]
fn the_abandoned_case_stops_after_the_incision_and_answers_its_short_list() {
    let play = played(FOLDERS[3]);
    let state = play.case.state();
    assert!(state.incision.is_some() && state.closure.is_some() && state.stops.len() == 1);
    let list = &play.case.pathway().stops.abandoned;
    let place = Place::of_case(&list.step);
    assert!(list.checks.iter().all(|check| state.answer(&place, &check.id).is_some()));
}

#[test]
fn demo_people_and_patients_are_marked_as_demo() {
    for name in FOLDERS {
        let folder = folder(name);
        let script = read(&folder);
        let people = people(&folder, &script);
        assert_eq!(people.format, 1);
        assert!(people.about.contains("Invented"));
        assert!(people.people.iter().all(|person| person.name.ends_with("(demo)") && person.passcode.len() >= 6));
        let plan = plan(&folder, &script);
        assert!(
            plan.patient.name.ends_with("(demo)") && plan.patient.number.starts_with("DEMO-") && plan.team.is_empty()
        );
    }
}

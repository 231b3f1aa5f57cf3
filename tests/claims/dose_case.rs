//! Radiation as a part of the case: readings, settings and reports are events, and fold into one account.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::{Counted, name_of, nurse, surgeon};
use brimline::case::{
    Answer, Case, CaseKind, Command, Configured, Did, Event, FORMAT, Issue, JoinedReport, MachineSetting, Opening,
    Outcome, RadiationCommand, RangeVerdict, Reconciled, Refused, Stamp,
};
use brimline::dose::reconcile::Brief;
use brimline::dose::{Figures, Finding, Moment, Shown, ShownAirKerma, ShownKermaArea, SizeBand, Source};
use brimline::open_case::team_sequence::team_sequence;
use brimline::pathway::{Pathway, Place};
use brimline::people::{Actor, Role};
use brimline::record::{self, ChainPoint, RadiationEntry};
use brimline::units::{AirKermaUnit, GrayCm2, KermaAreaUnit, Milligray, Seconds, Unit};
use serde_json::json;
use std::sync::Arc;

struct Told {
    case: Case,
    events: Vec<Event>,
    at_ms: u64,
}

fn pathway() -> Pathway {
    let list =
        |step: &str| json!({"step": step, "title": "End", "checks": [{"id": format!("{step}-told"), "text": "Told"}]});
    let reads = |id: &str, moment: &str| {
        json!({"id": id, "text": "Reading", "reads": moment, "ask": {"kind": "measure", "unit": "cGy.cm2",
               "expected": {"from": 0, "to": 2000}, "limits": {"from": 0, "to": 1_000_000}}})
    };
    serde_json::from_value(json!({
        "brimline_pathway": 1, "id": "short", "version": "1", "title": "Short", "procedure": "primary", "about": "Tests.",
        "team": ["surgeon", "circulating-nurse"], "signers": ["surgeon", "circulating-nurse"],
        "phases": [{"id": "all", "title": "All", "steps": [
            {"id": "begin", "title": "Begin", "checks": [reads("opening", "opening")]},
            {"id": "scouts", "title": "Scouts", "reading": "after-scouts", "checks": [{"id": "seen", "text": "Seen"}]},
            {"id": "end", "title": "End", "checks": [reads("closing", "end")]}
        ]}],
        "stops": {"cancelled": list("cancelled"), "abandoned": list("abandoned"), "converted": list("converted"), "void": list("void")}
    }))
    .unwrap()
}

impl Told {
    fn open() -> Self {
        let plan = super::record_fixture::plan();
        let team = [(Role::Surgeon, surgeon().person()), (Role::CirculatingNurse, nurse().person())];
        let opening = Opening {
            brimline_journal: FORMAT,
            program: "test".to_owned(),
            kind: CaseKind::Live,
            case: "7b0e3c1a-6a36-4f7e-9a55-0d4f0f3ab001".to_owned(),
            pathway: "short".to_owned(),
            pathway_version: "1".to_owned(),
            pathway_digest: "a".repeat(64),
            plan_digest: "b".repeat(64),
            nonce: String::new(),
            site: None,
            team: team.into_iter().collect(),
            configured: Configured::default(),
            exercise: None,
            continues: None,
        };
        let mut told = Self { case: opened(&opening, &plan), events: Vec::new(), at_ms: 0 };
        told.events.push(first(opening));
        told
    }

    fn decide(&self, command: Command) -> Result<Vec<Did>, Refused> {
        self.case.decide(&Issue { stamp: stamp(self.at_ms), by: by(), logged_by: by(), command })
    }

    /// After `s` seconds; the number of events.
    fn say(&mut self, s: u64, command: Command) -> usize {
        self.at_ms += s * 1_000;
        let dids = self.decide(command).unwrap();
        let count = dids.len();
        for did in dids {
            let seq = self.events.len() as u64 + 1;
            let event = Event { seq, stamp: stamp(self.at_ms), by: by(), logged_by: by(), did };
            self.case.apply(&event).unwrap();
            self.events.push(event);
        }
        count
    }

    fn read(&mut self, s: u64, moment: Moment, shown: Shown) -> usize {
        self.say(s, read(moment, shown))
    }

    fn answer(&mut self, s: u64, step: &str, check: &str, value: f64, unit: Unit) {
        let answer = Answer::Measured { value, unit, range: RangeVerdict::Expected };
        self.say(s, Command::Answer { place: Place::of_case(step), check: check.to_owned(), answer });
    }
}

fn opened(opening: &Opening, plan: &brimline::plan::Plan) -> Case {
    Case::open(Arc::new(pathway()), Arc::new(plan.clone()), &first(opening.clone())).unwrap()
}

fn first(opening: Opening) -> Event {
    Event { seq: 1, stamp: stamp(0), by: by(), logged_by: by(), did: Did::CaseOpened(Box::new(opening)) }
}

fn by() -> Actor {
    Actor::new(Role::CirculatingNurse, nurse().person())
}

fn stamp(ms: u64) -> Stamp {
    let opened: chrono::DateTime<chrono::FixedOffset> = "2031-03-04T08:00:00+01:00".parse().unwrap();
    let at = opened + chrono::TimeDelta::milliseconds(i64::try_from(ms).unwrap());
    Stamp { at, process: 1, boot_ms: 5_000 + ms }
}

fn read(moment: Moment, shown: Shown) -> Command {
    let (machine, confirmed, replaces) = (None, false, None);
    Command::Radiation(RadiationCommand::ReadConsole { moment, machine, shown, confirmed, replaces })
}

fn shown(area: f64, unit: KermaAreaUnit, kerma_mgy: f64, time_s: f64, shots: u32) -> Shown {
    Shown {
        kerma_area_product: Some(ShownKermaArea { value: area, unit }),
        reference_air_kerma: Some(ShownAirKerma { value: kerma_mgy, unit: AirKermaUnit::Milligray }),
        fluoroscopy_time: Some(Seconds(time_s)),
        shots: Some(shots),
    }
}

const CGY: KermaAreaUnit = KermaAreaUnit::CentigraySquareCentimetre;

fn total(told: &Told) -> Figures {
    told.case.state().radiation.figures().unwrap().0
}

/// [R-DOSE-14] Totals alone, with no shot tapped: 1 cGy·cm² = 0.01 Gy·cm².
/// Source: the definitions of the prefixes.
#[test]
fn readings_alone_make_the_account_and_answer_the_checks_that_ask_for_them() {
    let mut told = Told::open();
    assert_eq!(told.read(10, Moment::Opening, shown(12.0, CGY, 1.0, 3.0, 2)), 2, "reading and answer");
    assert_eq!(told.read(600, Moment::AfterScouts, shown(62.0, CGY, 4.5, 9.0, 9)), 1);
    assert_eq!(told.read(600, Moment::End, shown(412.0, CGY, 27.0, 60.0, 60)), 2);
    let close = |one: f64, other: f64| (one - other).abs() < 1e-9;
    let sum = total(&told);
    assert!(
        close(sum.kerma_area_product.unwrap().0, 4.0) && close(sum.reference_air_kerma.unwrap().0, 26.0),
        "{sum:?}"
    );
    assert_eq!((sum.fluoroscopy_time, sum.shots), (Some(Seconds(57.0)), Some(58)));
    let radiation = &told.case.state().radiation;
    assert_eq!(radiation.readings.len(), 3, "an answer that a reading gave is no second reading");
    assert_eq!(radiation.figures().unwrap().1, Source::Console);
    let answer = told.case.state().answer(&Place::of_case("end"), "closing").unwrap().answer().cloned();
    assert_eq!(
        answer,
        Some(Answer::Measured { value: 412.0, unit: Unit::CentigraySquareCentimetre, range: RangeVerdict::Expected })
    );
    assert_eq!(told.case.state().shots_total(), 0);
}

/// [R-DOSE-15] A check that reads the console takes the unit that the console shows; the account is the same.
#[test]
fn a_check_is_answered_in_whichever_unit_the_console_shows() {
    for (value, unit) in [
        (350.0, Unit::CentigraySquareCentimetre),
        (350.0, Unit::MicrograySquareMetre),
        (3.5, Unit::GraySquareCentimetre),
    ] {
        let mut told = Told::open();
        told.answer(5, "begin", "opening", 0.0, unit);
        told.answer(900, "end", "closing", value, unit);
        assert!((total(&told).kerma_area_product.unwrap().0 - 3.5).abs() < 1e-9, "{unit:?}");
    }
    let mut told = Told::open();
    told.answer(5, "begin", "opening", 2.0, Unit::Milligray);
    told.answer(900, "end", "closing", 20.0, Unit::Milligray);
    assert_eq!(total(&told).reference_air_kerma, Some(Milligray(18.0)));
    let length = Answer::Measured { value: 1.0, unit: Unit::Millimetre, range: RangeVerdict::Expected };
    let command = Command::Answer { place: Place::of_case("begin"), check: "opening".to_owned(), answer: length };
    assert!(matches!(Told::open().decide(command), Err(Refused::WrongKind { .. })));
    let much = Answer::Measured { value: 20_000.0, unit: Unit::GraySquareCentimetre, range: RangeVerdict::Expected };
    let command = Command::Answer { place: Place::of_case("begin"), check: "opening".to_owned(), answer: much };
    assert!(matches!(Told::open().decide(command), Err(Refused::OutsideLimits { .. })), "limits hold across units");
}

/// [R-DOSE-16] 5,130.8 Gy·cm² in 8.6 min is 597 Gy·cm² a minute. It is kept, asked about, and marked as confirmed.
/// Source: a printed table of 2021 whose unit is impossible; the rate is computed.
#[test]
fn an_implausible_reading_is_kept_and_asked_about() {
    let mut told = Told::open();
    told.read(10, Moment::Opening, shown(0.0, CGY, 0.0, 0.0, 0));
    let odd = Shown {
        kerma_area_product: Some(ShownKermaArea { value: 5_130.8, unit: KermaAreaUnit::GraySquareCentimetre }),
        fluoroscopy_time: Some(Seconds::of_minutes(8.6)),
        ..Shown::default()
    };
    let reading = odd.reading("Arm of room 4".to_owned(), Moment::End, 3_600_000, false);
    let found = told.case.state().radiation.would_find(&reading, None);
    assert!(matches!(found.as_slice(), [.., Finding::OtherUnit { .. }]), "{found:?}");
    let confirmed = RadiationCommand::ReadConsole {
        moment: Moment::End,
        machine: None,
        shown: odd,
        confirmed: true,
        replaces: None,
    };
    told.say(3_600, Command::Radiation(confirmed));
    let kept = told.case.state().radiation.readings.last().unwrap();
    assert!(kept.reading.confirmed && kept.reading.kerma_area_product == odd.kerma_area_product);
    assert!(!told.case.state().radiation.account().findings.is_empty());
    let below = shown(-1.0, CGY, 0.0, 0.0, 0);
    assert!(matches!(told.decide(read(Moment::End, below)), Err(Refused::OutOfRange { .. })));
    assert!(matches!(told.decide(read(Moment::End, Shown::default())), Err(Refused::NothingShown)));
}

/// [R-DOSE-17]
#[test]
fn a_corrected_reading_stays_and_counts_no_more() {
    let mut told = Told::open();
    told.read(10, Moment::Opening, shown(0.0, CGY, 0.0, 0.0, 0));
    told.read(600, Moment::AfterScouts, shown(500.0, CGY, 3.0, 9.0, 9));
    let wrong = told.case.state().radiation.readings.last().unwrap().seq;
    told.read(600, Moment::End, shown(400.0, CGY, 27.0, 60.0, 60));
    let correct = |replaces| RadiationCommand::ReadConsole {
        moment: Moment::AfterScouts,
        machine: None,
        shown: shown(50.0, CGY, 3.0, 9.0, 9),
        confirmed: false,
        replaces: Some(replaces),
    };
    told.say(30, Command::Radiation(correct(wrong)));
    let radiation = &told.case.state().radiation;
    assert_eq!((radiation.readings.len(), radiation.standing().len()), (4, 3));
    assert_eq!(radiation.standing()[1].reading.at_ms, 610_000, "it stands at the time of what it corrects");
    assert_eq!(total(&told).kerma_area_product, Some(GrayCm2(4.0)));
    assert!(radiation.account().findings.is_empty());
    assert!(matches!(told.decide(Command::Radiation(correct(wrong))), Err(Refused::NoSuchReading { .. })));
    assert!(matches!(told.decide(Command::Radiation(correct(99))), Err(Refused::NoSuchReading { seq: 99 })));
}

/// [R-DOSE-18] The console is due after the scouts once their step is done, and no more once it was read.
#[test]
fn the_reading_that_is_due_is_suggested_and_stands_in_nobodys_way() {
    let mut told = Told::open();
    assert_eq!(told.case.reading_due(), None);
    told.say(5, Command::EnterStep { place: Place::of_case("scouts") });
    assert_eq!(told.case.reading_due(), None, "the step is not done");
    let seen = |check: &str| Command::Answer {
        place: Place::of_case("scouts"),
        check: check.to_owned(),
        answer: Answer::Confirmed,
    };
    told.say(5, seen("seen"));
    assert_eq!(told.case.reading_due(), Some(Moment::AfterScouts));
    told.answer(5, "end", "closing", 3.0, Unit::CentigraySquareCentimetre);
    assert_eq!(told.case.reading_due(), None, "a later one was read");
}

#[test]
fn a_second_machine_has_an_account_of_its_own() {
    let mut told = Told::open();
    told.read(10, Moment::Opening, shown(10.0, CGY, 1.0, 5.0, 5));
    told.read(600, Moment::AfterScouts, shown(110.0, CGY, 8.0, 20.0, 20));
    told.say(10, Command::SwapCArm { to: "Arm of room 5".to_owned() });
    told.read(5, Moment::AfterScouts, shown(7_000.0, CGY, 500.0, 900.0, 900));
    told.read(600, Moment::End, shown(7_200.0, CGY, 512.0, 930.0, 930));
    assert_eq!(total(&told).kerma_area_product, Some(GrayCm2(3.0)));
    let findings = told.case.state().radiation.account().findings;
    assert_eq!(findings, [Finding::SecondMachine { reading: 2 }]);
}

/// [R-DOSE-19]
#[test]
fn settings_of_the_machine_are_logged_once_each_and_the_last_holds() {
    let mut told = Told::open();
    let set = |setting| Command::Radiation(RadiationCommand::SetMachine { setting });
    assert_eq!(told.say(5, set(MachineSetting::PulseRate { per_s: 8.0 })), 1);
    assert_eq!(told.say(5, set(MachineSetting::PulseRate { per_s: 8.0 })), 0, "nothing changed");
    told.say(5, set(MachineSetting::Collimation { drawn_in: true }));
    told.say(5, set(MachineSetting::PulseRate { per_s: 4.0 }));
    let now = told.case.state().radiation.set_now();
    assert_eq!(now, [MachineSetting::Collimation { drawn_in: true }, MachineSetting::PulseRate { per_s: 4.0 }]);
    assert_eq!(told.case.state().radiation.settings.len(), 3);
    assert!(told.decide(set(MachineSetting::PulseRate { per_s: f64::NAN })).is_err());
}

fn report() -> brimline::dose::DoseReport {
    let event = |at: &str, area: f64| json!({"started": {"local": at}, "plane": "single", "kerma_area_product": area, "duration": 1.0});
    let report = json!({
        "brimline_dose_report": 1, "kind": "x-ray-radiation-dose", "uid": "2.25.1", "study_uid": "2.25.2",
        "device": {"uid": "2.25.3"},
        "planes": [{"plane": "single", "kerma_area_product": 0.6, "fluoroscopy_time": 3.0}],
        "events": [event("2031-03-04T08:00:20", 0.1), event("2031-03-04T08:01:20", 0.2), event("2031-03-04T08:01:30", 0.3)]
    });
    brimline::dose::read_report(report.to_string().as_bytes()).unwrap()
}

/// [R-DOSE-20] The report stands over the readings; joined twice it is one; after the first signature nothing joins.
#[test]
fn a_report_joins_once_is_attributed_and_stands_over_the_readings() {
    let mut told = Told::open();
    told.read(10, Moment::Opening, shown(0.0, CGY, 0.0, 0.0, 0));
    told.say(8, Command::CountShots { shots: 1 });
    told.say(20, Command::EnterStep { place: Place::of_case("scouts") });
    told.say(43, Command::CountShots { shots: 1 });
    told.say(10, Command::CountShots { shots: 1 });
    told.read(60, Moment::End, shown(55.0, CGY, 4.0, 3.0, 3));
    let joined = JoinedReport::of(&report(), "dose.dcm".to_owned(), "c".repeat(64), false);
    let join = || Command::Radiation(RadiationCommand::JoinReport { report: Box::new(joined.clone()) });
    assert_eq!(told.say(5, join()), 1);
    assert_eq!(told.say(5, join()), 0, "joined already");
    let seq = told.case.state().radiation.reports[0].seq;
    let bytes = told.events.iter().fold((Vec::new(), brimline::journal::Sum::NONE), |(mut bytes, prev), event| {
        let (line, sum) = brimline::journal::encode(event, &prev).unwrap();
        bytes.extend(line);
        (bytes, sum)
    });
    let journal = brimline::journal::read(&bytes.0).unwrap().journal;
    let team = team_sequence(&journal, &told.case).unwrap();
    assert_eq!(team.taps.len(), 3);
    let whole = brimline::open_case::reconciled(&journal, &told.case, &report()).unwrap();
    let brief = Brief::of(&whole);
    assert_eq!(brief.figures().kerma_area_product.map(|area| (area.0 * 1e9).round()), Some(0.6e9));
    let command = |report| {
        Command::Radiation(RadiationCommand::Reconcile {
            reconciled: Box::new(Reconciled { report, brief: brief.clone() }),
        })
    };
    assert!(matches!(told.decide(command(1)), Err(Refused::NoSuchReport { seq: 1 })));
    assert_eq!(told.say(5, command(seq)), 1);
    assert_eq!(told.say(5, command(seq)), 0, "the same again says nothing new");
    let (figures, source, _) = told.case.state().radiation.figures().unwrap();
    assert_eq!((figures.kerma_area_product, source), (Some(GrayCm2(0.6)), Source::Report));
    for name in ["../x", "", ".x", "a/b"] {
        let bad = JoinedReport { file: name.to_owned(), uid: None, sha256: "d".repeat(64), ..joined.clone() };
        let command = Command::Radiation(RadiationCommand::JoinReport { report: Box::new(bad) });
        assert!(matches!(told.decide(command), Err(Refused::NotAFileName { .. })), "{name:?}");
    }
    record_of(told);
}

/// The record holds it all; machine and identifiers stand in claims alone.
fn record_of(mut told: Told) {
    told.say(5, Command::Stop { reason: String::new() });
    told.say(5, Command::ChooseOutcome { outcome: Outcome::Abandoned });
    let place = Place::of_case("abandoned");
    told.say(5, Command::Answer { place, check: "abandoned-told".to_owned(), answer: Answer::Confirmed });
    told.say(5, Command::Close);
    let closing = ChainPoint { seq: told.case.state().closed_seq.unwrap(), sum: "e".repeat(64) };
    let unsigned = record::build(&told.case, &closing, &|kid| name_of(kid), &Counted::default()).unwrap();
    let RadiationEntry { size, total, effective_dose, machines, readings, reports, .. } =
        &unsigned.document().radiation;
    assert_eq!(*size, Some(SizeBand::WeightTo75), "70.5 kg");
    assert_eq!(total.as_ref().map(|total| total.source), Some(Source::Report));
    assert_eq!((machines.len(), readings.len(), reports.len()), (1, 2, 1));
    assert!(reports[0].reconciled.is_some());
    // Source: 0.14 mSv per Gy·cm², from memory and marked so; three events of the front, 0.6 Gy·cm² in all.
    let dose = effective_dose.as_ref().unwrap();
    assert!((dose.value.0 - 0.6 * 0.14).abs() < 1e-9 && dose.from_memory);
    let text = record::text(unsigned.document());
    for words in ["In all, by report: 0.600 Gy·cm²", "from memory", "counted", "population average"] {
        assert!(text.contains(words), "{words}:\n{text}");
    }
    let signed = unsigned.sign(&surgeon(), Role::Surgeon, record::Meaning::Responsibility, 1).unwrap();
    let bare = record::redact_all(signed.clone()).unwrap().to_bytes();
    let bare = String::from_utf8(bare).unwrap();
    for secret in ["Arm of room 4", "2.25.1", "dose.dcm"] {
        assert!(!bare.contains(secret), "{secret}");
    }
    let payload = String::from_utf8(signed.payload().to_vec()).unwrap();
    assert!(payload.contains("\"radiation\"") && !payload.contains("Arm of room 4") && !payload.contains("2.25."));
    let command =
        Command::Sign { role: Role::CirculatingNurse, payload: "f".repeat(64), overrides_confirmed: 0, key: None };
    told.say(5, command);
    let late = read(Moment::End, shown(55.0, CGY, 4.0, 3.0, 3));
    assert!(matches!(told.decide(late), Err(Refused::SignedAlready(_))), "from now on it is an addendum");
}

/// [R-DOSE-21] What stands from memory is marked until a site confirms it, and the sets that settings know are those
/// that come with the program.
#[test]
fn a_site_confirms_what_stands_from_memory() {
    use brimline::dose::{DoseCoefficients, DoseConfigured, MeantFor, NotificationLevels, Position, SCATTER, TubeSide};
    use brimline::settings::{Layer, Settings, from_environment};
    let sets = DoseCoefficients::built_in();
    let usable = sets.sets.iter().filter(|set| set.meant_for == MeantFor::Estimate).map(|set| set.id.clone());
    let levels = NotificationLevels::built_in();
    let levels: Vec<String> = levels.sets.iter().map(|set| set.id.clone()).collect();
    let ids: Vec<String> = usable.clone().chain(levels.clone()).chain([SCATTER.to_owned()]).collect();
    let set = |name: &str, value: &str| {
        let variables = [(name.to_owned(), value.to_owned())].into_iter().collect();
        from_environment(&variables).map(|layer| Settings::of(Layer::default(), layer, Layer::default()).dose)
    };
    assert_eq!(set("BRIMLINE_DOSE_CONFIRMED", &ids.join(",")).unwrap().confirmed, ids);
    for id in usable {
        assert!(set("BRIMLINE_DOSE_COEFFICIENTS", &id).is_ok());
    }
    for id in levels {
        assert!(set("BRIMLINE_DOSE_LEVELS", &id).is_ok());
    }
    for (name, value) in
        [("COEFFICIENTS", "icrp-60"), ("LEVELS", "none"), ("CONFIRMED", "x"), ("TUBE", "up"), ("POSITION", "left")]
    {
        let refused = set(&format!("BRIMLINE_DOSE_{name}"), value).unwrap_err();
        assert!(refused.to_string().contains(&format!("BRIMLINE_DOSE_{name}")), "{refused}");
    }
    let none = DoseConfigured::default();
    assert!(none.coefficients_from_memory && none.levels_from_memory && none.scatter_from_memory);
    let all = DoseConfigured::of(None, None, &ids, Position::Prone, TubeSide::UnderTable);
    assert!(!(all.coefficients_from_memory || all.levels_from_memory || all.scatter_from_memory));
    let radiation = {
        let mut told = Told::open();
        told.read(10, Moment::Opening, shown(0.0, CGY, 0.0, 0.0, 0));
        told.read(600, Moment::End, shown(100.0, CGY, 7.0, 9.0, 9));
        told.case.state().radiation.clone()
    };
    let dose = |configured| radiation.effective_dose(configured).unwrap().unwrap();
    assert!(dose(&none).words().contains("from memory") && !dose(&all).words().contains("from memory"));
    let above = DoseConfigured { tube: TubeSide::AboveTable, ..all };
    assert!(radiation.effective_dose(&above).unwrap().is_err(), "no coefficient is known for a beam from the back");
}

/// [R-DOSE-22] A pedal that is held counts at once; let go, the same shot is the run that it was.
#[test]
fn a_held_pedal_is_one_shot_and_one_run() {
    let mut told = Told::open();
    told.say(5, Command::CountShots { shots: 1 });
    let seq = told.events.last().unwrap().seq;
    let time = |shot, seconds| Command::Radiation(RadiationCommand::TimeShot { shot, seconds });
    told.say(3, time(seq, 2.8));
    let state = told.case.state();
    assert_eq!((state.shots_total(), state.run_seconds, state.shots[0].seconds), (1, 2.8, Some(2.8)));
    assert!(matches!(told.decide(time(seq, 2.8)), Err(Refused::NoSuchShot { .. })), "timed already");
    assert!(told.decide(time(1, 2.8)).is_err() && told.decide(time(seq, 0.0)).is_err());
    told.say(5, Command::CountShots { shots: 5 });
    let five = told.events.last().unwrap().seq;
    assert!(matches!(told.decide(time(five, 2.0)), Err(Refused::NoSuchShot { .. })), "five have no one length");
}

//! What the two pathways that come with the program promise.

use brimline::pathway::{
    self, AntibioticCover, Check, CheckKind, Condition, Facts, Mark, PAUSE_MAX, Pathway, Procedure, Scope, Step,
};
use brimline::units::Side;

fn built_in(id: &str) -> Pathway {
    pathway::read(pathway::built_in(id).expect("a built-in pathway")).expect("no fault")
}

fn both() -> [Pathway; 2] {
    ["primary-lateral-prone", "revision-loosening"].map(built_in)
}

/// One side, one implant, a normal sacrum, nothing special.
fn plain(procedure: Procedure, antibiotic: AntibioticCover) -> Facts {
    Facts {
        procedure,
        sides: vec![Side::Left],
        dysmorphic: Vec::new(),
        nerves_monitored: false,
        antibiotic,
        compressing: false,
        transitional: false,
    }
}

fn holds(when: Option<&Condition>, facts: &Facts) -> bool {
    when.is_none_or(|when| when.answers.is_empty() && when.holds_in_plan(facts, Some(Side::Left)))
}

fn asked<'a>(pathway: &'a Pathway, facts: &'a Facts) -> Vec<(&'a Step, &'a Check)> {
    let steps = pathway.steps().map(|(_, step)| step).filter(|step| holds(step.when.as_ref(), facts));
    steps
        .flat_map(|step| step.checks.iter().map(move |check| (step, check)))
        .filter(|(_, check)| holds(check.when.as_ref(), facts))
        .collect()
}

/// [R-PATHWAY-1]
#[test]
fn the_built_in_pathways_have_no_fault() {
    assert_eq!(pathway::built_in_ids(), ["primary-lateral-prone", "revision-loosening"]);
    for id in pathway::built_in_ids() {
        let document = built_in(id);
        assert_eq!(document.id, *id);
    }
}

#[test]
fn one_implant_asks_about_45_checks_and_a_revision_about_35() {
    let facts = plain(Procedure::Primary, AntibioticCover::Standard);
    assert_eq!(asked(&built_in("primary-lateral-prone"), &facts).len(), 44);
    let revision = built_in("revision-loosening");
    let facts = plain(Procedure::Revision, AntibioticCover::Standard);
    assert_eq!(asked(&revision, &facts).len(), 37);
    let facts = plain(Procedure::Revision, AntibioticCover::WithheldForCultures);
    assert_eq!(asked(&revision, &facts).len(), 38);
}

/// Words that the steps of both pathways must bring up, each in the phase where it is due.
const COVERED: [(&str, &[&str]); 5] = [
    (
        "ready",
        &[
            "consent",
            "side",
            "mark",
            "films",
            "plan read",
            "cautions",
            "l5 and s1",
            "power and feeling",
            "antibiotic",
            "size, lot",
            "expiry",
            "allograft",
            "diameter",
            "muscle relaxant",
            "aprons",
            "dosimeters",
            "pregnancy",
            "who may expose",
            "pulse rate",
            "last image held",
            "collimated",
            "receptor near",
            "dose reading",
            "clock",
            "safety checklist",
        ],
    ),
    (
        "position",
        &[
            "prone",
            "radiolucent",
            "belly free",
            "eyes",
            "nerves",
            "level",
            "arms",
            "tube side",
            "stand",
            "without exposure",
        ],
    ),
    ("scout", &["lateral", "inlet", "outlet", "scale", "floor", "support", "gas", "stop"]),
    (
        "guide-pin",
        &[
            "true lateral",
            "below the s1 endplate",
            "behind and below the alar slope",
            "in front of the canal",
            "inlet",
            "outlet",
            "before passing it",
            "at final depth",
            "small advances",
            "exposed length",
        ],
    ),
    ("finish", &["count", "two people", "closing dose", "blood loss", "aftercare", "follow-up", "recovery"]),
];

/// [R-PATHWAY-1]
#[test]
fn each_phase_brings_up_what_is_due_in_it() {
    for pathway in both() {
        for (id, words) in COVERED {
            let phase = pathway.phases.iter().find(|phase| phase.id == id).unwrap();
            let said = serde_json::to_string(phase).unwrap().to_lowercase();
            for word in words {
                assert!(said.contains(word), "{}: {id} says nothing of \"{word}\"", pathway.id);
            }
        }
    }
}

/// [R-PATHWAY-1]
#[test]
fn the_pin_is_looked_at_after_every_drill_pass_and_comes_out_whole() {
    for pathway in both() {
        let said = serde_json::to_string(&pathway.phases).unwrap();
        for word in [
            "After every drill pass: pin tip and exposed length unchanged",
            "Bent, bound or advanced",
            "breached",
            "less the implant",
            "Graft injected",
            "No graft seen outside the bone",
            "Compressed by feel",
            "Guide pin out whole",
        ] {
            assert!(said.contains(word), "{}: {word}", pathway.id);
        }
    }
}

/// [R-PATHWAY-4]
#[test]
fn a_condition_on_the_sacrum_is_asked_at_its_own_side() {
    let mut facts = plain(Procedure::Primary, AntibioticCover::Standard);
    facts.sides.push(Side::Right);
    facts.dysmorphic.push(Side::Right);
    let when = Condition { dysmorphic: Some(true), ..Condition::default() };
    assert!(!when.holds_in_plan(&facts, Some(Side::Left)));
    assert!(when.holds_in_plan(&facts, Some(Side::Right)));
    assert!(when.holds_in_plan(&facts, None), "any operated side, for the whole case");
}

/// Touches to open a case and to sign it, as the screens are drawn.
const TOUCHES_TO_OPEN_AND_SIGN: usize = 12;
/// Most touches of a straightforward case beyond digits, shots and passcodes.
const TOUCHES_MAX: usize = 80;

#[test]
fn a_straightforward_case_fits_into_80_touches() {
    let facts = plain(Procedure::Primary, AntibioticCover::Standard);
    let primary = built_in("primary-lateral-prone");
    let checks = asked(&primary, &facts);
    let pads = checks.iter().filter(|(_, check)| {
        matches!(check.ask, CheckKind::Measure { .. } | CheckKind::Count { .. } | CheckKind::Scan { .. })
    });
    let steps: Vec<_> = primary.steps().collect();
    let releases: usize = steps.iter().filter_map(|(_, step)| step.gate.as_ref()).map(|gate| gate.release.len()).sum();
    let touches = checks.len() + pads.count() + (steps.len() - 1) + releases + TOUCHES_TO_OPEN_AND_SIGN;
    assert!(touches <= TOUCHES_MAX, "{touches} touches");
}

/// [R-PATHWAY-2]
#[test]
fn no_pause_is_longer_than_nine_checks() {
    for pathway in both() {
        assert!(pathway.steps().all(|(_, step)| step.checks.len() <= PAUSE_MAX));
    }
}

#[test]
fn pins_of_different_implants_may_all_be_placed_before_drilling() {
    for pathway in both() {
        let between = |from: &str, to: &str| {
            let (from, to) = (pathway.step(from).unwrap().0, pathway.step(to).unwrap().0);
            pathway.steps().skip(from).take(to - from + 1).map(|(_, step)| step.per).collect::<Vec<_>>()
        };
        assert!(between("pin-in", "implant").iter().all(|per| *per == Scope::Implant), "{}", pathway.id);
        assert_eq!(pathway.step("time-out").unwrap().1.per, Scope::Side);
    }
}

#[test]
fn on_a_dysmorphic_side_every_look_at_the_start_and_the_end_of_the_pin_names_the_alar_slope() {
    for pathway in both() {
        for id in ["plan-read", "pin-start", "pin-final"] {
            let (_, check) = pathway
                .steps()
                .flat_map(|(_, step)| step.checks.iter().map(move |check| (step, check)))
                .find(|(_, check)| check.id == id)
                .unwrap();
            let shown = |dysmorphic: bool| {
                let mut facts = plain(pathway.procedure, AntibioticCover::Standard);
                if dysmorphic {
                    facts.dysmorphic.push(Side::Left);
                }
                let mut cautions = check.cautions.iter().filter(|caution| holds(caution.when.as_ref(), &facts));
                cautions.any(|caution| caution.text.contains("alar slope is the limit, not the iliac cortical density"))
            };
            assert!(shown(true) && !shown(false), "{}: {id}", pathway.id);
        }
    }
}

#[test]
fn all_three_views_are_judged_before_the_joint_is_passed_and_at_final_depth() {
    for pathway in both() {
        for id in ["pin-at-joint", "pin-final"] {
            let check = pathway.steps().flat_map(|(_, step)| &step.checks).find(|check| check.id == id).unwrap();
            assert!(matches!(&check.ask, CheckKind::Pin { views, .. } if views.len() == 3), "{}: {id}", pathway.id);
            assert!(check.held);
        }
    }
}

#[test]
fn the_skin_is_cut_only_behind_the_time_out() {
    for pathway in both() {
        let cut = |step: &Step| step.checks.iter().any(|check| check.marks == Some(Mark::Incision));
        let cut = pathway.steps().position(|(_, step)| cut(step)).unwrap();
        let (time_out, step) = pathway.step("time-out").unwrap();
        assert!(time_out + 1 == cut && step.gate.as_ref().is_some_and(|gate| gate.release.len() == 2));
    }
}

#[test]
fn every_way_to_stop_has_a_short_list() {
    for pathway in both() {
        for (name, list) in pathway.stops.named() {
            assert!((3..=6).contains(&list.checks.len()), "{}: {name}", pathway.id);
        }
    }
}

/// Labels are in sentence case and end without a full stop.
#[test]
fn labels_are_short_and_end_without_a_full_stop() {
    for pathway in both() {
        let steps = pathway.steps().flat_map(|(phase, step)| [&phase.title, &step.title]);
        let lists = pathway.stops.named().map(|(_, list)| list);
        let checks = pathway.steps().flat_map(|(_, step)| &step.checks);
        let checks: Vec<_> = checks.chain(lists.iter().flat_map(|list| &list.checks)).collect();
        let texts = checks.iter().map(|check| &check.text);
        for text in steps.chain(texts) {
            assert!(!text.ends_with('.') && text.starts_with(char::is_uppercase), "{text}");
        }
    }
}

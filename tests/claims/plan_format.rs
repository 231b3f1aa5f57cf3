//! The plan document: format 1 as it was released, and what format 2 adds.

use brimline::anatomy;
use brimline::eligibility::{self, Confirmed};
use brimline::plan::{self, Plan};
use brimline::units::Side;
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};

const V1: &[u8] = include_bytes!("../vectors/plan/v1.json");
const V2: &[u8] = include_bytes!("../vectors/plan/v2.json");

fn read(bytes: &[u8]) -> Plan {
    plan::read(bytes).expect("a frozen sample")
}

/// [R-PLAN-1] The frozen sample of format 1 is read and written back member for member.
#[test]
fn format_1_stays_readable_and_says_the_same() {
    let plan = read(V1);
    assert_eq!(plan.brimline_plan, 1);
    assert!(plan.eligibility.is_none() && plan.anatomy.is_none() && plan.tools.is_empty() && plan.graft.is_empty());
    assert_eq!((plan.label.as_str(), plan.views.len(), plan.cautions.len()), ("D-02", 3, 2));
    let written = serde_json::to_value(&plan).expect("a document");
    let mut original: Value = serde_json::from_slice(V1).expect("JSON");
    original["views"][0]["tilt_deg"] = json!(0.0);
    assert_eq!(written, original);
}

/// [R-PLAN-1]
#[test]
fn format_2_is_read_and_written_back_member_for_member() {
    let plan = read(V2);
    let written = serde_json::to_value(&plan).expect("a document");
    assert_eq!(written, serde_json::from_slice::<Value>(V2).expect("JSON"));
    assert_eq!(read(written.to_string().as_bytes()), plan);
}

/// [R-PLAN-2]
#[test]
fn members_of_format_2_are_refused_in_a_document_that_says_1() {
    let whole: Value = serde_json::from_slice(V2).expect("JSON");
    for member in ["eligibility", "anatomy", "tools", "graft"] {
        let mut one: Value = serde_json::from_slice(V1).expect("JSON");
        one[member] = whole[member].clone();
        let said = plan::read(one.to_string().as_bytes()).expect_err(member).to_string();
        assert_eq!(said, format!("{member}: belongs to format 2, and the document says 1"));
    }
}

/// A change to the sample, and how its refusal begins.
type Wrong = (&'static str, fn(&mut Value));

/// [R-PLAN-2]
#[test]
fn what_is_not_plausible_is_named_with_its_place() {
    let wrong: [Wrong; 17] = [
        ("eligibility.policy: 1 to", |plan| plan["eligibility"]["policy"] = "".into()),
        ("eligibility.facts.sides[0].blocks[1].relief_percent: 101", |plan| {
            plan["eligibility"]["facts"]["sides"][0]["blocks"][1]["relief_percent"] = 101.into();
        }),
        ("eligibility.facts.sides[0].tests[1].test: stands twice", |plan| {
            plan["eligibility"]["facts"]["sides"][0]["tests"][1]["test"] = "distraction".into();
        }),
        ("eligibility.facts.failed_care_months: -1", |plan| {
            plan["eligibility"]["facts"]["failed_care_months"] = json!(-1);
        }),
        ("eligibility.facts.prior_percent: the first", |plan| {
            plan["eligibility"]["facts"]["prior_percent"] = json!([30, 15]);
        }),
        ("eligibility.facts.smoker: unknown field", |plan| plan["eligibility"]["facts"]["smoker"] = true.into()),
        ("anatomy.midline.s1_endplate.deg: 91", |plan| plan["anatomy"]["midline"]["s1_endplate"]["deg"] = 91.into()),
        ("anatomy.sides[0].s1_axial.plus_minus_deg: -1", |plan| {
            plan["anatomy"]["sides"][0]["s1_axial"]["plus_minus_deg"] = json!(-1);
        }),
        ("anatomy.sides[0].corridors[1].level: stands twice", |plan| {
            plan["anatomy"]["sides"][0]["corridors"][1]["level"] = "S1".into();
        }),
        ("anatomy.sides[0].foramina: 9", |plan| plan["anatomy"]["sides"][0]["foramina"] = 9.into()),
        ("anatomy.sides[0].readers[1].reader: stands twice", |plan| {
            plan["anatomy"]["sides"][0]["readers"][1]["reader"] = "surgeon".into();
        }),
        ("anatomy.sides[1].side: stands twice", |plan| {
            let side = plan["anatomy"]["sides"][0].clone();
            plan["anatomy"]["sides"].as_array_mut().expect("a list").push(side);
        }),
        ("tools[1].diameter_mm: 40", |plan| plan["tools"][1]["diameter_mm"] = 40.into()),
        ("graft[0].packing_factor: 0", |plan| plan["graft"][0]["packing_factor"] = 0.into()),
        ("graft[0].cavity[0].passes: 0", |plan| plan["graft"][0]["cavity"][0]["passes"] = 0.into()),
        ("graft[0].harvest[0].inner_diameter_mm: what", |plan| {
            plan["graft"][0]["harvest"][0]["inner_diameter_mm"] = json!(10.5);
        }),
        ("graft[1].side: stands twice", |plan| {
            let graft = plan["graft"][0].clone();
            plan["graft"].as_array_mut().expect("a list").push(graft);
        }),
    ];
    for (begins, change) in wrong {
        let mut document: Value = serde_json::from_slice(V2).expect("JSON");
        change(&mut document);
        let said = plan::read(document.to_string().as_bytes()).expect_err(begins).to_string();
        assert!(said.starts_with(begins) && !said.contains('\n'), "wanted {begins}, said {said}");
    }
}

#[test]
fn margins_run_from_the_largest_tool_of_the_side() {
    let plan = read(V2);
    assert_eq!(plan.largest_tool_mm(Side::Right), Some(10.5), "the drill is wider than the implant");
    assert_eq!(plan.largest_tool_mm(Side::Left), None, "nothing is planned there");
    assert_eq!(read(V1).largest_tool_mm(Side::Right), Some(10.0));
}

#[test]
fn view_targets_start_from_what_was_measured_and_from_nothing_else() {
    let inputs = read(V2).view_inputs(Side::Right);
    assert_eq!(inputs.midline.s1_anterior_cortex.map(|angle| angle.deg), Some(27.0));
    assert_eq!(inputs.anterior_ala.map(|angle| angle.deg), Some(51.0));
    assert_eq!(read(V2).view_inputs(Side::Left).anterior_ala, None, "one side does not stand for the other");
    assert_eq!(read(V1).view_inputs(Side::Right).midline, anatomy::Midline::default());
}

fn kept(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/plan").join(name)
}

/// Words as they are printed; `BRIMLINE_UPDATE` writes them anew, and they are read before they are committed.
fn same_words(name: &str, words: &str) {
    if std::env::var_os("BRIMLINE_UPDATE").is_some() {
        fs::write(kept(name), words).expect("written");
    }
    assert_eq!(words, fs::read_to_string(kept(name)).expect("the kept words"), "{name}");
}

/// [R-ELIGIBILITY-1]
#[test]
fn the_words_of_a_whole_plan_are_those_that_were_read_over() {
    let plan = read(V2);
    let indication = plan.eligibility.as_ref().expect("eligibility");
    let mut words = String::new();
    for policy in eligibility::policies() {
        let judged = eligibility::judge(&policy.id, &indication.facts, Side::Right, &Confirmed::new());
        words += &eligibility::text(&judged.expect("a built-in policy"));
        words += "\n";
    }
    same_words("v2.eligibility.txt", &words);
    same_words("v2.anatomy.txt", &anatomy::text(plan.anatomy.as_ref().expect("anatomy")));
    same_words("v2.graft.txt", &plan.graft[0].text());
}

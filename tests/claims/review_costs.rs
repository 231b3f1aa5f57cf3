//! What steps and views cost, by the reports that were laid on the cases; teams and outcomes as narrowings.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::review_world::{Site, word};
use super::synthetic::{Model, Planted, records, roster};
use brimline::case::Outcome;
use brimline::record::SignedRecord;
use brimline::review::{
    Asked, Cache, ChartName, CostFigures, Filter, Group, Narrow, QuantileType, Stream, check_records, draw, signals,
    summary,
};
use std::collections::BTreeMap;

const CASES: usize = 90;
/// Sums of numbers of one sign over a few dozen terms, compared with sums in another order.
const ROUNDING: f64 = 1e-9;

fn reported(seed: u64) -> Vec<Vec<u8>> {
    records(&Model { reported: true, ..Model::steady(seed, CASES) })
}

fn cache(files: &[Vec<u8>]) -> Cache {
    Cache::of(check_records(files, &roster(), 2).iter().map(|one| one.as_ref().unwrap().row()))
}

/// Kerma-area product and events of each case by machine, size and what `named` says, from the records themselves.
type Told = BTreeMap<(String, String, String), Vec<(f64, f64)>>;

fn told(files: &[Vec<u8>], named: impl Fn(&SignedRecord, usize) -> Option<String>) -> Told {
    let mut all = Told::new();
    for file in files {
        let signed = SignedRecord::read(file).unwrap();
        let document = signed.document();
        let brief = document.radiation.reports[0].reconciled.as_ref().unwrap();
        if brief.ambiguous || document.outcome != Outcome::Finished {
            continue;
        }
        let machine = document.c_arm.c_arm_name.value().unwrap().clone();
        let size = match document.patient.patient_weight_kg.value().unwrap() {
            kg if *kg < 60.0 => "below 60 kg",
            kg if *kg < 80.0 => "60 to 80 kg",
            kg if *kg < 100.0 => "80 to 100 kg",
            _ => "100 kg and more",
        };
        let mut sums: BTreeMap<String, (f64, f64)> = BTreeMap::new();
        for (at, row) in brief.rows.iter().enumerate() {
            let Some(name) = named(&signed, at) else { continue };
            let sum = sums.entry(name).or_default();
            sum.0 += row.kerma_area_product.unwrap().0;
            sum.1 += f64::from(row.events);
        }
        for (name, sum) in sums {
            all.entry((machine.clone(), size.to_owned(), name)).or_default().push(sum);
        }
    }
    all
}

/// The middle of some values, by sorting them.
fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let at = values.len() / 2;
    if values.len() % 2 == 1 { values[at] } else { f64::midpoint(values[at - 1], values[at]) }
}

fn same(found: &[CostFigures], told: &Told) {
    assert_eq!(found.len(), told.len());
    for one in found {
        let values = &told[&(one.machine.clone(), one.size.clone(), one.title.clone())];
        assert_eq!(one.shots.n, values.len(), "{one:?}");
        let dose = one.kerma_area_product.unwrap();
        let kerma = one.air_kerma.unwrap();
        assert!((kerma.largest - 4.0 * dose.largest).abs() < ROUNDING, "{one:?}");
        let Some(of) = dose.middle else {
            assert!(values.len() < 5, "{one:?}");
            continue;
        };
        assert!((of.median - middle(values.iter().map(|(dose, _)| *dose).collect())).abs() < ROUNDING, "{one:?}");
        let shots = one.shots.middle.unwrap().median;
        assert!((shots - middle(values.iter().map(|(_, shots)| *shots).collect())).abs() < ROUNDING, "{one:?}");
    }
}

/// [R-REVIEW-10]
#[test]
fn dose_of_steps_and_views_is_what_the_reconciled_reports_say_and_pools_no_machine() {
    let files = reported(71);
    let found = summary(&cache(&files), &Filter::of(Stream::LIVE), &[Group::All], QuantileType::Seven);
    let by_step = told(&files, |signed, at| {
        let document = signed.document();
        let tag = &document.radiation.reports[0].reconciled.as_ref().unwrap().rows[at].tag;
        let place = document.places.iter().find(|entry| entry.place.step == tag.step)?;
        Some(place.title.clone())
    });
    let by_view = told(&files, |signed, at| {
        signed.document().radiation.reports[0].reconciled.as_ref().unwrap().rows[at].tag.view.clone()
    });
    assert!(by_step.len() > 20 && by_view.len() > 10, "{} and {}", by_step.len(), by_view.len());
    same(&found.step_costs, &by_step);
    same(&found.view_costs, &by_view);
}

/// [R-REVIEW-10] [R-REVIEW-4]
#[test]
fn the_charts_of_cost_say_where_they_come_from_and_what_is_missing() {
    let asked = Asked::of(Stream::LIVE);
    for name in [ChartName::StepCost, ChartName::ViewCost] {
        let chart = draw(&cache(&reported(72)), name, &asked);
        assert!(chart.note.contains("report was laid on each case"), "{}", chart.note);
        assert!(chart.table.len() > 5, "{}", chart.table.text());
        assert!(chart.scene.elements.len() > chart.scene.head.elements + 10);
        let none = draw(&cache(&records(&Model::steady(73, 20))), name, &asked);
        assert!(none.note.contains("no dose report"), "{}", none.note);
        assert_eq!(none.scene.elements.len(), none.scene.head.elements);
    }
}

/// [R-REVIEW-10]
#[test]
fn the_summary_prints_what_steps_and_views_cost() {
    let site = Site::new();
    let folder = site.write("in", &reported(74));
    site.says(&["review", "import", word(&folder)]);
    let told: serde_json::Value = serde_json::from_str(&site.says(&["review", "summary", "--json"]).out).unwrap();
    for what in ["step_costs", "view_costs"] {
        let first = &told[what][0];
        assert!(first["kerma_area_product_gy_cm2"]["n"].as_u64().unwrap() > 5, "{what}: {first}");
        assert!(first["machine"].is_string() && first["size"].is_string(), "{first}");
    }
    let text = site.says(&["review", "summary"]).out;
    assert!(text.contains("median Gy·cm²"), "{text}");
}

/// [R-REVIEW-2]
#[test]
fn no_signal_is_about_one_team_or_one_person_and_nothing_passed_over_is_counted_for_them() {
    let planted = Some(Planted { step: "pin-in", from: 50, factor: 3.0 });
    let cache = cache(&records(&Model { planted, ..Model::steady(75, 140) }));
    let all = Filter::of(Stream::LIVE);
    assert!(!signals(&cache, &Asked::of(Stream::LIVE)).is_empty(), "there is something to see");
    for by in [Narrow::Team, Narrow::Surgeon] {
        for (value, cases) in cache.choices(&all, by) {
            assert!(cases > 30, "{value}: {cases}");
            let filter = all.narrowed(by, Some(&value)).unwrap();
            let asked = Asked { filter: filter.clone(), ..Asked::of(Stream::LIVE) };
            assert_eq!(signals(&cache, &asked), [], "{by:?}");
            for name in ChartName::ALL {
                assert_eq!(draw(&cache, name, &asked).signals, [], "{name}");
            }
            let found = summary(&cache, &filter, &[Group::All], QuantileType::Seven);
            assert_eq!(found.cases, cases);
            assert!(found.steps.iter().all(|step| step.care.is_none()), "{by:?}");
        }
    }
}

/// [R-REVIEW-2]
#[test]
fn a_team_is_called_alike_in_every_index_and_by_nobodys_name() {
    let (one, other) = (cache(&records(&Model::steady(76, 30))), cache(&records(&Model::steady(77, 50))));
    let teams = |cache: &Cache| -> Vec<String> {
        let mut names: Vec<_> =
            cache.choices(&Filter::of(Stream::LIVE), Narrow::Team).into_iter().map(|(name, _)| name).collect();
        names.sort();
        names
    };
    assert_eq!(teams(&one), teams(&other));
    assert_eq!(teams(&one).len(), 2);
    for person in roster().people() {
        assert!(teams(&one).iter().all(|team| !team.contains(person.name()) && !team.contains(&person.kid().0)));
    }
}

/// [R-REVIEW-2]
#[test]
fn an_outcome_is_a_narrowing_within_its_stream() {
    let site = Site::new();
    let folder = site.write("in", &records(&Model::steady(78, 130)));
    site.says(&["review", "import", word(&folder)]);
    let told = |words: &[&str]| -> serde_json::Value {
        let line = [&["review", "summary", "--json"], words].concat();
        serde_json::from_str(&site.says(&line).out).unwrap()
    };
    assert_eq!(told(&["--outcome", "abandoned"])["stream"], "stopped cases");
    assert_eq!(told(&["--outcome", "abandoned"])["cases"], told(&["--ended", "stopped"])["cases"]);
    assert_eq!(told(&["--outcome", "cancelled"])["cases"], 0);
    assert_eq!(told(&["--outcome", "void"])["cases"], told(&["--ended", "void"])["cases"]);
    assert_eq!(told(&["--outcome", "finished"])["cases"], told(&[])["cases"]);
    let team = told(&["--by", "team"])["figures"]
        .as_array()
        .unwrap()
        .iter()
        .find_map(|line| (line["group"] == "team").then(|| line["value"].as_str().unwrap().to_owned()));
    let one = told(&["--team", &team.unwrap()]);
    assert!(one["cases"].as_u64().unwrap() > 30 && one["signals"] == serde_json::json!([]), "{one}");
    let unknown = site.says(&["review", "summary", "--team", "team 000000"]);
    assert_eq!((unknown.code, unknown.err.lines().count()), (2, 1), "{unknown:?}");
}

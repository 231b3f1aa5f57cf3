//! Which cases are looked at: every value with its cases, nothing about one person but shots and dose, one case beside
//! the others.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::review_world::{Site, word};
use super::synthetic::{Model, Swapped, records, records_with, roster};
use brimline::review::{
    Asked, Cache, ChartName, Filter, Narrow, Quantity, Stream, check_records, draw, draw_case, summary,
};
use brimline::review::{Group, QuantileType};

fn cache(files: &[Vec<u8>]) -> Cache {
    let mut cache = Cache::default();
    for one in check_records(files, &roster(), 2) {
        cache.push(one.unwrap().row());
    }
    cache
}

/// [R-REVIEW-2]
#[test]
fn each_narrowing_divides_the_cases_and_its_values_say_how_many() {
    let cache = cache(&records(&Model::steady(41, 60)));
    let all = Filter::of(Stream::LIVE);
    let cases = all.cases(&cache).len();
    for by in Narrow::ALL {
        let choices = cache.choices(&all, by);
        assert!(!choices.is_empty(), "{by:?}");
        assert_eq!(choices.iter().map(|(_, n)| n).sum::<usize>(), cases, "{by:?}: {choices:?}");
        for (value, n) in &choices {
            let narrowed = all.narrowed(by, Some(value)).unwrap();
            assert_eq!(narrowed.value(by).as_deref(), Some(value.as_str()), "{by:?}");
            let left = narrowed.cases(&cache).len();
            match by {
                // A month stands for everything from it on, or up to it.
                Narrow::From | Narrow::To => assert!(left >= *n, "{by:?} {value}"),
                _ => assert_eq!(left, *n, "{by:?} {value}"),
            }
            // The values offered are those without this narrowing.
            assert_eq!(cache.choices(&narrowed, by), choices);
        }
        assert_eq!(all.narrowed(by, None).unwrap(), all);
    }
    for (by, word) in
        [(Narrow::Size, "huge"), (Narrow::Side, "front"), (Narrow::From, "2031-13"), (Narrow::Implants, "-1")]
    {
        assert_eq!(all.narrowed(by, Some(word)), None, "{by:?} {word}");
    }
}

/// [R-REVIEW-2]
#[test]
fn what_was_passed_over_is_counted_for_nobody() {
    let site = Site::new();
    let files = records(&Model::steady(42, 20));
    let folder = site.write("in", &files);
    site.says(&["review", "import", word(&folder)]);
    let kid = super::synthetic::key(brimline::people::Role::Surgeon, 0).person().0;
    let one = ["review", "summary", "--json", "--surgeon", kid.as_str()];
    let told: serde_json::Value = serde_json::from_str(&site.says(&one).out).unwrap();
    assert!(told["cases"].as_u64().unwrap() > 5);
    for step in told["steps"].as_array().unwrap() {
        for what in ["checks", "gates_overridden", "not_done", "late", "burst"] {
            assert!(step[what].is_null(), "{what}: {step}");
        }
    }
    let chart = site.says(&["review", "chart", "care", "--surgeon", kid.as_str()]);
    assert!(chart.out.contains("never for one person or team"), "{}", chart.out);
    assert!(!chart.out.contains("of checks"), "no table either: {}", chart.out);
}

#[test]
fn a_word_that_names_no_value_is_bad_input() {
    for words in [["--size", "large"], ["--side", "up"], ["--sacrum", "odd"], ["--implants", "many"]] {
        let line = ["brimline", "summary"].into_iter().chain(words);
        assert!(super::review_world::parses(line).is_err(), "{words:?}");
    }
    let good =
        ["brimline", "summary", "--size", "60 to 80 kg", "--side", "left", "--sacrum", "not judged", "--implants", "2"];
    assert!(super::review_world::parses(good).is_ok());
}

/// [R-REVIEW-4]
#[test]
fn one_case_stands_beside_what_is_usual_with_all_of_its_shots() {
    let files = records(&Model::steady(43, 30));
    let (cache, asked) = (cache(&files), Asked::of(Stream::LIVE));
    for file in files.iter().take(5) {
        let signed = brimline::record::SignedRecord::read(file).unwrap();
        let chart = draw_case(&cache, &asked, &signed.digest()).unwrap();
        let shots = |cell: &str| cell.split(" + ").map(|n| n.parse::<u32>().unwrap()).sum::<u32>();
        let sum: u32 = chart.table.rows().map(|row| shots(&row[1].to_string())).sum();
        assert_eq!(sum, signed.document().shots.total, "{}", chart.table.text());
        assert!(chart.title.starts_with("Case 00"), "{}", chart.title);
        assert!(chart.scene.elements.len() > chart.scene.head.elements);
    }
    assert!(draw_case(&cache, &asked, &"0".repeat(64)).is_none());
}

/// [R-REVIEW-3]
///
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2: the upper limit of a moving range of two
/// is 3.267 of the mean; computed here from the table of the chart.
#[test]
fn a_change_of_dose_is_marked_beyond_the_limit_of_moving_ranges_and_is_no_signal_alone() {
    let cache = cache(&records(&Model::steady(44, 90)));
    let chart = draw(&cache, ChartName::Dose, &Asked::of(Stream::LIVE));
    let mut groups: std::collections::BTreeMap<(String, String), Vec<Vec<String>>> = std::collections::BTreeMap::new();
    for row in chart.table.rows() {
        let row: Vec<String> = row.iter().map(ToString::to_string).collect();
        groups.entry((row[1].clone(), row[2].clone())).or_default().push(row);
    }
    let mut judged = 0;
    for rows in groups.values().filter(|rows| rows.len() >= 8) {
        let logs: Vec<f64> = rows.iter().map(|row| row[3].parse::<f64>().unwrap().log10()).collect();
        let ranges: Vec<f64> = logs.windows(2).map(|two| (two[1] - two[0]).abs()).collect();
        let upper = 3.267 * ranges.iter().sum::<f64>() / ranges.len() as f64;
        assert_eq!(rows[0][6], "–");
        for (row, range) in rows[1..].iter().zip(ranges) {
            // The table holds three digits of each dose.
            if (range - upper).abs() > 0.01 {
                assert_eq!(row[6].ends_with(", large"), range > upper, "{row:?}, {range} of {upper}");
                judged += 1;
            }
        }
    }
    assert!(judged > 50, "{judged}");
    assert!(chart.signals.iter().all(|signal| signal.title.starts_with("Dose of case")), "{:?}", chart.signals);
}

/// [R-REVIEW-2]
#[test]
fn counters_of_two_machines_are_never_subtracted() {
    let dose = |swapped: Swapped| {
        let cache = cache(&records_with(&Model::steady(45, 6), swapped));
        let found = summary(&cache, &Filter::of(Stream::LIVE), &[Group::All], QuantileType::Seven);
        found
            .lines
            .iter()
            .filter(|line| line.quantity == Quantity::KermaAreaProduct)
            .map(|line| line.figure.n)
            .sum::<usize>()
    };
    assert_eq!((dose(Swapped::Never), dose(Swapped::HalfWay)), (6, 0));
}

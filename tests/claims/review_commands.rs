//! `review` and `store` on a real store: import, rebuild, figures, charts, report, exports, backup.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::Counted;
use super::review_world::{Site, word};
use super::synthetic::{Model, key, records, roster};
use brimline::people::Role;
use brimline::record::{self, AddendumKind, Meaning, SignedRecord, Who};
use brimline::review::{ChartName, Index};
use serde_json::Value;

fn model(cases: usize) -> Model {
    Model::steady(11, cases)
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|fault| panic!("{fault}: {text}"))
}

/// [R-REVIEW-1]
#[test]
fn import_takes_sound_records_once_and_names_a_bad_one() {
    let site = Site::new();
    let mut files = records(&model(6));
    files.push(files[0].clone());
    let mut bad = files[1].clone();
    let at = bad.len() / 2;
    bad[at] = if bad[at] == b'A' { b'B' } else { b'A' };
    files.push(bad);
    let folder = site.write("in", &files);
    std::fs::write(folder.join("plan.json"), b"{\"brimline_plan\": 1}").unwrap();
    let answer = site.says(&["review", "import", word(&folder)]);
    assert_eq!(answer.code, 1, "{answer:?}");
    assert_eq!(answer.out.trim(), "6 new, 0 extended, 1 known already, 1 left out");
    assert!(answer.err.contains("00007.json: ") && answer.err.lines().count() == 1, "{}", answer.err);
    let again = json(&site.says(&["review", "import", word(&folder), "--json"]).out);
    assert_eq!((&again["new"], &again["known"], &again["passed_over"]), (&0.into(), &7.into(), &1.into()));
    let equal = site.says(&["review", "rebuild"]);
    assert_eq!((equal.code, equal.out.trim()), (0, "equal: 6 records verified, every row is what its record says"));
}

/// [R-REVIEW-1]
#[test]
fn two_files_of_one_payload_unite_and_an_addendum_joins_its_record() {
    let site = Site::new();
    let whole = records(&model(1)).remove(0);
    let signed = SignedRecord::read(&whole).unwrap();
    let digest = signed.digest();
    let bare = record::redact_all(signed).unwrap().to_bytes();
    let surgeon = key(Role::Surgeon, 0);
    let about = AddendumKind::LateDoseReport {
        kerma_area_product_gy_cm2: Some(2.5),
        reference_air_kerma_mgy: Some(61.0),
        irradiation_events: Some(30),
        fluoroscopy_s: Some(48.0),
    };
    let who = Who { role: Role::Surgeon, kid: surgeon.person() };
    let late = record::addend(&digest, 9_000_000, about, None, vec![who], &Counted::default()).unwrap();
    let late = late.sign(&surgeon, Role::Surgeon, Meaning::Responsibility, 9_000_000).unwrap().to_bytes();
    // The addendum comes first and waits for its record.
    let folder = site.write("in", &[late, bare]);
    let first = site.says(&["review", "import", word(&folder)]);
    assert_eq!((first.code, first.out.trim()), (0, "1 new, 1 extended, 0 known already, 0 left out"), "{first:?}");
    let withheld = json(&site.says(&["review", "summary", "--by", "period", "--json"]).out);
    assert!(withheld.to_string().contains("not disclosed"), "{withheld}");
    let more = site.write("more", &[whole]);
    let second = site.says(&["review", "import", word(&more)]);
    assert_eq!(second.out.trim(), "0 new, 1 extended, 0 known already, 0 left out");
    let summary = json(&site.says(&["review", "summary", "--by", "period", "--json"]).out);
    let figures = summary["figures"].as_array().unwrap();
    let product = figures.iter().find(|line| line["quantity"] == "kerma_area_product_gy_cm2").unwrap();
    assert_eq!(product["figure"]["smallest"], 2.5, "the late report holds over the readings");
    assert!(figures.iter().any(|line| line["value"] == "2031-01"), "{figures:?}");
    assert_eq!(site.says(&["review", "rebuild"]).code, 0);
}

#[test]
fn an_addendum_without_its_record_is_left_out() {
    let site = Site::new();
    let surgeon = key(Role::Surgeon, 0);
    let who = Who { role: Role::Surgeon, kid: surgeon.person() };
    let about = AddendumKind::Correction { seq: 3 };
    let late = record::addend(&"e".repeat(64), 1, about, None, vec![who], &Counted::default()).unwrap();
    let late = late.sign(&surgeon, Role::Surgeon, Meaning::Responsibility, 1).unwrap().to_bytes();
    let folder = site.write("in", &[late]);
    let answer = site.says(&["review", "import", word(&folder)]);
    assert_eq!(answer.code, 1);
    assert!(answer.err.contains("is not in the store"), "{}", answer.err);
}

/// [R-REVIEW-1]
#[test]
fn rebuild_finds_a_row_that_says_something_else_and_puts_it_right() {
    let site = Site::new();
    let folder = site.write("in", &records(&model(5)));
    assert_eq!(site.says(&["review", "import", word(&folder)]).code, 0);
    let index = site.store().join("review/index.sqlite");
    let connection = rusqlite::Connection::open(&index).unwrap();
    let changed = connection.execute("UPDATE case_row SET bytes = (SELECT max(bytes) FROM case_row)", []).unwrap();
    assert_eq!(changed, 5);
    let compared = site.says(&["review", "rebuild", "--compare-only"]);
    assert_eq!((compared.code, compared.err.lines().count()), (1, 4), "{compared:?}");
    assert_eq!(site.says(&["store", "check"]).code, 1);
    assert_eq!(site.says(&["review", "rebuild"]).code, 1);
    assert_eq!(site.says(&["review", "rebuild"]).code, 0);
    connection.execute("UPDATE case_row SET bytes = x'0102'", []).unwrap();
    assert_eq!(site.says(&["review", "summary"]).code, 3);
    assert_eq!(site.says(&["review", "rebuild"]).code, 1);
    assert_eq!(site.says(&["review", "summary"]).code, 0);
}

#[test]
fn a_newer_index_is_refused_and_left_untouched() {
    let site = Site::new();
    let folder = site.write("in", &records(&model(1)));
    site.says(&["review", "import", word(&folder)]);
    let index = site.store().join("review/index.sqlite");
    rusqlite::Connection::open(&index).unwrap().execute_batch("PRAGMA user_version = 99").unwrap();
    let answer = site.says(&["review", "import", word(&folder)]);
    assert_eq!(answer.code, 2, "{answer:?}");
    assert!(answer.err.contains("version 99"), "{}", answer.err);
}

/// [R-REVIEW-2]
#[test]
fn live_stopped_void_and_rehearsed_cases_never_mix() {
    let site = Site::new();
    let live = site.write("live", &records(&model(61)));
    let rehearsed = records(&Model { kind: brimline::case::CaseKind::Rehearsal, seed: 12, ..model(7) });
    let rehearsed = site.write("rehearsed", &rehearsed);
    assert_eq!(site.says(&["review", "import", word(&live), word(&rehearsed)]).code, 0);
    let cases = |words: &[&str]| {
        let words: Vec<&str> = ["review", "summary", "--json"].iter().chain(words).copied().collect();
        json(&site.says(&words).out)["cases"].as_u64().unwrap()
    };
    // Of 61 live cases number 39 is abandoned and number 59 void.
    assert_eq!(cases(&[]), 59);
    assert_eq!((cases(&["--ended", "stopped"]), cases(&["--ended", "void"]), cases(&["--rehearsals"])), (1, 1, 7));
    let text = site.says(&["review", "summary"]).out;
    assert!(text.contains("apart from these: 1 stopped case, 1 void case, 7 rehearsals"), "{text}");
}

/// [R-REVIEW-2]
#[test]
fn few_cases_have_no_percentile_and_dose_stands_by_machine_and_size() {
    let site = Site::new();
    let folder = site.write("in", &records(&model(30)));
    site.says(&["review", "import", word(&folder)]);
    let summary = json(&site.says(&["review", "summary", "--json", "--by", "implants"]).out);
    let mut seen = 0;
    for line in summary["figures"].as_array().unwrap() {
        let (figure, dose) = (&line["figure"], line["quantity"].as_str().unwrap().contains("kerma"));
        assert_eq!(dose, line["machine"].is_string() && line["size"].is_string(), "{line}");
        let (n, middle) = (figure["n"].as_u64().unwrap(), &figure["middle"]);
        assert_eq!(middle.is_null(), n < 5, "{line}");
        if (5..11).contains(&n) {
            assert!(middle["upper_quartile_within"].is_null(), "{line}");
        }
        seen += usize::from(n < 5) + usize::from(n >= 11);
    }
    assert!(seen > 4, "both kinds were there");
}

/// [R-REVIEW-2]
#[test]
fn what_was_passed_over_is_counted_by_step_as_the_records_have_it() {
    let site = Site::new();
    let files = records(&model(30));
    let folder = site.write("in", &files);
    site.says(&["review", "import", word(&folder)]);
    let (mut not_done, mut late, mut burst, mut overridden) = (0, 0, 0, 0);
    for file in &files {
        let signed = SignedRecord::read(file).unwrap();
        overridden += signed.document().overrides.len();
        for done in
            signed.document().places.iter().flat_map(|place| &place.checks).filter_map(|check| check.done.as_ref())
        {
            not_done += usize::from(done.answer == record::RecordedAnswer::NotDone);
            late += usize::from(done.late);
            burst += usize::from(done.burst);
        }
    }
    assert!(not_done > 0 && late > 0 && burst > 0 && overridden > 0, "{not_done} {late} {burst} {overridden}");
    let summary = json(&site.says(&["review", "summary", "--json"]).out);
    let sum = |what: &str| -> u64 {
        summary["steps"].as_array().unwrap().iter().map(|step| step[what].as_u64().unwrap()).sum()
    };
    let all = ["not_done", "late", "burst", "gates_overridden"].map(|what| usize::try_from(sum(what)).unwrap());
    assert_eq!(all, [not_done, late, burst, overridden]);
}

/// [R-REVIEW-4]
#[test]
fn every_chart_is_drawn_as_svg_and_png_with_its_table() {
    let site = Site::new();
    let folder = site.write("in", &records(&Model { gain: 1.0, ..model(70) }));
    site.says(&["review", "import", word(&folder)]);
    for name in ChartName::ALL {
        let (svg, png) = (site.path(&format!("{name}.svg")), site.path(&format!("{name}.png")));
        assert_eq!(site.says(&["review", "chart", name.word(), "-o", word(&svg)]).code, 0, "{name}");
        assert_eq!(site.says(&["review", "chart", name.word(), "-o", word(&png)]).code, 0, "{name}");
        let text = std::fs::read_to_string(svg).unwrap();
        assert!(text.starts_with("<svg") && text.contains("<title>") && text.ends_with("</svg>\n"), "{name}");
        assert!(std::fs::read(png).unwrap().starts_with(b"\x89PNG"), "{name}");
        let table = site.says(&["review", "chart", name.word()]).out;
        assert!(table.lines().count() > 2, "{table}");
    }
    let wrong = site.says(&["review", "chart", "steps", "-o", word(&site.path("a.gif"))]);
    assert_eq!((wrong.code, site.path("a.gif").exists()), (2, false));
    let unknown = site.says(&["review", "chart", "steps", "--machine", "Arm Z"]);
    assert_eq!((unknown.code, unknown.err.lines().count()), (2, 1), "{unknown:?}");
}

/// [R-REVIEW-4]
#[test]
fn a_report_is_the_same_bytes_twice_and_a_month_without_cases_has_none() {
    let site = Site::new();
    let folder = site.write("in", &records(&model(40)));
    site.says(&["review", "import", word(&folder)]);
    let (one, two) = (site.path("one.pdf"), site.path("two.pdf"));
    assert_eq!(site.says(&["review", "report", "2031-02", "-o", word(&one)]).code, 0);
    assert_eq!(site.says(&["review", "report", "2031-02", "-o", word(&two)]).code, 0);
    let bytes = std::fs::read(one).unwrap();
    assert!(bytes.starts_with(b"%PDF-") && bytes == std::fs::read(two).unwrap());
    let none = site.says(&["review", "report", "2030-02", "-o", word(&site.path("none.pdf"))]);
    assert_eq!((none.code, site.path("none.pdf").exists()), (1, false));
}

/// [R-REVIEW-5]
/// Source: 45 CFR 164.514(b)(2): no date but the year, no age above 89, no place, serial or other unique number.
#[test]
fn an_export_holds_nothing_that_safe_harbor_names() {
    let site = Site::new();
    let files = records(&model(60));
    let folder = site.write("in", &files);
    site.says(&["review", "import", word(&folder)]);
    let cases = site.says(&["review", "summary", "--csv", "--cases"]).out;
    let figures = site.says(&["review", "summary", "--csv", "--by", "machine", "--by", "site", "--by", "period"]).out;
    assert_eq!(cases.lines().count(), 59);
    for text in [&cases, &figures] {
        for secret in ["Invented", "PN-", "Arm A", "Arm B", "SECRET", "2031-", "T08:", "team 1", "L-04"] {
            assert!(!text.contains(secret), "{secret} in\n{text}");
        }
        for file in &files {
            let digest = SignedRecord::read(file).unwrap().digest();
            assert!(!text.contains(&digest[..8]), "{digest}");
        }
        for role in Role::ALL {
            assert!(!text.contains(&key(role, 0).person().0));
        }
    }
    assert!(cases.contains(",2031,") && figures.contains("machine 1"));
    for line in cases.lines().skip(1) {
        let age = line.split(',').nth(4).unwrap();
        assert!(age == "90+" || age.is_empty() || age.parse::<u8>().is_ok_and(|age| age <= 89), "{line}");
    }
    for line in figures.lines().skip(1) {
        let n = line.split(',').nth(7).unwrap();
        assert!(n.is_empty() || n.parse::<u32>().is_ok_and(|n| n >= 5), "{line}");
    }
    let kept = site.says(&["review", "summary", "--csv", "--by", "period", "--identified"]).out;
    assert!(kept.contains("2031-02") && kept.contains("Arm A"));
}

#[test]
fn the_dictionary_explains_every_column_and_no_other() {
    let known: Vec<&str> = brimline::review::dictionary().iter().map(|entry| entry.0).collect();
    let mut sorted = known.clone();
    sorted.sort_unstable();
    sorted.dedup();
    assert_eq!(sorted.len(), known.len());
    let site = Site::new();
    let folder = site.write("in", &records(&model(8)));
    site.says(&["review", "import", word(&folder)]);
    let text = site.says(&["review", "summary", "--dictionary"]).out;
    for words in [&["--csv"][..], &["--csv", "--cases"]] {
        let words: Vec<&str> = ["review", "summary"].iter().chain(words).copied().collect();
        let columns = site.says(&words).out.lines().next().unwrap().to_owned();
        for column in columns.split(',') {
            assert!(known.contains(&column) && text.contains(column), "{column}");
        }
    }
}

/// [R-REVIEW-6]
#[test]
fn a_backup_is_restored_whole_and_a_changed_one_not_at_all() {
    let site = Site::new();
    let files = records(&model(4));
    let folder = site.write("in", &files);
    site.says(&["review", "import", word(&folder)]);
    let case = site.store().join("cases/one");
    std::fs::create_dir_all(&case).unwrap();
    std::fs::write(case.join("record.json"), &files[0]).unwrap();
    std::fs::write(site.store().join("people/device.secret"), "secret").unwrap();
    let (backup, new) = (site.path("backup"), site.path("new"));
    let made = site.says(&["store", "backup", word(&backup)]);
    assert_eq!(made.code, 0, "{made:?}");
    assert!(!backup.join("people/device.secret").exists());
    assert_eq!(site.says(&["store", "backup", word(&backup)]).code, 2, "not over another");
    let restored = site.in_store(&new, &["store", "restore", word(&backup)]);
    assert_eq!(restored.code, 0, "{restored:?}");
    assert!(restored.out.contains("0 journals, 1 records, 4 rows of the index\nsound"), "{}", restored.out);
    assert_eq!(site.in_store(&new, &["review", "rebuild"]).code, 0);
    let mut bytes = std::fs::read(backup.join("cases/one/record.json")).unwrap();
    bytes[40] ^= 1;
    std::fs::write(backup.join("cases/one/record.json"), bytes).unwrap();
    let refused = site.in_store(&site.path("third"), &["store", "restore", word(&backup)]);
    assert_eq!(refused.code, 1, "{refused:?}");
    assert!(!site.path("third").exists());
}

#[test]
fn what_cannot_be_opened_is_one_line_and_exit_code_three() {
    let site = Site::new();
    let none = site.says(&["review", "summary"]);
    assert_eq!((none.code, none.err.lines().count()), (3, 1), "{none:?}");
    std::fs::create_dir_all(site.store().join("review")).unwrap();
    std::fs::write(site.store().join("review/index.sqlite"), "no database at all, but long enough to be read").unwrap();
    let damaged = site.says(&["review", "summary"]);
    assert_eq!((damaged.code, damaged.err.lines().count()), (3, 1), "{damaged:?}");
    let service = site.says(&["review", "summary", "--index", "nowhere"]);
    assert_eq!((service.code, service.err.lines().count()), (3, 1), "{service:?}");
}

/// [R-REVIEW-1]
#[test]
fn rows_survive_their_bytes_and_damaged_bytes_are_refused() {
    let files = records(&model(3));
    let site = Site::new();
    let folder = site.write("in", &files);
    site.says(&["review", "import", word(&folder)]);
    let path = site.store().join("review/index.sqlite");
    let mut index = brimline::adapters::index_sqlite::SqliteIndex::open(&path, false).unwrap();
    for digest in index.digests().unwrap() {
        let stored = index.get(&digest).unwrap().unwrap();
        let row = stored.row.clone().unwrap();
        let bytes = row.to_bytes();
        assert_eq!(brimline::review::Row::from_bytes(&bytes).unwrap(), row);
        assert_eq!(stored.derived(&roster()).unwrap(), stored);
        for end in 0..bytes.len() {
            assert!(brimline::review::Row::from_bytes(&bytes[..end]).is_err(), "cut at {end}");
        }
        for at in 0..bytes.len() {
            let mut changed = bytes.clone();
            changed[at] ^= 0x80;
            // Whatever it reads as, it never panics.
            let _ = brimline::review::Row::from_bytes(&changed);
        }
    }
}

//! Bad input to the parsers of the core: refused in one line that names the place, before anything is kept.

use brimline::{pathway, plan, settings};
use std::fmt::Debug;

/// The words of a refusal, as one line.
fn refusal<T: Debug, E: std::fmt::Display>(read: Result<T, E>) -> String {
    let words = match read {
        Ok(document) => panic!("read as {document:?}"),
        Err(fault) => fault.to_string(),
    };
    assert!(!words.contains('\n'), "one line: {words}");
    words
}

fn plan_document() -> serde_json::Value {
    serde_json::from_slice(include_bytes!("../fuzz/corpus/plan/whole")).expect("the sample plan")
}

/// Makes a good plan bad.
type Change = fn(&mut serde_json::Value);

fn plan_with(change: impl FnOnce(&mut serde_json::Value)) -> String {
    let mut document = plan_document();
    change(&mut document);
    refusal(plan::read(document.to_string().as_bytes()))
}

#[test]
fn the_sample_documents_are_good() {
    plan::read(include_bytes!("../fuzz/corpus/plan/whole")).expect("the sample plan");
    pathway::read(include_bytes!("../fuzz/corpus/pathway/whole")).expect("the sample pathway");
    settings::read(include_bytes!("../fuzz/corpus/settings/whole")).expect("the sample settings");
}

/// [R-INPUT-1]
#[test]
fn oversized_documents_are_refused_by_size() {
    let over = |max: u64| vec![b' '; usize::try_from(max).expect("fits") + 1];
    assert!(refusal(plan::read(&over(plan::MAX_BYTES))).contains("more than the"));
    assert!(refusal(pathway::read(&over(pathway::MAX_BYTES))).contains("more than the"));
    assert!(refusal(settings::read(&over(settings::MAX_BYTES))).contains("more than the"));
}

/// [R-INPUT-1] Cut anywhere, a document is refused: no half of it reads as a whole.
#[test]
fn every_truncation_is_refused() {
    let plan = include_bytes!("../fuzz/corpus/plan/whole");
    for end in 0..plan.len() {
        refusal(plan::read(&plan[..end]));
    }
    let pathway = include_bytes!("../fuzz/corpus/pathway/whole");
    for end in 0..pathway.len() {
        refusal(pathway::read(&pathway[..end]));
    }
}

/// [R-INPUT-1] Flipped anywhere, a document is read or refused, and nothing else happens.
#[test]
fn no_flipped_bit_makes_a_parser_panic() {
    for (bytes, read) in [
        (include_bytes!("../fuzz/corpus/plan/whole").to_vec(), (|b| drop(plan::read(b))) as fn(&[u8])),
        (include_bytes!("../fuzz/corpus/pathway/whole").to_vec(), |b| drop(pathway::read(b))),
        (include_bytes!("../fuzz/corpus/settings/whole").to_vec(), |b| drop(settings::read(b))),
    ] {
        for bit in 0..bytes.len() * 8 {
            let mut flipped = bytes.clone();
            flipped[bit / 8] ^= 1 << (bit % 8);
            read(&flipped);
        }
    }
}

/// [R-INPUT-3]
#[test]
fn newer_documents_are_left_untouched_by_name() {
    let newer = refusal(plan::read(br#"{"brimline_plan":3,"sides":"another kind"}"#));
    assert_eq!(newer, "brimline_plan is 3, newer than the 2 this program reads; left untouched");
    assert!(refusal(pathway::read(br#"{"brimline_pathway":7}"#)).contains("newer than"));
    assert!(refusal(settings::read(b"brimline_settings = 2\n")).contains("newer than"));
}

/// [R-INPUT-3]
#[test]
fn one_kind_of_document_is_not_taken_for_another() {
    let plan = include_bytes!("../fuzz/corpus/plan/whole");
    assert_eq!(refusal(pathway::read(plan)), "brimline_pathway: missing, so this is not a document of that kind");
    assert!(refusal(settings::read(plan)).starts_with("line 1, "));
}

/// [R-INPUT-2]
#[test]
fn a_wrong_plan_names_the_member() {
    let cases: [(&str, Change); 6] = [
        ("sides[0].side: ", |plan| plan["sides"][0]["side"] = "front".into()),
        ("sides[0].implants[0].length_mm: ", |plan| plan["sides"][0]["implants"][0]["length_mm"] = 4.into()),
        ("sides: ", |plan| plan["sides"] = serde_json::json!([])),
        ("label: ", |plan| plan["label"] = "".into()),
        ("patient.name and patient.number: ", |plan| plan["patient"]["name"] = "".into()),
        ("patient", |plan| plan["patient"]["height"] = 180.into()),
    ];
    for (place, change) in cases {
        let words = plan_with(change);
        assert!(words.starts_with(place), "wanted {place}: {words}");
    }
}

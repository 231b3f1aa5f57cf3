//! Strict reading of JSON: what a lenient reader would let pass is refused, with its place.

use brimline::strict_json::{ReadError, read, value};
use serde::Deserialize;

#[derive(Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
struct Sample {
    sample: u32,
    items: Vec<Item>,
}

#[derive(Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
struct Item {
    name: String,
}

fn sample(bytes: &[u8]) -> Result<Sample, ReadError> {
    read(bytes, "sample", 1, 4096)
}

#[test]
fn a_document_that_fits_is_read() {
    let read = sample(br#"{"sample":1,"items":[{"name":"a"}]}"#).unwrap();
    assert_eq!(read, Sample { sample: 1, items: vec![Item { name: "a".to_owned() }] });
}

/// [R-INPUT-2]
#[test]
fn a_member_named_twice_is_refused_at_any_depth() {
    for text in
        [r#"{"sample":1,"sample":1,"items":[]}"#, "{\"sample\":1,\n\"items\":[{\"name\":\"a\",\"name\":\"b\"}]}"]
    {
        let fault = sample(text.as_bytes()).expect_err("twice").to_string();
        assert!(fault.starts_with("line ") && fault.ends_with("stands twice"), "{fault}");
    }
    // Two spellings of one name are one name.
    assert!(sample(br#"{"sample":1,"items":[],"\u0069tems":[]}"#).is_err());
}

/// [R-INPUT-2]
#[test]
fn an_unknown_member_is_refused_with_its_place() {
    let fault =
        sample(br#"{"sample":1,"items":[{"name":"a"},{"name":"b","size":3}]}"#).expect_err("unknown").to_string();
    assert!(fault.starts_with("items[1]") && fault.contains("unknown field `size`"), "{fault}");
}

/// [R-INPUT-1]
#[test]
fn size_is_judged_before_anything_else() {
    assert_eq!(sample(&[0xff; 4097]), Err(ReadError::TooLarge { bytes: 4097, max: 4096 }));
    assert!(!matches!(sample(&[b' '; 4096]), Err(ReadError::TooLarge { .. })));
}

/// [R-INPUT-1]
#[test]
fn bytes_that_are_no_text_are_refused_at_their_place() {
    assert_eq!(sample(b"{\"sample\":\xc3\x28}"), Err(ReadError::NotUtf8 { at: 10 }));
    assert!(sample(b"\xef\xbb\xbf{}").is_err(), "a byte order mark is no JSON");
}

/// [R-INPUT-1]
#[test]
fn depth_is_bounded_without_using_up_the_stack() {
    let deep = |levels: usize| format!("{}{}", "[".repeat(levels), "]".repeat(levels));
    assert!(value(deep(120).as_bytes(), 1 << 20).is_ok());
    assert!(matches!(value(deep(200).as_bytes(), 1 << 20), Err(ReadError::Syntax { .. })));
    assert!(value(deep(200_000).as_bytes(), 1 << 20).is_err());
}

/// [R-INPUT-3]
#[test]
fn a_newer_version_is_told_from_a_fault() {
    let newer = sample(br#"{"sample":2,"anything":[]}"#);
    assert_eq!(newer, Err(ReadError::Newer { member: "sample", found: 2, newest: 1 }));
    assert_eq!(sample(br#"{"items":[]}"#), Err(ReadError::NotThisKind { member: "sample" }));
    assert_eq!(sample(br#"{"sample":"1","items":[]}"#), Err(ReadError::NotThisKind { member: "sample" }));
    assert!(matches!(sample(br#"{"sample":0,"items":[]}"#), Err(ReadError::Content { .. })));
}

#[test]
fn what_follows_the_document_is_refused() {
    assert!(sample(br#"{"sample":1,"items":[]} {}"#).is_err());
    assert!(sample(b"{\"sample\":1,\"items\":[]}\n").is_ok(), "a line break is no fault");
}

/// Source: RFC 8259 section 6, numbers JSON does not have.
#[test]
fn numbers_that_json_does_not_have_are_refused() {
    for number in ["NaN", "Infinity", "1e999", "01", "+1", ".5", "0x10"] {
        assert!(value(number.as_bytes(), 64).is_err(), "{number}");
    }
}

#[test]
fn a_syntax_fault_names_line_and_column() {
    let fault = sample(b"{\n  \"sample\": 1,\n  \"items\": [}\n").expect_err("broken");
    assert!(matches!(fault, ReadError::Syntax { line: 3, column: 13, .. }), "{fault:?}");
    assert!(!fault.to_string().contains('\n'));
}

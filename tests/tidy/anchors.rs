//! Requirement anchors: each line `[R-AREA-N]` of DEVELOPERS.md has a test that names it, and no test names one
//! that is not listed.

use crate::fault::Fault;
use crate::text::line_of;
use crate::tree::SourceFile;
use std::collections::BTreeMap;

/// Anchors without a test, anchors listed twice, and anchors that only tests know.
pub fn gaps(page: &SourceFile, tests: &[SourceFile]) -> Vec<Fault> {
    let listed = anchors_in(&page.source, true);
    let mut faults = Vec::new();
    let mut required: BTreeMap<&str, usize> = BTreeMap::new();
    for (line, anchor) in &listed {
        if required.insert(anchor, *line).is_some() {
            faults.push(Fault::new(&page.path, *line, format!("[{anchor}] is listed twice")));
        }
    }
    let mut tested: BTreeMap<String, (String, usize)> = BTreeMap::new();
    for file in tests {
        let text = if file.ending() == "rs" { &file.separated.comments } else { &file.source };
        for (line, anchor) in anchors_in(text, false) {
            tested.entry(anchor).or_insert((file.path.clone(), line));
        }
    }
    if required.is_empty() {
        faults.push(Fault::new(&page.path, 1, "no requirement is listed"));
    }
    let untested = required.iter().filter(|(anchor, _)| !tested.contains_key(**anchor));
    faults.extend(untested.map(|(anchor, line)| Fault::new(&page.path, *line, format!("no test names [{anchor}]"))));
    let unlisted = tested.iter().filter(|(anchor, _)| !required.contains_key(anchor.as_str()));
    faults.extend(
        unlisted.map(|(anchor, (file, line))| Fault::new(file, *line, format!("[{anchor}] is not in DEVELOPERS.md"))),
    );
    faults
}

/// Anchors with their lines; `defining` takes only those at the start of a list item.
fn anchors_in(text: &str, defining: bool) -> Vec<(usize, String)> {
    let chars: Vec<char> = text.chars().collect();
    let mut found = Vec::new();
    for at in 0..chars.len() {
        if !chars[at..].starts_with(&['[', 'R', '-']) {
            continue;
        }
        let Some(end) = chars[at..].iter().position(|c| *c == ']') else { continue };
        let anchor: String = chars[at + 1..at + end].iter().collect();
        let begin = chars[..at].iter().rposition(|c| *c == '\n').map_or(0, |newline| newline + 1);
        let before: String = chars[begin..at].iter().collect();
        if is_anchor(&anchor) && (!defining || before.trim() == "-") {
            found.push((line_of(&chars, at), anchor));
        }
    }
    found
}

fn is_anchor(text: &str) -> bool {
    let mut parts = text.split('-');
    let area = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_uppercase());
    let number = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_digit());
    parts.next() == Some("R")
        && parts.next().is_some_and(area)
        && parts.next().is_some_and(number)
        && parts.next().is_none()
}

#[cfg(test)]
mod self_tests {
    use super::*;

    fn faults(page: &str, test: &str) -> Vec<String> {
        let page = SourceFile::of("DEVELOPERS.md", page);
        gaps(&page, &[SourceFile::of("tests/claims/a.rs", test)]).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_requirement_without_test_is_caught() {
        let found = faults("- [R-CASE-1] One.\n- [R-CASE-2] Two.\n", "/// [R-CASE-1]\nfn a() {}\n");
        assert_eq!(found, ["DEVELOPERS.md:2: no test names [R-CASE-2]"]);
    }

    #[test]
    fn an_anchor_that_only_a_test_knows_is_caught() {
        let found = faults("- [R-CASE-1] One.\n", "/// [R-CASE-1] and\n// [R-CASE-9]\n");
        assert_eq!(found, ["tests/claims/a.rs:2: [R-CASE-9] is not in DEVELOPERS.md"]);
    }

    #[test]
    fn an_anchor_in_a_string_names_nothing() {
        assert_eq!(faults("- [R-CASE-1] One.\n", "let a = \"[R-CASE-1]\";").len(), 1);
    }

    #[test]
    fn an_empty_list_and_a_double_entry_are_caught() {
        assert_eq!(faults("See [R-CASE-1].\n", "").len(), 1);
        assert_eq!(faults("- [R-CASE-1] One.\n- [R-CASE-1] Two.\n", "// [R-CASE-1]").len(), 1);
    }
}

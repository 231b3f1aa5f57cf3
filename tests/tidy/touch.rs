//! Everything touchable is named for assistive technology, and so for the tests that find it.
//!
//! The rule: the nearest element at or above a touch area, within its component, that has an accessible role also
//! has a label, and no two touch areas share it. A touch area that only keeps touches from what lies below it is
//! marked with a comment `// shield: why` on its line or the line above.

use crate::fault::Fault;
use crate::text::{closing_brace, is_word, line_of};
use crate::tree::SourceFile;
use std::collections::BTreeSet;

/// A braced block of a Slint file: where it opens and closes, what stands before it, and the block around it.
struct Block {
    open: usize,
    close: usize,
    /// The element type, for an element.
    element: Option<String>,
    is_component: bool,
    parent: Option<usize>,
}

/// Touch areas without role and label of their own.
pub fn unlabelled(files: &[SourceFile]) -> Vec<Fault> {
    let kinds = touch_kinds(files);
    files.iter().flat_map(|file| in_file(file, &kinds)).collect()
}

/// `TouchArea` and every component that inherits it, directly or not.
fn touch_kinds(files: &[SourceFile]) -> BTreeSet<String> {
    let mut kinds = BTreeSet::from(["TouchArea".to_owned()]);
    let inherits: Vec<(String, String)> = files.iter().flat_map(|file| inheritances(&file.separated.code)).collect();
    loop {
        let more: Vec<String> = inherits
            .iter()
            .filter(|(name, base)| kinds.contains(base) && !kinds.contains(name))
            .map(|(name, _)| name.clone())
            .collect();
        if more.is_empty() {
            return kinds;
        }
        kinds.extend(more);
    }
}

fn inheritances(code: &str) -> Vec<(String, String)> {
    let words: Vec<&str> = code.split(|c: char| !is_word(c) && c != '-').filter(|word| !word.is_empty()).collect();
    words.windows(3).filter(|w| w[1] == "inherits").map(|w| (w[0].to_owned(), w[2].to_owned())).collect()
}

fn in_file(file: &SourceFile, kinds: &BTreeSet<String>) -> Vec<Fault> {
    let code: Vec<char> = file.separated.code.chars().collect();
    let blocks = blocks(&code);
    let mut faults = Vec::new();
    let mut claimed = BTreeSet::new();
    let touch = |block: &Block| block.element.as_ref().is_some_and(|kind| kinds.contains(kind));
    for (index, block) in blocks.iter().enumerate().filter(|(_, block)| touch(block)) {
        let line = line_of(&code, block.open);
        if is_shield(file, line) {
            continue;
        }
        let Some(named) = nearest(&code, &blocks, index, "accessible-role") else {
            faults.push(Fault::new(&file.path, line, "touchable without an accessible-role"));
            continue;
        };
        if !has(&code, &blocks, named, "accessible-label") {
            faults.push(Fault::new(&file.path, line, "touchable without an accessible-label beside its role"));
        } else if !claimed.insert(named) {
            faults.push(Fault::new(&file.path, line, "two touch areas under one accessible-label"));
        }
    }
    faults
}

fn is_shield(file: &SourceFile, line: usize) -> bool {
    let comments: Vec<&str> = file.separated.comments.lines().collect();
    let from = line.saturating_sub(2);
    comments[from..line.min(comments.len())].iter().any(|comment| comment.contains("// shield: "))
}

/// The nearest block at or above `index`, within its component, that sets the property.
fn nearest(code: &[char], blocks: &[Block], index: usize, property: &str) -> Option<usize> {
    let mut at = Some(index);
    while let Some(block) = at {
        if has(code, blocks, block, property) {
            return Some(block);
        }
        if blocks[block].is_component {
            return None;
        }
        at = blocks[block].parent;
    }
    None
}

/// Whether the block itself, not a block inside it, sets the property.
fn has(code: &[char], blocks: &[Block], index: usize, property: &str) -> bool {
    let block = &blocks[index];
    let wanted: Vec<char> = property.chars().collect();
    let own = |at: usize| {
        !blocks
            .iter()
            .any(|inner| inner.open > block.open && inner.close < block.close && inner.open < at && at < inner.close)
    };
    (block.open..block.close).any(|at| {
        let before = code[at - 1];
        code[at..].starts_with(&wanted) && !is_word(before) && before != '-' && own(at)
    })
}

fn blocks(code: &[char]) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    for open in (0..code.len()).filter(|at| code[*at] == '{') {
        let close = closing_brace(code, open).unwrap_or(code.len());
        let parent = blocks.iter().rposition(|block| block.open < open && open < block.close);
        let header = header(code, open);
        let is_component = header.split_whitespace().any(|word| word == "component");
        let last: String = header.chars().rev().take_while(|c| is_word(*c) || *c == '-').collect();
        let last: String = last.chars().rev().collect();
        let element = last.chars().next().filter(char::is_ascii_uppercase).map(|_| last.clone());
        blocks.push(Block { open, close, element, is_component, parent });
    }
    blocks
}

/// What stands before an opening brace, back to the statement before it.
fn header(code: &[char], open: usize) -> String {
    let begin = (0..open).rev().find(|at| matches!(code[*at], '{' | '}' | ';' | '[' | ']')).map_or(0, |at| at + 1);
    code[begin..open].iter().collect::<String>().trim().to_owned()
}

#[cfg(test)]
mod self_tests {
    use super::*;

    fn faults(source: &str) -> Vec<String> {
        unlabelled(&[SourceFile::of("ui/a.slint", source)]).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_touch_area_without_role_or_label_is_caught() {
        let bare = faults("component A inherits Rectangle {\n  t := TouchArea { clicked => { } }\n}");
        assert_eq!(bare, ["ui/a.slint:2: touchable without an accessible-role"]);
        let mute = faults("component A {\n accessible-role: button;\n TouchArea { }\n}");
        assert_eq!(mute, ["ui/a.slint:3: touchable without an accessible-label beside its role"]);
    }

    #[test]
    fn a_role_and_label_in_the_same_component_pass() {
        let source = "component A {\n accessible-role: button;\n accessible-label: root.text;\n if x: Rectangle { TouchArea { } }\n}";
        assert_eq!(faults(source), [""; 0]);
    }

    #[test]
    fn a_label_in_another_component_or_another_element_does_not_count() {
        let other = "component B { accessible-role: button; accessible-label: \"\"; }\ncomponent A { TouchArea { } }";
        assert_eq!(faults(other).len(), 1);
        let sibling = "component A { Rectangle { accessible-role: button; accessible-label: \"\"; } TouchArea { } }";
        assert_eq!(faults(sibling).len(), 1);
    }

    #[test]
    fn two_touch_areas_under_one_label_are_caught() {
        let source = "component A { accessible-role: button; accessible-label: \"\"; TouchArea { } TouchArea { } }";
        assert_eq!(faults(source).len(), 1);
    }

    #[test]
    fn a_component_built_on_a_touch_area_is_one() {
        let source = "component Press inherits TouchArea { accessible-role: button; accessible-label: root.words; }\n\
                      component A { Press { } }";
        assert_eq!(faults(source).len(), 1, "the use brings no label of its own");
    }

    #[test]
    fn a_shield_is_no_touchable_thing() {
        let source = "component A {\n // shield: keeps touches from the screen below\n TouchArea { }\n}";
        assert_eq!(faults(source), [""; 0]);
    }
}

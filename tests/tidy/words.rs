//! Words: what a file is for, what may not be left over, and that the project speaks of itself alone.

use crate::fault::Fault;
use crate::text::{is_word, line_of, words_at};
use crate::tree::SourceFile;

/// Marks of unfinished work in comments.
const UNFINISHED: [&str; 4] = ["TODO", "FIXME", "XXX", "HACK"];
/// Macros of unfinished work in code.
const UNFINISHED_MACROS: [&str; 3] = ["todo!", "unimplemented!", "dbg!"];
/// Words of a workplace, in small letters.
const WORKPLACE: [&str; 3] = ["ticket", "pull request", "code review comment"];

/// A file that does not open with what it is for: `//!` in Rust, `//` in Slint.
pub fn missing_module_doc(file: &SourceFile) -> Vec<Fault> {
    let wanted = if file.ending() == "slint" { "//" } else { "//!" };
    let first = file.source.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
    let says = first.strip_prefix(wanted).is_some_and(|words| words.trim().len() > 3);
    if says {
        Vec::new()
    } else {
        vec![Fault::new(&file.path, 1, format!("opens without a `{wanted}` that says what it is for"))]
    }
}

/// Unfinished work, in comments or as a macro.
pub fn leftovers(file: &SourceFile) -> Vec<Fault> {
    let comments = UNFINISHED.iter().flat_map(|word| places(file, &file.separated.comments, word));
    let macros = UNFINISHED_MACROS.iter().flat_map(|word| places(file, &file.separated.code, word));
    comments.chain(macros).map(|(line, word)| Fault::new(&file.path, line, format!("left over: `{word}`"))).collect()
}

fn places(file: &SourceFile, text: &str, word: &'static str) -> Vec<(usize, &'static str)> {
    debug_assert_eq!(text.lines().count(), file.source.lines().count());
    let bare = word.trim_end_matches('!');
    let fits = |at: &usize| text[*at..].starts_with(word);
    words_at(text, bare).into_iter().filter(fits).map(|at| (line_at(text, at), word)).collect()
}

/// `.unwrap()` outside tests.
pub fn unwraps(file: &SourceFile) -> Vec<Fault> {
    let code = file.code_without_tests();
    let found = code.match_indices(".unwrap()").map(|(at, _)| line_at(&code, at));
    found
        .map(|line| Fault::new(&file.path, line, "`unwrap` outside tests: use `?` or `expect` with the invariant"))
        .collect()
}

/// Words of a workplace: in the comments of source, anywhere in other files.
pub fn workplace(file: &SourceFile) -> Vec<Fault> {
    let source = matches!(file.ending(), "rs" | "slint");
    let text = if source { &file.separated.comments } else { &file.source };
    let small = text.to_ascii_lowercase();
    let words = WORKPLACE.iter().flat_map(|word| {
        small.match_indices(word).map(|(at, found)| (line_at(&small, at), found.to_owned())).collect::<Vec<_>>()
    });
    let numbers = issue_numbers(text);
    let all = words.chain(numbers);
    all.map(|(line, word)| Fault::new(&file.path, line, format!("a word of a workplace: `{word}`"))).collect()
}

/// `#` with one to five digits. Six digits are a colour, digits with a hyphen the anchor of a heading.
fn issue_numbers(text: &str) -> Vec<(usize, String)> {
    let chars: Vec<char> = text.chars().collect();
    let mut found = Vec::new();
    for at in (0..chars.len()).filter(|at| chars[*at] == '#') {
        let digits = chars[at + 1..].iter().take_while(|c| c.is_ascii_digit()).count();
        let after = chars.get(at + 1 + digits).copied().unwrap_or(' ');
        let before = if at == 0 { ' ' } else { chars[at - 1] };
        if (1..=5).contains(&digits) && !is_word(after) && after != '-' && !is_word(before) && before != '&' {
            found.push((line_of(&chars, at), chars[at..=at + digits].iter().collect()));
        }
    }
    found
}

fn line_at(text: &str, byte: usize) -> usize {
    1 + text[..byte].matches('\n').count()
}

#[cfg(test)]
mod self_tests {
    use super::*;

    fn lines(rule: fn(&SourceFile) -> Vec<Fault>, path: &str, source: &str) -> Vec<usize> {
        rule(&SourceFile::of(path, source)).iter().map(|fault| fault.line).collect()
    }

    #[test]
    fn a_file_without_module_doc_is_caught() {
        assert_eq!(lines(missing_module_doc, "src/a.rs", "use std::io;\n"), [1]);
        assert_eq!(lines(missing_module_doc, "src/a.rs", "//! What it is for.\n"), [0; 0]);
        assert_eq!(lines(missing_module_doc, "ui/a.slint", "import { A } from \"a.slint\";\n"), [1]);
        assert_eq!(lines(missing_module_doc, "ui/a.slint", "// What it is for.\n"), [0; 0]);
    }

    #[test]
    fn unfinished_work_is_caught() {
        let source = "// TODO later\nfn f() { todo!() }\n/* FIXME */\nfn g() { unimplemented!() }\n// XXXL is a size\n";
        let mut found = lines(leftovers, "src/a.rs", source);
        found.sort_unstable();
        assert_eq!(found, [1, 2, 3, 4]);
    }

    #[test]
    fn unwrap_is_caught_outside_tests_only() {
        let source = "fn f() { a.unwrap(); b.unwrap_or(1); }\n#[test]\nfn t() { a.unwrap(); }\n";
        assert_eq!(lines(unwraps, "src/a.rs", source), [1]);
    }

    #[test]
    fn words_of_a_workplace_are_caught() {
        assert_eq!(lines(workplace, "src/a.rs", "// see #12\nlet a = \"#12\";\n// the Ticket says\n"), [3, 1]);
        assert_eq!(lines(workplace, "README.md", "See [below](#3-places), colour #101418.\n\nFixes #7.\n"), [3]);
    }
}

//! Screens take colours and font sizes from the tokens, and overlays stand in the tree.

use crate::fault::Fault;
use crate::text::{is_word, line_of, words_at};
use crate::tree::SourceFile;

/// Functions and names that make a colour.
const COLOUR_MAKERS: [&str; 6] = ["rgb", "rgba", "hsv", "oklch", "Colors", "Palette"];
/// Properties whose value is a font size.
const FONT_SIZES: [&str; 2] = ["font-size", "default-font-size"];

/// Colours and font sizes written outside `ui/tokens`.
pub fn literals_outside_tokens(file: &SourceFile) -> Vec<Fault> {
    if file.path.starts_with("ui/tokens/") || file.path == "ui/tokens.slint" {
        return Vec::new();
    }
    let code = &file.separated.code;
    let chars: Vec<char> = code.chars().collect();
    let mut faults = colour_literals(&chars);
    for name in COLOUR_MAKERS {
        faults.extend(words_at(code, name).into_iter().map(|at| (line_in(code, at), format!("a colour: `{name}`"))));
    }
    for name in FONT_SIZES {
        faults.extend(sizes(code, name));
    }
    faults.into_iter().map(|(line, what)| Fault::new(&file.path, line, format!("{what}, outside ui/tokens"))).collect()
}

fn colour_literals(chars: &[char]) -> Vec<(usize, String)> {
    let digits = |at: usize| chars[at + 1..].iter().take_while(|c| c.is_ascii_hexdigit()).count();
    let hashes = (0..chars.len()).filter(|at| chars[*at] == '#' && matches!(digits(*at), 3 | 4 | 6 | 8));
    hashes
        .map(|at| {
            (line_of(chars, at), format!("a colour: `{}`", chars[at..=at + digits(at)].iter().collect::<String>()))
        })
        .collect()
}

/// Values of the property that hold a number: a digit that is not part of a name.
fn sizes(code: &str, property: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for (at, _) in code.match_indices(property) {
        let before = code[..at].chars().next_back().unwrap_or(' ');
        let Some(value) = code[at + property.len()..].trim_start().strip_prefix(':') else { continue };
        let value: Vec<char> = value.chars().take_while(|c| *c != ';' && *c != '}').collect();
        let number = (0..value.len()).any(|i| {
            let joined = i > 0 && (is_word(value[i - 1]) || value[i - 1] == '-' || value[i - 1] == '.');
            // A number that something is compared with is not a size.
            let before = value[..i].iter().rev().find(|c| !c.is_whitespace());
            value[i].is_ascii_digit() && !joined && !matches!(before, Some('<' | '>'))
        });
        if number && !is_word(before) && before != '-' {
            found.push((line_in(code, at), format!("a font size: `{}`", value.iter().collect::<String>().trim())));
        }
    }
    found
}

/// `PopupWindow` is clipped, and dead to touch in repeaters.
pub fn popups(file: &SourceFile) -> Vec<Fault> {
    let code = &file.separated.code;
    let at = words_at(code, "PopupWindow").into_iter();
    at.map(|at| Fault::new(&file.path, line_in(code, at), "an overlay stands in the tree, not in a `PopupWindow`"))
        .collect()
}

fn line_in(text: &str, byte: usize) -> usize {
    1 + text[..byte].matches('\n').count()
}

#[cfg(test)]
mod self_tests {
    use super::*;

    fn lines(rule: fn(&SourceFile) -> Vec<Fault>, path: &str, source: &str) -> Vec<usize> {
        let mut lines: Vec<usize> = rule(&SourceFile::of(path, source)).iter().map(|fault| fault.line).collect();
        lines.sort_unstable();
        lines
    }

    #[test]
    fn a_colour_or_a_size_outside_the_tokens_is_caught() {
        let source =
            "// #fff in a comment\nText {\n color: #C3A6FF;\n font-size: 17px;\n background: rgb(1, 2, 3);\n}\n";
        assert_eq!(lines(literals_outside_tokens, "ui/screens/a.slint", source), [3, 4, 5]);
        assert_eq!(lines(literals_outside_tokens, "ui/tokens/colours.slint", source), [0; 0]);
    }

    #[test]
    fn tokens_pass_even_with_a_digit_in_their_name() {
        let source =
            "Text { color: Ink.soft; font-size: long > 72 ? Size.text-2 : Size.text; width: 88px; text: \"#fff\"; }";
        assert_eq!(lines(literals_outside_tokens, "ui/screens/a.slint", source), [0; 0]);
    }

    #[test]
    fn a_popup_is_caught() {
        assert_eq!(lines(popups, "ui/a.slint", "// PopupWindow\nPopupWindow { }\n"), [2]);
    }
}

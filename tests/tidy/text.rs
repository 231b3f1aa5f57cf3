//! Separates code, strings and comments of Rust and Slint source.
//!
//! A rule about code must not trip over the same word in a comment or a string. Each of the two outputs has the
//! length and the line breaks of the source; what does not belong to it is blanked. It is no parser: it knows
//! comments (nested where Rust nests them), strings, raw strings, characters and lifetimes.

/// Code with comments and the insides of strings blanked, and comments with everything else blanked.
#[derive(Debug, Clone)]
pub struct Separated {
    pub code: String,
    pub comments: String,
}

#[derive(Clone, Copy, PartialEq)]
enum Part {
    Code,
    Comment,
    Literal,
}

/// Separates Rust or Slint source.
pub fn separate(source: &str) -> Separated {
    let chars: Vec<char> = source.chars().collect();
    let mut parts = Vec::with_capacity(chars.len());
    while parts.len() < chars.len() {
        let (part, length) = next_run(&chars, parts.len());
        let length = length.clamp(1, chars.len() - parts.len());
        parts.extend(std::iter::repeat_n(part, length));
    }
    let keep = |wanted: Part| -> String {
        let shown = |(c, part): (&char, &Part)| if *c == '\n' || *part == wanted { *c } else { ' ' };
        chars.iter().zip(&parts).map(shown).collect()
    };
    Separated { code: keep(Part::Code), comments: keep(Part::Comment) }
}

/// What begins at `at`, and how many characters it takes.
fn next_run(chars: &[char], at: usize) -> (Part, usize) {
    let rest = &chars[at..];
    let joined_before = at > 0 && is_word(chars[at - 1]);
    match rest {
        ['/', '/', ..] => (Part::Comment, rest.iter().take_while(|c| **c != '\n').count()),
        ['/', '*', ..] => (Part::Comment, block_comment(rest)),
        ['"', ..] => (Part::Literal, quoted(rest)),
        ['r', '"' | '#', ..] if !joined_before => raw_string(rest).map_or((Part::Code, 1), |n| (Part::Literal, n)),
        ['b', 'r', '"' | '#', ..] if !joined_before => {
            raw_string(&rest[1..]).map_or((Part::Code, 1), |n| (Part::Literal, n + 1))
        }
        ['\'', '\\', ..] => (Part::Literal, character(rest)),
        ['\'', _, '\'', ..] => (Part::Literal, 3),
        _ => (Part::Code, 1),
    }
}

pub fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn block_comment(rest: &[char]) -> usize {
    let mut depth = 0;
    let mut at = 0;
    while at < rest.len() {
        match rest[at..] {
            ['/', '*', ..] => {
                depth += 1;
                at += 2;
            }
            ['*', '/', ..] => {
                depth -= 1;
                at += 2;
                if depth == 0 {
                    return at;
                }
            }
            _ => at += 1,
        }
    }
    rest.len()
}

fn quoted(rest: &[char]) -> usize {
    let mut at = 1;
    while at < rest.len() {
        match rest[at] {
            '\\' => at += 2,
            '"' => return at + 1,
            _ => at += 1,
        }
    }
    rest.len()
}

/// Length of a raw string that begins with `r`; `None` for a raw identifier.
fn raw_string(rest: &[char]) -> Option<usize> {
    let hashes = rest[1..].iter().take_while(|c| **c == '#').count();
    if rest.get(1 + hashes) != Some(&'"') {
        return None;
    }
    let body = 2 + hashes;
    let ends = |at: usize| rest[at] == '"' && rest[at + 1..].iter().take_while(|c| **c == '#').count() >= hashes;
    let end = (body..rest.len()).find(|at| ends(*at));
    Some(end.map_or(rest.len(), |at| at + 1 + hashes))
}

/// Length of a character literal that begins with an escape, such as `'\u{1F}'`.
fn character(rest: &[char]) -> usize {
    let end = rest.iter().skip(3).position(|c| *c == '\'');
    end.map_or(rest.len(), |at| at + 4)
}

/// Position of the brace that closes the one at `open`, in separated code.
pub fn closing_brace(code: &[char], open: usize) -> Option<usize> {
    let mut depth = 0_usize;
    for (at, c) in code.iter().enumerate().skip(open) {
        match c {
            '{' => depth += 1,
            '}' => {
                depth -= 1;
                if depth == 0 {
                    return Some(at);
                }
            }
            _ => {}
        }
    }
    None
}

/// Line, counted from 1, of a position.
pub fn line_of(chars: &[char], at: usize) -> usize {
    1 + chars[..at.min(chars.len())].iter().filter(|c| **c == '\n').count()
}

/// Positions at which `word` stands in the code as a whole word.
pub fn words_at(code: &str, word: &str) -> Vec<usize> {
    let whole = |at: &usize| {
        let before = code[..*at].chars().next_back();
        let after = code[at + word.len()..].chars().next();
        !before.is_some_and(is_word) && !after.is_some_and(is_word)
    };
    code.match_indices(word).map(|(at, _)| at).filter(whole).collect()
}

#[test]
fn strings_and_comments_leave_the_code() {
    let source = "let a = \"{ // no\"; // yes {\nlet b = r#\"}\"#; /* x /* y */ z */ let c = '\\''; let d = '{';\nlet e: &'static str;";
    let separated = separate(source);
    assert_eq!(separated.code.matches(['{', '}']).count(), 0, "{}", separated.code);
    assert!(
        separated.code.contains("let b =") && separated.code.contains("let c =") && separated.code.contains("'static")
    );
    assert!(separated.comments.contains("// yes {") && separated.comments.contains("/* x /* y */ z */"));
    assert!(!separated.comments.contains("no"));
    assert_eq!(separated.code.lines().count(), source.lines().count());
}

#[test]
fn whole_words_are_found_and_parts_of_words_are_not() {
    assert_eq!(words_at("fs; offs fs_x fs", "fs"), [0, 14]);
}

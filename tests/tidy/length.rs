//! Files and functions that fit a head.

use crate::fault::Fault;
use crate::text::{closing_brace, line_of, words_at};
use crate::tree::SourceFile;

const RUST_LINES_MAX: usize = 500;
const SLINT_LINES_MAX: usize = 250;
const FUNCTION_LINES_MAX: usize = 70;

/// A file over its limit.
pub fn long_file(file: &SourceFile) -> Vec<Fault> {
    let slint = file.ending() == "slint";
    let max = if slint { SLINT_LINES_MAX } else { RUST_LINES_MAX };
    let lines = file.source.lines().count();
    if lines <= max {
        return Vec::new();
    }
    vec![Fault::new(&file.path, max + 1, format!("{lines} lines, at most {max}"))]
}

/// Functions whose body is over the limit, counted from brace to brace.
pub fn long_functions(file: &SourceFile) -> Vec<Fault> {
    let code = &file.separated.code;
    let chars: Vec<char> = code.chars().collect();
    let mut faults = Vec::new();
    for byte in words_at(code, "fn") {
        let at = code[..byte].chars().count();
        let Some(open) = body_of(&chars, at) else { continue };
        let Some(close) = closing_brace(&chars, open) else { continue };
        let lines = line_of(&chars, close) - line_of(&chars, open) + 1;
        if lines > FUNCTION_LINES_MAX {
            let what = format!("a function of {lines} lines, at most {FUNCTION_LINES_MAX}");
            faults.push(Fault::new(&file.path, line_of(&chars, at), what));
        }
    }
    faults
}

/// The opening brace of the body of the function at `at`; `None` for a type or a declaration without body.
fn body_of(code: &[char], at: usize) -> Option<usize> {
    let mut brackets = 0_i32;
    for (i, c) in code.iter().enumerate().skip(at) {
        match c {
            '(' | '[' => brackets += 1,
            ')' | ']' | ';' | '}' if brackets == 0 => return None,
            ')' | ']' => brackets -= 1,
            '{' if brackets == 0 => return Some(i),
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod self_tests {
    use super::*;

    #[test]
    fn a_file_over_its_limit_is_caught() {
        assert_eq!(long_file(&SourceFile::of("src/a.rs", &"x\n".repeat(501))).len(), 1);
        assert_eq!(long_file(&SourceFile::of("src/a.rs", &"x\n".repeat(500))), []);
        assert_eq!(long_file(&SourceFile::of("ui/a.slint", &"x\n".repeat(251))).len(), 1);
    }

    #[test]
    fn a_function_over_the_limit_is_caught_at_its_line() {
        let long = format!("//! Doc.\nfn short() {{}}\nfn long(a: [u8; 3]) -> u8 {{\n{}}}\n", "x;\n".repeat(69));
        let found = long_functions(&SourceFile::of("src/a.rs", &long));
        assert_eq!(found.iter().map(|fault| fault.line).collect::<Vec<_>>(), [3]);
    }

    #[test]
    fn a_declaration_or_a_function_type_is_no_body() {
        let source = format!(
            "trait T {{ fn a(&self); }}\nstruct S {{ f: fn(u8) -> u8 }}\nfn b(f: fn()) {{\n{}}}",
            "x;\n".repeat(20)
        );
        assert_eq!(long_functions(&SourceFile::of("src/a.rs", &source)), []);
    }
}

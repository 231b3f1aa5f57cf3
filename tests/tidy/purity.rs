//! Core modules name nothing of the world; only the presenter names the screens.
//!
//! Code under test is left out: a unit test may read a vector file.

use crate::fault::Fault;
use crate::text::{is_word, line_of};
use crate::tree::SourceFile;

/// Everything before `open_case`, `open_case` itself (the world reaches it through ports), and `rehearse`.
const CORE: [&str; 21] = [
    "units",
    "strict_json",
    "settings",
    "people",
    "carm",
    "anatomy",
    "eligibility",
    "dose",
    "ports",
    "pathway",
    "pin",
    "plan",
    "case",
    "journal",
    "record",
    "pelvis",
    "fluoro",
    "review",
    "open_case",
    "rehearse",
    "lib",
];

/// Modules that may use threads: data parallelism over a scope, or the journal writer.
const THREADED: [&str; 4] = ["fluoro", "pin", "review", "open_case"];

/// Paths that reach the world, and what each reaches.
const WORLD: [(&str, &str); 15] = [
    ("slint", "the window"),
    ("brimline_ui", "the screens"),
    ("std::fs", "files"),
    ("std::net", "the network"),
    ("std::env", "the environment"),
    ("std::process", "processes"),
    ("std::thread", "threads"),
    ("rustix", "the system"),
    ("dicom", "a DICOM library"),
    ("Instant", "a clock"),
    ("SystemTime", "a clock"),
    ("Local::now", "a clock"),
    ("Utc::now", "a clock"),
    ("getrandom", "ambient randomness"),
    ("Uuid::new_v4", "ambient randomness"),
];

/// What core code names of the world.
pub fn world_in_core(file: &SourceFile) -> Vec<Fault> {
    let Some(module) = file.module().filter(|module| CORE.contains(module)) else { return Vec::new() };
    let code = open_groups(&file.code_without_tests());
    let chars: Vec<char> = code.chars().collect();
    let mut faults = Vec::new();
    for (path, what) in WORLD {
        if path == "std::thread" && THREADED.contains(&module) {
            continue;
        }
        for at in paths_at(&chars, path) {
            let line = line_of(&chars, at);
            faults.push(Fault::new(&file.path, line, format!("core names {what}: `{path}`")));
        }
    }
    faults
}

/// Screens named outside the presenter.
pub fn screens_outside_presenter(file: &SourceFile) -> Vec<Fault> {
    if file.module() == Some("presenter") {
        return Vec::new();
    }
    let chars: Vec<char> = file.separated.code.chars().collect();
    let mut faults = Vec::new();
    for name in ["brimline_ui", "slint", "ui"] {
        let path = |at: &usize| name != "ui" || chars[at + 2..].starts_with(&[':', ':']);
        for at in paths_at(&chars, name).into_iter().filter(path) {
            let what = format!("only the presenter names the screens: `{name}`");
            faults.push(Fault::new(&file.path, line_of(&chars, at), what));
        }
    }
    faults
}

/// Positions of a path, not as part of a longer word.
fn paths_at(code: &[char], path: &str) -> Vec<usize> {
    let wanted: Vec<char> = path.chars().collect();
    let whole = |at: usize| {
        let before = at == 0 || !is_word(code[at - 1]);
        let after = code.get(at + wanted.len()).is_none_or(|c| !is_word(*c));
        code[at..].starts_with(&wanted) && before && after
    };
    (0..code.len()).filter(|at| whole(*at)).collect()
}

/// Writes `use std::{fs, io}` as `use std::fs, std::io` on the same lines, so that one search finds both.
fn open_groups(code: &str) -> String {
    let mut out = String::new();
    let mut rest = code;
    while let Some(at) = rest.find("std::{") {
        let (before, group) = rest.split_at(at);
        let end = group.find(['}', ';']).unwrap_or(group.len());
        out.push_str(before);
        for part in group["std::{".len()..end].split_inclusive(',') {
            let name = part.trim_start();
            out.push_str(&part[..part.len() - name.len()]);
            out.push_str("std::");
            out.push_str(name);
        }
        rest = &group[end..];
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod self_tests {
    use super::*;

    fn lines(rule: fn(&SourceFile) -> Vec<Fault>, path: &str, source: &str) -> Vec<usize> {
        rule(&SourceFile::of(path, source)).iter().map(|fault| fault.line).collect()
    }

    #[test]
    fn files_clocks_and_randomness_in_core_are_caught() {
        let source = "use std::fs::File;\nuse std::{io,\n  env};\nlet a = Utc::now();\nlet b = getrandom::fill(x);\n";
        assert_eq!(lines(world_in_core, "src/case/kernel.rs", source), [1, 3, 4, 5]);
        assert_eq!(lines(world_in_core, "src/adapters/files.rs", source), [0; 0]);
    }

    #[test]
    fn a_thread_is_caught_where_the_design_gives_none() {
        let source = "std::thread::scope(|s| {});";
        assert_eq!(lines(world_in_core, "src/case.rs", source), [1]);
        assert_eq!(lines(world_in_core, "src/fluoro/rays.rs", source), [0; 0]);
    }

    #[test]
    fn tests_inside_core_may_read_files() {
        assert_eq!(lines(world_in_core, "src/case.rs", "#[cfg(test)]\nmod tests { use std::fs; }"), [0; 0]);
    }

    #[test]
    fn screens_named_elsewhere_are_caught() {
        let source = "//! Doc.\nuse brimline_ui::App;\nlet x = slint::Timer::default();\nlet y = ui::App::new();\n";
        let mut found = lines(screens_outside_presenter, "src/commands/perform.rs", source);
        found.sort_unstable();
        assert_eq!(found, [2, 3, 4]);
        assert_eq!(lines(screens_outside_presenter, "src/presenter/operate.rs", source), [0; 0]);
    }
}

//! Which module may name which: arrows point down, and what is reached over several arrows counts.

use crate::fault::Fault;
use crate::text::{is_word, line_of};
use crate::tree::SourceFile;
use std::collections::BTreeSet;

/// Under everything.
const GROUND: [&str; 3] = ["units", "settings", "strict_json"];

/// The arrows. `pathway` names views, whose names live in `carm`; `plan` speaks the pathway's words for the facts
/// that conditions ask, and names people.
const ARROWS: [(&str, &[&str]); 26] = [
    ("units", &[]),
    ("settings", &[]),
    ("strict_json", &[]),
    ("people", &["ports"]),
    ("carm", &[]),
    ("anatomy", &[]),
    ("eligibility", &[]),
    ("dose", &[]),
    ("ports", &["dose"]),
    ("pathway", &["people", "carm"]),
    ("pin", &["carm"]),
    ("plan", &["anatomy", "eligibility", "carm", "pathway"]),
    ("case", &["pathway", "plan", "dose", "pin", "people"]),
    ("journal", &["case"]),
    ("record", &["journal"]),
    ("pelvis", &["anatomy", "carm"]),
    ("fluoro", &["carm", "pelvis"]),
    ("review", &["record"]),
    ("open_case", &["record", "ports"]),
    ("rehearse", &["open_case", "fluoro"]),
    ("adapters", &["ports", "record", "review", "fluoro", "rehearse"]),
    ("commands", &["ports", "record", "review", "fluoro", "rehearse", "open_case"]),
    // The tablet begins with what the command line found, and ends with one of its exit codes.
    ("presenter", &["ports", "record", "review", "fluoro", "rehearse", "open_case", "commands"]),
    ("lib", &[]),
    ("main", &["adapters", "commands", "presenter"]),
    ("brimline_ui", &[]),
];

fn arrows(module: &str) -> Option<&'static [&'static str]> {
    ARROWS.iter().find(|(name, _)| *name == module).map(|(_, below)| *below)
}

/// Everything `module` may name.
fn reachable(module: &str) -> BTreeSet<&'static str> {
    let mut seen = BTreeSet::from(GROUND);
    let mut next: Vec<&str> = arrows(module).unwrap_or(&[]).to_vec();
    while let Some(below) = next.pop() {
        let name = ARROWS.iter().find(|(name, _)| *name == below).map(|(name, _)| *name);
        if let Some(name) = name.filter(|name| seen.insert(name)) {
            next.extend(arrows(name).unwrap_or(&[]));
        }
    }
    seen
}

/// Names of modules that lie beside or above the file's own. Code under test obeys the same arrows.
pub fn upward_uses(file: &SourceFile) -> Vec<Fault> {
    let Some(module) = file.module() else { return Vec::new() };
    if arrows(module).is_none() {
        return vec![Fault::new(&file.path, 1, format!("the module `{module}` has no arrows in tests/tidy/layers.rs"))];
    }
    let may = reachable(module);
    let named = modules_named(file).into_iter().filter(|(_, name)| name != module && !may.contains(name.as_str()));
    named.map(|(line, name)| Fault::new(&file.path, line, format!("`{module}` may not name `{name}`"))).collect()
}

/// Modules of the crate that a file names, with the line.
fn modules_named(file: &SourceFile) -> Vec<(usize, String)> {
    let code: Vec<char> = file.separated.code.chars().collect();
    let depth = file.path.trim_start_matches("src/").split('/').count();
    let climb = "super::".repeat(depth);
    let mut named = Vec::new();
    for start in ["crate::", "brimline::", climb.as_str()] {
        let wanted: Vec<char> = start.chars().collect();
        for at in 0..code.len() {
            if code[at..].starts_with(&wanted) && (at == 0 || !is_word(code[at - 1])) {
                named.extend(first_names(&code, at + wanted.len()));
            }
        }
    }
    named.into_iter().filter(|(_, name)| arrows(name).is_some()).collect()
}

/// The name at `at`, or the first name of each branch of a group in braces.
fn first_names(code: &[char], at: usize) -> Vec<(usize, String)> {
    if code.get(at) != Some(&'{') {
        return word_at(code, at).into_iter().collect();
    }
    let mut names = Vec::new();
    let mut depth = 0;
    for i in at..code.len() {
        match code[i] {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            break;
        }
        if depth == 1 && (code[i] == '{' || code[i] == ',') {
            let begin = (i + 1..code.len()).find(|j| !code[*j].is_whitespace()).unwrap_or(code.len());
            names.extend(word_at(code, begin));
        }
    }
    names
}

fn word_at(code: &[char], at: usize) -> Option<(usize, String)> {
    let word: String = code.get(at..)?.iter().take_while(|c| is_word(**c)).collect();
    (!word.is_empty()).then(|| (line_of(code, at), word))
}

#[cfg(test)]
mod self_tests {
    use super::*;

    fn faults(path: &str, source: &str) -> Vec<String> {
        upward_uses(&SourceFile::of(path, source)).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn naming_a_module_above_is_caught_with_its_line() {
        let found = faults("src/pathway/read.rs", "//! Doc.\nuse crate::carm::ViewName;\nuse crate::case::Case;\n");
        assert_eq!(found, ["src/pathway/read.rs:3: `pathway` may not name `case`"]);
    }

    #[test]
    fn groups_and_paths_in_code_are_seen() {
        let source =
            "use crate::{\n    case::{Case, journal},\n    record::Record,\n};\nfn f() { crate::presenter::go() }";
        let found = faults("src/journal.rs", source);
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].contains("record") && found[1].contains("presenter"));
    }

    #[test]
    fn climbing_out_by_super_is_seen() {
        assert_eq!(faults("src/dose/sum.rs", "use super::super::case::Case;").len(), 1);
        assert_eq!(faults("src/case/sum.rs", "use super::case::Case;"), [""; 0]);
    }

    #[test]
    fn comments_and_strings_name_nothing() {
        assert_eq!(faults("src/dose.rs", "// crate::case::Case\nconst A: &str = \"crate::case\";"), [""; 0]);
    }

    #[test]
    fn arrows_reach_over_several_steps_and_never_up() {
        assert!(reachable("record").contains("carm"));
        assert!(!reachable("case").contains("journal"));
        assert!(!reachable("dose").contains("case"));
        assert!(!reachable("presenter").contains("adapters"));
    }

    #[test]
    fn arrows_have_no_cycle() {
        for (module, _) in ARROWS {
            let below = arrows(module).expect("listed");
            assert!(below.iter().all(|name| !reachable(name).contains(module)), "{module} reaches itself");
        }
    }

    #[test]
    fn a_module_without_arrows_is_caught() {
        assert_eq!(faults("src/misc.rs", "").len(), 1);
    }
}

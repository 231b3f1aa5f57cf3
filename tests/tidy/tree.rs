//! The files of the project, read once, each separated into code and comments.

use crate::text::{Separated, closing_brace, separate};
use std::fs;
use std::path::{Path, PathBuf};

/// One file, with its path from the project's root written with `/`.
#[derive(Debug, Clone)]
pub struct SourceFile {
    pub path: String,
    pub source: String,
    pub separated: Separated,
}

impl SourceFile {
    pub fn of(path: &str, source: &str) -> Self {
        Self { path: path.to_owned(), source: source.to_owned(), separated: separate(source) }
    }

    /// Reads a file by its path from the root.
    pub fn read(path: &str) -> Self {
        let full = root().join(path);
        let bytes = fs::read(&full).unwrap_or_else(|fault| panic!("{path}: {fault}"));
        Self::of(path, &String::from_utf8_lossy(&bytes))
    }

    /// What follows the last point of the path.
    pub fn ending(&self) -> &str {
        self.path.rsplit('.').next().unwrap_or("")
    }

    /// The first part of the path below `src`, without ending: the module a file belongs to.
    pub fn module(&self) -> Option<&str> {
        let below = self.path.strip_prefix("src/")?;
        let first = below.split('/').next()?;
        Some(first.strip_suffix(".rs").unwrap_or(first))
    }

    /// The code with everything under `#[cfg(test)]` or `#[test]` blanked; all of it, for a file of tests.
    pub fn code_without_tests(&self) -> String {
        let stem = Path::new(&self.path).file_stem().and_then(|stem| stem.to_str()).unwrap_or("");
        let tests_alone = stem == "tests" || self.path.contains("/tests/") || self.path.starts_with("tests/");
        let mut code: Vec<char> = self.separated.code.chars().collect();
        if tests_alone {
            return String::new();
        }
        for marker in ["#[cfg(test)]", "#[test]"] {
            let wanted: Vec<char> = marker.chars().collect();
            let mut from = 0;
            while let Some(at) = find(&code, &wanted, from) {
                let open = (at..code.len()).find(|i| code[*i] == '{' || code[*i] == ';');
                let end = match open {
                    Some(open) if code[open] == '{' => closing_brace(&code, open).unwrap_or(code.len() - 1),
                    Some(semicolon) => semicolon,
                    None => code.len() - 1,
                };
                blank(&mut code[at..=end]);
                from = end;
            }
        }
        code.into_iter().collect()
    }
}

fn find(code: &[char], wanted: &[char], from: usize) -> Option<usize> {
    (from..code.len().saturating_sub(wanted.len())).find(|at| code[*at..].starts_with(wanted))
}

fn blank(chars: &mut [char]) {
    for c in chars.iter_mut().filter(|c| **c != '\n') {
        *c = ' ';
    }
}

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Files with those endings below those folders of the root, sorted; what tools make is left out.
pub fn under(folders: &[&str], endings: &[&str]) -> Vec<SourceFile> {
    let mut paths = Vec::new();
    for folder in folders {
        walk(&root().join(folder), &mut paths);
    }
    let ending_fits = |path: &PathBuf| path.extension().is_some_and(|ending| endings.iter().any(|e| ending == *e));
    let mut files: Vec<SourceFile> = paths.iter().filter(|path| ending_fits(path)).map(|path| relative(path)).collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    files
}

fn relative(path: &Path) -> SourceFile {
    let below = path.strip_prefix(root()).expect("walked from the root");
    SourceFile::read(&below.to_string_lossy().replace('\\', "/"))
}

/// Folders that hold no source of the project. Corpora, vectors and golden files are data.
const SKIPPED: [&str; 7] = ["target", ".git", "corpus", "vectors", "golden", "node_modules", "__pycache__"];

fn walk(folder: &Path, paths: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let path = entry.path();
        if path.is_dir() && !SKIPPED.iter().any(|skipped| name == *skipped) {
            walk(&path, paths);
        } else if path.is_file() {
            paths.push(path);
        }
    }
}

#[test]
fn tests_inside_a_module_are_left_out() {
    let file =
        SourceFile::of("src/a.rs", "fn f() { g() }\n#[cfg(test)]\nmod tests { fn h() { if x { } } }\nfn k() {}\n");
    let code = file.code_without_tests();
    assert!(code.contains("fn f") && code.contains("fn k") && !code.contains("fn h"), "{code}");
    assert_eq!(code.lines().count(), 4);
    assert_eq!(SourceFile::of("src/a/tests.rs", "fn h() {}").code_without_tests(), "");
}

#[test]
fn the_module_of_a_file_is_its_first_part() {
    assert_eq!(SourceFile::of("src/case/kernel.rs", "").module(), Some("case"));
    assert_eq!(SourceFile::of("src/case.rs", "").module(), Some("case"));
    assert_eq!(SourceFile::of("ui/lib.rs", "").module(), None);
}

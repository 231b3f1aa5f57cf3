//! Every source file is part of a build: a test file that nobody names runs never, and looks as if it did.

use crate::fault::Fault;
use crate::text::words_at;
use crate::tree::SourceFile;

/// Files below `src` and `tests` that no file above or beside them declares.
pub fn orphans(files: &[SourceFile]) -> Vec<Fault> {
    let alone = files.iter().filter(|file| needs_declaring(&file.path) && !files.iter().any(|by| declares(by, file)));
    alone.map(|file| Fault::new(&file.path, 1, "no module declares this file, so it is never built")).collect()
}

/// Roots of crates are built as they are: those of `src`, those right below `tests`, and fuzz targets.
fn needs_declaring(path: &str) -> bool {
    let root_of_src = matches!(path, "src/lib.rs" | "src/main.rs");
    let root_of_tests = path.strip_prefix("tests/").is_some_and(|below| !below.contains('/'));
    let apart = ["tests/fuzz/", "tests/bench/", "src/bin/"].iter().any(|folder| path.starts_with(folder));
    !(root_of_src || root_of_tests || apart)
}

/// By `mod name;` in the module above it or in a crate root, or by a `#[path]` that ends in its place.
fn declares(by: &SourceFile, file: &SourceFile) -> bool {
    let Some((folder, name)) = file.path.trim_end_matches(".rs").rsplit_once('/') else { return false };
    let above = by.path == format!("{folder}.rs")
        || by.path == format!("{folder}/mod.rs")
        || (folder == "src" && matches!(by.path.as_str(), "src/lib.rs" | "src/main.rs"));
    let module = format!("mod {name}");
    if above && !words_at(&by.separated.code, &module).is_empty() {
        return true;
    }
    let within = by.path.rsplit_once('/').map_or("", |(folder, _)| folder);
    let from_there = file.path.strip_prefix(&format!("{within}/"));
    by.path != file.path && from_there.is_some_and(|place| by.source.contains(&format!("#[path = \"{place}\"]")))
}

#[cfg(test)]
mod self_tests {
    use super::*;

    fn orphan_paths(files: &[(&str, &str)]) -> Vec<String> {
        let files: Vec<SourceFile> = files.iter().map(|(path, source)| SourceFile::of(path, source)).collect();
        orphans(&files).into_iter().map(|fault| fault.file).collect()
    }

    #[test]
    fn a_test_file_that_nobody_names_is_caught() {
        let root = ("tests/claims.rs", "#[path = \"claims/a.rs\"]\nmod a;\n// mod b;\n");
        let found = orphan_paths(&[root, ("tests/claims/a.rs", ""), ("tests/claims/b.rs", "")]);
        assert_eq!(found, ["tests/claims/b.rs"]);
    }

    #[test]
    fn a_module_that_nobody_declares_is_caught() {
        let files = [
            ("src/lib.rs", "pub mod a;"),
            ("src/a.rs", "mod b;"),
            ("src/a/b.rs", ""),
            ("src/a/c.rs", ""),
            ("src/d.rs", ""),
        ];
        assert_eq!(orphan_paths(&files), ["src/a/c.rs", "src/d.rs"]);
    }
}

//! Licences of everything the program is built from, held against one list.
//!
//! `deny.toml` says the same to those who can reach an advisory database; a test below holds the two lists equal.

use serde_json::Value;
use spdx::{Expression, LicenseReq, ParseMode};
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// Licences a dependency may come under, as SPDX names. MIT-0 and 0BSD ask for less than MIT does.
const ALLOWED: [&str; 13] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "GPL-3.0-only",
    "ISC",
    "MIT",
    "MIT-0",
    "MPL-2.0",
    "OFL-1.1",
    "Unicode-3.0",
    "Zlib",
];

/// Dedicated to the public by their authors, which the list does not name: character tables that the reader of DICOM
/// stands on, and a hash in the build of one that the reader of columns stands on. No other crate may come under it.
const DEDICATED: [&str; 7] = [
    "encoding-index-japanese",
    "encoding-index-korean",
    "encoding-index-simpchinese",
    "encoding-index-singlebyte",
    "encoding-index-tradchinese",
    "encoding_index_tests",
    "tiny-keccak",
];

fn dedicated(package: &Value) -> bool {
    package["license"] == "CC0-1.0" && package["name"].as_str().is_some_and(|name| DEDICATED.contains(&name))
}

fn allowed(requirement: &LicenseReq) -> bool {
    ALLOWED.contains(&requirement.to_string().as_str())
}

/// Strict, but for the slash of older manifests.
const OLDER_SPELLING: ParseMode = ParseMode { allow_slash_as_or_operator: true, ..ParseMode::STRICT };

/// Whether the expression can be met by allowed licences alone; `A/B` is an older way to write `A OR B`.
fn may_be_used(expression: &str) -> Result<bool, String> {
    let parsed = Expression::parse_mode(expression, OLDER_SPELLING).map_err(|fault| fault.to_string())?;
    Ok(parsed.evaluate(allowed))
}

fn metadata() -> Value {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let arguments = [
        "metadata",
        "--format-version",
        "1",
        "--locked",
        "--all-features",
        "--filter-platform",
        "x86_64-unknown-linux-gnu",
    ];
    let output =
        Command::new(cargo).args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).output().expect("cargo starts");
    assert!(output.status.success(), "cargo metadata: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).expect("cargo metadata prints JSON")
}

/// Identifiers of the packages that the workspace is built from: normal and build dependencies, all features.
fn built_from(metadata: &Value) -> BTreeSet<String> {
    let nodes = metadata["resolve"]["nodes"].as_array().expect("resolved");
    let by_id: BTreeMap<&str, &Value> = nodes.iter().map(|node| (node["id"].as_str().expect("an id"), node)).collect();
    let members = metadata["workspace_members"].as_array().expect("members");
    let mut next: Vec<&str> = members.iter().filter_map(Value::as_str).collect();
    let mut seen = BTreeSet::new();
    while let Some(id) = next.pop() {
        if !seen.insert(id.to_owned()) {
            continue;
        }
        for dependency in by_id[id]["deps"].as_array().into_iter().flatten() {
            let kinds = dependency["dep_kinds"].as_array().expect("kinds");
            if kinds.iter().any(|kind| kind["kind"].as_str() != Some("dev")) {
                next.push(dependency["pkg"].as_str().expect("a package"));
            }
        }
    }
    seen
}

/// [R-HOUSE-1]
#[test]
fn every_dependency_comes_under_an_allowed_licence() {
    let metadata = metadata();
    let used = built_from(&metadata);
    assert!(used.len() > 50, "only {} packages: the graph was not walked", used.len());
    let mut faults = Vec::new();
    for package in metadata["packages"].as_array().expect("packages") {
        if !used.contains(package["id"].as_str().expect("an id")) || dedicated(package) {
            continue;
        }
        let name = format!("{} {}", package["name"], package["version"]);
        match package["license"].as_str().map(may_be_used) {
            Some(Ok(true)) => {}
            Some(Ok(false)) => faults.push(format!("{name}: {} is not on the list", package["license"])),
            Some(Err(fault)) => faults.push(format!("{name}: {fault}")),
            None => faults.push(format!("{name}: names no licence")),
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn an_expression_is_judged_by_its_parts() {
    for fine in [
        "MIT",
        "MIT OR Apache-2.0",
        "Unlicense OR MIT",
        "(MIT OR Apache-2.0) AND Unicode-3.0",
        "MIT/Apache-2.0",
        "Apache-2.0 WITH LLVM-exception",
    ] {
        assert_eq!(may_be_used(fine), Ok(true), "{fine}");
    }
    for not in [
        "AGPL-3.0-only",
        "MIT AND SSPL-1.0",
        "GPL-2.0-only",
        "LicenseRef-Own",
        "CC-BY-NC-4.0 OR BUSL-1.1",
        "Apache-2.0 AND GPL-2.0-only WITH Classpath-exception-2.0",
    ] {
        assert_eq!(may_be_used(not), Ok(false), "{not}");
    }
    assert!(may_be_used("no such thing").is_err());
}

#[test]
fn the_font_comes_with_its_licence() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/ui/fonts/OFL.txt");
    let text = std::fs::read_to_string(path).expect("ui/fonts/OFL.txt");
    assert!(text.contains("SIL OPEN FONT LICENSE Version 1.1"));
}

#[test]
fn the_program_comes_with_its_licence() {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/LICENSE")).expect("LICENSE");
    assert!(text.contains("GNU GENERAL PUBLIC LICENSE") && text.contains("Version 3"));
}

#[test]
fn deny_toml_holds_the_same_list() {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/deny.toml")).expect("deny.toml");
    let table: toml::Table = toml::from_str(&text).expect("TOML");
    let listed = table["licenses"]["allow"].as_array().expect("licenses.allow");
    let listed: BTreeSet<&str> = listed.iter().filter_map(toml::Value::as_str).collect();
    assert_eq!(listed, BTreeSet::from(ALLOWED));
}

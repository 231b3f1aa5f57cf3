//! The rules of the house, held by an ordinary test.
//!
//! Each rule is a function from source to faults in `tests/tidy/`, with self-tests on a bad snippet beside it, so
//! that a rule which no longer bites is seen. The tests here run every rule over the tree; a fault names file and
//! line. What stands here and nowhere else: which rule looks at which files.

#[path = "tidy/anchors.rs"]
mod anchors;
#[path = "tidy/fault.rs"]
mod fault;
#[path = "tidy/layers.rs"]
mod layers;
#[path = "tidy/length.rs"]
mod length;
#[path = "tidy/purity.rs"]
mod purity;
#[path = "tidy/registered.rs"]
mod registered;
#[path = "tidy/screens.rs"]
mod screens;
#[path = "tidy/text.rs"]
mod text;
#[path = "tidy/touch.rs"]
mod touch;
#[path = "tidy/tree.rs"]
mod tree;
#[path = "tidy/words.rs"]
mod words;

use fault::{Fault, must_be_clean};
use tree::{SourceFile, under};

/// Runs a rule over the files with those endings below those folders.
fn over(folders: &[&str], endings: &[&str], rule: impl Fn(&SourceFile) -> Vec<Fault>) {
    let files = under(folders, endings);
    assert!(!files.is_empty(), "no file with {endings:?} below {folders:?}: the rule looks at nothing");
    must_be_clean(files.iter().flat_map(rule).collect());
}

#[test]
fn modules_name_only_modules_below_them() {
    over(&["src"], &["rs"], layers::upward_uses);
}

#[test]
fn core_modules_name_nothing_of_the_world() {
    over(&["src"], &["rs"], purity::world_in_core);
}

#[test]
fn only_the_presenter_names_the_screens() {
    over(&["src"], &["rs"], purity::screens_outside_presenter);
}

#[test]
fn files_are_short() {
    over(&["src", "tests", "ui"], &["rs", "slint"], length::long_file);
}

#[test]
fn functions_are_short() {
    over(&["src", "tests", "ui"], &["rs"], length::long_functions);
}

#[test]
fn every_source_file_says_what_it_is_for() {
    over(&["src", "tests", "ui"], &["rs", "slint"], words::missing_module_doc);
}

#[test]
fn every_source_file_is_built() {
    must_be_clean(registered::orphans(&under(&["src", "tests"], &["rs"])));
}

#[test]
fn nothing_is_left_over() {
    over(&["src", "tests", "ui"], &["rs", "slint"], words::leftovers);
}

#[test]
fn unwrap_stands_only_in_tests() {
    over(&["src", "ui"], &["rs"], words::unwraps);
}

#[test]
fn words_speak_of_the_project_alone() {
    let endings = ["rs", "slint", "md", "toml", "sh", "py", "txt", "json"];
    over(&[""], &endings, words::workplace);
}

#[test]
fn colours_and_font_sizes_come_from_the_tokens() {
    over(&["ui"], &["slint"], screens::literals_outside_tokens);
}

#[test]
fn overlays_stand_in_the_tree() {
    over(&["ui"], &["slint"], screens::popups);
}

#[test]
fn everything_touchable_has_a_role_and_a_label() {
    let files = under(&["ui"], &["slint"]);
    assert!(!files.is_empty(), "no screen found");
    must_be_clean(touch::unlabelled(&files));
}

#[test]
fn every_requirement_has_a_test_and_every_test_a_requirement() {
    let page = SourceFile::read("DEVELOPERS.md");
    let tests: Vec<_> = under(&["tests", "src"], &["rs", "py"])
        .into_iter()
        .filter(|file| !file.path.starts_with("tests/tidy"))
        .collect();
    must_be_clean(anchors::gaps(&page, &tests));
}

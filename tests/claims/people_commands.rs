//! `people`: the roster and keys of a store, by command.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::memory_world::{Answer, MemoryDisk, run};
use super::record_fixture::Counted;
use brimline::commands::people::{self, PeopleArgs};
use brimline::people::PeopleStore;
use brimline::people::{Passcode, PersonId};
use clap::Parser;
use std::path::Path;

#[derive(Parser)]
struct Cli {
    #[command(flatten)]
    args: PeopleArgs,
}

fn people(disk: &MemoryDisk, random: &Counted, input: &str, words: &[&str]) -> Answer {
    let cli = Cli::try_parse_from(std::iter::once(&"people").chain(words)).unwrap();
    run(disk, random, input.as_bytes(), |world| people::run(&cli.args, world))
}

fn with_sam(disk: &MemoryDisk, random: &Counted) -> String {
    assert_eq!(people(disk, random, "", &["init"]).code, 0);
    let added = people(disk, random, "482913\n", &["add", "--name", "Sam Invented", "--role", "surgeon"]);
    assert_eq!(added.code, 0, "{}", added.err);
    added.out.trim().to_owned()
}

#[test]
fn a_person_is_added_listed_and_retired() {
    let (disk, random) = (MemoryDisk::default(), Counted::default());
    let kid = with_sam(&disk, &random);
    let listed = people(&disk, &random, "", &["list"]);
    assert!(listed.out.contains(&kid) && listed.out.contains("Sam Invented  surgeon"), "{}", listed.out);
    assert_eq!(people(&disk, &random, "", &["retire", &kid]).code, 0);
    assert!(people(&disk, &random, "", &["list"]).out.contains("retired"));
    assert_eq!(people(&disk, &random, "", &["retire", &kid]).code, 1);
    assert_eq!(people(&disk, &random, "", &["retire", "nobody"]).code, 1);
}

#[test]
fn a_changed_passcode_opens_the_key_and_the_old_one_does_not() {
    let (disk, random) = (MemoryDisk::default(), Counted::default());
    let kid = with_sam(&disk, &random);
    let wrong = people(&disk, &random, "482914\n739164\n", &["change-passcode", &kid]);
    assert_eq!(wrong.code, 1);
    assert!(wrong.err.contains("passcode is wrong"), "{}", wrong.err);
    assert_eq!(people(&disk, &random, "482913\n739164\n", &["change-passcode", &kid]).code, 0);
    let store = PeopleStore::new(&disk, Path::new("/store"));
    let kid = PersonId(kid);
    assert_eq!(store.open(&kid, &Passcode::new("739164").unwrap()).unwrap().person(), kid);
    assert!(store.open(&kid, &Passcode::new("482913").unwrap()).unwrap_err().is_wrong_passcode());
}

#[test]
fn a_lost_key_is_replaced_and_name_and_roles_stay() {
    let (disk, random) = (MemoryDisk::default(), Counted::default());
    let lost = with_sam(&disk, &random);
    let new = people(&disk, &random, "739164\n", &["add", "--replaces", &lost]);
    assert_eq!(new.code, 0, "{}", new.err);
    let lines = people(&disk, &random, "", &["list"]).out;
    assert_eq!(lines.matches("Sam Invented").count(), 2);
    assert_eq!(lines.matches("retired").count(), 1);
}

#[test]
fn bad_input_is_one_clear_line_and_nothing_is_written() {
    let (disk, random) = (MemoryDisk::default(), Counted::default());
    let none = people(&disk, &random, "", &["list"]);
    assert_eq!(none.code, 2);
    assert!(none.err.contains("roster.json"), "{}", none.err);
    with_sam(&disk, &random);
    let before = disk.files.lock().unwrap().clone();
    for (input, named) in
        [("", "1 lines"), ("1234\n", "line 1"), ("48291a\n", "line 1"), ("482913\n482913\n", "1 lines")]
    {
        let refused = people(&disk, &random, input, &["add", "--name", "Nora", "--role", "scrub-nurse"]);
        assert_eq!(refused.code, 2);
        assert!(refused.err.contains(named) && refused.err.lines().count() == 1, "{}", refused.err);
    }
    assert_eq!(people(&disk, &random, "", &["init"]).code, 1);
    assert_eq!(*disk.files.lock().unwrap(), before);
}

#[test]
fn a_full_disk_is_exit_three() {
    let (disk, random) = (MemoryDisk { full: true, ..MemoryDisk::default() }, Counted::default());
    let refused = people(&disk, &random, "", &["init"]);
    assert_eq!(refused.code, 3, "{}", refused.err);
}

#[test]
fn no_passcode_is_taken_from_an_argument() {
    assert!(
        Cli::try_parse_from(["people", "add", "--name", "N", "--role", "surgeon", "--passcode", "482913"]).is_err()
    );
}

//! Names in a case's folder.

/// The case's own copy of its pathway.
pub const PATHWAY: &str = "pathway.json";
/// The case's plan.
pub const PLAN: &str = "plan.json";
/// The first journal.
pub const JOURNAL: &str = "journal.jsonl";
/// The signed record.
pub const RECORD: &str = "record.json";
/// Name of the n-th addendum to the record, counted from 1.
#[must_use]
pub fn addendum(number: u32) -> String {
    format!("addendum-{number}.json")
}
/// Folder of saved images.
pub const IMAGES: &str = "images";
/// Folder of reports.
pub const REPORTS: &str = "reports";

/// Held by the one process that writes.
pub const LOCK: &str = "in-use.lock";

/// Name of the n-th journal of a case, counted from 1: further ones continue a damaged one.
#[must_use]
pub fn journal(number: u32) -> String {
    match number {
        1 => JOURNAL.to_owned(),
        more => format!("journal-{more}.jsonl"),
    }
}

/// Numbers of the journals among these names, ascending.
pub(super) fn journal_numbers(names: &[String]) -> Vec<u32> {
    let mut numbers: Vec<u32> = names.iter().filter_map(|name| journal_number(name)).collect();
    numbers.sort_unstable();
    numbers
}

fn journal_number(name: &str) -> Option<u32> {
    if name == journal(1) {
        return Some(1);
    }
    let number = name.strip_prefix("journal-")?.strip_suffix(".jsonl")?.parse().ok()?;
    (journal(number) == name && number > 1).then_some(number)
}

/// The first name for a torn tail of that journal that is not taken.
pub(super) fn torn(journal: &str, names: &[String]) -> String {
    let free = (1..=u32::MAX).map(|number| format!("{journal}.torn-{number}")).find(|name| !names.contains(name));
    free.expect("a folder holds fewer than 2^32 files")
}

//! One fault of the house rules, with its place.

use std::fmt;

/// A place and what is wrong there.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    pub file: String,
    /// Counted from 1.
    pub line: usize,
    pub what: String,
}

impl Fault {
    pub fn new(file: &str, line: usize, what: impl Into<String>) -> Self {
        Self { file: file.to_owned(), line, what: what.into() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.file, self.line, self.what)
    }
}

/// Fails the test with every fault, one a line.
pub fn must_be_clean(mut faults: Vec<Fault>) {
    faults.sort();
    let list: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert!(list.is_empty(), "{} fault(s)\n{}\n", list.len(), list.join("\n"));
}

#[test]
fn a_fault_names_file_and_line() {
    assert_eq!(Fault::new("src/a.rs", 7, "too long").to_string(), "src/a.rs:7: too long");
}

#[test]
#[should_panic(expected = "src/a.rs:7: too long")]
fn one_fault_fails_the_test() {
    must_be_clean(vec![Fault::new("src/a.rs", 7, "too long")]);
}

//! The parsers of what a case leaves behind: script, roster, journal, record. See `parsers.rs`,
//! which whoever takes this module in has beside it.
#![allow(dead_code, reason = "each target uses one of them")]

use super::parsers::one_line;

/// A scripted case.
pub fn script(bytes: &[u8]) {
    one_line(brimline::commands::script::read(bytes));
}

/// The roster of people and their public keys.
pub fn roster(bytes: &[u8]) {
    one_line(brimline::people::Roster::read(bytes));
}

/// The journal of a case.
pub fn journal(bytes: &[u8]) {
    one_line(brimline::journal::read(bytes));
}

/// A case record, read with its payload, and verified against a roster without anybody in it.
pub fn record(bytes: &[u8]) {
    one_line(brimline::record::SignedRecord::read(bytes));
    one_line(brimline::record::verify(bytes, &brimline::people::Roster::default()));
}

//! Feeds arbitrary bytes to the parser `strict_json`.
#![no_main]

#[path = "../parsers.rs"]
mod parsers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| parsers::strict_json(bytes));

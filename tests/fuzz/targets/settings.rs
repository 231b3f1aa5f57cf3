//! Feeds arbitrary bytes to the parser `settings`.
#![no_main]

#[path = "../parsers.rs"]
mod parsers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| parsers::settings(bytes));

//! Feeds arbitrary bytes to the parser `dose_json`.
#![no_main]

#[path = "../parsers.rs"]
mod parsers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| parsers::dose_json(bytes));

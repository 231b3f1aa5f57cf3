//! Feeds arbitrary bytes to the parser `correction`.
#![no_main]

#[path = "../parsers.rs"]
mod parsers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| parsers::correction(bytes));

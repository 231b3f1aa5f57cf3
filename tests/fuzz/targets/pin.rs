//! Feeds arbitrary bytes to the parser `pin`.
#![no_main]

#[path = "../parsers.rs"]
mod parsers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| parsers::pin(bytes));

//! Feeds arbitrary bytes to the parser `script`.
#![no_main]

#[path = "../case_parsers.rs"]
mod case_parsers;
#[path = "../parsers.rs"]
mod parsers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| case_parsers::script(bytes));

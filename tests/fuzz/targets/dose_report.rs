//! Feeds arbitrary bytes to the parser `dose_report`.
#![no_main]

#[path = "../dicom_parsers.rs"]
mod dicom_parsers;
#[path = "../parsers.rs"]
mod parsers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| dicom_parsers::dose_report(bytes));

#![no_main]

#[path = "../talk.rs"]
mod talk;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| talk::session(bytes));

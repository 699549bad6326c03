#![no_main]

#[path = "../draw.rs"]
mod draw;
#[path = "../mutate.rs"]
mod mutate;
#[path = "../spoil.rs"]
mod spoil;
#[path = "../texts.rs"]
mod texts;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| texts::parse(bytes));
libfuzzer_sys::fuzz_mutator!(|bytes: &mut [u8], size: usize, most: usize, seed: u32| {
    mutate::mutate(bytes, size, most, seed)
});

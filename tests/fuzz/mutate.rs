//! Spoiling inside a fuzzer.

use crate::draw::Draw;
use crate::spoil::spoilt;

/// Spoils what a fuzzer holds, in its own place; the new size.
pub fn mutate(bytes: &mut [u8], size: usize, most: usize, seed: u32) -> usize {
    let mut draw = Draw::new(u64::from(seed) + 1);
    if draw.below(4) == 0 {
        return libfuzzer_sys::fuzzer_mutate(bytes, size, most);
    }
    let mut new = spoilt(&bytes[..size], &mut draw);
    new.truncate(most);
    bytes[..new.len()].copy_from_slice(&new);
    new.len()
}

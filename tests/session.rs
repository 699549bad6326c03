//! Sessions made from bytes: those that are kept, and those that a fixed seed makes.

#[path = "fuzz/draw.rs"]
mod draw;
#[path = "fuzz/talk.rs"]
mod talk;

use std::fs;
use std::path::Path;

use draw::Draw;

/// Any session that once went wrong is kept there, and some that go far.
#[test]
fn sessions_that_are_kept_hold() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus/session");
    let files: Vec<_> = fs::read_dir(folder).expect("the folder").map(|file| file.expect("a file").path()).collect();
    assert!(!files.is_empty());
    for file in files {
        println!("{}", file.display());
        talk::session(&fs::read(file).expect("the bytes"));
    }
}

#[test]
fn sessions_of_a_fixed_seed_hold() {
    let sessions = if cfg!(debug_assertions) { 60 } else { 500 };
    let mut draw = Draw::new(7);
    for number in 0..sessions {
        let bytes: Vec<u8> = (0..300).filter_map(|_| u8::try_from(draw.below(256)).ok()).collect();
        println!("session {number}");
        talk::session(&bytes);
    }
}

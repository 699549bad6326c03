//! One plan from the command line.

use std::path::Path;
use std::sync::Arc;

use super::inputs::Input;
use super::suppose::Supposing;
use super::{Status, complain};
use crate::plan::{Reading, Shelves, read_with};
use crate::text::{Lines, decode};

/// Reads one plan, completed from the shelves of its house, as if it said what is supposed, and complains of words that
/// cannot be read.
///
/// # Errors
/// The exit status, when there is nothing to go on with; what was wrong has been said.
pub fn plan(path: &Path, shelves: &Arc<Shelves>, supposing: &Supposing) -> Result<(Reading, String), Status> {
    let (bytes, name) = Input::named(path).and_then(|input| Ok((input.read()?, input.name()))).map_err(|not_read| {
        complain(&format!("{} could not be read: {}", not_read.path, not_read.why));
        Status::NotRead
    })?;
    let reading = supposing.apply(reading(bytes, shelves)).map_err(|why| {
        complain(&format!("{name}: {why}"));
        Status::Usage
    })?;
    let lines = Lines::new(&reading.text);
    for misread in &reading.misreads {
        let (line, column) = lines.position(&reading.text, misread.span.start);
        complain(&format!("{name}:{line}:{column}: unreadable: {}", misread.what));
    }
    Ok((reading, name))
}

/// A plan from the bytes of a file, completed from the shelves of its house.
pub fn reading(bytes: Vec<u8>, shelves: &Arc<Shelves>) -> Reading {
    match decode(bytes) {
        Ok(text) => read_with(text, shelves),
        Err(slip) => {
            let (text, misread) = *slip;
            Reading { text, misreads: vec![misread], ..Reading::default() }
        }
    }
}

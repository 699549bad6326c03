//! `--list-plans`: the plans that would be judged.

use std::io::{self, Write};

use super::houses::Houses;
use super::inputs::{Inputs, looks_like_plan};
use super::{Status, complain};
use crate::report::{NotRead, clean};

/// Names the plans, one a line.
///
/// # Errors
/// When they cannot be written.
pub fn run(mut inputs: Inputs, houses: &Houses, out: &mut dyn Write) -> io::Result<Status> {
    let mut plans = 0;
    for input in inputs.list.iter().filter(|input| houses.at(input.house).house.is_some() && !houses.leaves_out(input))
    {
        match input.read() {
            Ok(bytes) if houses.may_be_no_plan(input) && !looks_like_plan(&bytes) => {}
            Ok(_) => {
                plans += 1;
                writeln!(out, "{}", clean(&input.name()))?;
            }
            Err(not_read) => inputs.not_read.push(not_read),
        }
    }
    for NotRead { path, why } in &inputs.not_read {
        complain(&format!("{path} could not be read: {why}"));
    }
    // What is wrong with a house file has been said.
    if !houses.broken.is_empty() {
        return Ok(Status::Usage);
    }
    Ok(match (inputs.not_read.len(), plans) {
        (0, 0) => {
            complain("nothing to check: there is no plan");
            Status::Nothing
        }
        (0, _) => Status::Clear,
        _ => Status::NotRead,
    })
}

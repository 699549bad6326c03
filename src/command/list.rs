//! `--list-plans`: the plans that would be judged.

use std::io::{self, Write};

use super::check::Arguments;
use super::inputs::looks_like_plan;
use super::{Status, complain};
use crate::report::{NotRead, clean};

/// Names the plans, one a line.
///
/// # Errors
/// When they cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let mut houses = match arguments.houses() {
        Ok(houses) => houses,
        Err(status) => return Ok(status),
    };
    let mut inputs = arguments.inputs();
    houses.assign(&mut inputs.list);
    let mut plans = 0;
    for input in inputs.list.iter().filter(|input| !houses.leaves_out(input)) {
        match input.read() {
            Ok(bytes) if houses.may_be_no_plan(input) && !looks_like_plan(&bytes) => {}
            Ok(_) => {
                plans += 1;
                writeln!(out, "{}", clean(&input.name))?;
            }
            Err(not_read) => inputs.not_read.push(not_read),
        }
    }
    for NotRead { path, why } in &inputs.not_read {
        complain(&format!("{path} could not be read: {why}"));
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

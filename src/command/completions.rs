//! `completions`: what completes the command line in a shell.

use std::io::{self, Write};

use clap::{Args, Command};
use clap_complete::{Shell, generate};

use super::Status;

/// What `completions` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// Which shell
    #[arg(value_enum)]
    shell: Shell,
}

/// Prints what completes the command line.
///
/// # Errors
/// When it cannot be written.
pub fn run(arguments: &Arguments, line: &mut Command, out: &mut dyn Write) -> io::Result<Status> {
    // The generator takes no for an answer badly, and memory never says it.
    let mut script = Vec::new();
    generate(arguments.shell, line, "testlamp", &mut script);
    out.write_all(&script)?;
    Ok(Status::Clear)
}

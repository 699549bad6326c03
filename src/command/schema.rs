//! `schema`: print a JSON Schema.

use std::io::{self, Write};

use clap::{Args, ValueEnum};

use super::Status;
use crate::report::to_json;

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Which {
    /// Of plans
    Plan,
    /// Of house files
    House,
    /// Of what `check --format json` writes
    Report,
    /// Of a line of what `check --record` writes
    Record,
    /// Of what `figures --format json` writes
    Figures,
    /// Of what `house --format json` writes
    HouseSettings,
}

/// What `schema` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// Which schema
    which: Which,
}

/// Prints a JSON Schema.
///
/// # Errors
/// When it cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let schema = match arguments.which {
        Which::Plan => crate::plan::schema(),
        Which::House => crate::house::schema(),
        Which::HouseSettings => super::house_settings_schema(),
        Which::Report => crate::report::schema(),
        Which::Record => super::record::schema(),
        Which::Figures => super::figures_schema(),
    };
    writeln!(out, "{}", to_json(&schema, 0)?)?;
    Ok(Status::Clear)
}

//! `schema`: print a JSON Schema.

use std::io::{self, Write};

use clap::{Args, ValueEnum};

use super::Status;

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Which {
    /// Of plans
    Plan,
    /// Of house files
    House,
    /// Of shelf files
    Shelf,
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
        Which::Plan => include_str!("../../schema/plan.schema.json"),
        Which::House => include_str!("../../schema/house.schema.json"),
        Which::Shelf => include_str!("../../schema/shelf.schema.json"),
        Which::HouseSettings => include_str!("../../schema/house-settings.schema.json"),
        Which::Report => include_str!("../../schema/report.schema.json"),
        Which::Record => include_str!("../../schema/record.schema.json"),
        Which::Figures => include_str!("../../schema/figures.schema.json"),
    };
    out.write_all(schema.as_bytes())?;
    Ok(Status::Clear)
}

//! `figures`: the solved numbers of a plan.

use std::io::{self, Write};
use std::iter::once;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use schemars::JsonSchema;
use serde::Serialize;

use super::suppose::Supposing;
use super::{Status, houses, load};
use crate::report::{
    Program, Row, Supposed, Table, amplifier_table, capacitor_table, clean, load_table, supply_table, to_json,
    wire_table,
};
use crate::solve::Job;

/// The version of the format.
const FORMAT: u32 = 1;

#[derive(Debug, Clone, Copy, Default, ValueEnum)]
enum Format {
    /// For people
    #[default]
    Table,
    /// For machines (`testlamp schema figures` prints its schema)
    Json,
}

/// What `figures` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The plan; - reads standard input
    plan: PathBuf,
    /// Judge by this house file, and by none that lies above the plan
    #[arg(long, value_name = "FILE")]
    house: Option<PathBuf>,
    /// How the numbers are written
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    supposing: Supposing,
}

/// The solved numbers of a plan.
#[derive(Debug, Serialize, JsonSchema)]
struct Figures {
    /// Version of the format: 1.
    format: u32,
    /// What wrote it.
    program: Program,
    /// The file, as it was named.
    path: String,
    /// What the plan was read as if it said.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    supposed: Vec<Supposed>,
    /// Every supply wire, by name.
    wires: Vec<Table>,
    /// Every amplifier, by name.
    amplifiers: Vec<Table>,
    /// Every load, by name.
    loads: Vec<Table>,
    /// Every capacitor, by name.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    capacitors: Vec<Table>,
    /// The supply as a whole: what the alternator spares, how long the battery lasts.
    supply: Table,
}

/// The JSON Schema of the numbers.
pub fn figures_schema() -> serde_json::Value {
    crate::report::schema_of::<Figures>("figures")
}

/// Prints the solved numbers of a plan.
///
/// # Errors
/// When they cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let read = houses::of_plan(arguments.house.as_deref(), &arguments.plan).and_then(|house| {
        load::plan(&arguments.plan, &house.shelves, &arguments.supposing).map(|(reading, path)| (house, reading, path))
    });
    let (house, reading, path) = match read {
        Ok(read) => read,
        Err(status) => return Ok(status),
    };
    let job = Job::new(&reading.plan, &house);
    let figures = Figures {
        format: FORMAT,
        program: Program::default(),
        path,
        supposed: arguments.supposing.list().to_vec(),
        wires: job.wires.iter().enumerate().map(|(at, wire)| wire_table(&job, at, wire)).collect(),
        amplifiers: job.amplifiers.iter().map(|amplifier| amplifier_table(&job, amplifier)).collect(),
        loads: job.loads.iter().map(|load| load_table(&job, load)).collect(),
        capacitors: reading.plan.capacitors.keys().map(|name| capacitor_table(&job, name)).collect(),
        supply: supply_table(&job),
    };
    match arguments.format {
        Format::Json => writeln!(out, "{}", to_json(&figures, 0)?)?,
        Format::Table => table(out, &figures)?,
    }
    Ok(if reading.misreads.is_empty() { Status::Clear } else { Status::Held })
}

fn table(out: &mut dyn Write, figures: &Figures) -> io::Result<()> {
    let gear = || figures.amplifiers.iter().chain(&figures.loads).chain(&figures.capacitors);
    let tables = || figures.wires.iter().chain(gear()).chain(once(&figures.supply));
    let names = tables().flat_map(|table| &table.rows).map(|row| row.name.chars().count());
    let width = names.max().unwrap_or(0);
    if figures.wires.is_empty() && figures.amplifiers.is_empty() && figures.loads.is_empty() {
        writeln!(out, "{} states no wires, no amplifiers and no loads", clean(&figures.path))?;
    }
    for said in &figures.supposed {
        writeln!(out, "{}", clean(&format!("as if {} were {}", said.path, said.value)))?;
    }
    for (at, table) in tables().enumerate() {
        let gap = if at == 0 { "" } else { "\n" };
        writeln!(out, "{gap}{}", clean(&table.path))?;
        for Row { name, text, .. } in &table.rows {
            writeln!(out, "  {:width$}  {}", clean(name), clean(text))?;
        }
    }
    Ok(())
}

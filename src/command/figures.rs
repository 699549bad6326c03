//! `figures`: the solved numbers of a plan.

use std::io::{self, Write};
use std::iter::once;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use schemars::JsonSchema;
use serde::Serialize;

use super::suppose::Supposing;
use super::{Status, houses, load};
use crate::judge::Figure;
use crate::plan::{Amplifier, Load, Wire};
use crate::quantity::{Current, Dimension, Power, Range, Resistance, Share};
use crate::report::{Amount, Program, Supposed, amount, clean, to_json};
use crate::solve::{Case, Decided, Job, Known, Thing, Undecided, coils, levels, loads, supply};

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
    /// The supply as a whole: what the alternator spares, how long the battery lasts.
    supply: Table,
}

/// The numbers of one thing.
#[derive(Debug, Serialize, JsonSchema)]
struct Table {
    /// Its path in the plan, like `wires.main`.
    path: String,
    /// Its numbers.
    rows: Vec<Row>,
}

/// One number.
#[derive(Debug, Serialize, JsonSchema)]
struct Row {
    /// What it is.
    name: String,
    /// As it reads: a value, a range, or what is missing.
    text: String,
    /// The number, when it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    amount: Option<Amount>,
    /// Paths of facts that have to be stated first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    open: Vec<String>,
}

/// The JSON Schema of the numbers.
pub fn figures_schema() -> serde_json::Value {
    let mut schema = crate::plan::tidy_schema::<Figures>();
    if let Some(map) = schema.as_object_mut() {
        map.insert("title".into(), "testlamp figures".into());
    }
    schema
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
        supply: supply_table(&job),
    };
    match arguments.format {
        Format::Json => writeln!(out, "{}", to_json(&figures, 0)?)?,
        Format::Table => table(out, &figures)?,
    }
    Ok(if reading.misreads.is_empty() { Status::Clear } else { Status::Held })
}

fn wire_table(job: &Job<'_>, at: usize, wire: &Thing<'_, Wire>) -> Table {
    let cases = [Case::IdleFull, Case::IdleProgramme];
    let mut rows = Vec::new();
    for case in cases {
        rows.push(known(&format!("current, {}", case.words()), job.wire_current(wire, case)));
    }
    for case in cases {
        rows.push(known(&format!("drop, {}", case.words()), job.wire_drop(wire, case)));
    }
    let carries = job.ampacity(wire).map(|carries| carries.ampacity);
    rows.push(row("carries where it runs", carries.clone()));
    rows.push(row("conductor temperature, programme", job.wire_temperature(wire)));
    if job.protection().ways.iter().any(|way| way.wire == at) {
        rows.push(row("smallest fuse for the load", smallest_fuse(job, wire)));
        rows.push(row(
            "largest fuse for the wire",
            carries.map(|most| most * job.house.limits.fuse_over_ampacity.base()),
        ));
        rows.extend(fuses(job, at));
    }
    Table { path: wire.address.to_string(), rows }
}

/// A fuse must carry the full output, and programme all the time at the share that a fuse carries all the time.
fn smallest_fuse(job: &Job<'_>, wire: &Thing<'_, Wire>) -> Decided<Range<Current>> {
    let full = job.wire_current(wire, Case::IdleFull)?.range;
    let programme = job.wire_current(wire, Case::IdleProgramme)?.range;
    Ok(full.max(programme / job.house.limits.fuse_loading.base()))
}

/// The fuses that alone protect a wire.
fn fuses(job: &Job<'_>, wire: usize) -> Vec<Row> {
    let sites = job.protection().fuses.iter().enumerate();
    let own = sites.filter(|(fuse, _)| job.protected_by(*fuse).contains(&wire));
    let rows: Vec<Row> = own
        .filter_map(|(_, site)| Some(row(&format!("its fuse, {}", site.place), Ok(Range::from(site.fuse.rating?)))))
        .collect();
    if rows.is_empty() {
        let text = "none with a rating protects it".to_owned();
        return vec![Row { name: "its fuse".into(), text, amount: None, open: Vec::new() }];
    }
    rows
}

fn amplifier_table(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Table {
    let demand = job.demand(amplifier);
    let mut rows = vec![
        row("audio power, full output", demand.clone().map(|demand| demand.audio)),
        row("supply power, full output", demand.clone().map(|demand| demand.full)),
        row("supply power, programme", demand.map(|demand| demand.programme)),
    ];
    for case in [Case::IdleProgramme, Case::IdleFull, Case::OffProgramme, Case::OffFull] {
        rows.push(known(&format!("terminal voltage, {}", case.words()), job.terminal_voltage(amplifier, case)));
    }
    for case in [Case::IdleProgramme, Case::IdleFull] {
        rows.push(known(&format!("drop in its runs, {}", case.words()), job.run_drop(amplifier, case)));
        rows.push(known(&format!("drop on the way back, {}", case.words()), job.return_drop(amplifier, case)));
    }
    Table { path: amplifier.address.to_string(), rows }
}

fn load_table(job: &Job<'_>, load: &Thing<'_, Load>) -> Table {
    let ohms = loads::own_ohms(load, job).map(Range::<Resistance>::point);
    let lead = coils::lead_resistance(job, load).map(|lead| lead.range);
    let both = ohms.clone().and_then(|ohms| Ok((ohms, lead.clone()?)));
    let output = job.house.assumptions.output.range;
    let power = loads::power(load, job);
    let mut rows = vec![
        row("impedance", ohms),
        row("rated power", power.clone()),
        row("DC resistance with its lead", coils::dc_resistance(job, load).map(|known| known.range)),
        row("resistance of its lead", lead),
        row("power lost in its lead", both.clone().map(|(ohms, lead)| levels::lead_loss(lead, ohms))),
        row("level lost in its lead", both.clone().map(|(ohms, lead)| levels::lead_level(lead, ohms))),
        figure("damping factor at the coils", both.map(|(ohms, lead)| levels::damping(ohms, lead, output))),
        row("highest gain target", loads::ceiling(job, load).map(|ceiling| ceiling.volts)),
    ];
    rows.extend(coil_rows(job, load, &power));
    rows.extend(arrangement_rows(job, load));
    Table { path: load.address.to_string(), rows }
}

/// What each coil takes of a load's power.
fn coil_rows(job: &Job<'_>, load: &Thing<'_, Load>, power: &Decided<Range<Power>>) -> Vec<Row> {
    let Some(tree) = &load.coils else { return Vec::new() };
    let shares = coils::shares(job, tree);
    let lowest = coils::plays_lowest(job, tree);
    let each = tree.each().into_iter().enumerate().map(|(at, (_, coil))| {
        if !lowest[at] {
            let reason = "behind a crossover, whose maker says how much it gets";
            return vec![row::<Power>(&format!("power into {coil}"), Err(Undecided::NotApplicable(reason)))];
        }
        let share = shares.clone().map(|shares| shares[at]);
        let takes = share.clone().and_then(|share| Ok(power.clone()? * share));
        let share = share.map(|share| Range::<Share>::point(share * 100.0));
        vec![row(&format!("share of {coil}"), share), row(&format!("power into {coil}"), takes)]
    });
    each.flatten().collect()
}

/// Every arrangement of the same coils that loads them evenly and that the amplifier is made and rated for, best first.
fn arrangement_rows(job: &Job<'_>, load: &Thing<'_, Load>) -> Vec<Row> {
    let power = |found: loads::Arranged| {
        let ohms = Range::<Resistance>::point(found.is.ohms);
        row(&format!("power as {}, {ohms}", found.is.coils), Ok(found.power))
    };
    match loads::arrangements(job, load) {
        Ok(found) => found.into_iter().map(power).collect(),
        Err(undecided) => vec![row::<Power>("power of other arrangements", Err(undecided))],
    }
}

/// A number without a unit.
fn figure(name: &str, value: Decided<(f64, f64)>) -> Row {
    match value {
        Ok((low, high)) => {
            let figure = Figure::ratio(low, high);
            Row { name: name.to_owned(), text: figure.to_string(), amount: Some(amount(&figure)), open: Vec::new() }
        }
        Err(undecided) => row::<Resistance>(name, Err(undecided)),
    }
}

fn supply_table(job: &Job<'_>) -> Table {
    let mut rows = Vec::new();
    for (case, words) in [(Case::IdleProgramme, "at idle"), (Case::CruiseProgramme, "on the road")] {
        rows.push(row(&format!("alternator spares, {words}"), Ok(supply::spare(job, case))));
        let asked = job.balance(case).map(|balance| balance.asked);
        rows.push(known(&format!("added gear, average, {words}"), asked));
    }
    let lasts = job
        .banks()
        .into_iter()
        .map(|(place, bank)| row(&format!("music with the engine off, {place}"), bank.map(|bank| bank.lasts)));
    rows.extend(lasts);
    let asleep = job.asleep().total();
    rows.push(row("current asleep", Ok(asleep)));
    rows.push(row("asleep until it may not crank", job.starting_battery_lasts(asleep)));
    Table { path: "vehicle".into(), rows }
}

fn known<D: Dimension>(name: &str, value: Decided<Known<D>>) -> Row {
    row(name, value.map(|known| known.range))
}

fn row<D: Dimension>(name: &str, value: Decided<Range<D>>) -> Row {
    let name = name.to_owned();
    match value {
        Ok(range) => {
            let figure = Figure::from(range);
            Row { name, text: figure.to_string(), amount: Some(amount(&figure)), open: Vec::new() }
        }
        Err(Undecided::Open(places)) => {
            let open: Vec<String> = places.iter().map(ToString::to_string).collect();
            let text = match open.as_slice() {
                [] => "open: it depends on facts that are only known by range".to_owned(),
                some => format!("open: {}", some.join(", ")),
            };
            Row { name, text, amount: None, open }
        }
        Err(Undecided::NotApplicable(reason)) => {
            Row { name, text: format!("none: {reason}"), amount: None, open: Vec::new() }
        }
    }
}

fn table(out: &mut dyn Write, figures: &Figures) -> io::Result<()> {
    let tables = || figures.wires.iter().chain(&figures.amplifiers).chain(&figures.loads).chain(once(&figures.supply));
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

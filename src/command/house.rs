//! `house`: the settings that plans are judged by, and where each comes from.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use schemars::JsonSchema;
use serde::Serialize;

use super::houses::{Houses, Kept};
use super::{Status, complain, reason};
use crate::house::{Assumptions, House, Limits, OpenChecks, Setting, Severity, about, folder_of};
use crate::plan::{Stage, word};
use crate::report::{Program, clean, to_json};

/// The version of the format.
const FORMAT: u32 = 1;

#[derive(Debug, Clone, Copy, Default, ValueEnum)]
enum Format {
    /// For people
    #[default]
    Table,
    /// For machines (`testlamp schema house-settings` prints its schema)
    Json,
}

/// What `house` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// A plan or a folder: the house file is looked for there and above
    #[arg(value_name = "PATH", default_value = ".")]
    path: PathBuf,
    /// Show this house file, and none that lies above the path
    #[arg(long, value_name = "FILE")]
    house: Option<PathBuf>,
    /// How the settings are written
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// The settings that plans are judged by.
#[derive(Debug, Serialize, JsonSchema)]
struct Settings {
    /// Version of the format: 1.
    format: u32,
    /// What wrote it.
    program: Program,
    /// The house file; missing where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    path: Option<String>,
    /// What the house is called.
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<String>,
    /// Limits, assumptions and how hot places get.
    figures: Vec<Row>,
    /// What shuts the gate, by stage.
    gate: Vec<Stop>,
    /// What is in stock, as far as it is stated.
    stock: Vec<Shelved>,
    /// Rules that are off or count otherwise.
    rules: Vec<RuleRow>,
    /// Files of gear and vehicles, below the folder of the house file.
    shelves: Vec<String>,
    /// Whether the house says which files of a folder are plans.
    selects_plans: bool,
}

/// Where a setting comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Origin {
    /// It is what testlamp ships with.
    Default,
    /// The house file states it.
    House,
}

/// One figure.
#[derive(Debug, Serialize, JsonSchema)]
struct Row {
    /// Its path in a house file, like `limits.return-length`.
    path: String,
    /// What it is.
    about: String,
    /// Its value, as it reads.
    value: String,
    /// Where it comes from.
    from: Origin,
    /// The line of the house file that states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
    /// Its source.
    source: String,
}

/// What shuts the gate at one stage.
#[derive(Debug, Serialize, JsonSchema)]
struct Stop {
    /// The stage.
    stage: Stage,
    /// Findings of this severity and above shut the gate.
    findings: Severity,
    /// Open checks that shut it.
    open: OpenChecks,
    /// Where that comes from.
    from: Origin,
    /// The line of the house file that states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
}

/// What is in stock of one kind.
#[derive(Debug, Serialize, JsonSchema)]
struct Shelved {
    /// The kind: wires, or the form of a fuse.
    kind: String,
    /// The sizes or ratings.
    sizes: Vec<String>,
}

/// A rule that is off or counts otherwise.
#[derive(Debug, Serialize, JsonSchema)]
struct RuleRow {
    /// Its code.
    code: &'static str,
    /// Whether it is off.
    off: bool,
    /// How much harm its findings stand for, where that is changed.
    #[serde(skip_serializing_if = "Option::is_none")]
    severity: Option<Severity>,
    /// The line of the house file that says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
    /// Why.
    reason: String,
}

/// The JSON Schema of the settings.
pub fn house_settings_schema() -> serde_json::Value {
    crate::report::schema_of::<Settings>("house settings")
}

/// Prints the settings.
///
/// # Errors
/// When they cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let folder = match arguments.path.metadata() {
        Ok(found) if found.is_dir() => arguments.path.as_path(),
        Ok(_) => folder_of(&arguments.path),
        Err(error) => {
            complain(&format!("{} could not be read: {}", arguments.path.display(), reason(&error)));
            return Ok(Status::NotRead);
        }
    };
    let mut houses = match Houses::open(arguments.house.as_deref(), None) {
        Ok(houses) => houses,
        Err(status) => return Ok(status),
    };
    let at = houses.above(folder);
    let kept = houses.at(at);
    let Some(house) = &kept.house else { return Ok(Status::Usage) };
    let settings = settings(kept, house);
    match arguments.format {
        Format::Json => writeln!(out, "{}", to_json(&settings, 0)?)?,
        Format::Table => table(out, &settings)?,
    }
    Ok(Status::Clear)
}

fn settings(kept: &Kept, house: &House) -> Settings {
    let desk = Desk { kept, house };
    let (mut limits, mut assumptions): (Limits, Assumptions) = (house.limits, house.assumptions);
    let of = |section: &str, all: Vec<&mut dyn Setting>| -> Vec<Row> {
        all.iter().map(|setting| desk.row(&format!("{section}.{}", setting.name()), &**setting)).collect()
    };
    let mut figures = of("limits", limits.all());
    figures.extend(of("assumptions", assumptions.all()));
    figures.extend(house.zones.values().map(|zone| desk.row(zone.name, zone)));
    Settings {
        format: FORMAT,
        program: Program::default(),
        path: kept.path.clone(),
        name: house.name.clone(),
        figures,
        gate: [Stage::Draft, Stage::Planned, Stage::Installed].into_iter().map(|stage| desk.stop(stage)).collect(),
        stock: stock(house),
        rules: desk.rules(),
        shelves: house.shelves.files.iter().map(|shelf| shelf.path.clone()).collect(),
        selects_plans: house.plans.include.is_some() || house.plans.exclude.is_some(),
    }
}

struct Desk<'a> {
    kept: &'a Kept,
    house: &'a House,
}

impl Desk<'_> {
    /// The line of the house file that states something, with where it comes from.
    fn from(&self, path: &str) -> (Origin, Option<usize>) {
        let line = self.house.stated.get(path).copied();
        (if line.is_some() { Origin::House } else { Origin::Default }, line)
    }

    /// A source without the place that goes with it everywhere else.
    fn bare(&self, line: Option<usize>, source: &str) -> String {
        let place = line.map(|line| format!("{}, line {line}: ", self.kept.name)).unwrap_or_default();
        source.strip_prefix(&place).unwrap_or(source).to_owned()
    }

    fn row(&self, path: &str, setting: &dyn Setting) -> Row {
        let (from, line) = self.from(path);
        Row {
            path: path.to_owned(),
            about: about(path).unwrap_or_default(),
            value: setting.value(),
            from,
            line,
            source: self.bare(line, setting.source()),
        }
    }

    fn stop(&self, stage: Stage) -> Stop {
        let demand = self.house.gate.at(stage);
        let (from, line) = self.from(&format!("gate.{}", word(&stage)));
        Stop { stage, findings: demand.findings, open: demand.open, from, line }
    }

    fn rules(&self) -> Vec<RuleRow> {
        let rules = &self.house.rules;
        let row = |code: &'static str, severity: Option<Severity>, reason: &str| {
            let line = self.house.rule_line(code);
            RuleRow { code, off: severity.is_none(), severity, line, reason: self.bare(line, reason) }
        };
        let off = rules.off.iter().map(|(code, reason)| row(code, None, reason));
        let moved = rules.counts_as.iter().map(|(code, is)| row(code, Some(is.severity), is.reason));
        off.chain(moved).collect()
    }
}

fn stock(house: &House) -> Vec<Shelved> {
    let sizes = |sizes: &[String], kind: String| Shelved { kind, sizes: sizes.to_vec() };
    let wires: Vec<String> = house.stock.wires.iter().map(ToString::to_string).collect();
    let wires = (!wires.is_empty()).then(|| sizes(&wires, "wires".into()));
    let fuses = house.stock.fuses.iter().map(|(form, ratings)| {
        let ratings: Vec<String> = ratings.iter().map(ToString::to_string).collect();
        sizes(&ratings, format!("{} fuses", word(form)))
    });
    wires.into_iter().chain(fuses).collect()
}

fn table(out: &mut dyn Write, settings: &Settings) -> io::Result<()> {
    let title = match (&settings.path, &settings.name) {
        (None, _) => "No house file: everything is as testlamp ships it".to_owned(),
        (Some(path), None) => format!("Settings of {path}"),
        (Some(path), Some(name)) => format!("Settings of {name}, {path}"),
    };
    writeln!(out, "{}", clean(&title))?;
    let width = settings.figures.iter().map(|row| row.path.len()).max().unwrap_or(0);
    let value = settings.figures.iter().map(|row| row.value.chars().count()).max().unwrap_or(0);
    for row in &settings.figures {
        let from = from_words(row.from, row.line);
        writeln!(out, "  {}", clean(&format!("{:width$}  {:value$}  {from}: {}", row.path, row.value, row.source)))?;
    }
    writeln!(out, "\nGate")?;
    for Stop { stage, findings, open, from, line } in &settings.gate {
        let open = match open {
            OpenChecks::None => "no open check",
            OpenChecks::Danger => "open dangers",
            OpenChecks::All => "open checks",
        };
        let above = if *findings == Severity::Danger { "" } else { " and above" };
        let words = format!("findings of severity {}{above}, {open}", findings.word());
        writeln!(out, "  {:9}  {words}  ({})", word(stage), from_words(*from, *line))?;
    }
    section(out, "Stock", settings.stock.iter().map(|kind| format!("{}: {}", kind.kind, kind.sizes.join(", "))))?;
    section(
        out,
        "Rules",
        settings.rules.iter().map(|rule| {
            let how = rule.severity.map_or("is off".to_owned(), |severity| format!("counts as {}", severity.word()));
            let line = rule.line.map(|line| format!("line {line}: ")).unwrap_or_default();
            format!("{} {how}  ({line}{})", rule.code, rule.reason)
        }),
    )?;
    section(out, "Shelves", settings.shelves.iter().cloned())
}

fn section(out: &mut dyn Write, title: &str, rows: impl Iterator<Item = String>) -> io::Result<()> {
    for (at, row) in rows.enumerate() {
        if at == 0 {
            writeln!(out, "\n{title}")?;
        }
        writeln!(out, "  {}", clean(&row))?;
    }
    Ok(())
}

fn from_words(from: Origin, line: Option<usize>) -> String {
    match (from, line) {
        (Origin::House, Some(line)) => format!("house, line {line}"),
        (Origin::House, None) => "house".into(),
        (Origin::Default, _) => "default".into(),
    }
}

//! `check`: judge plans.

use std::collections::HashSet;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use rayon::prelude::*;

use super::inputs::{Input, Inputs, Kind, looks_like_plan};
use super::load::reading;
use super::suppose::Supposing;
use super::{ColourChoice, Status, complain};
use crate::house::House;
use crate::judge::{Judgement, Rule, judge};
use crate::plan::{Day, Plan, Reading};
use crate::report::{Broken, Json, Judged, NotRead, Paper, Printer, Short, Summary, Terminal, evidence, plan_report};
use crate::rules;
use crate::text::Tree;

/// How findings are written.
#[derive(Debug, Clone, Copy, Default, ValueEnum)]
enum Format {
    /// For people: the words underlined, why, what to do, the working
    #[default]
    Terminal,
    /// One line a finding
    Short,
    /// For machines (`testlamp schema report` prints its schema)
    Json,
}

/// What `check` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// Plans, folders or patterns; - reads standard input
    #[arg(value_name = "PATH", default_value = ".")]
    paths: Vec<PathBuf>,
    /// How findings are written
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// When to use colours
    #[arg(long = "color", alias = "colour", value_enum, value_name = "WHEN", default_value_t)]
    colour: ColourChoice,
    /// Only findings: no working, no summary, no list of facts to find out
    #[arg(long, short)]
    quiet: bool,
    #[command(flatten)]
    supposing: Supposing,
    /// List every verdict too, thinnest margins first, with digests of what it was reached by
    #[arg(long)]
    evidence: bool,
    /// Judge as of this day, like 2027-06-30: it decides which waivers have ended
    #[arg(long, value_name = "DAY", value_parser = |day: &str| Day::read(day))]
    as_of: Option<Day>,
    /// What to call the plan on standard input
    #[arg(long, value_name = "NAME", default_value = "stdin")]
    stdin_name: String,
}

/// From this many files on they are shared out among the processors.
const FEW: usize = 8;
/// So many plans are held at a time.
const BATCH: usize = 64;

/// Judges plans.
///
/// # Errors
/// When the report cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let mut inputs = Inputs::find(&arguments.paths, &arguments.stdin_name);
    let paper = arguments.colour.paper(arguments.quiet);
    let mut printer = printer(arguments.format, paper);
    printer.begin(out)?;
    let mut summary = Summary::default();
    let bench = Bench::new(arguments);
    let mut cannot_be_set = false;
    let mut fruitful: HashSet<usize> = std::mem::take(&mut inputs.repeated);
    for batch in inputs.list.chunks(BATCH) {
        for (input, answer) in batch.iter().zip(answers(batch, &bench)) {
            match answer {
                Answer::Plan(judged) => {
                    fruitful.insert(input.argument);
                    summary.plans += 1;
                    summary.counts.add(&judged.report.counts);
                    printer.plan(out, &judged)?;
                }
                Answer::Skipped => summary.skipped += 1,
                Answer::CannotBeSet(why) => {
                    fruitful.insert(input.argument);
                    cannot_be_set = true;
                    complain(&format!("{}: {why}", input.name));
                }
                Answer::NotRead(not_read) => {
                    fruitful.insert(input.argument);
                    inputs.not_read.push(not_read);
                }
            }
        }
    }
    summary.not_read = inputs.not_read.len();
    let barren = barren(&arguments.paths, &fruitful, &inputs.not_read);
    let status = if cannot_be_set { Status::Usage } else { status(&summary, !barren.is_empty()) };
    summary.status = status as u8;
    printer.end(out, &inputs.not_read, &summary)?;
    // The report first, so that what is said beside it comes last on a terminal.
    out.flush()?;
    for NotRead { path, why } in &inputs.not_read {
        complain(&format!("{path} could not be read: {why}"));
    }
    for path in barren {
        complain(&format!("nothing to check: no plan in {}", path.display()));
    }
    Ok(status)
}

/// The arguments that brought nothing to judge and of which nothing else is said.
fn barren<'a>(paths: &'a [PathBuf], fruitful: &HashSet<usize>, not_read: &[NotRead]) -> Vec<&'a PathBuf> {
    let told = |path: &PathBuf| not_read.iter().any(|known| Path::new(&known.path).starts_with(path));
    let unfruitful = paths.iter().enumerate().filter(|(at, _)| !fruitful.contains(at));
    unfruitful.map(|(_, path)| path).filter(|path| !told(path)).collect()
}

fn printer(format: Format, paper: Paper) -> Box<dyn Printer> {
    match format {
        Format::Terminal => Box::new(Terminal::new(paper)),
        Format::Short => Box::new(Short { paper }),
        Format::Json => Box::new(Json::default()),
    }
}

/// What outweighs what: a run that is not to be trusted, a run that is not complete, a finding, an empty argument.
fn status(summary: &Summary, barren: bool) -> Status {
    if summary.counts.broken > 0 {
        Status::Usage
    } else if summary.not_read > 0 {
        Status::NotRead
    } else if summary.counts.holds_gate() {
        Status::Held
    } else if barren || summary.plans == 0 {
        Status::Nothing
    } else {
        Status::Clear
    }
}

enum Answer {
    Plan(Box<Judged>),
    Skipped,
    NotRead(NotRead),
    CannotBeSet(String),
}

/// What every plan of a run is judged by.
struct Bench<'a> {
    house: House,
    rules: Vec<&'static Rule>,
    arguments: &'a Arguments,
}

impl<'a> Bench<'a> {
    fn new(arguments: &'a Arguments) -> Self {
        let house = House { today: Some(arguments.as_of.unwrap_or_else(Day::today)), ..House::default() };
        Self { house, rules: rules::all(), arguments }
    }

    fn judged(&self, name: &str, bytes: Vec<u8>) -> Result<Judged, String> {
        let reading = self.arguments.supposing.apply(reading(bytes))?;
        // What does not say that it is a plan is not judged as one.
        let is_plan = reading.tree.node("plan").is_some();
        let judgement = if is_plan { judge(&reading, &self.house, &self.rules) } else { Judgement::default() };
        let mut report = plan_report(name, &reading, &judgement);
        report.supposed = self.arguments.supposing.list().to_vec();
        report.evidence = self.arguments.evidence.then(|| evidence(&reading, &judgement, &self.house, &self.rules));
        Ok(Judged { report, text: reading.text })
    }
}

/// The answers to some inputs, in their order whatever the number of threads.
fn answers(batch: &[Input], bench: &Bench<'_>) -> Vec<Answer> {
    if batch.len() > FEW {
        batch.par_iter().map(|input| answer(input, bench)).collect()
    } else {
        batch.iter().map(|input| answer(input, bench)).collect()
    }
}

fn answer(input: &Input, bench: &Bench<'_>) -> Answer {
    let bytes = match input.read() {
        Ok(bytes) => bytes,
        Err(not_read) => return Answer::NotRead(not_read),
    };
    if input.kind == Kind::Found && !looks_like_plan(&bytes) {
        return Answer::Skipped;
    }
    match catch_unwind(AssertUnwindSafe(|| bench.judged(&input.name, bytes))) {
        Ok(Ok(judged)) => Answer::Plan(Box::new(judged)),
        Ok(Err(why)) => Answer::CannotBeSet(why),
        Err(_) => Answer::Plan(Box::new(broken(&input.name))),
    }
}

/// What is left to say when the reading itself broke down.
fn broken(name: &str) -> Judged {
    let reading = Reading { text: String::new(), tree: Tree::default(), plan: Plan::default(), misreads: Vec::new() };
    let mut report = plan_report(name, &reading, &Judgement::default());
    report.broken.push(Broken { code: "", subject: name.to_owned() });
    report.counts.broken = 1;
    Judged { report, text: String::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Counts;

    #[test]
    fn what_makes_the_run_untrue_outweighs_what_it_found() {
        let plans = |counts: Counts, not_read| Summary { plans: 1, not_read, counts, ..Summary::default() };
        let clear = Counts { checks: 3, passes: 1, advice: 1, open: 1, ..Counts::default() };
        assert_eq!(status(&plans(clear, 0), false), Status::Clear);
        assert_eq!(status(&plans(clear, 0), true), Status::Nothing);
        for held in [
            Counts { dangers: 1, ..clear },
            Counts { faults: 1, ..clear },
            Counts { held_open: 1, ..clear },
            Counts { unreadable: 1, ..clear },
        ] {
            assert_eq!(status(&plans(held, 0), true), Status::Held);
            assert_eq!(status(&plans(held, 1), true), Status::NotRead);
            assert_eq!(status(&plans(Counts { broken: 1, ..held }, 1), true), Status::Usage);
        }
        assert_eq!(status(&Summary::default(), false), Status::Nothing);
    }

    #[test]
    fn a_reading_that_breaks_down_is_counted() {
        let judged = broken("x.yaml");
        assert_eq!((judged.report.counts.broken, judged.report.broken.len()), (1, 1));
    }
}

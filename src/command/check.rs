//! `check`: judge plans.

use std::collections::{BTreeSet, HashSet};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;

use super::bench::{Answer, Bench};
use super::deliver::{Deliveries, Format, Output};
use super::houses::Houses;
use super::inputs::Inputs;
use super::suppose::Supposing;
use super::{ColourChoice, Status, complain};
use crate::plan::Day;
use crate::report::{NotRead, Summary};
use crate::rules;

/// What `check` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// Plans, folders or patterns; - reads standard input
    #[arg(value_name = "PATH", default_value = ".")]
    paths: Vec<PathBuf>,
    /// How findings are written
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Write a report to a file too, like json=report.json; may be given several times
    #[arg(long, value_name = "FORMAT=FILE")]
    output: Vec<Output>,
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
    /// Judge by this house file, and by none that lies above the plans
    #[arg(long, value_name = "FILE")]
    house: Option<PathBuf>,
    /// What to call the plan on standard input
    #[arg(long, value_name = "NAME", default_value = "stdin")]
    stdin_name: String,
}

/// So many plans are held at a time.
const BATCH: usize = 64;

/// Judges plans.
///
/// # Errors
/// When the report cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let today = arguments.as_of.unwrap_or_else(Day::today);
    let mut houses = match Houses::open(arguments.house.as_deref(), Some(today)) {
        Ok(houses) => houses,
        Err(status) => return Ok(status),
    };
    let mut inputs = Inputs::find(&arguments.paths, &arguments.stdin_name);
    houses.assign(&mut inputs.list);
    let paper = arguments.colour.paper(arguments.quiet);
    let mut deliveries = Deliveries::open(arguments.format, &arguments.output, paper, out)?;
    let mut summary = Summary::default();
    let mut rules_off: BTreeSet<&str> = BTreeSet::new();
    let bench =
        Bench { houses: &houses, rules: rules::all(), supposing: &arguments.supposing, evidence: arguments.evidence };
    let mut cannot_be_set = false;
    let mut fruitful: HashSet<usize> = std::mem::take(&mut inputs.repeated);
    for batch in inputs.list.chunks(BATCH) {
        for (input, answer) in batch.iter().zip(bench.answers(batch)) {
            match answer {
                Answer::Plan(judged) => {
                    fruitful.insert(input.argument);
                    summary.plans += 1;
                    summary.counts.add(&judged.report.counts);
                    rules_off
                        .extend(judged.report.house.iter().flat_map(|house| &house.rules_off).map(|rule| rule.code));
                    deliveries.plan(&judged)?;
                }
                Answer::Skipped => summary.skipped += 1,
                Answer::LeftOut => summary.left_out += 1,
                Answer::NotJudged => {
                    fruitful.insert(input.argument);
                    summary.not_judged += 1;
                }
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
    summary.rules_off = rules_off.len();
    let barren = barren(&arguments.paths, &fruitful, &inputs.not_read);
    let status = if cannot_be_set { Status::Usage } else { status(&summary, !barren.is_empty()) };
    summary.status = status as u8;
    // The report first, so that what is said beside it comes last on a terminal.
    let not_read: Vec<NotRead> = houses.broken.iter().chain(&inputs.not_read).cloned().collect();
    deliveries.end(&not_read, &summary)?;
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

/// What outweighs what: a run that is not to be trusted, a run that is not complete, a finding, an empty argument.
fn status(summary: &Summary, barren: bool) -> Status {
    if summary.counts.broken + summary.not_judged > 0 {
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
            Counts { dangers: 1, held: 1, ..clear },
            Counts { held_open: 1, ..clear },
            Counts { unreadable: 1, ..clear },
        ] {
            assert_eq!(status(&plans(held, 0), true), Status::Held);
            assert_eq!(status(&plans(held, 1), true), Status::NotRead);
            assert_eq!(status(&plans(Counts { broken: 1, ..held }, 1), true), Status::Usage);
        }
        assert_eq!(status(&Summary::default(), false), Status::Nothing);
    }
}

//! `check`: judge plans.

use std::collections::{BTreeSet, HashSet};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::Instant;

use clap::Args;

use super::baseline::{self, Baseline};
use super::bench::{Answer, Bench, Done};
use super::deliver::{Deliveries, Format, Output};
use super::houses::{Houses, places};
use super::inputs::Inputs;
use super::kept::Kept;
use super::output::Out;
use super::progress::Progress;
use super::record::Stamp;
use super::suppose::Supposing;
use super::tickets::Tickets;
use super::{ColourChoice, Status, complain, list};
use crate::house::folder_of;
use crate::plan::Day;
use crate::report::{NotRead, PlanReport, Summary};
use crate::rules;

/// What `check` takes.
#[derive(Debug, Args)]
#[allow(clippy::struct_excessive_bools, reason = "the flags of a command line")]
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
    #[command(flatten)]
    baseline: baseline::Options,
    /// Keep a gate record: one line of JSON a plan, with digests of what it was judged by. The same run leaves the same
    /// bytes; the day is in it when --as-of gives it
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// Only name the plans that would be judged, one a line
    #[arg(long, conflicts_with_all = ["baseline", "record", "output", "watch", "timings"])]
    list_plans: bool,
    /// Tell on standard error where the time goes: reading, solving, every rule. The run itself takes longer for it
    #[arg(long, conflicts_with = "watch")]
    timings: bool,
    /// Go on until Ctrl-C and judge again what changes
    #[arg(long, conflicts_with_all = ["record", "output"])]
    pub watch: bool,
    /// What to call the plan on standard input
    #[arg(long, value_name = "NAME", default_value = "stdin")]
    stdin_name: String,
}

/// Why an input was not judged.
pub const NO_HOUSE: &str = "its house file cannot be taken";
/// So many plans are held at a time.
const BATCH: usize = 64;

/// Judges plans.
///
/// # Errors
/// When the report cannot be written.
pub fn run(arguments: &Arguments, out: &mut Out) -> io::Result<Status> {
    let mut inputs = arguments.inputs();
    let houses = match arguments.houses(&mut inputs) {
        Ok(houses) => houses,
        Err(status) => return Ok(status),
    };
    if arguments.list_plans {
        return list::run(inputs, &houses, out);
    }
    judge(arguments, inputs, &houses, out, &mut |_| ())
}

impl Arguments {
    /// What there is to judge now.
    pub fn inputs(&self) -> Inputs {
        Inputs::find(&self.paths, &self.stdin_name)
    }

    /// The houses that judge it.
    ///
    /// # Errors
    /// The exit status, when the one that is named cannot be taken; what is wrong has been said.
    pub fn houses(&self, inputs: &mut Inputs) -> Result<Houses, Status> {
        let mut houses = Houses::open(self.house.as_deref(), Some(self.as_of.unwrap_or_else(Day::today)))?;
        houses.assign(&mut inputs.list);
        Ok(houses)
    }

    /// The files beside the plans by which they are judged: when one of them changes, or comes to be, every verdict may
    /// change. Shelves are named by the houses.
    pub fn judged_by(&self, inputs: &Inputs) -> Vec<PathBuf> {
        let above = || places(inputs.list.iter().map(|input| folder_of(&input.path)));
        let houses = self.house.as_ref().map_or_else(above, |file| BTreeSet::from([file.clone()]));
        self.baseline.file().map(Path::to_owned).into_iter().chain(houses).collect()
    }

    fn bench<'a>(&'a self, houses: &'a Houses, baseline: Option<Baseline>) -> Bench<'a> {
        let rules = rules::all();
        let known = || baseline.as_ref().map(|baseline| baseline.digest.clone());
        let stamp = self.record.as_ref().map(|_| Stamp::new(&rules, known(), self.as_of));
        let (supposing, evidence, timed) = (&self.supposing, self.evidence, self.timings);
        Bench { houses, rules, supposing, evidence, baseline, stamp, timed }
    }
}

/// Judges some plans and shows every report to `seen` as well.
///
/// # Errors
/// When a report cannot be written.
pub fn judge(
    arguments: &Arguments,
    mut inputs: Inputs,
    houses: &Houses,
    out: &mut dyn Write,
    seen: &mut dyn FnMut(&PlanReport),
) -> io::Result<Status> {
    let mut baseline = match arguments.baseline.open() {
        Ok(baseline) => baseline,
        Err(why) => {
            complain(&why);
            return Ok(Status::Usage);
        }
    };
    let moved = baseline.as_mut().map(|baseline| baseline.follow(&inputs.list)).unwrap_or_default();
    let bench = arguments.bench(houses, baseline);
    let paper = arguments.colour.paper(arguments.quiet);
    let mut kept = Kept::open(arguments.record.as_deref())?;
    let mut deliveries = Deliveries::open(arguments.format, &arguments.output, paper, out)?;
    let mut progress = Progress::new(inputs.list.len(), arguments.quiet);
    let mut summary = Summary::default();
    let mut rules_off: BTreeSet<&str> = BTreeSet::new();
    let mut not_judged: Vec<NotRead> = Vec::new();
    let mut tickets = Tickets::default();
    let mut cannot_be_set = false;
    let mut fruitful: HashSet<usize> = std::mem::take(&mut inputs.repeated);
    for (at, batch) in inputs.list.chunks(BATCH).enumerate() {
        let answers = bench.answers(batch);
        progress.make_way();
        for (input, answer) in batch.iter().zip(answers) {
            match answer {
                Answer::Plan(done) => {
                    let Done { judged, beside } = *done;
                    fruitful.insert(input.argument);
                    summary.plans += 1;
                    summary.counts.add(&judged.report.counts);
                    rules_off
                        .extend(judged.report.house.iter().flat_map(|house| &house.rules_off).map(|rule| rule.code));
                    tickets.take(&judged.report);
                    deliveries.plan(&judged)?;
                    seen(&judged.report);
                    kept.take(beside)?;
                }
                Answer::Skipped => summary.skipped += 1,
                Answer::LeftOut => summary.left_out += 1,
                Answer::NotJudged => {
                    fruitful.insert(input.argument);
                    not_judged.push(NotRead { path: input.name(), why: NO_HOUSE.into() });
                }
                Answer::CannotBeSet(why) => {
                    fruitful.insert(input.argument);
                    cannot_be_set = true;
                    progress.hide();
                    complain(&format!("{}: {why}", input.name()));
                }
                Answer::NotRead(not_read) => {
                    fruitful.insert(input.argument);
                    inputs.not_read.push(not_read);
                }
            }
        }
        let now = Instant::now();
        if progress.is_due(now) {
            deliveries.flush()?;
            progress.draw((at * BATCH + batch.len()).min(inputs.list.len()), now);
        }
    }
    progress.hide();
    summary.not_read = inputs.not_read.len();
    summary.not_judged = not_judged.len();
    summary.rules_off = rules_off.len();
    summary.counts.stale += kept.gone(&bench);
    let barren = barren(&arguments.paths, &fruitful, &inputs.not_read);
    let status = if cannot_be_set { Status::Usage } else { status(&summary, !barren.is_empty()) };
    summary.status = status as u8;
    // The report first, so that what is said beside it comes last on a terminal.
    let not_read: Vec<NotRead> = houses.broken.iter().chain(&inputs.not_read).cloned().collect();
    deliveries.end(&not_read, &summary)?;
    for NotRead { path, why } in &inputs.not_read {
        complain(&format!("{path} could not be read: {why}"));
    }
    if !arguments.quiet {
        tickets.told().chain(moved).for_each(|words| complain(&words));
    }
    for path in barren {
        complain(&format!("nothing to check: no plan in {}", path.display()));
    }
    not_judged.append(&mut inputs.not_read);
    kept.end(bench, &not_judged, &summary, arguments.quiet)?;
    Ok(status)
}

/// The arguments that brought nothing to judge and of which nothing else is said.
pub fn barren<'a>(paths: &'a [PathBuf], fruitful: &HashSet<usize>, not_read: &[NotRead]) -> Vec<&'a PathBuf> {
    let told = |path: &PathBuf| not_read.iter().any(|known| Path::new(&known.path).starts_with(path));
    let unfruitful = paths.iter().enumerate().filter(|(at, _)| !fruitful.contains(at));
    unfruitful.map(|(_, path)| path).filter(|path| !told(path)).collect()
}

/// What outweighs what: a run that is not to be trusted, a run that is not complete, a finding, an empty argument.
pub fn status(summary: &Summary, barren: bool) -> Status {
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

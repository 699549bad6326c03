//! `sheet`: the job sheet of each plan.

use std::collections::HashSet;
use std::fs;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use clap::Args;
use rayon::prelude::*;

use super::check::{NO_HOUSE, barren, status};
use super::houses::Houses;
use super::inputs::{Input, Inputs, Kind, is_pattern, looks_like_plan};
use super::load::reading;
use super::whole::Whole;
use super::{Status, complain};
use crate::judge::{Judgement, judge};
use crate::plan::Day;
use crate::report::{NotRead, Summary, plan_report};
use crate::rules;
use crate::sheet::{Listed, View, index, sheet};
use crate::solve::Job;
use crate::words::is_unsafe;

/// What `sheet` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// Plans, folders or patterns; - reads standard input
    #[arg(value_name = "PLAN", required = true)]
    plans: Vec<PathBuf>,
    /// Judge by this house file, and by none that lies above the plans
    #[arg(long, value_name = "FILE")]
    house: Option<PathBuf>,
    /// Judge as of this day, like 2027-06-30: it decides which waivers have ended
    #[arg(long, value_name = "DAY", value_parser = |day: &str| Day::read(day))]
    as_of: Option<Day>,
    /// Where to write: a file for one plan; for several a folder, with a list of them in index.html
    #[arg(long, value_name = "FILE|FOLDER")]
    output: Option<PathBuf>,
}

/// So many sheets are held at a time.
const BATCH: usize = 64;

/// What came of one input.
enum Answer {
    Sheet(Box<(Listed, String)>),
    Skipped,
    LeftOut,
    NotJudged,
    NotRead(NotRead),
    Broke,
}

/// Makes the sheets.
///
/// # Errors
/// When one cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let mut to = match To::of(arguments) {
        Ok(to) => to,
        Err(why) => {
            complain(&why);
            return Ok(Status::Usage);
        }
    };
    let mut inputs = Inputs::find(&arguments.plans, "stdin");
    let mut houses = match Houses::open(arguments.house.as_deref(), Some(arguments.as_of.unwrap_or_else(Day::today))) {
        Ok(houses) => houses,
        Err(status) => return Ok(status),
    };
    houses.assign(&mut inputs.list);
    to.spare(&inputs.list);
    let mut fruitful: HashSet<usize> = std::mem::take(&mut inputs.repeated);
    let mut summary = Summary::default();
    let mut without: Vec<NotRead> = Vec::new();
    for batch in inputs.list.chunks(BATCH) {
        let answers: Vec<Answer> = batch.par_iter().map(|input| answer(input, &houses)).collect();
        for (input, answer) in batch.iter().zip(answers) {
            if !matches!(answer, Answer::Skipped | Answer::LeftOut) {
                fruitful.insert(input.argument);
            }
            let refused = |why: &str| NotRead { path: input.name(), why: why.into() };
            match answer {
                Answer::Sheet(made) => {
                    let (listed, page) = *made;
                    summary.plans += 1;
                    summary.counts.add(&listed.counts);
                    to.put(listed, &page, out)?;
                }
                Answer::Skipped => summary.skipped += 1,
                Answer::LeftOut => summary.left_out += 1,
                Answer::NotJudged => {
                    summary.not_judged += 1;
                    without.push(refused(NO_HOUSE));
                }
                Answer::NotRead(not_read) => inputs.not_read.push(not_read),
                Answer::Broke => {
                    summary.counts.broken += 1;
                    complain(&format!("{}: the sheet broke down: a fault of testlamp, not of the plan", input.name()));
                    without.push(refused("its sheet broke down: a fault of testlamp, not of the plan"));
                }
            }
        }
    }
    summary.not_read = inputs.not_read.len();
    for NotRead { path, why } in &inputs.not_read {
        complain(&format!("{path} could not be read: {why}"));
    }
    let barren = barren(&arguments.plans, &fruitful, &inputs.not_read);
    for path in &barren {
        complain(&format!("nothing to check: no plan in {}", path.display()));
    }
    without.append(&mut inputs.not_read);
    to.end(&without)?;
    Ok(status(&summary, !barren.is_empty()))
}

fn answer(input: &Input, houses: &Houses) -> Answer {
    let kept = houses.at(input.house);
    let Some(house) = &kept.house else { return Answer::NotJudged };
    if houses.leaves_out(input) {
        return Answer::LeftOut;
    }
    let bytes = match input.read() {
        Ok(bytes) => bytes,
        Err(not_read) => return Answer::NotRead(not_read),
    };
    if houses.may_be_no_plan(input) && !looks_like_plan(&bytes) {
        return Answer::Skipped;
    }
    let made = catch_unwind(AssertUnwindSafe(|| {
        let reading = reading(bytes, &house.shelves);
        // What does not say that it is a plan is not judged as one.
        let is_plan = reading.tree.node("plan").is_some();
        let judgement = if is_plan { judge(&reading, house, &rules::all()) } else { Judgement::default() };
        let mut report = plan_report(&input.name(), &reading, &judgement);
        report.house.clone_from(&kept.note);
        let job = Job::new(&reading.plan, house);
        let view = View { reading: &reading, house, job: &job, judgement: &judgement, report: &report };
        (listed(&view), sheet(&view))
    }));
    made.map_or(Answer::Broke, |made| Answer::Sheet(Box::new(made)))
}

/// A sheet on the list; the name of its file is known when it is written.
fn listed(view: &View<'_>) -> Listed {
    let plan = view.job.plan;
    let ticket = plan.job.as_ref();
    Listed {
        file: String::new(),
        plan: view.report.path.clone(),
        number: ticket.and_then(|ticket| ticket.number.clone()),
        summary: ticket.and_then(|ticket| ticket.summary.clone()),
        vehicle: plan.vehicle.as_ref().and_then(|vehicle| vehicle.summary.clone()),
        stage: view.report.stage,
        counts: view.report.counts,
    }
}

/// Where sheets go.
enum To {
    /// One sheet to standard output.
    Out,
    /// One sheet to a file.
    File { path: PathBuf, plans: HashSet<PathBuf> },
    /// A file a sheet, and the list.
    Folder { path: PathBuf, plans: HashSet<PathBuf>, names: HashSet<String>, list: Vec<Listed> },
}

/// The name of the list.
const LIST: &str = "index.html";

impl To {
    /// Where the arguments say.
    fn of(arguments: &Arguments) -> Result<Self, String> {
        let is_one = matches!(arguments.plans.as_slice(), [plan] if is_one(plan));
        let plans = HashSet::new();
        match &arguments.output {
            None if is_one => Ok(Self::Out),
            None => Err("several plans need a folder for their sheets: --output FOLDER".into()),
            Some(path) if is_one && !is_folder(path) => Ok(Self::File { path: path.clone(), plans }),
            Some(path) if path.exists() && !path.is_dir() => {
                Err(format!("{}: it is a file, and several plans need a folder", path.display()))
            }
            Some(path) => {
                // A plan that is called as the list is gets another name.
                let names = HashSet::from([LIST.to_owned()]);
                Ok(Self::Folder { path: path.clone(), plans, names, list: Vec::new() })
            }
        }
    }

    /// Remembers files that are read: no sheet takes their place.
    fn spare(&mut self, inputs: &[Input]) {
        if let Self::File { plans, .. } | Self::Folder { plans, .. } = self {
            let read = inputs.iter().filter(|input| input.kind != Kind::Stdin);
            plans.extend(read.filter_map(|input| input.path.canonicalize().ok()));
        }
    }

    fn put(&mut self, mut listed: Listed, page: &str, out: &mut dyn Write) -> io::Result<()> {
        match self {
            Self::Out => out.write_all(page.as_bytes()),
            Self::File { path, plans } => write(path, plans, page),
            Self::Folder { path, plans, names, list } => {
                fs::create_dir_all(&*path)
                    .map_err(|error| io::Error::other(format!("{}: {}", path.display(), super::reason(&error))))?;
                listed.file = name(&listed.plan, names);
                write(&path.join(&listed.file), plans, page)?;
                list.push(listed);
                Ok(())
            }
        }
    }

    /// Writes the list, when all sheets are there.
    fn end(self, without: &[NotRead]) -> io::Result<()> {
        match self {
            Self::Folder { path, plans, list, .. } if !list.is_empty() => {
                write(&path.join(LIST), &plans, &index(&list, without))
            }
            _ => Ok(()),
        }
    }
}

/// Whether an argument is one plan: standard input or a file, be it there or not, and no folder or pattern.
fn is_one(plan: &Path) -> bool {
    let is_pattern = || plan.to_str().is_some_and(is_pattern);
    plan.as_os_str() == "-" || plan.is_file() || !(plan.is_dir() || is_pattern())
}

fn is_folder(path: &Path) -> bool {
    path.is_dir() || path.as_os_str().to_string_lossy().ends_with(std::path::MAIN_SEPARATOR)
}

fn write(path: &Path, plans: &HashSet<PathBuf>, page: &str) -> io::Result<()> {
    if path.canonicalize().is_ok_and(|path| plans.contains(&path)) {
        return Err(io::Error::other(format!("{}: it is the plan itself", path.display())));
    }
    Whole::put(path, page.as_bytes())
}

/// The name of a sheet: that of its plan, with a number where another sheet has it already, in any case of letters.
fn name(plan: &str, names: &mut HashSet<String>) -> String {
    let stem = Path::new(plan).file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let stem: String = stem.chars().map(|c| if is_unsafe(c) || c == '/' || c == '\\' { '_' } else { c }).collect();
    let numbered = (1..).map(|number| match number {
        1 => format!("{stem}.html"),
        more => format!("{stem}-{more}.html"),
    });
    let free = numbered.into_iter().find(|name| names.insert(name.to_lowercase()));
    free.unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_sheets_have_one_name() {
        let mut names = HashSet::from([LIST.to_owned()]);
        let mut of = |plan: &str| name(plan, &mut names);
        assert_eq!(of("a/j-1.yaml"), "j-1.html");
        assert_eq!(of("b/j-1.yaml"), "j-1-2.html");
        assert_eq!(of("b/J-1.yml"), "J-1-3.html");
        assert_eq!(of("j-1-2.yaml"), "j-1-2-2.html");
        assert_eq!(of("index.yaml"), "index-2.html");
        assert_eq!(of("a\nb.yaml"), "a_b.html");
    }

    #[test]
    fn a_rule_that_breaks_down_is_told_on_the_sheet_and_takes_nothing_with_it() {
        let _beside = crate::rules::trial::beside(&crate::rules::trial::FALLS);
        let folder = tempfile::tempdir().expect("a folder");
        let plan = folder.path().join("a.yaml");
        std::fs::write(&plan, "plan: 1\nwires: {main: {to: amq.power}, holds: {}}\n").expect("written");
        let mut inputs = Inputs::find(&[plan], "stdin");
        let Ok(mut houses) = Houses::open(None, None) else { panic!("no house file is asked for") };
        houses.assign(&mut inputs.list);
        let Answer::Sheet(made) = answer(&inputs.list[0], &houses) else { panic!("a sheet") };
        let (listed, page) = *made;
        assert_eq!(listed.counts.broken, 1);
        assert!(page.contains("TRIAL-01") && page.contains("broke down") && page.contains("PLAN-01"), "{page}");
        let summary = Summary { plans: 1, counts: listed.counts, ..Summary::default() };
        assert_eq!(status(&summary, false), Status::Usage);
    }
}

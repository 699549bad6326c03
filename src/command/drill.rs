//! `drill`: practice plans for apprentices, and the grading of their answers.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::RangedU64ValueParser;

use super::houses::of_plan;
use super::inputs::Input;
use super::load::reading;
use super::whole::Whole;
use super::{ColourChoice, Status, complain, reason};
use crate::drill::{
    self, Answer, Grade, Level, Practice, Sheet, Unplantable, Wanted, Wrong, answers, grade, headed, headline, planted,
};
use crate::house::House;
use crate::judge::{Check, Judgement, Rule, judge};
use crate::plan::{Day, Reading, read};
use crate::report::{Line, Paper, clean, house_digest, text_digest, verdict, worked};
use crate::rules;
use crate::text::Lines;
use crate::words::{all, count, excerpt, nearest};

/// What `drill` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// A clean plan to plant faults in, - reads standard input; without one a plan that testlamp brings along. With
    /// --grade and --key the practice plan
    #[arg(value_name = "PLAN")]
    plan: Option<PathBuf>,
    /// How many faults to plant
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = RangedU64ValueParser::<usize>::new().range(1..=100))]
    faults: usize,
    /// Another seed gives another practice plan; the same one gives the same again
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Only break rules of these families or these rules, like FUSE,WIRE or FUSE-02
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    families: Vec<String>,
    /// How hard the faults are to find. 1: wrong words, things left out and numbers far off, one fault a thing, dangers
    /// first. 2: numbers a tenth or more past their limit, to be worked out. 3: faults that show far from what was changed.
    /// Where a plan has too few places for a level, easier ones fill up
    #[arg(long, value_name = "LEVEL", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=3))]
    level: u8,
    /// Write the practice plan to this file instead of standard output
    #[arg(long, value_name = "FILE", conflicts_with_all = ["grade", "key"])]
    output: Option<PathBuf>,
    /// Judge by this house file, and by none that lies above the plan
    #[arg(long, value_name = "FILE")]
    house: Option<PathBuf>,
    /// Hold the answers in this file against the practice plan PLAN
    #[arg(long, value_name = "ANSWERS", requires = "plan", conflicts_with = "key")]
    grade: Option<PathBuf>,
    /// Print what was planted in the practice plan PLAN
    #[arg(long, requires = "plan")]
    key: bool,
    /// When to use colours
    #[arg(long = "color", alias = "colour", value_enum, value_name = "WHEN", default_value_t)]
    colour: ColourChoice,
}

/// Clean plans that testlamp brings along; the seed says which comes first.
const OWN: [&str; 8] = [
    include_str!("../../examples/jobs/j-2041-one-subwoofer.yaml"),
    include_str!("../../examples/jobs/j-2043-two-amplifiers.yaml"),
    include_str!("../../examples/jobs/j-2051-one-subwoofer-installed.yaml"),
    include_str!("../../examples/jobs/j-2044-second-battery.yaml"),
    include_str!("../../examples/jobs/j-2057-everything-on-one-block.yaml"),
    include_str!("../../examples/jobs/j-2073-one-lead-one-box.yaml"),
    include_str!("../../examples/jobs/j-2074-front-pair-kept-free.yaml"),
    include_str!("../../examples/jobs/j-2075-returns-gathered.yaml"),
];

/// Plants faults, grades answers or prints the key.
///
/// # Errors
/// When the answer cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let answer = match (&arguments.plan, &arguments.grade) {
        (Some(plan), Some(file)) => graded(arguments, plan, file, out)?,
        (Some(plan), None) if arguments.key => key(arguments, plan, out)?,
        _ => practise(arguments, out)?,
    };
    Ok(answer.unwrap_or_else(|status| status))
}

/// How it ends; `Err` where there was nothing to go on with and what was wrong has been said.
type Answered = io::Result<Result<Status, Status>>;

/// A plan with the house that judges it, or how it ends; what is wrong has been said.
fn taken(arguments: &Arguments, path: &Path) -> Result<(Reading, House, String), Status> {
    let house = of_plan(arguments.house.as_deref(), path)?;
    let input = Input::named(path).and_then(|input| Ok((input.read()?, input.name())));
    let (bytes, name) = input.map_err(|not_read| {
        complain(&format!("{} could not be read: {}", not_read.path, not_read.why));
        Status::NotRead
    })?;
    Ok((reading(bytes, &house.shelves), house, name))
}

fn practise(arguments: &Arguments, out: &mut dyn Write) -> Answered {
    let wanted_rules = match chosen(&arguments.families) {
        Ok(rules) => rules,
        Err(status) => return Ok(Err(status)),
    };
    let level = Level::of(arguments.level).unwrap_or(Level::Plain);
    let wanted = Wanted { faults: arguments.faults, seed: arguments.seed, rules: &wanted_rules, level };
    let planted = match &arguments.plan {
        Some(path) => {
            taken(arguments, path).and_then(|(reading, house, name)| in_plan(&reading, house, &name, &wanted))
        }
        None => in_own(arguments, &wanted),
    };
    let (source, house, practice) = match planted {
        Ok(planted) => planted,
        Err(status) => return Ok(Err(status)),
    };
    if practice.faults.len() < wanted.faults {
        complain(&too_few(&practice, wanted.faults));
    }
    if practice.faults.is_empty() {
        return Ok(Err(Status::Nothing));
    }
    let families: Vec<String> = arguments.families.iter().map(|word| word.to_ascii_uppercase()).collect();
    let (source, house) = (text_digest(&source), house_digest(&house));
    let (seed, faults) = (arguments.seed, practice.faults.len());
    let sheet = Sheet { source: &source, house: &house, seed, faults, level, families: &families };
    let text = headed(&headline(&sheet), &practice.reading.text);
    match &arguments.output {
        Some(path) => Whole::put(path, text.as_bytes())?,
        None => out.write_all(text.as_bytes())?,
    }
    Ok(Ok(Status::Clear))
}

/// The text of a clean plan, its house, and what was planted in it.
type Planted = (String, House, Practice);

fn in_plan(reading: &Reading, house: House, name: &str, wanted: &Wanted<'_>) -> Result<Planted, Status> {
    match drill::plant(reading, &house, &rules::all(), wanted) {
        Ok(practice) => Ok((reading.text.clone(), house, practice)),
        Err(Unplantable::Unreadable) => {
            complain(&format!(
                "{name}: words in it cannot be read (`testlamp check` tells which); start from a clean plan"
            ));
            Err(Status::Held)
        }
        Err(Unplantable::NotClean(codes)) => {
            let codes: Vec<String> = codes.into_iter().map(str::to_owned).collect();
            complain(&format!("{name}: has findings of its own ({}); start from a clean plan", all(&codes)));
            Err(Status::Held)
        }
    }
}

/// In the first plan of testlamp's own, from where the seed says, that takes all faults; else in that which takes most.
fn in_own(arguments: &Arguments, wanted: &Wanted<'_>) -> Result<Planted, Status> {
    let house = match &arguments.house {
        Some(named) => of_plan(Some(named), Path::new("-"))?,
        None => House { today: Some(Day::today()), ..House::default() },
    };
    let mut best: Option<Planted> = None;
    let first = usize::try_from(arguments.seed % OWN.len() as u64).unwrap_or(0);
    for text in (0..OWN.len()).map(|at| OWN[(first + at) % OWN.len()]) {
        let planted = in_plan(&read(text.to_owned()), house.clone(), "the plan that testlamp brings along", wanted)?;
        let has = |planted: &Planted| planted.2.faults.len();
        if best.as_ref().is_none_or(|best| has(best) < has(&planted)) {
            best = Some(planted);
        }
        if best.as_ref().is_some_and(|best| has(best) >= wanted.faults) {
            break;
        }
    }
    best.ok_or(Status::Nothing)
}

fn too_few(practice: &Practice, wanted: usize) -> String {
    let Practice { faults, breakable, tried, .. } = practice;
    format!(
        "only {} of {wanted} could be planted: of {} the plan has something to break for {tried}, and every other change \
         that was tried brings other findings with it, or none",
        count(faults.len(), "fault"),
        count(*breakable, "rule"),
    )
}

/// The rules that may be broken.
fn chosen(words: &[String]) -> Result<Vec<&'static Rule>, Status> {
    let known = rules::all();
    let is_meant = |rule: &Rule, word: &str| rule.family().eq_ignore_ascii_case(word) || rule.is_called(word);
    for word in words.iter().map(|word| word.trim()) {
        if !known.iter().any(|rule| is_meant(rule, word)) {
            let near = nearest(word, known.iter().flat_map(|rule| [rule.family(), rule.code]));
            let near = near.map(|near| format!("; did you mean {near}?")).unwrap_or_default();
            complain(&format!("no family and no rule is called `{}`{near}", excerpt(word, 40)));
            return Err(Status::Usage);
        }
    }
    let wanted = |rule: &&'static Rule| words.is_empty() || words.iter().any(|word| is_meant(rule, word.trim()));
    Ok(known.into_iter().filter(wanted).collect())
}

/// A practice plan with what is found in it.
struct Desk {
    reading: Reading,
    judgement: Judgement,
    lines: Lines,
}

impl Desk {
    fn open(arguments: &Arguments, path: &Path) -> Result<Self, Status> {
        let (reading, house, name) = taken(arguments, path)?;
        if !reading.misreads.is_empty() {
            complain(&format!("{name}: words in it cannot be read (`testlamp check` tells which)"));
            return Err(Status::Held);
        }
        let judgement = judge(&reading, &house, &rules::all());
        let found = causes(&judgement).count();
        let planted = planted(&reading.text);
        if planted.is_none() {
            complain(&format!(
                "{name}: does not say at its top that it is a practice plan; what is found in it counts as its faults"
            ));
        }
        if let Some(planted) = planted.filter(|planted| *planted != found) {
            complain(&format!(
                "{name}: says that {} planted, and {found} are found: it was changed since, or is judged by another house \
                 or another version",
                if planted == 1 { "1 fault was".to_owned() } else { format!("{planted} faults were") },
            ));
        }
        if found == 0 {
            complain(&format!("{name}: there is no fault in it"));
            return Err(Status::Nothing);
        }
        let lines = Lines::new(&reading.text);
        Ok(Self { reading, judgement, lines })
    }

    /// Where a check finds something: path and line.
    fn place(&self, check: &Check) -> (String, usize) {
        let place = check.told_at().path();
        let line = self.lines.position(&self.reading.text, self.reading.tree.locate(&place).span.start).0;
        (place, line)
    }
}

fn causes(judgement: &Judgement) -> impl Iterator<Item = &Check> {
    judgement.failed().filter(|check| check.follows.is_none())
}

/// Prints what was planted, as answers that find it all, each with its working and what to do about it as notes.
fn key(arguments: &Arguments, path: &Path, out: &mut dyn Write) -> Answered {
    let desk = match Desk::open(arguments, path) {
        Ok(desk) => desk,
        Err(status) => return Ok(Err(status)),
    };
    for check in causes(&desk.judgement) {
        let (place, line) = desk.place(check);
        writeln!(out, "{}", clean(&format!("{} {place} # line {line}", check.rule.code)))?;
        for (heading, words) in desk.teaching(check) {
            writeln!(out, "{}", clean(format!("#   {heading:<8} {words}").trim_end()))?;
        }
        writeln!(out)?;
    }
    Ok(Ok(Status::Clear))
}

fn graded(arguments: &Arguments, path: &Path, file: &Path, out: &mut dyn Write) -> Answered {
    let written = match written(file) {
        Ok(written) => written,
        Err(status) => return Ok(Err(status)),
    };
    let desk = match Desk::open(arguments, path) {
        Ok(desk) => desk,
        Err(status) => return Ok(Err(status)),
    };
    let grade = grade(&desk.reading, &desk.judgement, &written);
    desk.tell(&grade, &arguments.colour.paper(false), out)?;
    Ok(Ok(if grade.is_full() { Status::Clear } else { Status::Held }))
}

/// The answers in a file; what is wrong with it has been said.
fn written(file: &Path) -> Result<Vec<Answer>, Status> {
    let bytes = fs::read(file).map_err(|error| {
        complain(&format!("{} could not be read: {}", file.display(), reason(&error)));
        Status::NotRead
    })?;
    answers(&String::from_utf8_lossy(&bytes), &rules::all()).map_err(|unreadable| {
        for line in unreadable {
            complain(&format!("{}:{}: {}", file.display(), line.line, line.why));
        }
        Status::Usage
    })
}

impl Desk {
    fn tell(&self, grade: &Grade<'_>, paper: &Paper, out: &mut dyn Write) -> io::Result<()> {
        for (check, _) in &grade.found {
            self.fault("found", check, paper, out)?;
        }
        for check in &grade.missed {
            self.fault("missed", check, paper, out)?;
        }
        for (check, answer) in &grade.follows {
            let cause = check.follows.as_ref().map(|(code, place)| format!("{code} at {place}")).unwrap_or_default();
            let words = format!("{} {}: true, and it only follows from {cause}", answer.code, answer.at);
            writeln!(out, "{}\n", paper.strong(&clean(&words)))?;
        }
        for wrong in &grade.wrong {
            self.wrong(wrong, paper, out)?;
        }
        let all = grade.found.len() + grade.missed.len();
        let wrong = grade.wrong.len();
        writeln!(
            out,
            "{} of {} found, {} missed, {wrong} wrongly accused",
            grade.found.len(),
            count(all, "fault"),
            grade.missed.len()
        )
    }

    fn fault(&self, mark: &str, check: &Check, paper: &Paper, out: &mut dyn Write) -> io::Result<()> {
        let (place, line) = self.place(check);
        let headline = format!("{mark}: {} {} at {place}, line {line}", check.rule.code, check.rule.name);
        writeln!(out, "{}", paper.strong(&clean(&headline)))?;
        self.teaching(check).iter().try_for_each(|(heading, words)| line_of(heading, words, paper, out))?;
        writeln!(out)
    }

    /// How a fault is worked out, why it is one, and what to do about it.
    fn teaching(&self, check: &Check) -> Vec<Line> {
        let said = check.finding.iter().flat_map(|finding| [("why", finding.why), ("mend", finding.mend.as_str())]);
        let said = said.filter(|(_, words)| !words.is_empty()).map(|(heading, words)| (heading, words.to_owned()));
        worked(&self.reading, check).into_iter().chain(said).collect()
    }

    fn wrong(&self, wrong: &Wrong<'_>, paper: &Paper, out: &mut dyn Write) -> io::Result<()> {
        let Wrong { answer, check, is_near } = wrong;
        let says = match check {
            Some(check) => format!("{} {}", check.subject, verdict(check)),
            None => "this rule judges nothing there".to_owned(),
        };
        let near = if *is_near { "; something is wrong there, but not this" } else { "" };
        let headline = format!("wrongly accused: {} {}: {says}{near}", answer.code, answer.at);
        writeln!(out, "{}", paper.strong(&clean(&headline)))?;
        match check {
            Some(check) => {
                line_of("because", check.reason.unwrap_or_default(), paper, out)?;
                self.working(check, paper, out)?;
            }
            None => line_of("rule", rules::find(answer.code).map_or("", Rule::summary), paper, out)?,
        }
        writeln!(out)
    }

    fn working(&self, check: &Check, paper: &Paper, out: &mut dyn Write) -> io::Result<()> {
        worked(&self.reading, check).iter().try_for_each(|(heading, words)| line_of(heading, words, paper, out))
    }
}

fn line_of(heading: &str, words: &str, paper: &Paper, out: &mut dyn Write) -> io::Result<()> {
    if words.is_empty() {
        return Ok(());
    }
    let heading = paper.strong(&format!("{heading:<8}"));
    writeln!(out, "  {heading} {}", paper.wrap(&clean(words), 11))
}

//! `explain`: teach one rule, or work it on a plan.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;

use super::houses;
use super::suppose::Supposing;
use super::worked::{self, Asked};
use super::{ColourChoice, Status, complain};
use crate::judge::{Rule, own_rules};
use crate::report::Paper;
use crate::rules;

/// What `explain` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// The code or the name of a rule, like FUSE-01 or fuse-above-wire
    rule: String,
    /// Work the rule on this plan, in the plan's own numbers; - reads standard input
    #[arg(long, value_name = "PLAN")]
    plan: Option<PathBuf>,
    /// Only on this element of the plan, like wires.main
    #[arg(long, value_name = "PATH", requires = "plan")]
    at: Option<String>,
    /// Judge by this house file, and by none that lies above the plan
    #[arg(long, value_name = "FILE", requires = "plan")]
    house: Option<PathBuf>,
    #[command(flatten)]
    supposing: Supposing,
    /// When to use colours
    #[arg(long = "color", alias = "colour", value_enum, value_name = "WHEN", default_value_t)]
    colour: ColourChoice,
}

/// Prints the page of a rule.
///
/// # Errors
/// When it cannot be written.
pub fn run(arguments: &Arguments, out: &mut dyn Write) -> io::Result<Status> {
    let word = arguments.rule.trim();
    let Some(rule) = rules::find(word).or_else(|| of_the_house(arguments, word)) else {
        complain(&rules::unknown(word));
        return Ok(Status::Usage);
    };
    let paper = arguments.colour.paper(false);
    if let Some(plan) = &arguments.plan {
        let (at, house) = (arguments.at.as_deref(), arguments.house.as_deref());
        let asked = Asked { rule, plan, at, house, supposing: &arguments.supposing };
        return worked::run(&asked, &paper, out);
    }
    if !arguments.supposing.list().is_empty() {
        complain("--set needs a plan: name one with --plan");
        return Ok(Status::Usage);
    }
    page(rule, &paper, out)?;
    Ok(Status::Clear)
}

/// A rule of the own of the house above the plan, or above the working folder.
fn of_the_house(arguments: &Arguments, word: &str) -> Option<&'static Rule> {
    let plan = arguments.plan.as_deref().unwrap_or(Path::new("-"));
    let house = houses::of_plan(arguments.house.as_deref(), plan).ok()?;
    own_rules(&house).into_iter().find(|rule| rule.is_called(word))
}

/// The page as it reads on a terminal: paragraphs broken to the width, examples indented, marks of markdown dropped.
fn page(rule: &Rule, paper: &Paper, out: &mut dyn Write) -> io::Result<()> {
    let title = format!("{} {}", rule.code, rule.name);
    let since = if rule.is_of_the_house() { String::new() } else { format!(", since {}", rule.since) };
    writeln!(out, "{} ({}{since})", paper.strong(&title), rule.severity.word())?;
    let mut paragraph: Vec<&str> = Vec::new();
    let mut in_example = false;
    for line in rule.page.lines().skip(1).chain([""]) {
        let fence = line.starts_with("```");
        if fence || in_example {
            flush(&mut paragraph, paper, out)?;
            if !fence {
                writeln!(out, "    {line}")?;
            }
            in_example ^= fence;
            continue;
        }
        let stands_alone = line.trim().is_empty() || line.starts_with('#') || line.starts_with('|');
        if stands_alone || line.trim_start().starts_with("- ") {
            flush(&mut paragraph, paper, out)?;
        }
        match line.strip_prefix("##") {
            Some(heading) => writeln!(out, "{}", paper.strong(heading.trim_start_matches('#').trim()))?,
            None if stands_alone => writeln!(out, "{line}")?,
            None => paragraph.push(line),
        }
    }
    flush(&mut paragraph, paper, out)
}

fn flush(paragraph: &mut Vec<&str>, paper: &Paper, out: &mut dyn Write) -> io::Result<()> {
    if paragraph.is_empty() {
        return Ok(());
    }
    let words = paragraph.join(" ").replace('`', "");
    paragraph.clear();
    let indent = if words.starts_with("- ") { 4 } else { 2 };
    writeln!(out, "  {}", paper.wrap(&words, indent))
}

//! `explain RULE --plan PLAN`: one rule worked on one plan.

use std::io::{self, Write};
use std::path::Path;

use super::suppose::Supposing;
use super::{Status, complain, houses, load};
use crate::judge::{Check, Outcome, Rule, Workshop, judge, judge_briefly};
use crate::report::{Paper, clean, turned, verdict, worked};
use crate::rules;
use crate::text::Lines;
use crate::words::{all, count, nearest};

/// Which rule, on which plan, and what the plan is to be read as if it said.
pub struct Asked<'a> {
    /// The rule.
    pub rule: &'static Rule,
    /// The plan.
    pub plan: &'a Path,
    /// Only this element.
    pub at: Option<&'a str>,
    /// The house file that is named.
    pub house: Option<&'a Path>,
    /// What the plan is to be read as if it said.
    pub supposing: &'a Supposing,
}

/// More subjects are counted, not named.
const MOST_NAMED: usize = 8;

/// Works a rule on a plan.
///
/// # Errors
/// When the answer cannot be written.
pub fn run(asked: &Asked<'_>, paper: &Paper, out: &mut dyn Write) -> io::Result<Status> {
    let read = houses::of_plan(asked.house, asked.plan).and_then(|house| {
        load::plan(asked.plan, &house.shelves, asked.supposing).map(|(reading, path)| (house, reading, path))
    });
    let (house, reading, path) = match read {
        Ok(read) => read,
        Err(status) => return Ok(status),
    };
    if let Some(reason) = house.rules.off.get(asked.rule.code) {
        complain(&format!("{} is off by the house ({reason})", asked.rule.code));
        return Ok(Status::Nothing);
    }
    // What judges the other rules' checks needs them all.
    let rules = match asked.rule {
        rule if rule.judges_checks() => rules::all(),
        rule if rule.judges_the_plan() => vec![rule],
        // The house's own rules judge with any others.
        _ => Vec::new(),
    };
    let judgement = judge(&reading, &house, &rules);
    let own: Vec<&Check> = judgement.checks.iter().filter(|check| check.rule.code == asked.rule.code).collect();
    let chosen: Vec<&Check> = own.iter().copied().filter(|check| asked.at.is_none_or(|at| check.touches(at))).collect();
    if chosen.is_empty() {
        return Ok(nothing(asked, &own, &path));
    }
    let title = format!("{} {} on {}", asked.rule.code, asked.rule.name, clean(&path));
    writeln!(out, "{}", paper.strong(&title))?;
    for said in asked.supposing.list() {
        writeln!(out, "  {}", clean(&format!("as if {} were {}", said.path, said.value)))?;
    }
    writeln!(out, "  {}", paper.wrap(asked.rule.summary(), 2))?;
    // What would turn a verdict must not break another rule.
    let every = rules::all();
    let whole = judge_briefly(&reading, &house, &every);
    let workshop = Workshop::new(&reading, &whole, &house, &every);
    let desk = Desk { paper, workshop, lines: Lines::new(&reading.text) };
    let (apply, not): (Vec<&Check>, Vec<&Check>) =
        chosen.into_iter().partition(|check| check.outcome != Outcome::NotApplicable);
    for check in apply {
        desk.check(check, out)?;
    }
    if !not.is_empty() {
        writeln!(out, "\n{}", paper.strong("Does not apply"))?;
        for check in not {
            let reason = check.reason.unwrap_or_default();
            writeln!(out, "  {}", paper.wrap(&clean(&format!("{}: {reason}", check.subject)), 4))?;
        }
    }
    writeln!(out, "\n`testlamp explain {}` tells why it matters and how to mend it.", asked.rule.code)?;
    Ok(Status::Clear)
}

/// A rule that has no subject in a plan, or none where it was asked for.
fn nothing(asked: &Asked<'_>, own: &[&Check], path: &str) -> Status {
    let code = asked.rule.code;
    let subjects: Vec<String> = own.iter().map(|check| check.subject.path()).collect();
    let words = match (asked.at, subjects.as_slice()) {
        (None, _) | (_, []) => format!("{code} has nothing to judge in {path}"),
        (Some(at), some) => match nearest(at, some.iter().map(String::as_str)) {
            Some(near) => format!("{code} judges nothing at {at}; did you mean {near}?"),
            None if some.len() <= MOST_NAMED => format!("{code} judges nothing at {at}, but {}", all(some)),
            None => format!("{code} judges nothing at {at}, but {}", count(some.len(), "other subject")),
        },
    };
    complain(&words);
    Status::Nothing
}

struct Desk<'a> {
    paper: &'a Paper,
    workshop: Workshop<'a>,
    lines: Lines,
}

impl Desk<'_> {
    fn check(&self, check: &Check, out: &mut dyn Write) -> io::Result<()> {
        let reading = self.workshop.reading;
        let start = reading.tree.locate(&check.subject.path()).span.start;
        let line = self.lines.position(&reading.text, start).0;
        let headline = format!("{}, line {line}: {}", check.subject, verdict(check));
        writeln!(out, "\n{}", self.paper.strong(&clean(&headline)))?;
        for (heading, words) in worked(reading, check).into_iter().chain(turned(&self.workshop, check)) {
            let heading = self.paper.strong(&format!("{heading:<8}"));
            writeln!(out, "  {heading} {}", self.paper.wrap(&clean(&words), 11))?;
        }
        Ok(())
    }
}

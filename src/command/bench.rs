//! Where plans are judged: one after the other or several at once, with the same answers in the same order.

use std::panic::{AssertUnwindSafe, catch_unwind};

use rayon::prelude::*;

use super::Status;
use super::baseline::{Baseline, Filed};
use super::houses::Houses;
use super::inputs::{Input, looks_like_plan};
use super::load::reading;
use super::record::Stamp;
use super::suppose::Supposing;
use crate::house::House;
use crate::judge::{Judgement, Part, Rule, Times, judge_timed};
use crate::plan::Reading;
use crate::report::{Broken, Judged, NotRead, evidence, plan_report};
use crate::text::{Limits, parse};

/// From this many files on they are shared out among the processors.
const FEW: usize = 8;

/// What came of one input.
pub enum Answer {
    /// A plan, judged.
    Plan(Box<Done>),
    /// A file that was found, and is no plan.
    Skipped,
    /// A file that was found, and that the house leaves out.
    LeftOut,
    /// Its house file cannot be taken.
    NotJudged,
    /// It could not be read.
    NotRead(NotRead),
    /// What was to be supposed of it cannot be.
    CannotBeSet(String),
}

/// A plan, judged, with what is kept beside its report.
pub struct Done {
    /// The report with the text.
    pub judged: Judged,
    /// What is kept beside it.
    pub beside: Beside,
}

/// What is kept of one plan.
#[derive(Default)]
pub struct Beside {
    /// What it leaves in the baseline.
    pub filed: Option<Filed>,
    /// Its line of the gate record.
    pub line: Option<String>,
    /// What every part of the work took.
    pub times: Option<Times>,
}

/// What every plan of a run is judged by.
pub struct Bench<'a> {
    /// The houses that judge them.
    pub houses: &'a Houses,
    /// The rules.
    pub rules: Vec<&'static Rule>,
    /// What plans are to be read as if they said.
    pub supposing: &'a Supposing,
    /// Whether every verdict is wanted.
    pub evidence: bool,
    /// Known findings.
    pub baseline: Option<Baseline>,
    /// What every line of the gate record says, when one is kept.
    pub stamp: Option<Stamp>,
    /// Whether the time of every part is taken.
    pub timed: bool,
}

impl Bench<'_> {
    /// The answers to some inputs, in their order whatever the number of threads.
    pub fn answers(&self, batch: &[Input]) -> Vec<Answer> {
        if batch.len() > FEW {
            batch.par_iter().map(|input| self.answer(input)).collect()
        } else {
            batch.iter().map(|input| self.answer(input)).collect()
        }
    }

    fn answer(&self, input: &Input) -> Answer {
        let Some(house) = &self.houses.at(input.house).house else { return Answer::NotJudged };
        if self.houses.leaves_out(input) {
            return Answer::LeftOut;
        }
        let bytes = match input.read() {
            Ok(bytes) => bytes,
            Err(not_read) => return Answer::NotRead(not_read),
        };
        if self.houses.may_be_no_plan(input) && !looks_like_plan(&bytes) {
            return Answer::Skipped;
        }
        match catch_unwind(AssertUnwindSafe(|| self.judged(input, house, bytes))) {
            Ok(Ok(done)) => Answer::Plan(Box::new(done)),
            Ok(Err(why)) => Answer::CannotBeSet(why),
            Err(_) => Answer::Plan(Box::new(self.broken(&input.name()))),
        }
    }

    fn judged(&self, input: &Input, house: &House, bytes: Vec<u8>) -> Result<Done, String> {
        let mut times = self.timed.then(Times::default);
        let reading = Times::take(times.as_mut(), Part::Read, || reading(bytes, &house.shelves));
        if times.is_some() {
            Times::take(times.as_mut(), Part::Parse, || parse(&reading.text, Limits::default()));
        }
        let reading = self.supposing.apply(reading)?;
        // What does not say that it is a plan is not judged as one.
        let is_plan = reading.tree.node("plan").is_some();
        let judgement =
            if is_plan { judge_timed(&reading, house, &self.rules, times.as_mut()) } else { Judgement::default() };
        let mut report = Times::take(times.as_mut(), Part::Report, || plan_report(&input.name(), &reading, &judgement));
        report.house.clone_from(&self.houses.at(input.house).note);
        report.supposed = self.supposing.list().to_vec();
        report.evidence = self.evidence.then(|| evidence(&reading, &judgement, house, &self.rules));
        let filed = self.baseline.as_ref().map(|baseline| baseline.apply(&mut report, &reading.tree, &input.path));
        let line = self.stamp.as_ref().map(|stamp| stamp.judged(&reading, &report, house));
        let beside = Beside { filed, line, times };
        Ok(Done { judged: Judged { report, text: reading.text }, beside })
    }

    /// What is left to say when the reading itself broke down.
    fn broken(&self, name: &str) -> Done {
        let judged = broken(name);
        let line =
            self.stamp.as_ref().map(|stamp| stamp.judged(&Reading::default(), &judged.report, &House::default()));
        Done { judged, beside: Beside { line, ..Beside::default() } }
    }
}

/// How a plan stands at its gate.
pub fn standing(reading: &Reading, judgement: &Judgement) -> Status {
    let counts = plan_report("", reading, judgement).counts;
    match (counts.broken > 0, counts.holds_gate()) {
        (true, _) => Status::Usage,
        (_, true) => Status::Held,
        _ => Status::Clear,
    }
}

/// The report on a plan of which the reading itself broke down.
fn broken(name: &str) -> Judged {
    let reading = Reading::default();
    let mut report = plan_report(name, &reading, &Judgement::default());
    report.broken.push(Broken { code: "", subject: name.to_owned() });
    report.counts.broken = 1;
    Judged { report, text: String::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::judge;
    use crate::rules::trial::FALLS;

    #[test]
    fn a_rule_that_breaks_down_is_told_at_its_subject_and_takes_nothing_with_it() {
        let reading = crate::plan::read("plan: 1\nwires: {a: {to: amq.power}, holds: {}, c: {}}\n".to_owned());
        let (house, all) = (House::default(), crate::rules::all());
        let without = judge(&reading, &house, &all);
        let with = judge(&reading, &house, &[&[&FALLS], &all[..]].concat());
        let broke = with.checks.iter().filter(|check| check.broke).map(|check| (check.rule.code, check.subject.path()));
        let broke: Vec<(&str, String)> = broke.collect();
        assert_eq!(broke, [("TRIAL-01", "wires.a".to_owned()), ("TRIAL-01", "wires.c".to_owned())]);
        assert_eq!(with.checks.len(), without.checks.len() + 3);
        assert!(without.failed().count() > 0);
        assert_eq!(with.failed().count(), without.failed().count());
        assert_eq!(standing(&reading, &without), Status::Held);
        assert_eq!(standing(&reading, &with), Status::Usage);
    }

    #[test]
    fn a_reading_that_breaks_down_is_counted() {
        let judged = broken("x.yaml");
        assert_eq!((judged.report.counts.broken, judged.report.broken.len()), (1, 1));
    }
}

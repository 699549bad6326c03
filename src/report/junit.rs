//! `JUnit` XML, for the test page of a CI.
//!
//! A plan is a suite, and each thing there is to tell of it a test case. A failure is what holds the gate, no more and
//! no less, so that the page and the exit status agree; advice, what may still be open and what is waived are skipped
//! cases with their words. Passes are many and alike: one case says that the plan was read, properties say how many
//! checks passed, and only where every verdict was asked for is each a case of its own. There are no times.

use std::io::{self, Write};

use quick_junit::{NonSuccessKind, Report, TestCase, TestCaseStatus, TestSuite};

use super::model::{Evidence, NotRead, PlanReport, Program, Summary, Weighed};
use super::place::Here;
use super::told::{Standing, Told, told};
use super::{Judged, Printer, clean};
use crate::judge::Outcome;

/// Prints `JUnit` XML, a suite a plan. Totals over all plans are left out: they would have to stand before the first.
#[derive(Debug)]
pub struct Junit {
    here: Here,
}

impl Default for Junit {
    fn default() -> Self {
        Self { here: Here::current() }
    }
}

impl Printer for Junit {
    fn begin(&mut self, out: &mut dyn Write) -> io::Result<()> {
        let name = Program::default().name;
        write!(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"{name}\">\n")
    }

    fn plan(&mut self, out: &mut dyn Write, plan: &Judged) -> io::Result<()> {
        write_suite(out, suite(&plan.report, &self.here.relative(&plan.report.path)))
    }

    fn end(&mut self, out: &mut dyn Write, not_read: &[NotRead], _: &Summary) -> io::Result<()> {
        if !not_read.is_empty() {
            let mut suite = TestSuite::new("not read");
            suite.add_test_cases(not_read.iter().map(|input| {
                let mut status = TestCaseStatus::non_success(NonSuccessKind::Error);
                status.set_type("not read").set_message(clean(&input.why));
                TestCase::new(clean(&self.here.relative(&input.path)), status)
            }));
            write_suite(out, suite)?;
        }
        writeln!(out, "</testsuites>")
    }
}

/// Writes a suite without the report that would hold it alone. No markup of a text stays markup in XML, so that the
/// first and the last tag are those of the suite.
fn write_suite(out: &mut dyn Write, suite: TestSuite) -> io::Result<()> {
    let mut report = Report::unnamed();
    report.add_test_suite(suite);
    let text = report.to_string().map_err(io::Error::other)?;
    let start = text.find("<testsuite ").unwrap_or_default();
    let end = text.rfind("</testsuites>").unwrap_or(text.len());
    writeln!(out, "    {}", text[start..end].trim_end())
}

fn suite(report: &PlanReport, path: &str) -> TestSuite {
    let mut suite = TestSuite::new(clean(path));
    let counts = &report.counts;
    for (name, count) in [
        ("checks", counts.checks),
        ("passes", counts.passes),
        ("dangers", counts.dangers),
        ("faults", counts.faults),
        ("advice", counts.advice),
        ("open", counts.open),
        ("held open", counts.held_open),
        ("waived", counts.waived),
        ("not applicable", counts.not_applicable),
    ] {
        suite.add_property((name, count.to_string().as_str()));
    }
    for supposed in &report.supposed {
        suite.add_property(("supposed", clean(&format!("{} = {}", supposed.path, supposed.value)).as_str()));
    }
    if let Some(house) = &report.house {
        suite.add_property(("house", clean(&house.path).as_str()));
        for rule in &house.rules_off {
            suite.add_property(("rule off", clean(&format!("{}: {}", rule.code, rule.reason)).as_str()));
        }
    }
    if report.unreadable.is_empty() && report.broken.is_empty() {
        suite.add_test_case(case("read as a plan", path, TestCaseStatus::success()));
    }
    suite.add_test_cases(told(report).iter().map(|told| told_case(told, path)));
    if let Some(evidence) = &report.evidence {
        record(&mut suite, evidence, path);
    }
    suite
}

/// A test case; the name of its class is the plan, so that a page which lists cases of many suites tells them apart.
fn case(name: &str, path: &str, status: TestCaseStatus) -> TestCase {
    let mut case = TestCase::new(clean(name), status);
    case.set_classname(clean(path));
    case
}

fn told_case(told: &Told<'_>, path: &str) -> TestCase {
    let (line, column) = (told.at.line, told.at.column);
    let name = match told.standing {
        Standing::Unreadable => format!("unreadable, line {line}, column {column}"),
        _ => format!("{} {}", told.rule(), told.subject),
    };
    let mut status = match told.standing {
        Standing::Broken => TestCaseStatus::non_success(NonSuccessKind::Error),
        _ if told.holds_gate => TestCaseStatus::non_success(NonSuccessKind::Failure),
        _ => TestCaseStatus::skipped(),
    };
    let sentences = told.sentences();
    let steps = told.steps();
    let place = format!("{path}:{line}:{column}");
    let lines: Vec<String> = [place].iter().chain(&sentences).chain(&steps).map(|words| clean(words)).collect();
    status.set_type(told.kind()).set_message(clean(&told.title)).set_description(lines.join("\n"));
    let mut case = case(&name, path, status);
    case.extra.insert("file".into(), clean(path).into());
    case.extra.insert("line".into(), line.to_string().into());
    case
}

/// The verdicts that are not told already: passes, and what does not apply.
fn record(suite: &mut TestSuite, evidence: &Evidence, path: &str) {
    for (name, digest) in [
        ("plan sha256", &evidence.plan_digest),
        ("rules sha256", &evidence.rules_digest),
        ("house sha256", &evidence.house_digest),
    ] {
        suite.add_property((name, digest.as_str()));
    }
    for verdict in &evidence.verdicts {
        let Weighed { rule, subject, .. } = verdict;
        let status = match verdict.outcome {
            Outcome::Pass => TestCaseStatus::success(),
            Outcome::NotApplicable => {
                let mut status = TestCaseStatus::skipped();
                status.set_type("not applicable").set_message(clean(&verdict.reason));
                status
            }
            Outcome::Fail | Outcome::Open => continue,
        };
        suite.add_test_case(case(&format!("{} {} {subject}", rule.code, rule.name), path, status));
    }
}

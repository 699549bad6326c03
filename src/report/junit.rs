//! `JUnit` XML, for the test page of a CI.
//!
//! A plan is a suite, and each thing there is to tell of it a test case. A failure is what holds the gate, no more and
//! no less, so that the page and the exit status agree; advice, what may still be open and what is waived are skipped
//! cases with their words. Passes are many and alike: one case says that the plan was read, properties say how many
//! checks passed, and only where every verdict was asked for is each a case of its own. There are no times.

use std::io::{self, Write};

use maud::{Markup, PreEscaped, html};

use super::model::{NotRead, PlanReport, Program, RuleOff, Summary, Supposed, Weighed};
use super::place::Here;
use super::told::{Standing, Told, told};
use super::{Judged, Printer, clean};
use crate::judge;

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
        suite(&plan.report, &self.here.relative(&plan.report.path)).write(out)
    }

    fn end(&mut self, out: &mut dyn Write, not_read: &[NotRead], _: &Summary) -> io::Result<()> {
        if !not_read.is_empty() {
            let missing = |input: &NotRead| {
                let name = self.here.relative(&input.path);
                Case::new(&name, Outcome::Error).why("not read", &input.why)
            };
            let cases = not_read.iter().map(missing).collect();
            Suite { name: "not read".into(), properties: Vec::new(), cases }.write(out)?;
        }
        writeln!(out, "</testsuites>")
    }
}

/// What a test page makes of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    Success,
    Skipped,
    Failure,
    Error,
}

/// A test case.
#[derive(Debug)]
struct Case {
    name: String,
    outcome: Outcome,
    /// The plan as the name of the class, so that a page which lists cases of many suites tells them apart.
    class: Option<String>,
    line: Option<usize>,
    kind: String,
    message: String,
    description: String,
}

impl Case {
    fn new(name: &str, outcome: Outcome) -> Self {
        let nothing = String::new;
        let (kind, message, description) = (nothing(), nothing(), nothing());
        Self { name: clean(name), outcome, class: None, line: None, kind, message, description }
    }

    fn of(self, path: &str) -> Self {
        Self { class: Some(clean(path)), ..self }
    }

    fn why(self, kind: &str, message: &str) -> Self {
        Self { kind: kind.to_owned(), message: clean(message), ..self }
    }

    fn markup(&self) -> Markup {
        let Self { name, class, line, kind, message, description, .. } = self;
        let file = line.and(class.as_ref());
        html! {
            testcase name=(name) classname=[class] file=[file] line=[line] {
                @match self.outcome {
                    Outcome::Success => {},
                    Outcome::Skipped => skipped message=(message) type=(kind) { (description) },
                    Outcome::Failure => failure message=(message) type=(kind) { (description) },
                    Outcome::Error => error message=(message) type=(kind) { (description) },
                }
            }
            (LINE)
        }
    }
}

/// A suite of test cases.
#[derive(Debug)]
struct Suite {
    name: String,
    properties: Vec<(&'static str, String)>,
    cases: Vec<Case>,
}

/// So that a report can be read and compared by line.
const LINE: PreEscaped<&str> = PreEscaped("\n");

impl Suite {
    fn count(&self, outcome: Outcome) -> usize {
        self.cases.iter().filter(|case| case.outcome == outcome).count()
    }

    /// Writes the suite as an element. Every element is closed by a tag of its own, which XML takes as well as HTML.
    fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let [skipped, errors, failures] =
            [Outcome::Skipped, Outcome::Error, Outcome::Failure].map(|outcome| self.count(outcome));
        let markup = html! {
            testsuite name=(self.name) tests=(self.cases.len()) skipped=(skipped) errors=(errors) failures=(failures) {
                (LINE)
                @if !self.properties.is_empty() {
                    properties {
                        (LINE)
                        @for (name, value) in &self.properties { property name=(name) value=(value) {} (LINE) }
                    }
                    (LINE)
                }
                @for case in &self.cases { (case.markup()) }
            }
        };
        writeln!(out, "{}", markup.into_string())
    }
}

fn suite(report: &PlanReport, path: &str) -> Suite {
    let counts = &report.counts;
    let mut properties: Vec<(&'static str, String)> = [
        ("checks", counts.checks),
        ("passes", counts.passes),
        ("dangers", counts.dangers),
        ("faults", counts.faults),
        ("advice", counts.advice),
        ("open", counts.open),
        ("held open", counts.held_open),
        ("waived", counts.waived),
        ("not applicable", counts.not_applicable),
    ]
    .map(|(name, count)| (name, count.to_string()))
    .into();
    let supposed = |supposed: &Supposed| ("supposed", clean(&format!("{} = {}", supposed.path, supposed.value)));
    properties.extend(report.supposed.iter().map(supposed));
    if let Some(house) = &report.house {
        properties.push(("house", clean(&house.path)));
        let off = |rule: &RuleOff| ("rule off", clean(&format!("{}: {}", rule.code, rule.reason)));
        properties.extend(house.rules_off.iter().map(off));
    }
    let mut cases = Vec::new();
    if report.unreadable.is_empty() && report.broken.is_empty() {
        cases.push(Case::new("read as a plan", Outcome::Success).of(path));
    }
    cases.extend(told(report).iter().map(|told| told_case(told, path)));
    if let Some(evidence) = &report.evidence {
        properties.extend([
            ("plan sha256", evidence.plan_digest.clone()),
            ("rules sha256", evidence.rules_digest.clone()),
            ("house sha256", evidence.house_digest.clone()),
        ]);
        cases.extend(evidence.verdicts.iter().filter_map(|verdict| verdict_case(verdict, path)));
    }
    Suite { name: clean(path), properties, cases }
}

fn told_case(told: &Told<'_>, path: &str) -> Case {
    let (line, column) = (told.at.line, told.at.column);
    let name = match told.standing {
        Standing::Unreadable => format!("unreadable, line {line}, column {column}"),
        _ => format!("{} {}", told.rule(), told.subject),
    };
    let outcome = match told.standing {
        Standing::Broken => Outcome::Error,
        _ if told.holds_gate => Outcome::Failure,
        _ => Outcome::Skipped,
    };
    let sentences = told.sentences();
    let steps = told.steps();
    let place = format!("{path}:{line}:{column}");
    let lines: Vec<String> = [place].iter().chain(&sentences).chain(&steps).map(|words| clean(words)).collect();
    let case = Case::new(&name, outcome).of(path).why(&told.kind(), &told.title);
    Case { line: Some(line), description: lines.join("\n"), ..case }
}

/// A verdict that is not told already: a pass, or what does not apply.
fn verdict_case(verdict: &Weighed, path: &str) -> Option<Case> {
    let Weighed { rule, subject, .. } = verdict;
    let case = |outcome| Case::new(&format!("{} {} {subject}", rule.code, rule.name), outcome).of(path);
    match verdict.outcome {
        judge::Outcome::Pass => Some(case(Outcome::Success)),
        judge::Outcome::NotApplicable => Some(case(Outcome::Skipped).why("not applicable", &verdict.reason)),
        judge::Outcome::Fail | judge::Outcome::Open => None,
    }
}

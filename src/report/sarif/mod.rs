//! SARIF 2.1.0 (OASIS Standard, "Static Analysis Results Interchange Format", with errata 01): the numbers of its
//! sections stand beside what follows from them.

mod objects;

use std::collections::HashMap;
use std::io::{self, Write};

use objects::{
    Artifact, Configuration, Described, Descriptor, Driver, Fingerprints, Invocation, Location, Logical, Notification,
    Override, Physical, Piece, Properties, RuleProperties, SarifResult, Suppression, Tool, Words, message,
};

use crate::judge::{Rule, Severity, summary};
use crate::report::evidence::digest;
use crate::report::json::to_json;
use crate::report::model::{
    Beside, NotRead, PlanReport, Program, RuleOff, Settled, Signature, Spot, Summary, Supposed,
};
use crate::report::place::{Here, Ruler};
use crate::report::told::{Standing, Told, told, verdict};
use crate::report::{Judged, Printer};
use crate::rules;

const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// The rule of words that cannot be read; it stands behind the others.
const UNREADABLE: &str = "unreadable";

/// Prints SARIF: results plan by plan, then the rules that they name. A rule has its whole page with it, and a report that
/// held all of them would be many times as large as what it tells.
pub struct Sarif {
    here: Here,
    /// Every rule there is.
    rules: Vec<&'static Rule>,
    /// Those that were named so far: a result refers to them by number.
    named: Vec<Named>,
    results: usize,
    /// Rules that were off for every plan so far; `None` before the first.
    off: Option<Vec<RuleOff>>,
    /// Rules that broke down: few, and told at the end.
    notifications: Vec<Notification>,
}

/// A rule that was named. Two houses may each have their own rule of one code.
#[derive(PartialEq)]
struct Named {
    code: &'static str,
    name: &'static str,
    page: &'static str,
    severity: Severity,
    since: &'static str,
}

impl From<&Rule> for Named {
    fn from(rule: &Rule) -> Self {
        let Rule { code, name, page, severity, since, .. } = *rule;
        Self { code, name, page, severity, since }
    }
}

impl Default for Sarif {
    fn default() -> Self {
        Self {
            here: Here::current(),
            rules: rules::all(),
            named: Vec::new(),
            results: 0,
            off: None,
            notifications: Vec::new(),
        }
    }
}

impl Printer for Sarif {
    fn begin(&mut self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{{\n  \"$schema\": \"{SCHEMA}\",\n  \"version\": \"2.1.0\",\n  \"runs\": [\n    {{")?;
        writeln!(out, "      \"columnKind\": \"utf16CodeUnits\",")?;
        // 3.14.17: a lone carriage return ends a line in YAML.
        write!(out, "      \"newlineSequences\": [\"\\r\\n\", \"\\n\", \"\\r\"],\n      \"results\": [")
    }

    fn plan(&mut self, out: &mut dyn Write, plan: &Judged) -> io::Result<()> {
        let all = told(&plan.report);
        self.note_off(&plan.report);
        self.note_broken(&plan.report, &all);
        let page = Page::new(&plan.report, &plan.text, self.here.uri(&plan.report.path), &all);
        for (at, told) in all.iter().enumerate().filter(|(_, told)| is_result(told)) {
            let comma = if self.results == 0 { "" } else { "," };
            self.results += 1;
            let index = self.index(self.named(told));
            write!(out, "{comma}\n        {}", to_json(&page.result(at, told, index), 4)?)?;
        }
        Ok(())
    }

    fn end(&mut self, out: &mut dyn Write, not_read: &[NotRead], summary: &Summary) -> io::Result<()> {
        let close = if self.results == 0 { "]" } else { "\n      ]" };
        let not_read: Vec<Notification> = not_read.iter().map(|input| self.not_read(input)).collect();
        self.notifications.extend(not_read);
        let off: Vec<RuleOff> = self.off.take().unwrap_or_default();
        let off: Vec<_> =
            off.iter().filter_map(|rule| Some(Override::off(rule, self.index(self.ours(rule.code)?)))).collect();
        let invocation = Invocation {
            rule_configuration_overrides: off,
            execution_successful: summary.status <= 1,
            exit_code: summary.status,
            exit_code_description: verdict(summary.status),
            tool_execution_notifications: &self.notifications,
        };
        let (invocations, summary) = (to_json(&[invocation], 3)?, to_json(summary, 4)?);
        let tool = to_json(&Tool { driver: self.driver() }, 3)?;
        writeln!(out, "{close},\n      \"tool\": {tool},\n      \"invocations\": {invocations},")?;
        writeln!(out, "      \"properties\": {{\n        \"summary\": {summary}\n      }}\n    }}\n  ]\n}}")
    }
}

/// What the gate does not wait for is no result: other consumers know no open checks, and would take them for findings.
fn is_result(told: &Told<'_>) -> bool {
    !matches!(told.standing, Standing::Open | Standing::Broken)
}

impl Sarif {
    fn driver(&self) -> Driver<'_> {
        let Program { name, version } = Program::default();
        let notifications = [
            Described::new("not-read", "An input could not be read."),
            Described::new("broke-down", "A check could not be made: a fault of testlamp, not of the plan."),
        ];
        let described = |named: &Named| if named.code == UNREADABLE { unreadable() } else { descriptor(named) };
        Driver {
            name,
            version,
            semantic_version: version,
            notifications,
            rules: self.named.iter().map(described).collect(),
        }
    }

    fn ours(&self, code: &str) -> Option<Named> {
        self.rules.iter().find(|rule| rule.code == code).map(|rule| Named::from(*rule))
    }

    /// What a result names: a rule of ours, or one of the house's own.
    fn named(&self, told: &Told<'_>) -> Named {
        let Told { code, name, page, severity, .. } = *told;
        self.ours(code).unwrap_or(Named { code, name, page, severity, since: "the house" })
    }

    /// The place of a rule in the list, where it is put down now if it is not there yet.
    fn index(&mut self, named: Named) -> usize {
        let is_it = |other: &Named| (other.code, other.page) == (named.code, named.page);
        self.named.iter().position(is_it).unwrap_or_else(|| {
            self.named.push(named);
            self.named.len() - 1
        })
    }

    /// 3.20.5: what a house has off was not configured to run. A rule that was off for some plans only has run.
    fn note_off(&mut self, report: &PlanReport) {
        let off = report.house.as_ref().map(|house| house.rules_off.as_slice()).unwrap_or_default();
        match &mut self.off {
            Some(known) => known.retain(|rule| off.iter().any(|other| other.code == rule.code)),
            None => self.off = Some(off.to_vec()),
        }
    }

    fn note_broken(&mut self, report: &PlanReport, all: &[Told<'_>]) {
        for told in all.iter().filter(|told| told.standing == Standing::Broken) {
            // Where the reading itself broke down the subject is the plan, by the name it was given.
            let words = told.title.replace(&*report.path, &self.here.relative(&report.path));
            let words = if report.path.is_empty() { told.title.clone() } else { words };
            self.notifications.push(Notification::new("broke-down", &words, self.here.uri(&report.path)));
        }
    }

    fn not_read(&self, NotRead { path, why }: &NotRead) -> Notification {
        let words = format!("{} could not be read: {why}", self.here.relative(path));
        Notification::new("not-read", &words, self.here.uri(path))
    }
}

/// One plan.
struct Page<'a> {
    ruler: Ruler<'a>,
    uri: String,
    supposed: &'a [Supposed],
    fingerprints: Vec<String>,
    by_check: HashMap<(&'a str, &'a str), usize>,
    spots: Vec<Spot>,
}

impl<'a> Page<'a> {
    fn new(report: &'a PlanReport, text: &'a str, uri: String, all: &[Told<'a>]) -> Self {
        let ruler = Ruler::new(text);
        let fingerprints = fingerprints(&ruler, all);
        let checks = all.iter().enumerate().filter(|(_, told)| is_result(told));
        let by_check = checks.map(|(at, told)| ((told.code, told.subject), at)).collect();
        let spots = all.iter().map(|told| told.at.clone()).collect();
        Self { ruler, uri, supposed: &report.supposed, fingerprints, by_check, spots }
    }

    fn result<'b>(&'b self, at: usize, told: &'b Told<'b>, rule_index: usize) -> SarifResult<'b> {
        // 3.27.9 and 3.27.10: what waits for a fact is open, and what is open has no level.
        let (kind, level) = if told.is_open { ("open", "none") } else { ("fail", level(told.severity)) };
        let cause = told.follows.and_then(|cause| self.by_check.get(&(cause.code, cause.subject.as_str())));
        SarifResult {
            rule_id: told.code,
            rule_index,
            kind,
            level,
            message: message(&told.sentences().join(" ")),
            locations: [self.location(&told.at, if told.path.is_empty() { told.subject } else { told.path })],
            related_locations: self.related(told, cause.copied()),
            partial_fingerprints: Fingerprints { check: &self.fingerprints[at] },
            suppressions: told.waiver.map(|waiver| self.suppression(waiver)).into_iter().collect(),
            properties: Properties {
                severity: told.severity,
                subject: told.subject,
                holds_gate: told.holds_gate,
                follows: told.follows,
                cause: cause.map(|at| self.fingerprints[*at].as_str()),
                supposed: self.supposed,
                working: told.working,
            },
        }
    }

    fn location(&self, at: &Spot, path: &str) -> Location {
        let path = Some(path).filter(|path| !path.is_empty());
        Location {
            id: None,
            physical: Physical {
                artifact_location: Artifact { uri: self.uri.clone() },
                region: Some(Piece::Exact(self.ruler.region(at))),
            },
            logical_locations: path.map(|path| Logical { fully_qualified_name: path.to_owned() }).into_iter().collect(),
            message: None,
        }
    }

    /// Other places that matter, and the finding that this one only follows from.
    fn related(&self, told: &Told<'_>, cause: Option<usize>) -> Vec<Location> {
        let mut related: Vec<Location> = Vec::new();
        for point in told.also {
            let mut location = self.location(&point.at, &point.path);
            location.message = Some(message(&point.label)).filter(|_| !point.label.is_empty());
            related.push(location);
            related.extend(point.written_at.iter().map(|at| Location {
                message: Some(message(&format!("{} is written here", point.path))),
                ..self.location(at, &point.path)
            }));
        }
        related.extend(
            told.beside.map(|Beside { what, at }| Location { message: Some(message(what)), ..self.location(at, "") }),
        );
        if let (Some(at), Some(Settled { code, subject })) = (cause, told.follows) {
            let message = Some(message(&format!("follows from {code} at {subject}")));
            related.push(Location { message, ..self.location(&self.spots[at], subject) });
        }
        // 3.28.2: the places of a result are told apart by numbers.
        related.iter_mut().enumerate().for_each(|(at, location)| location.id = Some(at + 1));
        related
    }

    /// 3.35: a waiver stands in the plan, and somebody has accepted it.
    fn suppression(&self, waiver: &Signature) -> Suppression {
        let Signature { path, line, reason, by, until } = waiver;
        let line = Piece::Line { start_line: *line };
        Suppression {
            kind: "inSource",
            status: "accepted",
            justification: format!("{reason} ({by}, until {until})"),
            location: Location {
                id: None,
                physical: Physical { artifact_location: Artifact { uri: self.uri.clone() }, region: Some(line) },
                logical_locations: vec![Logical { fully_qualified_name: path.clone() }],
                message: None,
            },
        }
    }
}

/// 3.27.16: what stays of a result when lines move: the rule, the thing, the path and the words there. Equal ones are
/// counted in the order of the text.
fn fingerprints(ruler: &Ruler<'_>, all: &[Told<'_>]) -> Vec<String> {
    let mut seen: HashMap<String, usize> = HashMap::new();
    let mut of = |told: &Told<'_>| {
        let words = match told.standing {
            Standing::Unreadable => ruler.words(&told.at),
            _ if told.path.is_empty() => "",
            _ => ruler.words(&told.at),
        };
        let parts = [told.code, told.subject, told.path, words];
        let equal = seen.entry(digest(parts.map(str::as_bytes))).or_default();
        *equal += 1;
        digest(parts.map(str::as_bytes).into_iter().chain([equal.to_string().as_bytes()]))
    };
    all.iter().map(&mut of).collect()
}

const fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Danger => "error",
        Severity::Fault => "warning",
        Severity::Advice => "note",
    }
}

/// A rule from its page. Its help is shown as it stands: no message has arguments for it, so the braces of its examples
/// are not doubled.
fn descriptor(rule: &Named) -> Descriptor {
    let short = summary(rule.page).replace('`', "");
    // The page of a house's own rule says what it asks, and where that comes from.
    let why = Some(section(rule.page, "Why it matters")).filter(|why| !why.is_empty());
    Descriptor {
        id: rule.code,
        name: rule.name,
        full_description: why.unwrap_or_else(|| short.clone()).into(),
        short_description: short.into(),
        help: Words { text: plain(rule.page), markdown: Some(rule.page) },
        default_configuration: Configuration { level: level(rule.severity) },
        properties: RuleProperties {
            severity: rule.severity,
            since: rule.since,
            tags: [rule.code.split('-').next().unwrap_or(rule.code)],
        },
    }
}

fn unreadable() -> Descriptor {
    let text = "What cannot be read is not judged, so nothing can be said of the things it is about. Write it as the \
                message says; `testlamp schema plan` prints what a plan may hold.";
    Descriptor {
        id: UNREADABLE,
        name: "unreadable-words",
        short_description: "Words that cannot be read as part of a plan.".to_owned().into(),
        full_description: text.replace('`', "").into(),
        help: Words { text: text.replace('`', ""), markdown: Some(text) },
        default_configuration: Configuration { level: "error" },
        properties: RuleProperties { severity: Severity::Danger, since: "0.1", tags: [UNREADABLE] },
    }
}

/// The words below a heading of a page, without marks of markdown.
fn section(page: &str, heading: &str) -> String {
    let lines = page.lines().skip_while(|line| line.strip_prefix("## ") != Some(heading)).skip(1);
    let lines: Vec<&str> = lines.take_while(|line| !line.starts_with("## ")).map(str::trim).collect();
    lines.join(" ").replace('`', "").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A page without marks of markdown.
fn plain(page: &str) -> String {
    let lines = page.lines().filter(|line| !line.starts_with("```"));
    lines
        .map(|line| line.trim_start_matches('#').trim_start_matches(' '))
        .collect::<Vec<_>>()
        .join("\n")
        .replace('`', "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_gives_its_own_words() {
        let page = "# A-01 a\n\nFirst `one`.\n\n## Why it matters\n\nBecause\nit does.\n\n## Bad\n\n```yaml bad\na: {b: 1}\n```\n";
        assert_eq!(section(page, "Why it matters"), "Because it does.");
        assert_eq!(plain(page), "A-01 a\n\nFirst one.\n\nWhy it matters\n\nBecause\nit does.\n\nBad\n\na: {b: 1}");
    }

    #[test]
    fn braces_and_links_of_a_plan_are_words() {
        assert_eq!(message("{0} [a](b) }").text, "{{0}} [a] (b) }}");
    }
}

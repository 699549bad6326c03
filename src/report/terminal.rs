//! The report for people.

use std::io::{self, Write};

use miette::Severity as Look;

use super::model::{
    Amount, Broken, Evidence, Fact, Found, From, Given, Must, NotRead, Numbers, PlanReport, Point, Program, Stale,
    Summary, Turning, Unreadable, Waiting, Weighed,
};
use super::snippet::{Mark, Source};
use super::{Judged, Paper, Printer, clean};
use crate::judge::{Outcome, Severity};
use crate::words::{all, count, either};

/// More unreadable places of one plan are counted, not shown.
const MOST_UNREADABLE: usize = 30;
/// More open checks that hold the gate are counted, not shown.
const MOST_HELD: usize = 5;
/// Longer lists of checks are counted, not spelt out.
const MOST_SETTLED: usize = 6;

/// Prints findings with the words they are about, their working, and what has to be found out.
#[derive(Debug)]
pub struct Terminal {
    paper: Paper,
    find_out: Vec<(String, Vec<Fact>, Option<String>)>,
}

impl Terminal {
    /// A report on this paper.
    pub fn new(paper: Paper) -> Self {
        Self { paper, find_out: Vec::new() }
    }
}

impl Printer for Terminal {
    fn begin(&mut self, _: &mut dyn Write) -> io::Result<()> {
        Ok(())
    }

    fn plan(&mut self, out: &mut dyn Write, plan: &Judged) -> io::Result<()> {
        let report = &plan.report;
        if !self.paper.quiet && (!report.find_out.is_empty() || report.untried > 0) {
            self.find_out.push((report.path.clone(), report.find_out.clone(), report.untried_words()));
        }
        let held: Vec<&Waiting> = report.open.iter().filter(|waiting| waiting.holds_gate).collect();
        let desk = Desk { paper: &self.paper, source: Source::new(&report.path, &plan.text) };
        for unreadable in report.unreadable.iter().take(MOST_UNREADABLE) {
            desk.unreadable(out, unreadable)?;
        }
        if let Some(more) = report.unreadable.len().checked_sub(MOST_UNREADABLE + 1) {
            writeln!(out, "  and {} more that cannot be read in {}\n", more + 1, clean(&report.path))?;
        }
        for found in report.findings.iter().filter(|found| found.follows.is_none()) {
            desk.found(out, found)?;
            desk.consequences(out, found, &report.findings)?;
            writeln!(out)?;
        }
        for waiting in held.iter().take(MOST_HELD) {
            desk.waiting(out, waiting)?;
        }
        if let Some(more) = held.len().checked_sub(MOST_HELD + 1) {
            writeln!(out, "  and {} more open: the list of facts to find out has them\n", more + 1)?;
        }
        for found in &report.waived {
            desk.waived(out, found)?;
        }
        if !self.paper.quiet {
            desk.baselined(out, &report.path, plan)?;
        }
        for broken in &report.broken {
            writeln!(out, "  {}: {}\n", clean(&report.path), clean(&broken.words()))?;
        }
        report.evidence.as_ref().map_or(Ok(()), |evidence| desk.evidence(out, &report.path, evidence))
    }

    fn end(&mut self, out: &mut dyn Write, _: &[NotRead], summary: &Summary) -> io::Result<()> {
        if self.paper.quiet {
            return Ok(());
        }
        for (path, facts, untried) in &self.find_out {
            let facts_words = count(facts.len(), "fact");
            writeln!(out, "{}", self.paper.strong(&format!("To find out for {}: {facts_words}", clean(path))))?;
            for fact in facts {
                writeln!(out, "  {}", self.paper.wrap(&clean(&fact.heading()), 2))?;
                writeln!(out, "    {}", clean(&fact.path))?;
                for words in fact.words() {
                    writeln!(out, "    {}", self.paper.wrap(&clean(&words), 4))?;
                }
            }
            if let Some(more) = untried {
                writeln!(out, "  {}", self.paper.wrap(more, 2))?;
            }
            writeln!(out)?;
        }
        // Last, where it still stands on the screen after many plans.
        writeln!(out, "{}", self.paper.strong(&self.paper.wrap(&summary_line(summary), 0)))
    }
}

/// One plan on the desk.
struct Desk<'a> {
    paper: &'a Paper,
    source: Source<'a>,
}

impl Desk<'_> {
    fn unreadable(&self, out: &mut dyn Write, unreadable: &Unreadable) -> io::Result<()> {
        let headline = format!("unreadable: {}", unreadable.what);
        let mut marks = vec![Mark { at: &unreadable.at, label: String::new() }];
        marks.extend(unreadable.also.iter().map(|also| Mark { at: &also.at, label: also.what.clone() }));
        out.write_all(self.source.draw(self.paper, Look::Error, &headline, &marks).as_bytes())?;
        self.row(out, "mend", &unreadable.mend)?;
        writeln!(out)
    }

    fn found(&self, out: &mut dyn Write, found: &Found) -> io::Result<()> {
        let headline = format!("{} {} {}: {}", found.severity.word(), found.rule.code, found.rule.name, found.title);
        let mut marks: Vec<Mark<'_>> = Vec::new();
        for point in std::iter::once(&found.at).chain(&found.also) {
            marks.push(Mark { at: &point.at, label: point.words() });
            let written = point.written_at.iter();
            marks.extend(written.map(|at| Mark { at, label: format!("{} is written here", point.path) }));
        }
        let look = match found.severity {
            Severity::Danger => Look::Error,
            Severity::Fault => Look::Warning,
            Severity::Advice => Look::Advice,
        };
        out.write_all(self.source.draw(self.paper, look, &headline, &marks).as_bytes())?;
        self.row(out, "why", &found.why)?;
        self.row(out, "mend", &found.mend)?;
        match found.working.as_ref().filter(|_| !self.paper.quiet) {
            Some(numbers) => self.working(out, numbers),
            None => Ok(()),
        }
    }

    /// What only follows from a finding, a line each.
    fn consequences(&self, out: &mut dyn Write, cause: &Found, all: &[Found]) -> io::Result<()> {
        let follows = |found: &&Found| {
            found.follows.as_ref().is_some_and(|of| of.code == cause.rule.code && of.subject == cause.subject)
        };
        let mut heading = "follows";
        for found in all.iter().filter(follows) {
            let line = found.at.at.line;
            let words = format!("{} {}, line {line}: {}", found.severity.word(), found.rule.code, found.title);
            self.row(out, heading, &words)?;
            heading = "";
        }
        Ok(())
    }

    /// A finding that somebody answers for.
    fn waived(&self, out: &mut dyn Write, found: &Found) -> io::Result<()> {
        let Some(waiver) = &found.waiver else { return Ok(()) };
        let (path, line) = (self.source.name(), found.at.at.line);
        let headline =
            format!("waived {} {} {}: {}", found.severity.word(), found.rule.code, found.rule.name, found.title);
        writeln!(out, "  {}", self.paper.strong(&self.paper.wrap(&clean(&headline), 2)))?;
        self.row(out, "at", &format!("{path}:{line}"))?;
        self.row(out, "by", &format!("{} until {} ({}, line {})", waiver.by, waiver.until, waiver.path, waiver.line))?;
        self.row(out, "reason", &waiver.reason)?;
        writeln!(out)
    }

    /// What the baseline knows, a line each: it is there for the record, not for today's work.
    fn baselined(&self, out: &mut dyn Write, path: &str, plan: &Judged) -> io::Result<()> {
        let report = &plan.report;
        let mut lines: Vec<String> = Vec::new();
        for Found { severity, rule, at, title, .. } in &report.baselined {
            lines.push(format!("{} {} {}, line {}: {title}", severity.word(), rule.code, rule.name, at.at.line));
        }
        for waiting in report.open.iter().filter(|waiting| waiting.baselined) {
            let Waiting { severity, rule, subject, at, .. } = waiting;
            lines.push(format!("open {} {} {}, line {}: {subject}", severity.word(), rule.code, rule.name, at.line));
        }
        lines.extend(report.stale.iter().map(Stale::words));
        if lines.is_empty() {
            return Ok(());
        }
        writeln!(out, "  {}", self.paper.strong(&clean(&format!("In the baseline for {path}"))))?;
        for line in lines {
            writeln!(out, "    {}", self.paper.wrap(&clean(&line), 6))?;
        }
        writeln!(out)
    }

    /// The record of every verdict.
    fn evidence(&self, out: &mut dyn Write, path: &str, evidence: &Evidence) -> io::Result<()> {
        writeln!(out, "{}", self.paper.strong(&format!("Every verdict on {}", clean(path))))?;
        let program = Program::default();
        let rules = count(evidence.rules, "rule");
        self.row(out, "plan", &format!("sha256 {}", evidence.plan_digest))?;
        self.row(
            out,
            "rules",
            &format!("{} {}, {rules}, sha256 {}", program.name, program.version, evidence.rules_digest),
        )?;
        self.row(out, "house", &format!("sha256 {}", evidence.house_digest))?;
        if let Some(day) = &evidence.judged_on {
            self.row(out, "on", day)?;
        }
        for verdict in &evidence.verdicts {
            writeln!(out, "  {}", self.paper.wrap(&clean(&verdict.words()), 4))?;
        }
        writeln!(out)
    }

    fn waiting(&self, out: &mut dyn Write, waiting: &Waiting) -> io::Result<()> {
        let (severity, rule) = (waiting.severity.word(), &waiting.rule);
        let headline = format!("open {severity} {} {}: {} cannot be judged yet", rule.code, rule.name, waiting.subject);
        let mark = Mark { at: &waiting.at, label: String::new() };
        out.write_all(self.source.draw(self.paper, Look::Warning, &headline, &[mark]).as_bytes())?;
        self.row(out, "find out", &waiting.asks())?;
        self.row(out, "or", &waiting.in_any_case)?;
        if let Some(numbers) = waiting.working.as_ref().filter(|_| !self.paper.quiet) {
            self.working(out, numbers)?;
        }
        writeln!(out)
    }

    /// A few words under a heading in the margin.
    fn row(&self, out: &mut dyn Write, heading: &str, words: &str) -> io::Result<()> {
        if words.is_empty() {
            return Ok(());
        }
        let heading = self.paper.strong(&format!("{heading:<8}"));
        writeln!(out, "  {heading} {}", self.paper.wrap(&clean(words), 11))
    }

    fn working(&self, out: &mut dyn Write, numbers: &Numbers) -> io::Result<()> {
        let mut heading = "working";
        for words in numbers.steps() {
            self.row(out, heading, &words)?;
            heading = "";
        }
        self.row(out, "limit", &numbers.source)
    }
}

impl Point {
    /// What there is to say about it, with the shelf that it is from.
    fn words(&self) -> String {
        match &self.shelf {
            Some(shelf) if self.label.is_empty() => format!("from {shelf}"),
            Some(shelf) => format!("{} (from {shelf})", self.label),
            None => self.label.clone(),
        }
    }
}

impl Given {
    /// The input with its value and where that comes from.
    pub fn words(&self) -> String {
        let from = match (self.from, self.line) {
            (From::Stated, Some(line)) => format!("{}, line {line}", self.path),
            (From::Stated, None) => self.path.clone(),
            (From::Assumed, _) => format!("assumed, {} is not stated: {}", self.path, self.source),
            (From::House, _) => format!("house limit {}", self.source),
            (From::Table, _) => self.source.clone(),
            (From::Computed, _) => format!("computed: {}", self.source),
        };
        format!("{} = {} ({from})", self.name, self.value)
    }
}

impl Weighed {
    /// The verdict in one line: what it is about and its numbers.
    pub fn words(&self) -> String {
        let outcome = if self.waived { "waived" } else { self.outcome.word() };
        let (rule, subject) = (&self.rule, &self.subject);
        let end = match (&self.working, self.reason.as_str()) {
            (Some(numbers), _) => format!(": {}", numbers.comparison()),
            (None, "") => String::new(),
            (None, reason) => format!(": {reason}"),
        };
        format!("{outcome} {} {} {subject}, line {}{end}", rule.code, rule.name, self.line)
    }
}

impl Numbers {
    /// From what went in to what came out, a line each.
    pub fn steps(&self) -> Vec<String> {
        let mut steps: Vec<String> = self.inputs.iter().map(Given::words).collect();
        steps.extend([self.formula.clone(), self.comparison()].into_iter().filter(|words| !words.is_empty()));
        steps
    }

    /// The result against its limit, with the margin.
    pub fn comparison(&self) -> String {
        let must = match self.must_be {
            Must::AtMost => "at most",
            Must::AtLeast => "at least",
        };
        let beyond = match self.must_be {
            Must::AtMost => "above",
            Must::AtLeast => "below",
        };
        let ranged = |amount: &Amount| amount.low != amount.high;
        let (worst, least) =
            if ranged(&self.result) || ranged(&self.limit) { ("at worst ", "at least ") } else { ("", "") };
        let margin = match self.margin {
            Some(margin) if margin < 0.0 => format!(", {worst}{} {beyond} the limit", percent(-margin)),
            Some(margin) => format!(", {least}{} to spare", percent(margin)),
            None => String::new(),
        };
        format!("result {}, must be {must} {}{margin}", self.result.text, self.limit.text)
    }
}

fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent < 10.0 { format!("{percent:.1} %") } else { format!("{percent:.0} %") }
}

impl Waiting {
    /// What to find out to settle it.
    pub fn asks(&self) -> String {
        if !self.needs.is_empty() {
            return all(&self.needs);
        }
        let turns: Vec<String> = self.turns.iter().map(Turning::words).collect();
        if turns.is_empty() {
            return "what is assumed so far; no single fact settles it".into();
        }
        either(&turns)
    }
}

impl Turning {
    /// The fact and what comes of its values.
    fn words(&self) -> String {
        let Self { path, value, before, above, below } = self;
        let (below, above) = (comes_to(*below), comes_to(*above));
        match before {
            Some(before) => format!("{path} ({below} with {before}, {above} with {value})"),
            None => format!("{path} ({below} below {value}, {above} from there on)"),
        }
    }
}

fn comes_to(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Pass => "passes",
        Outcome::Fail => "fails",
        Outcome::Open => "stays open",
        Outcome::NotApplicable => "does not apply",
    }
}

impl Stale {
    /// What it stood for and where it stands, in a sentence.
    pub fn words(&self) -> String {
        let Self { rule, subject, at, line } = self;
        let place = if at == subject { String::new() } else { format!(" at {at}") };
        format!("stale entry, line {line} of the baseline: {rule} on {subject}{place} is mended, or has changed")
    }
}

impl Broken {
    /// What happened, in a sentence.
    pub fn words(&self) -> String {
        let what =
            if self.code.is_empty() { "the reading of the plan".to_owned() } else { format!("rule {}", self.code) };
        format!("{what} broke down on {}: a fault of testlamp, not of the plan", self.subject)
    }
}

impl PlanReport {
    /// That there may be more to find out than is listed, where the plan is too large to tell.
    pub fn untried_words(&self) -> Option<String> {
        let more = || format!("{} besides may decide; the plan is too large to try them", count(self.untried, "fact"));
        (self.untried > 0).then(more)
    }
}

impl Fact {
    /// The fact in words; its path where there are none.
    pub fn heading(&self) -> String {
        crate::plan::in_words(&self.path)
    }

    /// What the fact settles and where verdicts turn, a sentence each.
    pub fn words(&self) -> Vec<String> {
        settles(self.settles.iter().map(|settled| settled.code), &self.turns)
    }
}

/// Which checks a fact settles and where their verdicts turn, a sentence each.
pub fn settles(codes: impl Iterator<Item = &'static str>, turns: &[String]) -> Vec<String> {
    let mut codes: Vec<&str> = codes.collect();
    let checks = count(codes.len(), "check");
    codes.sort_unstable();
    codes.dedup();
    let listed = if codes.len() > MOST_SETTLED { String::new() } else { format!(": {}", codes.join(", ")) };
    let mut words: Vec<String> = [format!("settles {checks}{listed}"), turns.join("; ")].into();
    words.retain(|words| !words.is_empty());
    words
}

/// What was judged and what came of it, in one line.
pub fn summary_line(summary: &Summary) -> String {
    let counts = &summary.counts;
    let severities = [
        (counts.dangers, count(counts.dangers, "danger")),
        (counts.faults, count(counts.faults, "fault")),
        (counts.advice, format!("{} advice", counts.advice)),
    ];
    let mut parts: Vec<String> = vec![count(counts.checks, "check"), format!("{} passed", counts.passes)];
    parts.extend(severities.into_iter().filter(|(number, _)| *number > 0).map(|(_, words)| words));
    parts.push(match counts.held_open {
        0 => format!("{} open", counts.open),
        held => format!("{} open, of which {held} must not be at this stage", counts.open),
    });
    if counts.waived > 0 {
        parts.push(format!("{} waived", counts.waived));
    }
    match (counts.baselined, counts.baselined_dangers) {
        (0, _) => {}
        (known, 0) => parts.push(format!("{known} baselined")),
        (known, dangers) => parts.push(format!("{known} baselined, of which {}", count(dangers, "danger"))),
    }
    match counts.stale {
        0 => {}
        1 => parts.push("1 stale entry in the baseline".into()),
        many => parts.push(format!("{many} stale entries in the baseline")),
    }
    if counts.unreadable > 0 {
        parts.push(format!("{} unreadable", count(counts.unreadable, "place")));
    }
    if counts.broken > 0 {
        parts.push(format!("{} broken", counts.broken));
    }
    if summary.not_read > 0 {
        parts.push(format!("{} not read", count(summary.not_read, "input")));
    }
    let mut line = format!("{} judged: {}", count(summary.plans, "plan"), parts.join(", "));
    let rules_off = match summary.rules_off {
        1 => "1 rule is off by the house".to_owned(),
        off => format!("{off} rules are off by the house"),
    };
    let asides = [
        (
            summary.not_judged,
            format!("{} not judged, the house file cannot be taken", count(summary.not_judged, "input")),
        ),
        (summary.skipped, format!("{} without a plan passed over", count(summary.skipped, "file"))),
        (summary.left_out, format!("{} left out by the house", count(summary.left_out, "file"))),
        (summary.rules_off, rules_off),
    ];
    for (_, words) in asides.into_iter().filter(|(number, _)| *number > 0) {
        line = format!("{line}; {words}");
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_a_closed_list_have_no_below() {
        let turn = |value: &str, before: Option<&str>| Turning {
            path: "loads.bass.lead.conductor".into(),
            value: value.into(),
            before: before.map(Into::into),
            above: Outcome::Open,
            below: Outcome::Pass,
        };
        assert_eq!(
            turn("copper-clad-aluminium", Some("copper")).words(),
            "loads.bass.lead.conductor (passes with copper, stays open with copper-clad-aluminium)"
        );
        assert_eq!(
            turn("75 C", None).words(),
            "loads.bass.lead.conductor (passes below 75 C, stays open from there on)"
        );
    }
}

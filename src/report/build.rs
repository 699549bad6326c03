//! From a reading and its judgement to a report.

use std::ops::Range;

use super::model::{
    Amount, Broken, Counts, Fact, Found, From, Given, Must, Numbers, PlanReport, Point, RuleName, Settled, Spot,
    Turning, Unreadable, Waiting,
};
use crate::judge::{
    Check, Figure, FindOut, Finding, Input, Judgement, Label, Outcome, Relation, Rule, Severity, Value, Working,
};
use crate::plan::{Reading, Stage, about};
use crate::solve::{Origin, Place};
use crate::text::{Lines, Misread};

/// The report of one plan.
pub fn plan_report(path: &str, reading: &Reading, judgement: &Judgement) -> PlanReport {
    let writer = Writer { reading, lines: Lines::new(&reading.text), stage: reading.plan.stage() };
    let unreadable: Vec<Unreadable> = reading.misreads.iter().map(|misread| writer.unreadable(misread)).collect();
    let findings: Vec<Found> =
        judgement.failed().filter_map(|check| Some(writer.found(check, check.finding.as_ref()?))).collect();
    let open: Vec<Waiting> = judgement.open().map(|check| writer.waiting(check)).collect();
    let broken = judgement.checks.iter().filter(|check| check.broke);
    let broken: Vec<Broken> =
        broken.map(|check| Broken { code: check.rule.code, subject: check.subject.path() }).collect();
    let of = |severity| findings.iter().filter(|found| found.severity == severity).count();
    let passes = judgement.count(Outcome::Pass);
    let counts = Counts {
        checks: passes + findings.len() + open.len(),
        passes,
        dangers: of(Severity::Danger),
        faults: of(Severity::Fault),
        advice: of(Severity::Advice),
        open: open.len(),
        open_dangers: open.iter().filter(|waiting| waiting.holds_gate).count(),
        not_applicable: judgement.count(Outcome::NotApplicable) - broken.len(),
        unreadable: unreadable.len(),
        broken: broken.len(),
    };
    let find_out = judgement.find_out.iter().map(|fact| writer.fact(fact)).collect();
    PlanReport { path: path.to_owned(), stage: writer.stage, unreadable, findings, open, find_out, broken, counts }
}

struct Writer<'a> {
    reading: &'a Reading,
    lines: Lines,
    stage: Stage,
}

impl Writer<'_> {
    /// A byte range, kept inside the text and on character boundaries.
    fn spot(&self, span: &Range<usize>) -> Spot {
        let text = &self.reading.text;
        let inside = |at: usize| (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
        let start = inside(span.start);
        let (line, mut column) = self.lines.position(text, start);
        if line == 1 && text.starts_with('\u{feff}') {
            // The byte order mark is no character that anyone sees.
            column = (column - 1).max(1);
        }
        Spot { start, end: inside(span.end).max(start), line, column }
    }

    fn point(&self, place: &Place, label: &str) -> Point {
        let path = place.path();
        let located = self.reading.tree.locate(&path);
        let label = if located.exact || !label.is_empty() { label.to_owned() } else { format!("{path} is not stated") };
        Point {
            at: self.spot(&located.span),
            stated: located.exact,
            written_at: located.defined_at.map(|span| self.spot(&span)),
            label,
            path,
        }
    }

    fn unreadable(&self, misread: &Misread) -> Unreadable {
        Unreadable { what: misread.what.clone(), mend: misread.mend.clone(), at: self.spot(&misread.span) }
    }

    fn found(&self, check: &Check, finding: &Finding) -> Found {
        let point = |label: &Label| self.point(&label.place, &label.text);
        Found {
            rule: name(check.rule),
            severity: check.rule.severity,
            subject: check.subject.path(),
            title: finding.title.clone(),
            at: point(&finding.at),
            also: finding.also.iter().map(point).collect(),
            why: finding.why.to_owned(),
            mend: finding.mend.clone(),
            working: check.working.as_ref().map(|working| self.numbers(working)),
        }
    }

    fn waiting(&self, check: &Check) -> Waiting {
        let turns = check.turns.iter().map(|turn| Turning {
            path: turn.place.path(),
            value: turn.value.clone(),
            above: turn.above,
            below: turn.below,
        });
        Waiting {
            rule: name(check.rule),
            severity: check.rule.severity,
            subject: check.subject.path(),
            at: self.point(&check.subject, "").at,
            holds_gate: check.rule.severity == Severity::Danger && self.stage != Stage::Draft,
            needs: check.needs.iter().map(Place::path).collect(),
            turns: turns.collect(),
            would_be: check.finding.as_ref().map(|finding| finding.title.clone()).unwrap_or_default(),
            working: check.working.as_ref().map(|working| self.numbers(working)),
        }
    }

    fn fact(&self, fact: &FindOut) -> Fact {
        let path = fact.place.path();
        let settles = fact.settles.iter().map(|(code, subject)| Settled { code, subject: subject.path() });
        Fact {
            at: self.point(&fact.place, "").at,
            about: about(&path).unwrap_or_default(),
            settles: settles.collect(),
            turns: fact.turns.clone(),
            path,
        }
    }

    fn numbers(&self, working: &Working) -> Numbers {
        Numbers {
            inputs: working.inputs.iter().map(|input| self.given(input)).collect(),
            formula: working.formula.to_owned(),
            result: amount(&working.result),
            must_be: match working.relation {
                Relation::AtMost => Must::AtMost,
                Relation::AtLeast => Must::AtLeast,
            },
            limit: amount(&working.limit),
            source: working.source.to_owned(),
            margin: working.margin(),
        }
    }

    fn given(&self, input: &Input) -> Given {
        let (value, amount) = match &input.value {
            Value::Figure(figure) => (figure.to_string(), Some(amount(figure))),
            Value::Word(word) => (word.clone(), None),
        };
        let (from, place, source) = match &input.origin {
            Origin::Stated(place) => (From::Stated, Some(place), String::new()),
            Origin::Assumed(place, source) => (From::Assumed, Some(place), (*source).to_owned()),
            Origin::House(name, source) => (From::House, None, format!("{name}: {source}")),
            Origin::Table(source) => (From::Table, None, (*source).to_owned()),
            Origin::Computed(how) => (From::Computed, None, (*how).to_owned()),
        };
        let point = place.map(|place| self.point(place, ""));
        let line = point.as_ref().filter(|point| point.stated).map(|point| point.at.line);
        Given { name: input.name, value, amount, from, path: point.map_or_else(String::new, |p| p.path), line, source }
    }
}

fn name(rule: &Rule) -> RuleName {
    RuleName { code: rule.code, name: rule.name }
}

/// A figure as data; ends that are no finite numbers are left out.
pub(crate) fn amount(figure: &Figure) -> Amount {
    let finite = |end: f64| Some(end).filter(|end| end.is_finite());
    Amount {
        text: figure.to_string(),
        low: finite(figure.low),
        high: finite(figure.high),
        unit: figure.unit.to_owned(),
    }
}

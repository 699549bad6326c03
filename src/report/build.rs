//! From a reading and its judgement to a report.

use std::ops::Range;

use super::model::{
    Amount, Beside, Broken, Counts, Fact, Found, From, Given, Must, Numbers, PlanReport, Point, RuleName, Settled,
    Signature, Spot, Turning, Unreadable, Waiting, Weighed,
};
use crate::judge::{
    Check, Figure, FindOut, Finding, Input, Judgement, Label, Outcome, Relation, Rule, Severity, Value, Working,
};
use crate::plan::{Reading, about};
use crate::solve::{Origin, Place};
use crate::text::{Lines, Misread};

/// The report of one plan.
pub fn plan_report(path: &str, reading: &Reading, judgement: &Judgement) -> PlanReport {
    let writer = Writer { reading, lines: Lines::new(&reading.text) };
    let unreadable: Vec<Unreadable> = reading.misreads.iter().map(|misread| writer.unreadable(misread)).collect();
    let failed = judgement.checks.iter().filter(|check| check.outcome == Outcome::Fail);
    let (waived, findings): (Vec<Found>, Vec<Found>) =
        failed.filter_map(|check| Some(writer.found(check, check.finding.as_ref()?))).partition(|f| f.waiver.is_some());
    let open: Vec<Waiting> = judgement.open().map(|check| writer.waiting(check)).collect();
    let broken = judgement.checks.iter().filter(|check| check.broke);
    let broken: Vec<Broken> =
        broken.map(|check| Broken { code: check.rule.code, subject: check.subject.path() }).collect();
    let of = |severity| findings.iter().filter(|found| found.severity == severity).count();
    let passes = judgement.count(Outcome::Pass);
    let waived_open = open.iter().filter(|waiting| waiting.waiver.is_some()).count();
    let counts = Counts {
        checks: passes + findings.len() + waived.len() + open.len(),
        passes,
        dangers: of(Severity::Danger),
        faults: of(Severity::Fault),
        advice: of(Severity::Advice),
        open: open.len() - waived_open,
        held: findings.iter().filter(|found| found.holds_gate).count(),
        held_open: open.iter().filter(|waiting| waiting.holds_gate).count(),
        waived: waived.len() + waived_open,
        baselined: 0,
        baselined_dangers: 0,
        stale: 0,
        not_applicable: judgement.count(Outcome::NotApplicable) - broken.len(),
        unreadable: unreadable.len(),
        broken: broken.len(),
    };
    let find_out = judgement.find_out.iter().map(|fact| writer.fact(fact)).collect();
    PlanReport {
        path: path.to_owned(),
        supposed: Vec::new(),
        house: None,
        job: reading.plan.job.as_ref().and_then(|job| job.number.clone()),
        stage: reading.plan.stage(),
        unreadable,
        findings,
        waived,
        baselined: Vec::new(),
        open,
        find_out,
        untried: judgement.untried,
        stale: Vec::new(),
        broken,
        counts,
        evidence: None,
    }
}

/// Every verdict as a record: findings, open checks, passes with the thinnest margin first, what does not apply.
pub(super) fn weighed(reading: &Reading, judgement: &Judgement) -> Vec<Weighed> {
    let writer = Writer { reading, lines: Lines::new(&reading.text) };
    let mut verdicts: Vec<Weighed> = judgement.checks.iter().map(|check| writer.weighed(check)).collect();
    let rank = |outcome: Outcome| match outcome {
        Outcome::Fail => 0,
        Outcome::Open => 1,
        Outcome::Pass => 2,
        Outcome::NotApplicable => 3,
    };
    let margin = |one: &Weighed| one.working.as_ref().and_then(|numbers| numbers.margin).unwrap_or(f64::INFINITY);
    verdicts
        .sort_by(|one, other| rank(one.outcome).cmp(&rank(other.outcome)).then(margin(one).total_cmp(&margin(other))));
    verdicts
}

/// One check with its numbers and places, as the report shows it.
pub(super) fn numbers(reading: &Reading, working: &Working) -> Numbers {
    Writer { reading, lines: Lines::new(&reading.text) }.numbers(working)
}

struct Writer<'a> {
    reading: &'a Reading,
    lines: Lines,
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
            shelf: located.elsewhere.and_then(|elsewhere| self.reading.shelves.place(&elsewhere)),
            label,
            path,
        }
    }

    fn unreadable(&self, misread: &Misread) -> Unreadable {
        let beside = misread.also.as_deref();
        let also = beside.map(|(span, what)| Beside { what: (*what).to_owned(), at: self.spot(span) });
        Unreadable { what: misread.what.clone(), mend: misread.mend.clone(), at: self.spot(&misread.span), also }
    }

    fn found(&self, check: &Check, finding: &Finding) -> Found {
        let point = |label: &Label| self.point(&label.place, &label.text);
        Found {
            rule: name(check.rule),
            severity: check.severity,
            subject: check.subject.path(),
            title: finding.title.clone(),
            at: point(&finding.at),
            also: finding.also.iter().map(point).collect(),
            why: finding.why.to_owned(),
            mend: finding.mend.clone(),
            holds_gate: check.holds_gate,
            working: check.working.as_ref().map(|working| self.numbers(working)),
            follows: check.follows.as_ref().map(|(code, subject)| Settled { code, subject: subject.path() }),
            waiver: self.signature(check),
        }
    }

    fn signature(&self, check: &Check) -> Option<Signature> {
        let at = check.waived?;
        let waiver = self.reading.plan.waivers.get(at)?;
        let path = format!("waivers.{at}");
        let line = self.spot(&self.reading.tree.locate(&path).span).line;
        let said = |words: &Option<String>| words.clone().unwrap_or_default();
        let until = waiver.until.map(|day| day.to_string()).unwrap_or_default();
        Some(Signature { path, line, reason: said(&waiver.reason), by: said(&waiver.by), until })
    }

    fn weighed(&self, check: &Check) -> Weighed {
        Weighed {
            rule: name(check.rule),
            severity: check.severity,
            subject: check.subject.path(),
            line: self.point(&check.subject, "").at.line,
            outcome: check.outcome,
            waived: check.waived.is_some(),
            reason: check.reason.unwrap_or_default().to_owned(),
            working: check.working.as_ref().map(|working| self.numbers(working)),
        }
    }

    fn waiting(&self, check: &Check) -> Waiting {
        let turns = check.turns.iter().map(|turn| Turning {
            path: turn.place.path(),
            value: turn.value.clone(),
            before: turn.before.clone(),
            above: turn.above,
            below: turn.below,
        });
        Waiting {
            rule: name(check.rule),
            severity: check.severity,
            subject: check.subject.path(),
            at: self.point(&check.subject, "").at,
            holds_gate: check.holds_gate,
            baselined: false,
            waiver: self.signature(check),
            needs: check.needs.iter().map(Place::path).collect(),
            turns: turns.collect(),
            in_any_case: check.finding.as_ref().and_then(|finding| finding.in_any_case.clone()).unwrap_or_default(),
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
    RuleName { code: rule.code, name: rule.name, page: rule.page }
}

/// A figure as data; ends that are no finite numbers are left out.
pub(super) fn amount(figure: &Figure) -> Amount {
    let finite = |end: f64| Some(end).filter(|end| end.is_finite());
    Amount {
        text: figure.to_string(),
        low: finite(figure.low),
        high: finite(figure.high),
        unit: figure.unit.to_owned(),
    }
}

//! What was found in a plan, as an editor underlines it.

use gen_lsp_types::{Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity};
use serde_json::{Value, json};

use super::client::Client;
use super::document::{Document, Judged};
use super::paper::Paper;
use crate::judge::{Check, FindOut, Finding, Outcome, Severity};
use crate::plan::in_words;
use crate::report::{clean, settles};
use crate::text::{Lines, Misread};

/// How many findings may follow from each other in a row.
const LONGEST: usize = 8;

/// Everything there is to tell about a text.
pub fn of(document: &Document, judged: &Judged, client: &Client) -> Vec<Diagnostic> {
    let teller = Teller { document, judged, client };
    let mut told: Vec<Diagnostic> = judged.reading.misreads.iter().map(|misread| teller.unreadable(misread)).collect();
    told.extend(teller.house());
    told.extend(judged.judgement.checks.iter().filter_map(|check| teller.check(check)));
    told.extend(judged.judgement.find_out.iter().map(|fact| teller.fact(fact)));
    if !judged.is_whole {
        told.extend(document.facts.iter().filter(|fact| teller.may_still_be_open(fact)).map(|fact| teller.fact(fact)));
    }
    told
}

/// Everything there is to tell about a house file or a shelf file.
pub fn of_paper(document: &Document, paper: &Paper) -> Vec<Diagnostic> {
    let told = |(severity, misread): &(DiagnosticSeverity, Misread)| unreadable(document, *severity, misread);
    paper.misreads.iter().map(told).collect()
}

fn unreadable(document: &Document, severity: DiagnosticSeverity, misread: &Misread) -> Diagnostic {
    let words = lines(&[misread.what.clone(), misread.mend.clone()]);
    let range = document.span(&misread.span);
    Diagnostic { range, ..told(severity, "unreadable", words, json!({"unreadable": misread.what})) }
}

struct Teller<'a> {
    document: &'a Document,
    judged: &'a Judged,
    client: &'a Client,
}

impl Teller<'_> {
    fn unreadable(&self, misread: &Misread) -> Diagnostic {
        let also = misread.also.as_deref().into_iter().filter(|_| self.client.related);
        let related: Vec<DiagnosticRelatedInformation> = also
            .map(|(span, words)| DiagnosticRelatedInformation {
                location: self.document.location(span),
                message: (*words).to_owned(),
            })
            .collect();
        Diagnostic {
            related_information: Some(related).filter(|related| !related.is_empty()),
            ..unreadable(self.document, DiagnosticSeverity::Error, misread)
        }
    }

    /// A house that cannot be taken whole, told where the plan begins.
    fn house(&self) -> Option<Diagnostic> {
        let found = &self.judged.found;
        let (first, file) = (found.misreads.first()?, found.file.as_ref()?);
        let (line, _) = Lines::new(&found.text).position(&found.text, first.span.start);
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        let more = match found.misreads.len() - 1 {
            0 => String::new(),
            more => format!(" (and {more} more)"),
        };
        let first = format!("{name}, line {line}: {}{more}", first.what);
        let words =
            lines(&[first, "this plan is judged by what can be read of its house; `check` judges none by it".into()]);
        let range = self.document.span(&(0..self.document.text.lines().next().map_or(0, str::len)));
        Some(Diagnostic { range, ..told(DiagnosticSeverity::Error, "house", words, json!({"house": name})) })
    }

    fn check(&self, check: &Check) -> Option<Diagnostic> {
        let diagnostic = match (&check.finding, check.outcome) {
            (Some(finding), Outcome::Fail) => return self.failed(check, finding),
            (_, Outcome::Open) if self.judged.is_whole && is_silent(check) => {
                let would = check.finding.as_ref().map(|finding| finding.title.clone()).unwrap_or_default();
                let words = lines(&["open: no single fact settles it".into(), would]);
                self.at_subject(check, DiagnosticSeverity::Hint, words)
            }
            _ if check.broke => {
                let words = format!("{} broke down here: a fault of testlamp, not of the plan", check.rule.code);
                self.at_subject(check, DiagnosticSeverity::Warning, words)
            }
            _ => return None,
        };
        Some(diagnostic)
    }

    fn at_subject(&self, check: &Check, severity: DiagnosticSeverity, words: String) -> Diagnostic {
        let range = self.document.span(&self.judged.range(&check.subject));
        Diagnostic { range, ..told(severity, check.rule.code, words, name(check)) }
    }

    fn failed(&self, check: &Check, finding: &Finding) -> Option<Diagnostic> {
        if self.cause(check).is_some() {
            return None;
        }
        let consequences: Vec<&Check> = self.consequences(check);
        let (severity, mut words) = match check.waived {
            Some(at) => (DiagnosticSeverity::Hint, vec![finding.title.clone(), self.signature(at)]),
            None => (severity(check.rule.severity), vec![finding.title.clone(), why(finding), mend(finding)]),
        };
        let mut related = None;
        if self.client.related {
            related = Some(self.related(finding, &consequences)).filter(|related| !related.is_empty());
        } else {
            words.extend(consequences.iter().map(|other| format!("also: {}", consequence(other))));
        }
        Some(Diagnostic {
            range: self.document.span(&self.judged.range(&finding.at.place)),
            related_information: related,
            ..told(severity, check.rule.code, lines(&words), name(check))
        })
    }

    /// The finding that stands and that another only follows from.
    fn cause(&self, check: &Check) -> Option<&Check> {
        let checks = &self.judged.judgement.checks;
        let of = |check: &Check| {
            let (code, subject) = check.follows.as_ref()?;
            checks.iter().find(|other| other.rule.code == *code && other.subject == *subject && other.stands())
        };
        let mut cause = of(check)?;
        for _ in 0..LONGEST {
            match of(cause) {
                Some(deeper) => cause = deeper,
                None => return Some(cause),
            }
        }
        None
    }

    fn consequences(&self, check: &Check) -> Vec<&Check> {
        let is_cause = |cause: &Check| cause.rule.code == check.rule.code && cause.subject == check.subject;
        self.judged.judgement.failed().filter(|other| self.cause(other).is_some_and(is_cause)).collect()
    }

    fn related(&self, finding: &Finding, consequences: &[&Check]) -> Vec<DiagnosticRelatedInformation> {
        let also = finding.also.iter().map(|label| {
            let path = label.place.path();
            (&label.place, if label.text.is_empty() { path } else { label.text.clone() })
        });
        let follows =
            consequences.iter().filter_map(|other| Some((&other.finding.as_ref()?.at.place, consequence(other))));
        let related = also.chain(follows).map(|(place, words)| DiagnosticRelatedInformation {
            location: self.document.location(&self.judged.range(place)),
            message: clean(&words),
        });
        related.collect()
    }

    fn signature(&self, waiver: usize) -> String {
        let Some(waiver) = self.judged.reading.plan.waivers.get(waiver) else { return String::new() };
        let said = |words: &Option<String>| words.clone().unwrap_or_default();
        let until = waiver.until.map(|day| format!(" until {day}")).unwrap_or_default();
        format!("waived by {}{until}: {}", said(&waiver.by), said(&waiver.reason))
    }

    /// Whether a fact of the text before this one may still be open: so it stays told until that is known.
    fn may_still_be_open(&self, fact: &FindOut) -> bool {
        let tree = &self.judged.reading.tree;
        let is_stated = tree.node(&fact.place.path()).is_some_and(|node| !tree.is_null(node));
        !is_stated && self.judged.judgement.find_out.iter().all(|other| other.place != fact.place)
    }

    fn fact(&self, fact: &FindOut) -> Diagnostic {
        let path = fact.place.path();
        let heading = in_words(&path);
        let mut words = vec![format!("find out {heading}")];
        words.extend((heading != path).then(|| path.clone()));
        words.extend(settles(fact.settles.iter().map(|(code, _)| *code), &fact.turns));
        let range = self.document.span(&self.judged.range(&fact.place));
        Diagnostic { range, ..told(DiagnosticSeverity::Hint, "open", lines(&words), json!({"open": path})) }
    }
}

/// Whether an open check is told by no fact to find out.
fn is_silent(check: &Check) -> bool {
    check.waived.is_none() && check.needs.is_empty() && check.turns.is_empty()
}

fn told(severity: DiagnosticSeverity, code: &str, words: String, data: Value) -> Diagnostic {
    Diagnostic {
        severity: Some(severity),
        code: Some(code.into()),
        source: Some("testlamp".into()),
        message: words.into(),
        data: Some(data),
        ..Default::default()
    }
}

/// By what a check is found again.
fn name(check: &Check) -> Value {
    json!({"rule": check.rule.code, "subject": check.subject.path()})
}

fn severity(severity: Severity) -> DiagnosticSeverity {
    match severity {
        Severity::Danger => DiagnosticSeverity::Error,
        Severity::Fault => DiagnosticSeverity::Warning,
        Severity::Advice => DiagnosticSeverity::Information,
    }
}

fn why(finding: &Finding) -> String {
    if finding.why.is_empty() { String::new() } else { format!("why: {}", finding.why) }
}

fn mend(finding: &Finding) -> String {
    if finding.mend.is_empty() { String::new() } else { format!("mend: {}", finding.mend) }
}

fn consequence(check: &Check) -> String {
    let title = check.finding.as_ref().map(|finding| finding.title.as_str()).unwrap_or_default();
    format!("{} follows from it: {title}", check.rule.code)
}

/// One line under the other, without characters that no editor should be given.
fn lines(parts: &[String]) -> String {
    let parts: Vec<String> = parts.iter().filter(|part| !part.is_empty()).map(|part| clean(part)).collect();
    parts.join("\n")
}

//! What can be done about the findings at a place.

use std::ops::Range;

use gen_lsp_types::{CodeAction, CodeActionKind, CodeActionParams, Diagnostic};
use serde_json::{Value, json};

use super::client::Client;
use super::desk::Refusal;
use super::document::{Document, Judged};
use super::{changes, sizes};
use crate::judge::{Check, Fix, Tier};
use crate::report::clean;
use crate::text::Edit;

/// Of so many findings at once fixes are sought; a larger part of a text is looked at piece by piece.
const MOST: usize = 8;

/// What can be done about the findings that touch the asked range.
///
/// # Errors
/// When the text has changed meanwhile, or the editor no longer wants to know.
pub fn actions(
    document: &Document,
    judged: &Judged,
    asked: &CodeActionParams,
    client: &Client,
    goes_on: &mut dyn FnMut() -> bool,
) -> Result<Vec<CodeAction>, Refusal> {
    let range = document.positions.range(&document.text, asked.range);
    let desk = Desk { document, judged, asked, client, range };
    let mut found = Vec::new();
    if desk.wants(&CodeActionKind::QuickFix) {
        found.extend(desk.respellings());
        for (at, check) in desk.findings() {
            if !goes_on() {
                return Err(Refusal::stale());
            }
            found.extend(judged.fixes(at).iter().map(|fix| desk.fix(fix, check)));
        }
        found.extend(desk.facts());
    }
    if desk.wants(&CodeActionKind::Refactor) {
        found.extend(desk.findings().filter_map(|(_, check)| desk.waiver(check)));
        found.extend(sizes::action(document, judged, &desk.range, client));
    }
    Ok(found)
}

struct Desk<'a> {
    document: &'a Document,
    judged: &'a Judged,
    asked: &'a CodeActionParams,
    client: &'a Client,
    range: Range<usize>,
}

impl<'a> Desk<'a> {
    fn wants(&self, kind: &CodeActionKind) -> bool {
        let only = self.asked.context.only.as_ref();
        only.is_none_or(|only| only.iter().any(|wanted| wanted == kind || *wanted == CodeActionKind::Empty))
    }

    fn touches(&self, span: &Range<usize>) -> bool {
        span.start <= self.range.end && self.range.start <= span.end
    }

    /// The findings that stand here and are not mere consequences, by their numbers.
    fn findings(&self) -> impl Iterator<Item = (usize, &'a Check)> {
        let standing = self.judged.judgement.checks.iter().enumerate();
        let causes = standing.filter(|(_, check)| check.stands() && check.follows.is_none());
        causes
            .filter(|(_, check)| {
                let place = check.told_at();
                self.touches(&self.judged.range(place))
            })
            .take(MOST)
    }

    fn fix(&self, fix: &Fix, check: &Check) -> CodeAction {
        let margins = fix.margins.map(|(before, after)| format!(" ({}, then {})", spared(before), spared(after)));
        let title = format!("{}{}", fix.title, margins.unwrap_or_default());
        let data = json!({"rule": check.rule.code, "subject": check.subject.path()});
        let safe = fix.tier == Tier::Safe;
        CodeAction {
            is_preferred: safe.then_some(true),
            ..self.action(&title, CodeActionKind::QuickFix, &fix.edit, &data)
        }
    }

    fn respellings(&self) -> Vec<CodeAction> {
        let misreads = self.judged.reading.misreads.iter().enumerate();
        let here = misreads.filter(|(_, misread)| self.touches(&misread.span));
        let respelt = here.take(MOST).filter_map(|(at, misread)| {
            let fix = self.judged.with_workshop(|workshop| workshop.respelling(at))?;
            let action =
                self.action(&fix.title, CodeActionKind::QuickFix, &fix.edit, &json!({"unreadable": misread.what}));
            Some(CodeAction { is_preferred: Some(true), ..action })
        });
        respelt.collect()
    }

    fn facts(&self) -> Vec<CodeAction> {
        let facts = self.judged.judgement.find_out.iter();
        let here = facts.filter(|fact| self.touches(&self.judged.range(&fact.place)));
        let stated = here.take(MOST).filter_map(|fact| {
            let fix = self.judged.with_workshop(|workshop| workshop.fact(fact))?;
            Some(self.action(&fix.title, CodeActionKind::QuickFix, &fix.edit, &json!({"open": fix.path})))
        });
        stated.collect()
    }

    fn waiver(&self, check: &Check) -> Option<CodeAction> {
        let fix = self.judged.with_workshop(|workshop| workshop.waiver(check))?;
        let data = json!({"rule": check.rule.code, "subject": check.subject.path()});
        Some(self.action(&fix.title, CodeActionKind::Refactor, &fix.edit, &data))
    }

    fn action(&self, title: &str, kind: CodeActionKind, edit: &Edit, data: &Value) -> CodeAction {
        let told = self.asked.context.diagnostics.iter().filter(|told| told.data.as_ref() == Some(data));
        let told: Vec<Diagnostic> = told.cloned().collect();
        CodeAction {
            title: clean(title),
            kind: Some(kind),
            diagnostics: (!told.is_empty()).then_some(told),
            edit: Some(changes::of(self.document, std::slice::from_ref(edit), self.client)),
            ..Default::default()
        }
    }
}

/// A margin in words.
fn spared(margin: f64) -> String {
    let percent = margin.abs() * 100.0;
    if margin < 0.0 { format!("{percent:.0} % beyond the limit") } else { format!("{percent:.0} % to spare") }
}

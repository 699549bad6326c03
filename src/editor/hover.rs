//! What there is to say about the words under the pointer.

use std::fmt::Write;

use gen_lsp_types::Hover;

use super::client::Client;
use super::document::{Document, Judged};
use super::explained::{Explained, shown};
use super::shelf::brought;
use crate::judge::{Check, Input, Outcome, Rule, Value};
use crate::plan;
use crate::report::{Line, Row, clean, turned, verdict, wire_table, worked};
use crate::solve::{Origin, Place};

/// So many checks are worked in full; the rest are named with what they came to.
const IN_FULL: usize = 3;

/// What there is to say about a place in the text; nothing between the words.
pub fn hover(document: &Document, judged: &Judged, offset: usize, client: &Client) -> Option<Hover> {
    let spotted = judged.reading.tree.at(offset)?;
    let tree = &judged.reading.tree;
    let explained = Explained { lookup: plan::lookup(), tree, path: &spotted.path };
    let shelf = brought(&judged.house.shelves, tree, &spotted.path);
    let page = Page { judged, path: spotted.path.clone() };
    let words = [explained.meaning(), explained.units(), shelf, page.figures(), page.checks()].concat();
    shown(&words, document.span(&spotted.span), client.markdown)
}

struct Page<'a> {
    judged: &'a Judged,
    path: String,
}

impl Page<'_> {
    /// What is computed of a wire, beside the words that decide it.
    fn figures(&self) -> String {
        let mut segments = self.path.split('.');
        let (Some("wires"), Some(name), key) = (segments.next(), segments.next(), segments.next()) else {
            return String::new();
        };
        if !matches!(key, None | Some("size" | "length" | "fuse" | "far_fuse")) {
            return String::new();
        }
        let job = self.judged.job();
        let Some(at) = job.wires.iter().position(|wire| wire.name == name) else { return String::new() };
        let table = wire_table(&job, at, &job.wires[at]);
        let rows: Vec<Line> =
            table.rows.into_iter().map(|Row { name, text, .. }| ("", format!("{name}: {text}"))).collect();
        block(&rows)
    }

    /// Every check that is about this place or rests on it, those that need attention first.
    fn checks(&self) -> String {
        let checks = &self.judged.judgement.checks;
        let mut about: Vec<&Check> = checks.iter().filter(|check| self.is_about(check)).collect();
        about.sort_by(|one, other| rank(one).total_cmp(&rank(other)));
        let mut words = String::new();
        let (full, short) = about.split_at(about.len().min(IN_FULL));
        for check in full {
            words.push_str(&self.in_full(check));
        }
        for check in short {
            let _ =
                writeln!(words, "- {} {} on `{}` {}", check.rule.code, check.rule.name, check.subject, verdict(check));
        }
        words
    }

    fn in_full(&self, check: &Check) -> String {
        let Rule { code, name, .. } = check.rule;
        let mut lines = worked(&self.judged.reading, check);
        let fails = check.outcome == Outcome::Fail;
        if fails {
            lines.extend(self.judged.with_workshop(|workshop| turned(workshop, check)));
        }
        let teaches = if fails || check.outcome == Outcome::Open { first_section(check.rule) } else { "" };
        let summary = check.rule.summary();
        let parts = [format!("**{code} {name}** on `{}` {}", check.subject, verdict(check)), summary.to_owned()];
        let parts = parts.into_iter().chain([block(&lines), teaches.to_owned()]);
        let parts: Vec<String> = parts.map(|part| part.trim_end().to_owned()).filter(|part| !part.is_empty()).collect();
        parts.join("\n\n") + "\n\n"
    }

    fn is_about(&self, check: &Check) -> bool {
        if check.outcome == Outcome::NotApplicable {
            return false;
        }
        let here = |place: &Place| place.path() == self.path;
        let found = check.finding.as_ref().filter(|_| check.outcome != Outcome::Pass);
        let labels = found.into_iter().flat_map(|finding| std::iter::once(&finding.at).chain(&finding.also));
        let inputs = check.working.iter().flat_map(|working| &working.inputs).filter_map(stated);
        here(&check.subject)
            || labels.map(|label| &label.place).chain(inputs).any(here)
            || check.needs.iter().chain(check.turns.iter().map(|turn| &turn.place)).any(here)
    }
}

/// The place that states an input.
fn stated(input: &Input) -> Option<&Place> {
    match (&input.origin, &input.value) {
        (Origin::Stated(place) | Origin::Assumed(place, _), Value::Figure(_) | Value::Word(_)) => Some(place),
        _ => None,
    }
}

/// Findings before open checks before passes, the thinnest margin first.
fn rank(check: &Check) -> f64 {
    let margin = check.working.as_deref().and_then(crate::judge::Working::margin).unwrap_or(1e3).clamp(-1e3, 1e3);
    match check.outcome {
        Outcome::Fail => -1e6 + margin,
        Outcome::Open => -1e5 + margin,
        Outcome::Pass | Outcome::NotApplicable => margin,
    }
}

/// Why a rule matters: the first section of its page.
fn first_section(rule: &Rule) -> &'static str {
    let after = rule.page.split_once("\n## ").map_or("", |(_, section)| section);
    let text = after.split_once('\n').map_or("", |(_, text)| text);
    text.split("\n## ").next().unwrap_or_default().trim()
}

/// Lines of a working, set apart so that no mark in them means anything.
fn block(lines: &[Line]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let width = if lines.iter().all(|(heading, _)| heading.is_empty()) { 0 } else { 9 };
    let mut words = String::from("```text\n");
    for (heading, line) in lines {
        let _ = writeln!(words, "{heading:<width$}{}", clean(line).replace("```", "'''"));
    }
    words + "```\n\n"
}

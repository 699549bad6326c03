//! The plans of a page: the bad one judged, with the finding at its words and worked in its numbers.

use std::ops::Range;

use maud::{Markup, html};

use crate::house::House;
use crate::judge::{Check, Label, Rule, judge_briefly};
use crate::plan::{self, Reading};
use crate::report::{Line, worked};
use crate::rules;
use crate::text::Lines;

/// What marks the faulty line in a page. In the book the finding itself does.
const HERE: &str = "# <- here";

/// An example: a plan that the rule finds fault with, or any other text. The heading of its working has this level.
pub fn of(rule: &'static Rule, mark: &str, text: &str, level: u8) -> Markup {
    match mark {
        "yaml bad" => bad(rule, text, level),
        _ => listing(&rows(text)),
    }
}

fn bad(rule: &'static Rule, text: &str, level: u8) -> Markup {
    let reading = plan::read(text.to_owned());
    let judgement = judge_briefly(&reading, &House::default(), &rules_for(rule));
    let found: Vec<&Check> = judgement.failed().filter(|check| check.rule.code == rule.code).collect();
    let mut shown = rows(text);
    for check in &found {
        mark_finding(&mut shown, &reading, check);
    }
    html! {
        (listing(&shown))
        @for check in found { (working(&reading, check, level)) }
    }
}

/// The rules that are asked: a rule of the book judges by itself, but for one that judges what the others found.
fn rules_for(rule: &'static Rule) -> Vec<&'static Rule> {
    if rule.judges_checks() { rules::all() } else { vec![rule] }
}

/// A line of an example with what there is to say of it.
struct Row {
    text: String,
    /// The words that are meant.
    marked: Option<Range<usize>>,
    says: Vec<String>,
}

fn rows(text: &str) -> Vec<Row> {
    text.lines().map(|line| Row { text: line.to_owned(), marked: None, says: Vec::new() }).collect()
}

fn mark_finding(rows: &mut [Row], reading: &Reading, check: &Check) {
    let Some(finding) = &check.finding else { return };
    if let Some(row) = mark(rows, reading, &finding.at, "\u{25b2} found here") {
        row.text = row.text.replace(HERE, "");
        row.text.truncate(row.text.trim_end().len());
    }
    for label in finding.also.iter().filter(|label| !label.text.is_empty()) {
        mark(rows, reading, label, "\u{25b3} compare");
    }
}

/// Marks the words at a place, with a sentence below their line.
fn mark<'r>(rows: &'r mut [Row], reading: &Reading, label: &Label, lead: &str) -> Option<&'r mut Row> {
    let span = reading.tree.locate(&label.place.path()).span;
    let lines = Lines::new(&reading.text);
    let line = lines.line(span.start);
    let start = lines.range(&reading.text, line).start;
    let row = rows.get_mut(line)?;
    let inside = |at: usize| at.saturating_sub(start).min(row.text.trim_end().len());
    let words = inside(span.start)..inside(span.end);
    if row.marked.is_none() && row.text.get(words.clone()).is_some_and(|words| !words.is_empty()) {
        row.marked = Some(words);
    }
    let said = label.text.strip_suffix(" here").unwrap_or(&label.text);
    row.says.push(if said.is_empty() { lead.to_owned() } else { format!("{lead}: {said}") });
    Some(row)
}

fn listing(rows: &[Row]) -> Markup {
    html! {
        div.listing {
            pre {
                @for (at, row) in rows.iter().enumerate() {
                    span.row {
                        span.number { (format!("{:>2} ", at + 1)) }
                        code { (words(row)) "\n" }
                    }
                    @for says in &row.says { span.says { "   " (says) "\n" } }
                }
            }
        }
    }
}

fn words(row: &Row) -> Markup {
    let parts = row.marked.clone().and_then(|marked| {
        let (before, after) = (row.text.get(..marked.start)?, row.text.get(marked.end..)?);
        Some((before, row.text.get(marked)?, after))
    });
    html! {
        @match parts {
            Some((before, marked, after)) => { (before) mark { (marked) } (after) }
            None => { (row.text) }
        }
    }
}

fn working(reading: &Reading, check: &Check, level: u8) -> Markup {
    let mut lines: Vec<Line> = worked(reading, check);
    if let Some(finding) = &check.finding {
        let more = [("why", finding.why.to_owned()), ("mend", finding.mend.clone())];
        lines.extend(more.into_iter().filter(|(_, words)| !words.is_empty()));
    }
    let mut groups: Vec<(&str, Vec<String>)> = Vec::new();
    for (heading, words) in lines {
        match groups.last_mut() {
            Some((_, group)) if heading.is_empty() => group.push(words),
            _ => groups.push((heading, vec![words])),
        }
    }
    let title = "What is found, and its working";
    html! {
        div.worked {
            @if level > 3 { h5 { (title) } } @else { h3 { (title) } }
            dl {
                @for (heading, group) in groups {
                    div {
                        dt { (heading) }
                        @for words in group { dd { (quoted(&words)) } }
                    }
                }
            }
        }
    }
}

/// A sentence in which words of a plan stand between backticks.
fn quoted(sentence: &str) -> Markup {
    let parts: Vec<&str> = sentence.split('`').collect();
    let is_paired = parts.len() % 2 == 1;
    html! {
        @for (at, part) in parts.iter().enumerate() {
            @if at % 2 == 1 && is_paired { code { (part) } } @else { @if at > 0 && !is_paired { "`" } (part) }
        }
    }
}

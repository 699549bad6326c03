//! What the rules found, with the words of the plan and the working.

use maud::{Markup, html};

use super::bits::{Asks, nothing};
use crate::judge::Severity;
use crate::report::{Numbers, Point, Spot, Standing, Told, told};
use crate::sheet::View;
use crate::words::{count, excerpt};

/// Longer lines of a plan are cut around the words in question.
const LONGEST_LINE: usize = 160;

/// Findings first, then what is open, what is waived and what broke down.
pub fn body(view: &View<'_>, _: &mut Asks) -> Markup {
    let all = told(view.report);
    let shown: Vec<&Told<'_>> = all.iter().filter(|told| told.standing != Standing::Unreadable).collect();
    if shown.is_empty() {
        return nothing("Every check that applies holds.");
    }
    let (open, mut others): (Vec<&Told<'_>>, Vec<&Told<'_>>) =
        shown.into_iter().partition(|told| matches!(told.standing, Standing::Open | Standing::Held));
    // The worst first; what only follows stands behind its cause in its own rank.
    others.sort_by_key(|told| (told.standing == Standing::Waived, std::cmp::Reverse(told.severity)));
    html! {
        @for told in others { (finding(view, told)) }
        @if !open.is_empty() {
            h3 { (count(open.len(), "open check")) }
            ul.open { @for told in open { (waiting(told)) } }
        }
    }
}

/// An open check: one line, for the list of what to find out says what it waits for.
fn waiting(told: &Told<'_>) -> Markup {
    html! {
        li {
            strong { (told.rule()) } " on " (told.subject) ", line " (told.at.line) ": " (told.mend)
            @if told.holds_gate { strong { " (must not be open at this stage)" } }
        }
    }
}

const fn class(told: &Told<'_>) -> &'static str {
    match (told.standing, told.severity) {
        (Standing::Waived, _) => "finding waived",
        (Standing::Broken, _) | (_, Severity::Danger) => "finding danger",
        (_, Severity::Fault) => "finding fault",
        (_, Severity::Advice) => "finding advice",
    }
}

fn finding(view: &View<'_>, told: &Told<'_>) -> Markup {
    html! {
        article class=(class(told)) {
            p.kind { (told.kind()) @if !told.rule().is_empty() { " · " (told.rule()) } }
            h3 { (told.title) }
            (place(view, &told.at, told.path, ""))
            @for point in told.also { (also(view, point)) }
            @if !told.why.is_empty() { p { strong { "Why " } (told.why) } }
            @if !told.mend.is_empty() { p { strong { (if told.waiver.is_some() || told.follows.is_some() { "" } else { "Mend " }) } (told.mend) } }
            @if let Some(working) = told.working { (numbers(working)) }
        }
    }
}

fn also(view: &View<'_>, point: &Point) -> Markup {
    html! {
        @if point.stated || !point.label.is_empty() {
            (place(view, &point.at, if point.stated { &point.path } else { "" }, &point.label))
        }
    }
}

/// The line of the plan with the words in question.
fn place(view: &View<'_>, at: &Spot, path: &str, label: &str) -> Markup {
    let (before, words, after) = line_around(&view.reading.text, at);
    html! {
        p.place {
            "line " (at.line) @if !path.is_empty() { ", " (path) } @if !label.is_empty() { ": " (label) }
            @if !words.trim().is_empty() { code { (before) mark { (words) } (after) } }
        }
    }
}

/// What stands on a line before, at and after a spot; a spot of several lines ends with the first.
fn line_around(text: &str, at: &Spot) -> (String, String, String) {
    let text_to = |from: usize, to: usize| text.get(from..to).unwrap_or_default();
    let start = text_to(0, at.start).rfind(['\n', '\r']).map_or(0, |end| end + 1);
    let words = text_to(at.start, at.end).lines().next().unwrap_or_default();
    let rest = text_to(at.start + words.len(), text.len()).lines().next().unwrap_or_default();
    let before = text_to(start, at.start).trim_start();
    let skipped = before.chars().count().saturating_sub(LONGEST_LINE / 2);
    let before: String = before.chars().skip(skipped).collect();
    let before = if skipped > 0 { format!("…{before}") } else { before };
    (before, excerpt(words, LONGEST_LINE), excerpt(rest.trim_end(), LONGEST_LINE / 2))
}

fn numbers(numbers: &Numbers) -> Markup {
    html! {
        div.working {
            p { strong { "Working" } }
            ul { @for step in numbers.steps() { li { (step) } } }
            @if !numbers.source.is_empty() { p { strong { "Limit " } (numbers.source) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_is_parted_around_the_words() {
        let text = "plan: 1\nwires:\n  main: {size: 8 AWG} # thin\n";
        let start = text.find("8 AWG").expect("it is there");
        let spot = Spot { start, end: start + 5, line: 3, column: 16 };
        let (before, words, after) = line_around(text, &spot);
        assert_eq!((before.as_str(), words.as_str(), after.as_str()), ("main: {size: ", "8 AWG", "} # thin"));
        let all = Spot { start: 8, end: text.len(), line: 2, column: 1 };
        assert_eq!(line_around(text, &all), (String::new(), "wires:".into(), String::new()));
    }
}

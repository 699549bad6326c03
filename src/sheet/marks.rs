//! Marks of findings on a drawing: a shape for each severity with the rule's code beside it.

use super::View;
use super::drawing::{Anchor, Ink, Point, Shape};
use super::letters::{fitted, width_of};
use crate::house::Severity;
use crate::report::Found;

/// The size of the type of marks.
pub const SIZE: f64 = 10.0;
/// How high a row of marks is.
pub const ROW: f64 = 14.0;
/// From the left of a mark to its words.
const INDENT: f64 = 12.0;
/// Between two marks on a row.
const GAP: f64 = 8.0;

/// What was found at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The code of the rule, with what else there is to say of it.
    pub words: String,
    /// The severity.
    pub ink: Ink,
}

/// Every finding with the path at which it is, until a drawing has taken it.
#[derive(Debug, Clone, Default)]
pub struct Marks {
    left: Vec<(String, Mark)>,
}

const fn ink(severity: Severity) -> Ink {
    match severity {
        Severity::Danger => Ink::Danger,
        Severity::Fault => Ink::Fault,
        Severity::Advice => Ink::Advice,
    }
}

impl Marks {
    /// What was found in a plan: what is open too, counted for each thing.
    pub fn of(view: &View<'_>) -> Self {
        let report = view.report;
        let mut left = Vec::new();
        for (all, word) in [(&report.findings, ""), (&report.waived, " waived"), (&report.baselined, " known")] {
            left.extend(all.iter().map(|found| marked(view, found, word)));
        }
        let open = report.open.iter().filter(|waiting| waiting.waiver.is_none());
        left.extend(open.map(|waiting| {
            let mark = Mark { words: "open".into(), ink: Ink::Open };
            (element(view, &waiting.subject), mark)
        }));
        Self { left }
    }

    /// Takes the marks at a path and below it.
    pub fn take(&mut self, path: &str) -> Vec<Mark> {
        let below = |place: &str| place.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
        let (taken, left) = std::mem::take(&mut self.left).into_iter().partition(|(place, _)| below(place));
        self.left = left;
        taken.into_iter().map(|(_, mark): (String, Mark)| mark).collect()
    }

    /// What no element of the drawing has taken, by the first part of its path.
    pub fn rest(self) -> Vec<(String, Vec<Mark>)> {
        let mut groups: Vec<(String, Vec<Mark>)> = Vec::new();
        for (place, mark) in self.left {
            let mut parts = place.split('.');
            let head = parts.next().unwrap_or_default();
            let thing = parts.next().filter(|part| part.parse::<usize>().is_err());
            let head = thing.map_or_else(|| head.to_owned(), |thing| format!("{head}.{thing}"));
            match groups.iter_mut().find(|(known, _)| *known == head) {
                Some((_, marks)) => marks.push(mark),
                None => groups.push((head, vec![mark])),
            }
        }
        groups
    }
}

fn marked(view: &View<'_>, found: &Found, word: &str) -> (String, Mark) {
    let mark = Mark { words: format!("{}{word}", found.rule.code), ink: ink(found.severity) };
    (element(view, &found.at.path), mark)
}

/// The path of what a finding is at, as it is drawn: how gear is held, set and measured is marked at the gear.
fn element(view: &View<'_>, path: &str) -> String {
    let path = path.strip_prefix("measured.").unwrap_or(path);
    let Some((section, rest)) = path.split_once('.') else { return path.to_owned() };
    let name = rest.split('.').next().unwrap_or(rest);
    let plan = &view.reading.plan;
    match section {
        "settings" => {
            let own = plan.settings.get(name).and_then(|setting| setting.amplifier.as_deref());
            own.map_or_else(|| format!("amplifiers.{rest}"), |amplifier| format!("amplifiers.{amplifier}"))
        }
        "indicators" => format!("amplifiers.{rest}"),
        "mounts" if plan.amplifiers.contains_key(name) => format!("amplifiers.{rest}"),
        "mounts" if plan.enclosures.contains_key(name) => format!("enclosures.{rest}"),
        "mounts" if plan.blocks.contains_key(name) => format!("blocks.{rest}"),
        "mounts" if plan.batteries.contains_key(name) => format!("batteries.{rest}"),
        "mounts" if plan.isolators.contains_key(name) => format!("isolators.{rest}"),
        "mounts" if plan.capacitors.contains_key(name) => format!("capacitors.{rest}"),
        "mounts" if plan.sources.contains_key(name) => format!("sources.{rest}"),
        "mounts" if plan.converters.contains_key(name) => format!("converters.{rest}"),
        _ => path.to_owned(),
    }
}

/// Marks that say the same are one mark with their number, the worst first.
fn counted(marks: &[Mark]) -> Vec<Mark> {
    let mut all: Vec<(Mark, usize)> = Vec::new();
    for mark in marks {
        match all.iter_mut().find(|(known, _)| known == mark) {
            Some((_, count)) => *count += 1,
            None => all.push((mark.clone(), 1)),
        }
    }
    let rank = |mark: &Mark| match mark.ink {
        Ink::Danger => 0,
        Ink::Fault => 1,
        Ink::Advice => 2,
        _ => 3,
    };
    all.sort_by_key(|(mark, _)| rank(mark));
    let several = |(mark, count): (Mark, usize)| match (count, mark.ink) {
        (_, Ink::Open) => Mark { words: format!("{count} open"), ..mark },
        (1, _) => mark,
        _ => Mark { words: format!("{} ×{count}", mark.words), ..mark },
    };
    all.into_iter().map(several).collect()
}

/// How wide the widest of some marks is.
pub fn natural(marks: &[Mark]) -> f64 {
    counted(marks).iter().map(width).fold(0.0, f64::max)
}

/// How wide a mark is with its words.
fn width(mark: &Mark) -> f64 {
    INDENT + width_of(&mark.words, SIZE)
}

/// Marks broken into rows of a width; what says the same is one mark with its number.
pub fn rows(marks: &[Mark], room: f64) -> Vec<Vec<Mark>> {
    let mut rows: Vec<Vec<Mark>> = Vec::new();
    let mut used = 0.0;
    for mark in counted(marks) {
        let wide = width(&mark);
        match rows.last_mut() {
            Some(row) if used + GAP + wide <= room => {
                row.push(mark);
                used += GAP + wide;
            }
            _ => {
                rows.push(vec![mark]);
                used = wide;
            }
        }
    }
    rows
}

/// A row of marks from a point on the line that the letters stand on.
pub fn draw_row(row: &[Mark], (mut x, y): Point, room: f64) -> Vec<Shape> {
    let mut shapes = Vec::new();
    for mark in row {
        shapes.push(sign(mark.ink, (x + 4.5, y - 3.6)));
        // The code says more than how often it is.
        let code = mark.words.split(" ×").next().unwrap_or_default();
        let whole = width_of(&mark.words, SIZE) <= room - INDENT;
        let text = if whole { mark.words.clone() } else { fitted(code, SIZE, room - INDENT) };
        shapes.push(Shape::Words { at: (x + INDENT, y), text, size: SIZE, anchor: Anchor::Start, ink: mark.ink });
        x += width(mark) + GAP;
    }
    shapes
}

/// The shape of a severity: a triangle warns, a diamond is a fault, a dot advises, a ring is open.
pub fn sign(ink: Ink, (x, y): Point) -> Shape {
    const HALF: f64 = 4.5;
    match ink {
        Ink::Danger => Shape::Outline { points: vec![(x, y - HALF), (x + HALF, y + HALF), (x - HALF, y + HALF)], ink },
        Ink::Fault => Shape::Outline { points: vec![(x, y - HALF), (x + HALF, y), (x, y + HALF), (x - HALF, y)], ink },
        Ink::Advice => Shape::Ring { at: (x, y), radius: 3.0, filled: true, ink },
        _ => Shape::Ring { at: (x, y), radius: 3.5, filled: false, ink },
    }
}

/// The severities among marks, each with its word, the worst first.
pub fn words(marks: impl IntoIterator<Item = Ink>) -> Vec<(Ink, &'static str)> {
    let found: Vec<Ink> = marks.into_iter().collect();
    let all = [(Ink::Danger, "danger"), (Ink::Fault, "fault"), (Ink::Advice, "advice"), (Ink::Open, "still open")];
    all.into_iter().filter(|(ink, _)| found.contains(ink)).collect()
}

/// Findings as a sentence, each with the place it is at; none where nothing was found.
pub fn sentence<'a>(found: impl Iterator<Item = (&'a str, &'a Mark)>) -> Option<String> {
    let words: Vec<String> = found
        .filter(|(_, mark)| mark.ink != Ink::Open)
        .map(|(place, mark)| format!("{} at {place}", mark.words))
        .collect();
    (!words.is_empty()).then(|| format!("Found: {}.", words.join(", ")))
}

//! Holds answers against what is found in a practice plan.

use super::answers::{Answer, At};
use crate::judge::{Check, Judgement};
use crate::plan::Reading;
use crate::solve::Place;
use crate::text::{Lines, thing};

/// What an apprentice found, and what not.
pub struct Grade<'a> {
    /// Faults that were found, each with the answer that names it.
    pub found: Vec<(&'a Check, &'a Answer)>,
    /// Faults that were not.
    pub missed: Vec<&'a Check>,
    /// What was accused and is no fault.
    pub wrong: Vec<Wrong<'a>>,
    /// What only follows from a fault: right, but not what was asked.
    pub follows: Vec<(&'a Check, &'a Answer)>,
}

/// Something that was accused and is no fault.
pub struct Wrong<'a> {
    /// The accusation.
    pub answer: &'a Answer,
    /// What the rule says of what was accused; nothing where it judges nothing there.
    pub check: Option<&'a Check>,
    /// Whether another rule finds something there.
    pub is_near: bool,
}

impl Grade<'_> {
    /// Whether every fault was found and nothing else accused.
    pub fn is_full(&self) -> bool {
        self.missed.is_empty() && self.wrong.is_empty()
    }
}

/// Grades answers by what is found in the practice plan itself.
pub fn grade<'a>(reading: &Reading, judgement: &'a Judgement, answers: &'a [Answer]) -> Grade<'a> {
    let (follow, causes): (Vec<&Check>, Vec<&Check>) = judgement.failed().partition(|check| check.follows.is_some());
    let map = Map { reading, lines: Lines::new(&reading.text) };
    let names = |answer: &Answer, check: &Check| answer.code == check.rule.code && map.points(&answer.at, check);
    let mut grade = Grade { found: Vec::new(), missed: causes.clone(), wrong: Vec::new(), follows: Vec::new() };
    for answer in answers {
        if let Some(at) = grade.missed.iter().position(|check| names(answer, check)) {
            grade.found.push((grade.missed.remove(at), answer));
        } else if grade.found.iter().any(|(check, _)| names(answer, check)) {
            // Said twice.
        } else if let Some(check) = follow.iter().find(|check| names(answer, check)) {
            grade.follows.push((check, answer));
        } else {
            let of_rule = judgement.checks.iter().filter(|check| check.rule.code == answer.code);
            let check = of_rule.into_iter().find(|check| map.points(&answer.at, check));
            let is_near = causes.iter().any(|check| map.points(&answer.at, check));
            grade.wrong.push(Wrong { answer, check, is_near });
        }
    }
    grade
}

/// Finds lines and paths in a plan.
struct Map<'a> {
    reading: &'a Reading,
    lines: Lines,
}

impl Map<'_> {
    /// Whether somebody who names this place means what a check is about.
    fn points(&self, at: &At, check: &Check) -> bool {
        match at {
            At::Line(line) => places(check).iter().any(|place| self.line(&place.path()) == *line),
            At::Path(path) => {
                let of_thing = path == thing(path) && check.subject.path() == *path;
                of_thing || places(check).iter().any(|place| is_same(&place.path(), path))
            }
        }
    }

    fn line(&self, path: &str) -> usize {
        self.lines.position(&self.reading.text, self.reading.tree.locate(path).span.start).0
    }
}

/// Whether one path is the other or lies within it; a whole section is no place.
fn is_same(one: &str, other: &str) -> bool {
    let within = |path: &str, whole: &str| {
        path.strip_prefix(whole).is_some_and(|rest| rest.is_empty() || (whole.contains('.') && rest.starts_with('.')))
    };
    within(one, other) || within(other, one)
}

/// Everything a check points at: where it finds something, the facts that it rests on, and what it judges.
fn places(check: &Check) -> Vec<Place> {
    check.named().into_iter().chain([check.subject.clone()]).collect()
}

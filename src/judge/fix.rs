//! Fixes: changes of a plan that clear a finding, each proved before it is offered.
//!
//! A fix is proved by doing it: the changed text is read, solved and judged. It is offered only when what it is for is
//! gone and nothing as bad or worse has come.

use std::collections::HashSet;
use std::ops::Range;

use super::change::{Change, changes};
use super::check::{Check, Judgement};
use super::verdict::Outcome;
use super::{Rule, Severity};
use crate::house::House;
use crate::plan::{Reading, read_with};
use crate::solve::Place;
use crate::text::Edit;

/// How far a fix may be trusted without a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Tier {
    /// It says what was clearly meant.
    Safe,
    /// It changes what is built.
    Offered,
}

/// A proved change of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Fix {
    /// How far it may be trusted without a look.
    pub tier: Tier,
    /// What it does, in a few words.
    pub title: String,
    /// The path of the value that it changes; empty where words could not be read.
    pub path: String,
    /// What the check it is for had to spare before and has afterwards, as shares of the limit.
    pub margins: Option<(f64, f64)>,
    /// The bytes that change; all others stay as they are.
    pub edit: Edit,
}

/// What a plan decides. Everything else it states is a fact about the vehicle or the gear, and no fix turns a fact.
const DECISIONS: [&str; 37] = [
    "wires.*.size",
    "wires.*.conductor",
    "wires.*.stranding",
    "wires.*.insulation",
    "wires.*.colour",
    "wires.*.covering",
    "wires.*.fixed_every",
    "wires.*.fuse.rating",
    "wires.*.fuse.form",
    "wires.*.fuse.distance",
    "wires.*.fuse.voltage",
    "wires.*.fuse.holder.sealed",
    "wires.*.far_fuse.rating",
    "wires.*.far_fuse.form",
    "wires.*.far_fuse.distance",
    "wires.*.far_fuse.holder.sealed",
    "wires.*.crossings.*.sealed",
    "wires.*.crossings.*.through",
    "wires.*.ends.*.kind",
    "wires.*.ends.*.made",
    "wires.*.ends.*.stud",
    "wires.*.ends.*.strip",
    "blocks.*.outputs.*.fuse.rating",
    "grounds.*.surface",
    "grounds.*.coated_after",
    "grounds.*.fastener.kind",
    "grounds.*.fastener.locking",
    "turn_on.*.fuse",
    "turn_on.*.tap",
    "turn_on.*.relay.suppression",
    "turn_on.*.crossings.*.sealed",
    "signals.*.lead.shielded",
    "signals.*.lead.separation",
    "loads.*.lead.size",
    "mounts.*.clearance",
    "mounts.*.fasteners.*",
    "settings.*.*",
];

/// A fix that was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// The rule whose finding it cleared; empty where words could not be read.
    pub code: &'static str,
    /// Where it was made: the first byte, in the text as it was just before.
    pub at: usize,
    /// What was done.
    pub fix: Fix,
}

/// Which findings are to be fixed, and how boldly.
pub struct Wanted<'a> {
    /// The boldest tier.
    pub tier: Tier,
    /// Whether a check is to be fixed.
    pub check: &'a dyn Fn(&Check) -> bool,
    /// Whether words that cannot be read are to be respelt.
    pub unreadable: bool,
}

/// Fixes that follow on fixes end here; a plan has no more to mend than that.
const MOST: usize = 100;

/// A plan with every wanted fix made, one after the other, each on the plan as the one before left it.
pub fn mend(reading: &Reading, house: &House, rules: &[&'static Rule], wanted: &Wanted<'_>) -> (Reading, Vec<Made>) {
    let (mut reading, mut made) = (reading.clone(), Vec::new());
    while made.len() < MOST {
        let judgement = super::judge(&reading, house, rules);
        let workshop = Workshop { reading: &reading, judgement: &judgement, house, rules };
        let Some(next) = workshop.next(wanted) else { break };
        reading = read_with(next.fix.edit.apply(&reading.text), &reading.shelves);
        made.push(next);
    }
    (reading, made)
}

/// Whether a path is something that a plan decides.
pub fn is_decision(path: &str) -> bool {
    DECISIONS.iter().any(|pattern| fits(pattern, path))
}

fn fits(pattern: &str, path: &str) -> bool {
    let (mut pattern, mut path) = (pattern.split('.'), path.split('.'));
    loop {
        match (pattern.next(), path.next()) {
            (None, None) => return true,
            (Some(want), Some(found)) if want == "*" || want == found => {}
            _ => return false,
        }
    }
}

/// What fixes are proved with.
pub struct Workshop<'a> {
    /// The plan as it is.
    pub reading: &'a Reading,
    /// What was found in it.
    pub judgement: &'a Judgement,
    /// Limits and assumptions.
    pub house: &'a House,
    /// All rules: a fix must not break another one.
    pub rules: &'a [&'static Rule],
}

impl Workshop<'_> {
    /// The first fix that is wanted, words that cannot be read before findings.
    fn next(&self, wanted: &Wanted<'_>) -> Option<Made> {
        let unreadable = if wanted.unreadable { 0..self.reading.misreads.len() } else { 0..0 };
        let respelt = unreadable.into_iter().find_map(|misread| self.respelling(misread));
        let made = |code: &'static str, fix: Fix| {
            let place = self.reading.tree.locate(&fix.path).span.start;
            Made { code, at: if fix.path.is_empty() { fix.edit.at.start } else { place }, fix }
        };
        if let Some(fix) = respelt {
            return Some(made("", fix));
        }
        let checks = self.judgement.failed().filter(|check| check.follows.is_none() && (wanted.check)(check));
        checks.into_iter().find_map(|check| {
            let fix = self.fixes(check).into_iter().find(|fix| fix.tier <= wanted.tier)?;
            Some(made(check.rule.code, fix))
        })
    }

    /// The proved fixes of one failed check, those that say what was meant first, then the smallest change first.
    pub fn fixes(&self, check: &Check) -> Vec<Fix> {
        let Some(finding) = check.finding.as_ref().filter(|_| check.stands()) else { return Vec::new() };
        let place = finding.at.place.path();
        let meant = finding.meant.as_ref().filter(|meant| *meant != "~");
        let meant = meant.map(|value| (Tier::Safe, format!("write `{value}`"), place, value.clone()));
        let changed =
            changes(self.reading, self.house, check).into_iter().filter(|change| is_decision(&change.place.path()));
        let changed = changed.map(|Change { place, from, to, .. }| {
            (Tier::Offered, format!("{place}: {to} instead of {from}"), place.path(), to)
        });
        meant
            .into_iter()
            .chain(changed)
            .filter_map(|(tier, title, path, value)| self.proved(check, tier, title, &path, &value))
            .collect()
    }

    fn proved(&self, check: &Check, tier: Tier, title: String, path: &str, value: &str) -> Option<Fix> {
        let after = self.reading.with(path, value).ok()?;
        let judged = super::judge(&after, self.house, self.rules);
        let left = judged.checks.iter().find(|other| is(other, check)).map_or(Outcome::Pass, |other| other.outcome);
        if left != Outcome::Pass || !no_worse(self.judgement, &judged, check.severity) {
            return None;
        }
        let now = judged.checks.iter().find(|other| is(other, check)).and_then(margin);
        let margins = margin(check).zip(now);
        Some(Fix { tier, title, path: path.to_owned(), margins, edit: difference(&self.reading.text, &after.text) })
    }

    /// The proved fix of a place that cannot be read, by its number in the reading: what was probably meant.
    pub fn respelling(&self, misread: usize) -> Option<Fix> {
        let misread = self.reading.misreads.get(misread)?;
        let meant = misread.meant.as_ref()?;
        let edit = Edit { at: misread.span.clone(), text: meant.clone() };
        let after = read_with(edit.apply(&self.reading.text), &self.reading.shelves);
        let fewer = after.misreads.len() < self.reading.misreads.len();
        let known = |what: &String| self.reading.misreads.iter().any(|misread| misread.what == *what);
        let nothing_new = after.misreads.iter().all(|misread| known(&misread.what));
        let title = format!("write `{meant}`");
        (fewer && nothing_new).then_some(Fix { tier: Tier::Safe, title, path: String::new(), margins: None, edit })
    }
}

fn is(one: &Check, other: &Check) -> bool {
    one.rule.code == other.rule.code && one.subject == other.subject
}

fn margin(check: &Check) -> Option<f64> {
    check.working.as_ref().and_then(super::Working::margin)
}

/// Whether a change brings nothing of this severity or worse: no check fails that did not fail, and none is open that
/// passed. What could not be judged before and is open now is no loss.
fn no_worse(before: &Judgement, after: &Judgement, than: Severity) -> bool {
    let of = |judgement: &Judgement, outcome: Outcome| -> HashSet<(&'static str, Place)> {
        let those = judgement.checks.iter().filter(|check| check.outcome == outcome && check.severity >= than);
        those.map(|check| (check.rule.code, check.subject.clone())).collect()
    };
    let nothing_new = of(after, Outcome::Fail).is_subset(&of(before, Outcome::Fail));
    nothing_new && of(after, Outcome::Open).is_disjoint(&of(before, Outcome::Pass))
}

/// The bytes in which two texts differ, on character boundaries.
pub(super) fn difference(before: &str, after: &str) -> Edit {
    let same = |pairs: &mut dyn Iterator<Item = ((usize, char), (usize, char))>| {
        pairs.take_while(|((_, one), (_, other))| one == other).map(|((_, one), _)| one.len_utf8()).sum::<usize>()
    };
    let front = same(&mut before.char_indices().zip(after.char_indices()));
    let (rest_before, rest_after) = (&before[front..], &after[front..]);
    let back = same(&mut rest_before.char_indices().rev().zip(rest_after.char_indices().rev()));
    let at: Range<usize> = front..before.len() - back;
    Edit { at, text: after[front..after.len() - back].to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::judge;

    fn fixes(text: &str, code: &str) -> Vec<(Tier, String, String)> {
        let reading = crate::plan::read(text.to_owned());
        let (house, rules) = (House::default(), crate::rules::all());
        let judgement = judge(&reading, &house, &rules);
        let workshop = Workshop { reading: &reading, judgement: &judgement, house: &house, rules: &rules };
        let failed = judgement.failed().find(|check| check.rule.code == code).expect("it fails");
        workshop.fixes(failed).into_iter().map(|fix| (fix.tier, fix.title, fix.edit.apply(text))).collect()
    }

    const WIRE: &str = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: # the feed\n    from: battery.positive\n    \
                        to: amp.power\n    size: 10 AWG # as bought\n    conductor: copper\n    insulation: 105 C\n    \
                        length: 4 m\n    path: [engine-bay]\n    fuse: {form: bolt-down, rating: 60 A, distance: 20 cm}\n";

    /// 10 AWG of class 105 C carries 51.4 A at 50 C (33 CFR 183.425 table 5).
    #[test]
    fn a_fuse_above_its_wire_gets_a_smaller_fuse_or_a_thicker_wire_and_every_comment_stays() {
        let fixes = fixes(WIRE, "FUSE-01");
        let smaller = WIRE.replace("rating: 60 A", "rating: 50 A");
        let thicker = WIRE.replace("size: 10 AWG", "size: 8 AWG");
        assert!(fixes.iter().any(|(tier, _, text)| *tier == Tier::Offered && *text == smaller), "{fixes:?}");
        assert!(fixes.iter().any(|(_, _, text)| *text == thicker), "{fixes:?}");
    }

    #[test]
    fn a_slip_in_a_name_is_a_safe_fix() {
        let right = WIRE.replace("60 A", "50 A");
        let (tier, title, after) = fixes(&right.replace("to: amp.power", "to: amq.power"), "PLAN-01").remove(0);
        assert_eq!((tier, title.as_str(), after), (Tier::Safe, "write `amp.power`", right));
    }

    #[test]
    fn facts_about_the_gear_are_never_turned() {
        let text = "plan: 1\namplifiers: {amp: {channels: 1, minimum_load: 4 ohm, rated: [{load: 4 ohm, power: 300 W}]}}\n\
                    drivers: {sub: {kind: subwoofer, coils: [2 ohm]}}\n\
                    loads: {bass: {amplifier: amp, outputs: [1], coils: sub.1}}\n";
        assert_eq!(fixes(text, "LOAD-01"), []);
        assert!(is_decision("wires.main.fuse.rating") && !is_decision("amplifiers.amp.minimum_load"));
    }

    #[test]
    fn a_unit_that_is_only_spelt_otherwise_is_a_safe_fix() {
        for (wrong, right) in [("10AWG", "10 AWG"), ("10 awg", "10 AWG"), ("10 gauge", "10 AWG")] {
            let text = WIRE.replace("size: 10 AWG", &format!("size: {wrong}"));
            let reading = crate::plan::read(text.clone());
            let (house, rules) = (House::default(), crate::rules::all());
            let judgement = judge(&reading, &house, &rules);
            let workshop = Workshop { reading: &reading, judgement: &judgement, house: &house, rules: &rules };
            let fix = workshop.respelling(0).unwrap_or_else(|| panic!("{wrong}: {:?}", reading.misreads));
            assert_eq!(fix.edit.apply(&text), WIRE.replace("10 AWG", right), "{wrong}");
        }
    }

    #[test]
    fn a_difference_lies_on_character_boundaries() {
        assert_eq!(difference("aäb", "aöb"), Edit { at: 1..3, text: "ö".into() });
        assert_eq!(difference("ab", "aab"), Edit { at: 1..1, text: "a".into() });
        assert_eq!(difference("a", "a"), Edit { at: 1..1, text: String::new() });
    }
}

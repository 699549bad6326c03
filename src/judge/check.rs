//! What judging a plan gives: one check per rule and subject.

use super::verdict::{Finding, Outcome, Working};
use super::{Rule, Severity};
use crate::house::Demand;
use crate::solve::{Origin, Place};

/// A fact that alone decides an open check.
#[derive(Debug, Clone, PartialEq)]
pub struct Turn {
    /// Where the plan would state it.
    pub place: Place,
    /// The value at which the verdict turns, as a plan writes it.
    pub value: String,
    /// The word before it, where the fact is a word of a closed list: words have no order that a reader knows.
    pub before: Option<String>,
    /// What the check comes to from that value up.
    pub above: Outcome,
    /// What it comes to below it.
    pub below: Outcome,
    /// The turn in words, like "passes from 90 C" or "passes with copper".
    pub words: String,
}

/// A fact to find out.
#[derive(Debug, Clone, PartialEq)]
pub struct FindOut {
    /// Where the plan would state it.
    pub place: Place,
    /// The checks that need it or that it decides, by code and subject.
    pub settles: Vec<(&'static str, Place)>,
    /// Where the verdicts turn, in words.
    pub turns: Vec<String>,
}

/// One rule on one subject.
#[derive(Clone)]
pub struct Check {
    /// The rule.
    pub rule: &'static Rule,
    /// How much harm a finding stands for: what the rule says, or the house.
    pub severity: Severity,
    /// The subject.
    pub subject: Place,
    /// What it came to.
    pub outcome: Outcome,
    /// The numbers behind it.
    pub working: Option<Box<Working>>,
    /// What to tell, when it failed; for an open check, what it would be.
    pub finding: Option<Box<Finding>>,
    /// For an open check: facts that have to be stated.
    pub needs: Vec<Place>,
    /// For an open check: facts of which one alone decides, and where the verdict turns.
    pub turns: Vec<Turn>,
    /// For a check that does not apply: why.
    pub reason: Option<&'static str>,
    /// Whether the rule broke down on this subject: a fault of the program, not of the plan.
    pub broke: bool,
    /// The waiver in the plan's list that accepts it.
    pub waived: Option<usize>,
    /// For a failed check: the failed check, by rule and subject, that it only follows from.
    pub follows: Option<(&'static str, Place)>,
    /// Whether the gate of the house waits for it at the stage of the job.
    pub holds_gate: bool,
}

impl Check {
    /// Whether it failed and nobody answers for it.
    pub fn stands(&self) -> bool {
        self.outcome == Outcome::Fail && self.waived.is_none()
    }

    /// The place that it tells of: where it finds something, or else its subject.
    pub fn told_at(&self) -> &Place {
        self.finding.as_ref().map_or(&self.subject, |finding| &finding.at.place)
    }

    /// The places that it names: where it finds something, and every fact of the plan that went into its numbers.
    pub fn named(&self) -> Vec<Place> {
        let finding = self.finding.iter();
        let labels = finding.flat_map(|finding| std::iter::once(&finding.at).chain(&finding.also));
        let inputs = self.working.iter().flat_map(|working| &working.inputs);
        let stated = inputs.filter_map(|input| match &input.origin {
            Origin::Stated(place) => Some(place),
            _ => None,
        });
        let mut places: Vec<Place> = stated.chain(labels.map(|label| &label.place)).cloned().collect();
        places.sort();
        places.dedup();
        places
    }

    /// Asks no longer for some facts; where it asked for no others, it is not judged, for a reason.
    pub(super) fn no_longer_needs(&mut self, is_out: &dyn Fn(&Place) -> bool, why: &'static str) {
        let needed = self.needs.len();
        self.needs.retain(|need| !is_out(need));
        if needed > 0 && self.needs.is_empty() {
            self.put_by(why);
        }
    }

    /// Takes back what it says: it is not judged, for a reason.
    pub(super) fn put_by(&mut self, why: &'static str) {
        self.outcome = Outcome::NotApplicable;
        self.reason = Some(why);
        (self.working, self.finding) = (None, None);
        self.needs.clear();
        self.turns.clear();
    }

    /// Whether it is a finding or an open check that must not be where this is demanded.
    pub(super) fn holds(&self, demand: Demand) -> bool {
        match self.outcome {
            _ if self.waived.is_some() => false,
            Outcome::Fail => demand.holds_finding(self.severity),
            Outcome::Open => demand.holds_open(self.severity),
            Outcome::Pass | Outcome::NotApplicable => false,
        }
    }
}

/// Whether a path leads to what stands at another, or below it.
pub(super) fn is_within(path: &str, above: &str) -> bool {
    path.strip_prefix(above).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

/// All checks of one plan.
#[derive(Clone, Default)]
pub struct Judgement {
    /// The checks, by place in the text and then by code.
    pub checks: Vec<Check>,
    /// What has to be found out, the fact that settles most first.
    pub find_out: Vec<FindOut>,
    /// Facts that may decide open checks and were not tried, because the plan is too large for it.
    pub untried: usize,
}

impl Judgement {
    /// How many checks came to an outcome.
    pub fn count(&self, outcome: Outcome) -> usize {
        self.checks.iter().filter(|check| check.outcome == outcome).count()
    }

    /// The checks that failed and that nobody answers for.
    pub fn failed(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| check.stands())
    }

    /// The checks that are open.
    pub fn open(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| check.outcome == Outcome::Open)
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::check;

    #[test]
    fn what_somebody_answers_for_does_not_hold_the_gate() {
        let painted = "plan: 1\ngrounds: {floor: {on: body-sheet, surface: painted}}\n";
        let signed =
            "waivers: [{rule: GROUND-01, at: grounds.floor, reason: rig, by: M. Example, until: 2999-06-30}]\n";
        let of = |text: &str| check(text, "GROUND-01", "grounds.floor");
        let (bare, waived) = (of(painted), of(&format!("{painted}{signed}")));
        assert!(bare.outcome == Outcome::Fail && bare.holds_gate);
        assert!(waived.outcome == Outcome::Fail && waived.waived.is_some() && !waived.holds_gate);
    }

    #[test]
    fn a_check_names_every_fact_that_went_into_its_numbers() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 4 AWG, \
                    conductor: copper, insulation: 105 C, length: 4 m, path: [cargo], fuse: {form: bolt-down, rating: 80 A}}\n";
        let passed = check(text, "FUSE-01", "wires.main.fuse");
        assert_eq!(passed.outcome, Outcome::Pass);
        let named: Vec<String> = passed.named().iter().map(crate::solve::Place::path).collect();
        assert_eq!(named, ["wires.main.fuse.rating", "wires.main.insulation", "wires.main.path", "wires.main.size"]);
    }
}

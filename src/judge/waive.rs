//! Findings that somebody answers for.

use super::check::Check;
use super::verdict::Outcome;
use super::{Rule, Severity};
use crate::house::House;
use crate::plan::{Day, Waiver};
use crate::solve::Job;

/// A day in s.
const DAY: f64 = 86_400.0;

/// Marks the checks that the plan's waivers accept: failed ones, and open ones that are no danger.
pub(super) fn mark(checks: &mut [Check], job: &Job<'_>) {
    for (at, waiver) in job.plan.waivers.iter().enumerate() {
        if !waiver.is_signed() || waiver.has_expired(job.house.today) {
            continue;
        }
        let is_far = waiver.is_far_ahead(job.house);
        let holds = |check: &Check| check.can_be_waived() && !(is_far && check.severity == Severity::Danger);
        for check in checks.iter_mut().filter(|check| holds(check) && waiver.is_about(check)) {
            check.waived.get_or_insert(at);
        }
    }
}

impl Rule {
    /// Whether it judges what the other rules found.
    pub fn judges_checks(&self) -> bool {
        matches!(self.check, super::Subjects::Checks(_))
    }
}

impl Rule {
    /// Whether it judges what is solved of the plan, and not checks or words of the house's own.
    pub fn judges_the_plan(&self) -> bool {
        !matches!(self.check, super::Subjects::Checks(_) | super::Subjects::Stated(_))
    }
}

impl Check {
    /// Whether it is about an element of the plan, like `wires.main`, or about something in it.
    pub fn is_within(&self, element: &str) -> bool {
        self.places().iter().any(|place| is_within(place, element.trim()))
    }

    /// Whether it is about an element of the plan, about something in it, or about what that is part of.
    pub fn touches(&self, element: &str) -> bool {
        self.is_within(element) || self.places().iter().any(|place| is_within(element.trim(), place))
    }

    /// Where it finds something, and what it judges.
    fn places(&self) -> Vec<String> {
        let found = self.finding.as_ref().map(|finding| finding.at.place.path());
        found.into_iter().chain([self.subject.path()]).collect()
    }

    /// A finding can be accepted; so can a fact that stays unknown, unless somebody may be hurt by it.
    fn can_be_waived(&self) -> bool {
        match self.outcome {
            Outcome::Fail => true,
            Outcome::Open => self.severity < Severity::Danger,
            Outcome::Pass | Outcome::NotApplicable => false,
        }
    }
}

impl Waiver {
    /// Whether it says who accepts what, why and until when.
    pub fn is_signed(&self) -> bool {
        let said = |words: &Option<String>| words.as_ref().is_some_and(|words| !words.trim().is_empty());
        [&self.rule, &self.at, &self.reason, &self.by].into_iter().all(said) && self.until.is_some()
    }

    /// Whether its last day is over. Where nobody says which day it is, none is.
    pub fn has_expired(&self, today: Option<Day>) -> bool {
        self.until.zip(today).is_some_and(|(until, today)| until < today)
    }

    /// Whether its last day is farther ahead than somebody may answer for a danger. Where nobody says which day it is, none
    /// is.
    pub fn is_far_ahead(&self, house: &House) -> bool {
        let most = house.limits.danger_waiver.base();
        self.until.zip(house.today).is_some_and(|(until, today)| f64::from(today.days_until(until)) * DAY > most)
    }

    /// Whether it is about a check: its rule, on the element or on something in it.
    pub fn is_about(&self, check: &Check) -> bool {
        let Some((rule, at)) = self.rule.as_ref().zip(self.at.as_ref()) else { return false };
        check.rule.is_called(rule.trim()) && check.is_within(at)
    }
}

/// Whether a path is an element or leads into it.
fn is_within(path: &str, element: &str) -> bool {
    path.strip_prefix(element).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

#[cfg(test)]
mod tests {
    use crate::rules::trial::check;

    #[test]
    fn a_check_touches_what_it_is_about_what_is_in_it_and_what_it_is_part_of() {
        let of = check("plan: 1\ngrounds: {floor: {on: body-sheet, surface: painted}}\n", "GROUND-01", "grounds.floor");
        assert!(of.touches("grounds.floor") && of.touches("grounds") && of.touches("grounds.floor.surface.deep"));
        assert!(!of.touches("grounds.rail") && of.touches("grounds.floor.on"));
        assert!(of.is_within("grounds") && !of.is_within("grounds.floor.surface.deep"));
    }
}

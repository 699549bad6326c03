//! What is asked of step-down converters, in a job that is solved.

use super::case::Case;
use super::job::Job;
use super::known::{Decided, Known, Undecided};
use super::step_down::{self, StepDown};
use crate::quantity::{Current, Range};

impl<'a> Job<'a> {
    /// The converters of the plan of which every terminal is connected.
    pub fn step_downs(&self) -> Vec<StepDown<'a>> {
        step_down::of(self, self.graph())
    }

    /// The converter that feeds gear.
    pub fn step_down_of(&self, gear: &str) -> Option<StepDown<'a>> {
        self.step_down_before(self.graph(), self.graph().node(gear, "power")?)
    }

    /// What is asked of a converter's output in a case.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn step_down_asked(&self, name: &str, case: Case) -> Decided<Known<Current>> {
        let at = self.step_downs().iter().position(|is| is.name == name);
        let at = at.ok_or(Undecided::NotApplicable("it is not connected throughout (PLAN-03 reports that)"))?;
        let supply = self.supply()?;
        // They stand behind all batteries.
        let first = supply.network(case).batteries.len() - self.step_downs().len();
        let current = supply.solution(case)?.battery_current(first + at).max(Range::point(0.0));
        Ok(Known::computed(current, case.words()))
    }
}

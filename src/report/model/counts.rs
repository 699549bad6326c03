//! How many checks came to what.

use schemars::JsonSchema;
use serde::Serialize;

/// How many checks came to what.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Counts {
    /// Checks that apply: passes, findings, open checks, waived and baselined ones together.
    pub checks: usize,
    /// Checks that passed.
    pub passes: usize,
    /// Findings of severity danger.
    pub dangers: usize,
    /// Findings of severity fault.
    pub faults: usize,
    /// Findings of severity advice.
    pub advice: usize,
    /// Checks that wait for a fact.
    pub open: usize,
    /// Findings that shut the gate of the house.
    pub held: usize,
    /// Open checks that the stage does not allow: dangers once a job is planned, all once it is installed, or as the
    /// house says.
    pub held_open: usize,
    /// Checks that failed or are open and that somebody answers for.
    pub waived: usize,
    /// Checks that failed, or are open and must not be, and that the baseline knows.
    pub baselined: usize,
    /// Those of them that are of severity danger.
    pub baselined_dangers: usize,
    /// Entries of the baseline that nothing fits any more.
    pub stale: usize,
    /// Checks that have nothing to say about their subject.
    pub not_applicable: usize,
    /// Places that cannot be read as part of a plan.
    pub unreadable: usize,
    /// Checks that broke down.
    pub broken: usize,
}

impl Counts {
    /// Adds another plan's counts.
    pub fn add(&mut self, other: &Self) {
        self.checks += other.checks;
        self.passes += other.passes;
        self.dangers += other.dangers;
        self.faults += other.faults;
        self.advice += other.advice;
        self.open += other.open;
        self.held += other.held;
        self.held_open += other.held_open;
        self.waived += other.waived;
        self.baselined += other.baselined;
        self.baselined_dangers += other.baselined_dangers;
        self.stale += other.stale;
        self.not_applicable += other.not_applicable;
        self.unreadable += other.unreadable;
        self.broken += other.broken;
    }

    /// Whether something stands in the way of the work: by default what can burn or break.
    pub fn holds_gate(&self) -> bool {
        self.held + self.held_open + self.unreadable > 0
    }
}

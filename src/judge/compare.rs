//! Comparisons that carry their own working and have three answers.

use super::verdict::{Figure, Finding, Input, Outcome, Relation, Verdict, Working};
use crate::quantity::{Dimension, Range};

/// A comparison of a result with a limit, both known by range.
#[derive(Debug, Clone)]
pub struct Comparison {
    outcome: Outcome,
    working: Box<Working>,
}

/// The result must not be above the limit.
pub fn at_most<D: Dimension>(
    result: impl Into<Range<D>> + Into<Figure>,
    limit: impl Into<Range<D>> + Into<Figure>,
) -> Comparison {
    Comparison::new(result.into(), Relation::AtMost, limit.into())
}

/// The result must not be below the limit.
pub fn at_least<D: Dimension>(
    result: impl Into<Range<D>> + Into<Figure>,
    limit: impl Into<Range<D>> + Into<Figure>,
) -> Comparison {
    Comparison::new(result.into(), Relation::AtLeast, limit.into())
}

impl Comparison {
    /// A comparison of two figures of the same unit.
    pub fn new(result: Figure, relation: Relation, limit: Figure) -> Self {
        let (result, limit) = result.together(limit);
        // A value that equals its limit holds; the least part in a thousand million allows for rounding.
        let within = |one: f64, other: f64| one <= other + other.abs() * 1e-9;
        let (holds, breaks) = match relation {
            Relation::AtMost => (within(result.high, limit.low), !within(result.low, limit.high)),
            Relation::AtLeast => (within(limit.high, result.low), !within(limit.low, result.high)),
        };
        let outcome = match (holds, breaks) {
            (true, _) => Outcome::Pass,
            (_, true) => Outcome::Fail,
            _ => Outcome::Open,
        };
        // Nobody understands that 27 Hz are less than 27 Hz.
        let (result, limit) = match (outcome, relation) {
            (Outcome::Fail, Relation::AtMost) => result.told_apart(limit, |result, limit| (result.low, limit.high)),
            (Outcome::Fail, Relation::AtLeast) => result.told_apart(limit, |result, limit| (result.high, limit.low)),
            _ => (result, limit),
        };
        let working = Box::new(Working { inputs: Vec::new(), formula: "", result, relation, limit, source: "" });
        Self { outcome, working }
    }

    /// How the result was put together.
    #[must_use]
    pub fn formula(mut self, formula: &'static str) -> Self {
        self.working.formula = formula;
        self
    }

    /// Something that went into it.
    #[must_use]
    pub fn given(mut self, input: Input) -> Self {
        self.working.inputs.push(input);
        self
    }

    /// Several things that went into it.
    #[must_use]
    pub fn given_all(mut self, inputs: impl IntoIterator<Item = Input>) -> Self {
        self.working.inputs.extend(inputs);
        self
    }

    /// Where the limit comes from.
    #[must_use]
    pub fn limit_from(mut self, source: &'static str) -> Self {
        self.working.source = source;
        self
    }

    /// Pass, fail or open.
    pub fn outcome(&self) -> Outcome {
        self.outcome
    }

    /// The result as it reads.
    pub fn result(&self) -> Figure {
        self.working.result
    }

    /// The limit as it reads.
    pub fn limit(&self) -> Figure {
        self.working.limit
    }

    /// The verdict; the finding is made only when the check does not pass.
    pub fn verdict(self, finding: impl FnOnce(&Self) -> Finding) -> Verdict {
        let finding = (self.outcome != Outcome::Pass).then(|| Box::new(finding(&self)));
        Verdict { outcome: self.outcome, working: Some(self.working), finding }
    }
}

#[cfg(test)]
mod tests {
    use super::{at_least, at_most};
    use crate::judge::Outcome;
    use crate::quantity::{Current, Frequency, Range};

    #[test]
    fn what_is_beyond_its_limit_by_a_hair_does_not_read_like_the_limit() {
        let hertz = Range::<Frequency>::point;
        let found = at_least(hertz(26.97), hertz(27.0));
        assert_eq!((found.result().to_string(), found.limit().to_string()), ("26.97 Hz".into(), "27 Hz".into()));
        let found = at_most(hertz(1234.0004), hertz(1234.0));
        assert_eq!(
            (found.result().to_string(), found.limit().to_string()),
            ("1.2340004 kHz".into(), "1.234 kHz".into())
        );
        let found = at_most(Range::<Current>::new(60.02, 71.234), Range::point(60.0));
        assert_eq!((found.outcome(), found.result().to_string()), (Outcome::Fail, "60.02 to 71.23 A".into()));
        // What can be told apart keeps its three digits, and so does what holds or is open.
        for (low, high, told) in
            [(60.13, 71.234, "60.1 to 71.2 A"), (59.98, 71.234, "60 to 71.2 A"), (59.98, 59.98, "60 A")]
        {
            let found = at_most(Range::<Current>::new(low, high), Range::point(60.0));
            assert_eq!(found.result().to_string(), told);
        }
    }
}

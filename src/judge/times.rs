//! How long the parts of judging take, when somebody asks.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

/// A part of the work on a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// From bytes to a typed plan; the parse is in it.
    Read,
    /// The bare parse of the text.
    Parse,
    /// Everything that is computed for all rules.
    Solve,
    /// A rule on all its subjects, by its code.
    Rule(&'static str),
    /// Where open checks turn.
    Turn,
    /// Which findings only follow from others.
    Fold,
    /// From verdicts to a report.
    Report,
}

/// What a part took.
#[derive(Debug, Clone, Copy, Default)]
pub struct Spent {
    /// The time.
    pub time: Duration,
    /// How many checks it brought; only rules bring some.
    pub checks: usize,
}

/// What every part took.
#[derive(Debug, Clone, Default)]
pub struct Times {
    spent: BTreeMap<Part, Spent>,
}

impl Times {
    /// Does some work and takes its time if there is somewhere to write it down.
    pub fn take<T>(times: Option<&mut Self>, part: Part, work: impl FnOnce() -> T) -> T {
        let Some(times) = times else { return work() };
        let start = Instant::now();
        let done = work();
        times.spent.entry(part).or_default().time += start.elapsed();
        done
    }

    /// Notes checks that a part brought.
    pub(super) fn count(&mut self, part: Part, checks: usize) {
        self.spent.entry(part).or_default().checks += checks;
    }

    /// Adds what another plan took.
    pub fn add(&mut self, other: &Self) {
        for (part, spent) in &other.spent {
            let own = self.spent.entry(*part).or_default();
            own.time += spent.time;
            own.checks += spent.checks;
        }
    }

    /// What a part took.
    pub fn of(&self, part: Part) -> Spent {
        self.spent.get(&part).copied().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_several_plans_took_adds_up() {
        let pause = Duration::from_millis(2);
        let one = |checks: usize| {
            let mut times = Times::default();
            Times::take(Some(&mut times), Part::Rule("FUSE-01"), || std::thread::sleep(pause));
            times.count(Part::Rule("FUSE-01"), checks);
            times
        };
        let (mut both, second) = (one(2), one(3));
        let first = both.of(Part::Rule("FUSE-01"));
        both.add(&second);
        let all = both.of(Part::Rule("FUSE-01"));
        assert!(first.time >= pause && all.time == first.time + second.of(Part::Rule("FUSE-01")).time);
        assert_eq!((first.checks, all.checks), (2, 5));
        assert_eq!(both.of(Part::Turn).checks, 0);
        assert!(Times::take(None, Part::Turn, || true));
    }

    #[test]
    fn the_same_part_twice_takes_both_times() {
        let pause = Duration::from_millis(2);
        let mut times = Times::default();
        for _ in 0..2 {
            Times::take(Some(&mut times), Part::Solve, || std::thread::sleep(pause));
        }
        assert!(times.of(Part::Solve).time >= 2 * pause);
    }
}

//! Tries choices: the rules themselves say which hold.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::super::apply::apply_all;
use super::super::check::Check;
use super::super::verdict::{Outcome, Relation};
use super::super::{Rule, Severity, waive};
use super::draft::{Draft, State};
use crate::house::House;
use crate::plan::Plan;
use crate::solve::{Job, Place};

/// A rule on one subject.
pub type Name = (&'static str, Place);

/// Which free part of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// A wire.
    Wire(usize),
    /// A fuse.
    Fuse(usize),
}

impl State {
    /// Where a part stands in its list.
    pub fn at(&self, part: Part) -> usize {
        match part {
            Part::Wire(at) => self.wires[at],
            Part::Fuse(at) => self.fuses[at],
        }
    }

    /// The same with a part elsewhere in its list.
    pub fn with(&self, part: Part, place: usize) -> Self {
        let mut state = self.clone();
        match part {
            Part::Wire(at) => state.wires[at] = place,
            Part::Fuse(at) => state.fuses[at] = place,
        }
        state
    }
}

/// The rules that sizes and ratings decide.
#[derive(Clone, Copy)]
pub struct Sizing<'a> {
    /// Those that look at a wire, its terminals and its fuse.
    pub local: &'a [&'static Rule],
    /// Those that need the currents of the whole supply.
    pub network: &'a [&'static Rule],
}

/// How far a check is held that no choice makes pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Left {
    /// Open: it passes at the middle of its range.
    Middle,
    /// Open: it does not fail on its whole range.
    Open,
    /// Advice that cannot be followed.
    Broken,
}

/// Checks that are left, and how far each is held.
pub type LeftChecks = BTreeMap<Name, Left>;

/// Tries choices of a draft.
pub struct Trial<'a> {
    /// The draft.
    pub draft: &'a Draft<'a>,
    /// Limits and assumptions.
    pub house: &'a House,
    /// The rules that decide.
    pub sizing: Sizing<'a>,
    /// Checks that no size turns: open ones on facts that nobody stated, advice that cannot be followed.
    left: RefCell<LeftChecks>,
    helps: RefCell<HashMap<(Name, Part, bool), bool>>,
}

impl<'a> Trial<'a> {
    /// Nothing is tried yet.
    pub fn new(draft: &'a Draft<'a>, house: &'a House, sizing: Sizing<'a>) -> Self {
        let (left, helps) = (RefCell::default(), RefCell::default());
        Self { draft, house, sizing, left, helps }
    }

    /// The rules that a house does not have off.
    fn on(&self, rules: &[&'static Rule]) -> Vec<&'static Rule> {
        rules.iter().copied().filter(|rule| !self.house.rules.is_off(rule.code)).collect()
    }

    fn judged(&self, state: &State, rules: &[&'static Rule]) -> Vec<Check> {
        judged(&self.draft.with(state), self.house, &self.on(rules))
    }

    /// What does not hold, of the rules that need no currents.
    pub fn unheld_locally(&self, state: &State) -> Vec<Check> {
        self.judged(state, self.sizing.local).into_iter().filter(|check| self.is_unheld(check)).collect()
    }

    /// What does not hold, of all rules.
    pub fn unheld(&self, state: &State) -> Vec<Check> {
        self.all(state).into_iter().filter(|check| self.is_unheld(check)).collect()
    }

    /// Every check.
    pub fn all(&self, state: &State) -> Vec<Check> {
        let rules: Vec<&'static Rule> = self.sizing.local.iter().chain(self.sizing.network).copied().collect();
        self.judged(state, &rules)
    }

    fn is_unheld(&self, check: &Check) -> bool {
        if check.waived.is_some() {
            return false;
        }
        match (self.left.borrow().get(&name(check)), check.outcome) {
            (_, Outcome::Pass | Outcome::NotApplicable) | (Some(Left::Broken), _) => false,
            // What waits for another fact, no size decides.
            (_, Outcome::Open) if !check.needs.is_empty() => false,
            (Some(Left::Middle), Outcome::Open) => middle(check).is_some_and(|margin| margin < 0.0),
            (Some(Left::Open), Outcome::Open) => false,
            (_, Outcome::Fail) | (None, Outcome::Open) => true,
        }
    }

    /// Leaves what cannot hold: open checks, and advice. Gives back what stands in the way for good.
    ///
    /// What is open on facts that nobody stated is held to the middle of its range, where the thickest wires hold that.
    pub fn leave(&self, unheld: Vec<Check>) -> Vec<Check> {
        let mut stands = Vec::new();
        for check in unheld {
            let severity = self.house.rules.severity(check.rule.code, check.severity);
            let left = match check.outcome {
                Outcome::Open if middle(&check).is_some_and(|margin| margin >= 0.0) => Left::Middle,
                Outcome::Open => Left::Open,
                _ if severity == Severity::Advice => Left::Broken,
                _ => {
                    stands.push(check);
                    continue;
                }
            };
            self.left.borrow_mut().insert(name(&check), left);
        }
        stands
    }

    /// What was left so far.
    pub fn left(&self) -> LeftChecks {
        self.left.borrow().clone()
    }

    /// Leaves what was left once, and nothing else.
    pub fn leave_only(&self, left: LeftChecks) {
        *self.left.borrow_mut() = left;
    }

    /// Whether a check does not hold and was left.
    pub fn is_left(&self, check: &Check) -> bool {
        matches!(check.outcome, Outcome::Open | Outcome::Fail) && self.left.borrow().contains_key(&name(check))
    }

    /// How far each check that compares is from its limit, by the end of its range to which it is held.
    pub fn margins(&self, checks: &[Check]) -> BTreeMap<Name, f64> {
        let left = self.left.borrow();
        let margin = |check: &Check| match left.get(&name(check)) {
            Some(Left::Broken) => None,
            Some(Left::Open) => loose(check),
            Some(Left::Middle) => middle(check),
            None => strict(check),
        };
        let judged = checks.iter().filter(|check| check.waived.is_none());
        judged.filter_map(|check| Some((name(check), margin(check)?))).collect()
    }

    /// The parts that a check speaks of, those that it is about first.
    pub fn parts(&self, check: &Check) -> Vec<Part> {
        let places = places(check);
        let wires = self.draft.wires.iter().enumerate().filter(|(_, free)| {
            let (whole, size) = (format!("wires.{}", free.name), format!("wires.{}.size", free.name));
            places.iter().any(|place| *place == whole || *place == size)
        });
        let fuses = self.draft.fuses.iter().enumerate().filter(|(_, free)| {
            places
                .iter()
                .any(|place| place.strip_prefix(&free.path).is_some_and(|rest| rest.is_empty() || rest == ".rating"))
        });
        wires.map(|(at, _)| Part::Wire(at)).chain(fuses.map(|(at, _)| Part::Fuse(at))).collect()
    }

    /// How many choices a part has.
    pub fn count(&self, part: Part) -> usize {
        match part {
            Part::Wire(at) => self.draft.wires[at].sizes.len(),
            Part::Fuse(at) => self.draft.fuses[at].ratings.len(),
        }
    }

    /// The part whose next larger (or next smaller) choice brings a check nearer to holding.
    pub fn helper(&self, check: &Check, state: &State, larger: bool, most: &dyn Fn(Part) -> usize) -> Vec<Part> {
        let next = |part: Part| {
            let at = state.at(part);
            if larger { (at < most(part)).then_some(at + 1) } else { at.checked_sub(1) }
        };
        let parts = self.parts(check).into_iter().filter_map(|part| Some((part, next(part)?)));
        let helping = parts.filter(|(part, place)| {
            let key = (name(check), *part, larger);
            if let Some(known) = self.helps.borrow().get(&key) {
                return *known;
            }
            let helps = self.is_nearer(check, &state.with(*part, *place));
            self.helps.borrow_mut().insert(key, helps);
            helps
        });
        helping.map(|(part, _)| part).collect()
    }

    fn is_nearer(&self, check: &Check, state: &State) -> bool {
        let rule = [check.rule];
        let again = self.judged(state, &rule);
        let Some(other) = again.iter().find(|other| name(other) == name(check)) else { return true };
        if !self.is_unheld(other) {
            return true;
        }
        match (strict(check), strict(other)) {
            (Some(before), Some(after)) => after > before + 1e-9,
            _ => false,
        }
    }
}

/// Judges a plan by some rules, with what the plan waives.
pub fn judged(plan: &Plan, house: &House, rules: &[&'static Rule]) -> Vec<Check> {
    let job = Job::new(plan, house);
    let mut checks = apply_all(&job, rules);
    // No size of the supply mends a speaker lead.
    checks.retain(|check| !check.subject.path().starts_with("loads."));
    waive::mark(&mut checks, &job);
    checks
}

/// What a check is called.
pub fn name(check: &Check) -> Name {
    (check.rule.code, check.subject.clone())
}

fn strict(check: &Check) -> Option<f64> {
    check.working.as_deref().and_then(super::super::Working::margin)
}

/// The margin of the better ends.
fn loose(check: &Check) -> Option<f64> {
    let working = check.working.as_ref()?;
    let margin = match working.relation {
        Relation::AtMost => 1.0 - working.result.low / working.limit.high,
        Relation::AtLeast => working.result.high / working.limit.low - 1.0,
    };
    margin.is_finite().then_some(margin)
}

/// The margin of the middles.
fn middle(check: &Check) -> Option<f64> {
    let working = check.working.as_ref()?;
    let of = |figure: super::super::Figure| f64::midpoint(figure.low, figure.high);
    let share = of(working.result) / of(working.limit);
    let margin = if working.relation == Relation::AtMost { 1.0 - share } else { share - 1.0 };
    margin.is_finite().then_some(margin)
}

/// The paths that a check speaks of.
pub fn places(check: &Check) -> BTreeSet<String> {
    check.named().iter().chain([&check.subject]).map(Place::path).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::sizes::draft::Freed;
    use crate::judge::{Figure, Working};

    const PLAN: &str = "plan: 1\namplifiers: {amp: {}}\ngrounds: {floor: {on: body-sheet}}\nwires:\n  \
                        main: {from: battery.positive, to: amp.power, fuse: {distance: 20 cm}}\n  back: {from: amp.ground, to: grounds.floor}\n";

    /// A check with a result and a limit, each from one value to another.
    fn compared(code: &str, outcome: Outcome, result: (f64, f64), relation: Relation, limit: (f64, f64)) -> Check {
        let mut check =
            crate::rules::trial::judged(PLAN).checks.into_iter().find(|check| check.rule.code == code).expect("judged");
        let figure = |(low, high)| Figure::ratio(low, high);
        let (result, limit) = (figure(result), figure(limit));
        check.working =
            Some(Box::new(Working { inputs: Vec::new(), formula: "", result, relation, limit, source: "" }));
        (check.outcome, check.needs) = (outcome, Vec::new());
        check
    }

    fn near(found: Option<f64>, wanted: f64) -> bool {
        found.is_some_and(|found| (found - wanted).abs() < 1e-9)
    }

    /// 0.2 to 0.3 of at most 0.4 to 0.8: a quarter is left for sure, three quarters at best, and in the middle 1 - 0.25 / 0.6.
    #[test]
    fn a_range_is_held_by_its_worse_end_its_middle_or_its_better_end() {
        let most = compared("GROUND-01", Outcome::Open, (0.2, 0.3), Relation::AtMost, (0.4, 0.8));
        assert!(near(strict(&most), 0.25) && near(loose(&most), 0.75) && near(middle(&most), 1.0 - 0.25 / 0.6));
        let least = compared("GROUND-01", Outcome::Open, (60.0, 80.0), Relation::AtLeast, (40.0, 50.0));
        assert!(near(strict(&least), 0.2) && near(loose(&least), 1.0) && near(middle(&least), 70.0 / 45.0 - 1.0));
    }

    fn tried<T>(look: impl FnOnce(&Trial<'_>) -> T) -> T {
        let (reading, house) = (crate::plan::read(PLAN.to_owned()), House::default());
        let draft = Draft::of(&reading.plan, &house, &Freed::new());
        look(&Trial::new(&draft, &house, Sizing { local: &[], network: &[] }))
    }

    /// What is open is held to the middle of its range where the thickest wires hold that, and to its better end where they do
    /// not; advice is given up, a fault is not.
    #[test]
    fn what_the_thickest_wires_do_not_hold_is_left_as_far_as_it_may_be() {
        let open = |result| compared("GROUND-01", Outcome::Open, result, Relation::AtMost, (1.0, 1.0));
        let failed = |code| compared(code, Outcome::Fail, (2.0, 2.0), Relation::AtMost, (1.0, 1.0));
        let margin =
            |trial: &Trial<'_>, check: &Check| trial.margins(std::slice::from_ref(check)).values().copied().next();
        tried(|trial| {
            let (good, worse) = (open((0.4, 1.4)), open((0.8, 1.4)));
            assert!(trial.is_unheld(&good) && !trial.is_left(&good));
            assert!(near(margin(trial, &good), -0.4));
            assert!(trial.leave(vec![good.clone()]).is_empty());
            assert!(!trial.is_unheld(&good) && trial.is_unheld(&worse) && trial.is_left(&good));
            assert!(!trial.is_unheld(&open((0.6, 1.4))), "just in the middle");
            assert!(near(margin(trial, &good), 0.1));
            let passed = Check { outcome: Outcome::Pass, ..good.clone() };
            assert!(!trial.is_left(&passed));
        });
        tried(|trial| {
            let worse = open((0.8, 1.4));
            assert!(trial.leave(vec![worse.clone()]).is_empty());
            assert!(!trial.is_unheld(&worse) && near(margin(trial, &worse), 0.2));
        });
        tried(|trial| {
            let (advice, fault) = (failed("GROUND-07"), failed("GROUND-01"));
            let advice = Check { severity: Severity::Advice, ..advice };
            let stands = trial.leave(vec![advice.clone(), fault.clone()]);
            assert_eq!(stands.iter().map(name).collect::<Vec<_>>(), [name(&fault)]);
            assert!(!trial.is_unheld(&advice) && trial.is_unheld(&fault));
            assert!(trial.is_left(&advice) && !trial.is_left(&fault));
            assert_eq!(margin(trial, &advice), None);
            assert!(near(margin(trial, &fault), -1.0));
        });
    }

    #[test]
    fn a_check_speaks_of_the_size_and_the_rating_that_it_names() {
        tried(|trial| {
            let of = |path: &str| {
                let check = compared("GROUND-01", Outcome::Fail, (2.0, 2.0), Relation::AtMost, (1.0, 1.0));
                trial.parts(&Check { subject: Place::of(path), working: None, finding: None, ..check })
            };
            let wire = |name: &str| trial.draft.wires.iter().position(|free| free.name == name).map(Part::Wire);
            assert_eq!(
                (of("wires.main"), of("wires.main.size")),
                (vec![wire("main").unwrap()], vec![wire("main").unwrap()])
            );
            assert_eq!(of("wires.back.size"), [wire("back").unwrap()]);
            assert_eq!(
                (of("wires.main.fuse"), of("wires.main.fuse.rating")),
                (vec![Part::Fuse(0)], vec![Part::Fuse(0)])
            );
            assert_eq!(
                (of("wires.main.length"), of("wires.main.fuse.distance"), of("grounds.floor")),
                (vec![], vec![], vec![])
            );
        });
    }

    #[test]
    fn a_fuse_above_its_wire_comes_nearer_with_a_thicker_wire_or_a_smaller_fuse() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, conductor: copper, \
                    insulation: 105 C, length: 4 m, path: [engine-bay], fuse: {form: bolt-down, distance: 20 cm}}\n";
        let (reading, house) = (crate::plan::read(text.to_owned()), House::default());
        let draft = Draft::of(&reading.plan, &house, &Freed::new());
        let local = [crate::rules::find("FUSE-01").expect("a rule")];
        let trial = Trial::new(&draft, &house, Sizing { local: &local, network: &[] });
        let (wire, fuse) = (Part::Wire(0), Part::Fuse(0));
        let last = |part: Part| trial.count(part) - 1;
        let state = State { wires: vec![3], fuses: vec![last(fuse)] };
        let unheld = trial.unheld_locally(&state);
        let check = unheld.first().expect("it is above its wire");
        assert!(
            trial.is_nearer(check, &state.with(wire, 4)) && trial.is_nearer(check, &state.with(fuse, last(fuse) - 1))
        );
        assert!(!trial.is_nearer(check, &state.with(wire, 2)) && !trial.is_nearer(check, &state));
        assert_eq!(trial.helper(check, &state, true, &last), [wire]);
        assert_eq!(trial.helper(check, &state, false, &|_| 0), [fuse]);
        assert_eq!(trial.helper(check, &state, true, &|_| 3), [], "it goes no thicker");
        assert_eq!(trial.helper(check, &state.with(fuse, 0), false, &|_| 0), [], "there is none smaller");
    }
}

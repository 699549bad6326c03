//! Plants faults in a clean plan.

use std::collections::{BTreeSet, HashMap};

use super::deed::{Deed, Hand, deeds, done, fixed};
use super::draw::Lot;
use crate::house::House;
use crate::judge::{Check, Judgement, Reach, Rule, judge_briefly};
use crate::plan::Reading;
use crate::solve::Place;
use crate::text::thing;

/// How hard a fault is to find.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// It strikes the eye where it stands: a wrong word, something left out, a number far past its limit.
    Plain,
    /// A number past its limit, by a tenth at least, has to be worked out.
    Near,
    /// It shows far from what was changed.
    Subtle,
}

impl Level {
    /// Every level, the easiest first.
    pub const ALL: [Self; 3] = [Self::Plain, Self::Near, Self::Subtle];

    /// The level of this number, from 1 up.
    pub fn of(number: u8) -> Option<Self> {
        Self::ALL.get(usize::from(number).checked_sub(1)?).copied()
    }

    /// Its number, from 1 up.
    pub fn number(self) -> usize {
        self as usize + 1
    }
}

/// So many changes are tried for a rule before another rule's turn comes.
const MOST_TRIES: usize = 24;

/// What is to be planted.
#[derive(Clone, Copy)]
pub struct Wanted<'a> {
    /// How many faults.
    pub faults: usize,
    /// All that is drawn by lot follows from it.
    pub seed: u64,
    /// Which rules may be broken.
    pub rules: &'a [&'static Rule],
    /// How hard they are to find.
    pub level: Level,
}

/// A fault that was planted.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// The code of the rule that finds it.
    pub code: &'static str,
    /// What that rule judges there.
    pub subject: Place,
    /// Where it finds it.
    pub place: Place,
    /// What was changed: first the place that the fault is named by.
    pub changed: Vec<String>,
    /// How hard it is to find.
    pub level: Level,
}

/// A plan with faults.
#[derive(Debug, Clone)]
pub struct Practice {
    /// The plan.
    pub reading: Reading,
    /// What was planted, in the order in which it was.
    pub faults: Vec<Fault>,
    /// How many rules can be broken on purpose among those that were wanted.
    pub breakable: usize,
    /// How many of them have something in this plan that could be changed to break them.
    pub tried: usize,
}

/// Why nothing can be planted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unplantable {
    /// The plan has words that cannot be read.
    Unreadable,
    /// The plan has findings already: their codes.
    NotClean(Vec<&'static str>),
}

/// Plants faults. There may be fewer than wanted: then nothing more came of any rule in the changes that are tried for it.
///
/// # Errors
/// When the plan is not clean.
pub fn plant(
    reading: &Reading,
    house: &House,
    rules: &[&'static Rule],
    wanted: &Wanted<'_>,
) -> Result<Practice, Unplantable> {
    if !reading.misreads.is_empty() {
        return Err(Unplantable::Unreadable);
    }
    let judgement = judge_briefly(reading, house, rules);
    if judgement.failed().next().is_some() {
        let codes: BTreeSet<&'static str> = judgement.failed().map(|check| check.rule.code).collect();
        return Err(Unplantable::NotClean(codes.into_iter().collect()));
    }
    let mut bed = Bed {
        house,
        rules,
        seed: wanted.seed,
        level: wanted.level,
        reading: reading.clone(),
        state: State::of(&judgement),
        faults: Vec::new(),
        clean: reading,
        done: Vec::new(),
        tried: BTreeSet::new(),
        known: HashMap::new(),
    };
    let order = bed.order(wanted.rules);
    bed.rounds(&order, wanted.faults);
    let tried = bed.tried.len();
    Ok(Practice { reading: bed.reading, faults: bed.faults, breakable: order.len(), tried })
}

/// What was found in a plan, and how much of it is open.
#[derive(Debug, Clone, Default)]
struct State {
    /// Findings that stand on their own.
    causes: Vec<(&'static str, Place)>,
    open: Vec<(&'static str, Place)>,
    broke: bool,
}

impl State {
    fn of(judgement: &Judgement) -> Self {
        let causes = judgement.failed().filter(|check| check.follows.is_none());
        Self {
            causes: causes.map(|check| (check.rule.code, check.subject.clone())).collect(),
            open: judgement.open().map(|check| (check.rule.code, check.subject.clone())).collect(),
            broke: judgement.checks.iter().any(|check| check.broke),
        }
    }
}

struct Bed<'a> {
    house: &'a House,
    rules: &'a [&'static Rule],
    seed: u64,
    level: Level,
    reading: Reading,
    state: State,
    faults: Vec<Fault>,
    /// The clean plan, and what was done to it for each fault.
    clean: &'a Reading,
    done: Vec<Deed>,
    tried: BTreeSet<&'static str>,
    /// What a change came to in the plan as it is.
    known: HashMap<(&'static str, Deed), Option<Level>>,
}

impl Bed<'_> {
    /// The rules in the order in which they are tried: by lot, and on the first level dangers before the others.
    fn order(&self, rules: &[&'static Rule]) -> Vec<&'static Rule> {
        let is_on = |rule: &&&'static Rule| !self.house.rules.is_off(rule.code);
        let mut order: Vec<&'static Rule> = rules.iter().filter(is_on).copied().collect();
        Lot::new(self.seed).shuffle(&mut order);
        if self.level == Level::Plain {
            order.sort_by_key(|rule| std::cmp::Reverse(self.house.rules.severity(rule.code, rule.severity)));
        }
        order
    }

    /// Each rule once as hard as wanted, then easier; then every rule again, as long as that brings anything.
    fn rounds(&mut self, order: &[&'static Rule], faults: usize) {
        let mut before = None;
        while self.faults.len() < faults && before != Some(self.faults.len()) {
            let again = before.is_some();
            before = Some(self.faults.len());
            for level in Level::ALL.into_iter().take(self.level.number()).rev() {
                for rule in order {
                    if self.faults.len() >= faults {
                        return;
                    }
                    if again || self.faults.iter().all(|fault| fault.code != rule.code) {
                        self.plant(rule, level);
                    }
                }
            }
        }
    }

    /// One fault by a rule, if there is a place for it.
    fn plant(&mut self, rule: &'static Rule, level: Level) {
        for deed in self.deeds(rule) {
            self.tried.insert(rule.code);
            let name = (rule.code, deed);
            if self.known.get(&name).is_some_and(|known| *known != Some(level)) {
                continue;
            }
            let tried = self.tried(rule, &name.1);
            match tried {
                Some((fault, reading, state)) if fault.level == level => {
                    let Some(deed) = self.by_itself(&name.1, &fault, &reading) else {
                        self.known.insert(name, None);
                        continue;
                    };
                    (self.reading, self.state) = (reading, state);
                    self.faults.push(fault);
                    self.done.push(deed);
                    self.known.clear();
                    return;
                }
                other => self.known.insert(name, other.map(|(fault, ..)| fault.level)),
            };
        }
    }

    /// What is tried to break a rule, in an order that is drawn by lot, and the same in every round.
    fn deeds(&self, rule: &'static Rule) -> Vec<Deed> {
        let of_rule = rule.code.bytes().fold(self.seed, |seed, byte| seed.rotate_left(8) ^ u64::from(byte));
        let mut lot = Lot::new(of_rule);
        let mut all: Vec<Vec<Deed>> = rule.slips.iter().map(|slip| deeds(slip, &self.reading.tree)).collect();
        for deeds in &mut all {
            lot.shuffle(deeds);
        }
        lot.shuffle(&mut all);
        let longest = all.iter().map(Vec::len).max().unwrap_or(0);
        // In turns, so that a slip that fits in many places does not crowd out the others.
        let mixed = (0..longest).flat_map(|at| all.iter().filter_map(move |deeds| deeds.get(at)));
        mixed.take(MOST_TRIES).cloned().collect()
    }

    /// What comes of a change, where that is exactly one finding more, of this rule.
    fn tried(&self, rule: &'static Rule, deed: &Deed) -> Option<(Fault, Reading, State)> {
        let reach = if self.level == Level::Plain { Reach::Far } else { Reach::Clear };
        let hand = Hand { reading: &self.reading, house: self.house, rule, reach };
        let (first, reading) = done(deed, &hand)?;
        let changed: Vec<String> = std::iter::once(first).chain(deed.others()).collect();
        if self.level == Level::Plain && !changed.iter().all(|changed| self.is_alone(changed)) {
            return None;
        }
        // The rule alone first: most changes end here, and the rest costs a hundred times as much.
        let alone = rule.judges_the_plan().then(|| judge_briefly(&reading, self.house, &[rule]));
        if alone.is_some_and(|alone| alone.failed().all(|check| self.is_known(check))) {
            return None;
        }
        let judgement = judge_briefly(&reading, self.house, self.rules);
        let state = State::of(&judgement);
        let check = self.only_new(rule, &changed, &state, &judgement)?;
        let place = check.finding.as_ref()?.at.place.clone();
        let level = graded(deed, reach, &changed[0], &place, check);
        let fault = Fault { code: rule.code, subject: check.subject.clone(), place, changed, level };
        (self.level != Level::Plain || self.is_alone(&fault.place.path())).then_some((fault, reading, state))
    }

    /// What is done for one more fault, with the values that were found, where every fault has a cause of its own: with any
    /// one of the others left out all that goes is that one's finding. A fault that another brings about is none to ask for.
    fn by_itself(&self, deed: &Deed, fault: &Fault, after: &Reading) -> Option<Deed> {
        let deed = fixed(deed, after)?;
        let stands_without = |left_out: usize| {
            let others = self.done.iter().enumerate().filter(|(at, _)| *at != left_out).map(|(_, deed)| deed);
            let reading = others.chain([&deed]).try_fold(self.clean.clone(), |reading, deed| {
                let by = Hand { reading: &reading, house: self.house, rule: self.rules[0], reach: Reach::Nearest };
                done(deed, &by).map(|(_, after)| after)
            });
            let faults = self.faults.iter().enumerate().filter(|(at, _)| *at != left_out).map(|(_, fault)| fault);
            let mut wanted: Vec<_> = faults.chain([fault]).map(|fault| named(fault.code, &fault.subject)).collect();
            wanted.sort();
            reading.is_some_and(|reading| {
                let state = State::of(&judge_briefly(&reading, self.house, self.rules));
                let mut found: Vec<_> = state.causes.iter().map(|(code, subject)| named(code, subject)).collect();
                found.sort();
                found == wanted
            })
        };
        (0..self.done.len()).all(stands_without).then_some(deed)
    }

    fn is_known(&self, check: &Check) -> bool {
        self.state.causes.iter().any(|(code, subject)| *code == check.rule.code && *subject == check.subject)
    }

    /// Whether nothing was planted in this thing yet.
    fn is_alone(&self, path: &str) -> bool {
        let things = self.faults.iter().flat_map(|fault| fault.changed.iter().cloned().chain([fault.place.path()]));
        things.into_iter().all(|other| thing(&other) != thing(path))
    }

    /// The one finding that has come, where all others have stayed and nothing that was decided elsewhere is open.
    fn only_new<'j>(
        &self,
        rule: &'static Rule,
        changed: &[String],
        state: &State,
        judgement: &'j Judgement,
    ) -> Option<&'j Check> {
        let more = state.causes.len() == self.state.causes.len() + 1;
        let kept = self.state.causes.iter().all(|cause| state.causes.contains(cause));
        // What was changed may leave questions about itself; and a rule over other rules' checks finds what is open.
        let own = |subject: &Place| changed.iter().any(|changed| thing(&subject.path()) == thing(changed));
        let mut open = state.open.iter().filter(|open| !self.state.open.contains(open));
        let decided = rule.judges_checks() || open.all(|(_, subject)| own(subject));
        if !more || !kept || state.broke || !decided {
            return None;
        }
        let mut causes = judgement.failed().filter(|check| check.follows.is_none());
        causes.find(|check| !self.is_known(check)).filter(|check| check.rule.code == rule.code)
    }
}

/// A finding by its rule and the thing; steps have other numbers where one more or less stands before them.
fn named(code: &'static str, subject: &Place) -> (&'static str, String) {
    let path = subject.path();
    (code, if path.starts_with("steps") { "steps".to_owned() } else { path })
}

/// How hard a fault is to find.
fn graded(deed: &Deed, reach: Reach, changed: &str, place: &Place, check: &Check) -> Level {
    let searched = deed.searches() && reach == Reach::Clear;
    let is_number = check.working.is_some();
    match () {
        () if is_far(changed, &place.path()) => Level::Subtle,
        () if searched && is_number => Level::Near,
        () => Level::Plain,
    }
}

/// Whether what was changed is in another thing than what is found.
fn is_far(changed: &str, place: &str) -> bool {
    thing(changed) != thing(place) && !changed.starts_with("steps") && !place.starts_with("steps")
}

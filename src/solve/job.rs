//! A plan with everything that is computed from it, each part on first demand.

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;

use super::demand::{self, Demand};
use super::graph::Graph;
use super::known::{Decided, Known, Origin, Place, Thing, Undecided};
use super::protection::{self, Protection};
use super::supply::{self, Supply};
use crate::house::{Assumption, House};
use crate::plan::{self, Plan};
use crate::quantity::{Dimension, Quantity, Range};

/// Facts narrowed to try what a verdict would be: by path, a number in its base unit or the index of a word.
pub type Pins = BTreeMap<String, f64>;

/// A fact that the plan does not state and for which a range stands in.
#[derive(Debug, Clone)]
pub struct Assumed {
    /// Where the plan would state it.
    pub place: Place,
    /// What is assumed, in the base unit, or the first and last index of the words in `words`.
    pub range: (f64, f64),
    /// Values worth trying: insulation classes, words. Empty where any number in the range may be.
    pub steps: Vec<f64>,
    /// How a value is written in a plan.
    pub show: fn(f64) -> String,
    /// Where the range comes from.
    pub source: &'static str,
}

/// A plan under solution.
pub struct Job<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Limits and assumptions.
    pub house: &'a House,
    /// Its wires.
    pub wires: Vec<Thing<'a, plan::Wire>>,
    /// Its amplifiers.
    pub amplifiers: Vec<Thing<'a, plan::Amplifier>>,
    /// Its grounds.
    pub grounds: Vec<Thing<'a, plan::Ground>>,
    /// Its loads.
    pub loads: Vec<Thing<'a, plan::Load>>,
    /// Its turn-on leads.
    pub turn_on: Vec<Thing<'a, plan::TurnOn>>,
    /// Its signals.
    pub signals: Vec<Thing<'a, plan::Signal>>,
    /// Its distribution blocks.
    pub blocks: Vec<Thing<'a, plan::Block>>,
    pins: Pins,
    assumed: RefCell<BTreeMap<String, Assumed>>,
    graph: OnceCell<Graph>,
    protection: OnceCell<Protection>,
    demands: OnceCell<Vec<Decided<Demand>>>,
    supply: OnceCell<Decided<Supply>>,
}

fn things<'a, T>(section: &str, items: &'a BTreeMap<String, T>) -> Vec<Thing<'a, T>> {
    items.iter().map(|(name, item)| Thing::new(section, name, item)).collect()
}

impl<'a> Job<'a> {
    /// A job to be solved.
    pub fn new(plan: &'a Plan, house: &'a House) -> Self {
        Self::pinned(plan, house, Pins::new())
    }

    /// The same job as if the pinned facts were stated.
    pub fn pinned(plan: &'a Plan, house: &'a House, pins: Pins) -> Self {
        Self {
            plan,
            house,
            wires: things("wires", &plan.wires),
            amplifiers: things("amplifiers", &plan.amplifiers),
            grounds: things("grounds", &plan.grounds),
            loads: things("loads", &plan.loads),
            turn_on: things("turn_on", &plan.turn_on),
            signals: things("signals", &plan.signals),
            blocks: things("blocks", &plan.blocks),
            pins,
            assumed: RefCell::default(),
            graph: OnceCell::new(),
            protection: OnceCell::new(),
            demands: OnceCell::new(),
            supply: OnceCell::new(),
        }
    }

    /// The terminals and what joins them.
    pub fn graph(&self) -> &Graph {
        self.graph.get_or_init(|| Graph::of(self))
    }

    /// Which fuses protect which stretch of which wire.
    pub fn protection(&self) -> &Protection {
        self.protection.get_or_init(|| protection::of(self))
    }

    /// What an amplifier asks of the supply.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn demand(&self, amplifier: &Thing<'_, plan::Amplifier>) -> Decided<&Demand> {
        let all = self.demands.get_or_init(|| self.amplifiers.iter().map(|amp| demand::of(self, amp)).collect());
        let at = self.amplifiers.iter().position(|other| other.address == amplifier.address);
        match at.and_then(|at| all.get(at)) {
            Some(Ok(demand)) => Ok(demand),
            Some(Err(undecided)) => Err(undecided.clone()),
            None => Err(Undecided::NotApplicable("no such amplifier")),
        }
    }

    /// The supply network in every operating case.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn supply(&self) -> Decided<&Supply> {
        self.supply.get_or_init(|| supply::of(self)).as_ref().map_err(Clone::clone)
    }

    /// Computes now what is otherwise computed on first demand.
    pub fn solve(&self) {
        self.graph();
        self.protection();
        for amplifier in &self.amplifiers {
            // What is missing is told by the rules that need it.
            let _ = self.demand(amplifier);
        }
        let _ = self.supply();
    }

    /// A wire by name.
    pub fn wire(&self, name: &str) -> Option<&Thing<'a, plan::Wire>> {
        self.wires.iter().find(|wire| wire.name == name)
    }

    /// An amplifier by name.
    pub fn amplifier(&self, name: &str) -> Option<&Thing<'a, plan::Amplifier>> {
        self.amplifiers.iter().find(|amplifier| amplifier.name == name)
    }

    /// A ground by name.
    pub fn ground(&self, name: &str) -> Option<&Thing<'a, plan::Ground>> {
        self.grounds.iter().find(|ground| ground.name == name)
    }

    /// Every fact that had to be assumed so far, by path.
    pub fn assumed(&self) -> Vec<Assumed> {
        self.assumed.borrow().values().cloned().collect()
    }

    /// A stated number, or the range that stands in for it.
    pub fn assume<D: Dimension>(
        &self,
        place: Place,
        stated: Option<Quantity<D>>,
        otherwise: &Assumption<D>,
    ) -> Known<D> {
        self.assume_steps(place, stated, otherwise, &[])
    }

    /// The same, for a fact that only ever takes certain values within its range.
    pub fn assume_steps<D: Dimension>(
        &self,
        place: Place,
        stated: Option<Quantity<D>>,
        otherwise: &Assumption<D>,
        steps: &[f64],
    ) -> Known<D> {
        if let Some(stated) = stated {
            return Known { range: stated.into(), origin: Origin::Stated(place) };
        }
        let (low, high) = (otherwise.range.low(), otherwise.range.high());
        let (low, high) = self.pin_or_assume(&place, (low, high), steps, show::<D>, otherwise.source);
        Known { range: Range::new(low, high), origin: Origin::Assumed(place, otherwise.source) }
    }

    /// The words that may stand where none is stated, narrowed when one is pinned.
    pub fn assume_words<W: Copy>(
        &self,
        place: &Place,
        stated: Option<W>,
        words: &[W],
        show: fn(f64) -> String,
        source: &'static str,
    ) -> Vec<W> {
        if let Some(word) = stated {
            return vec![word];
        }
        #[allow(clippy::cast_precision_loss, reason = "a handful of words")]
        let steps: Vec<f64> = (0..words.len()).map(|index| index as f64).collect();
        let ends = (0.0, steps.last().copied().unwrap_or(0.0));
        let (low, high) = self.pin_or_assume(place, ends, &steps, show, source);
        let inside = steps.iter().zip(words).filter(|(step, _)| (low..=high).contains(*step));
        inside.map(|(_, word)| *word).collect()
    }

    /// The pinned value of a fact, or what is assumed of it; remembers that it was asked for.
    pub(super) fn pin_or_assume(
        &self,
        place: &Place,
        range: (f64, f64),
        steps: &[f64],
        show: fn(f64) -> String,
        source: &'static str,
    ) -> (f64, f64) {
        let path = place.path();
        if let Some(pin) = self.pins.get(&path) {
            return (*pin, *pin);
        }
        if range.0 < range.1 {
            let fact = Assumed { place: place.clone(), range, steps: steps.to_vec(), show, source };
            self.assumed.borrow_mut().insert(path, fact);
        }
        range
    }
}

/// A value in a plan's words.
fn show<D: Dimension>(base: f64) -> String {
    Range::<D>::point(base).to_string()
}

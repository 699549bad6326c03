//! A job: its facts with everything that is computed from them, each part on first demand.

use std::cell::OnceCell;
use std::ops::Deref;

use super::chargers::{self, Charging};
use super::demand::{self, Demand};
use super::facts::{Facts, Pins};
use super::graph::Graph;
use super::known::{Decided, Thing, Undecided};
use super::polarity::{self, Polarity};
use super::protection::{self, Protection};
use super::supply::{self, Supply};
use crate::house::House;
use crate::plan::{self, Plan};

/// A plan under solution: its [`Facts`], and what follows from them.
pub struct Job<'a> {
    facts: Facts<'a>,
    graph: OnceCell<Graph>,
    polarity: OnceCell<Polarity>,
    protection: OnceCell<Protection>,
    demands: OnceCell<Vec<Decided<Demand>>>,
    supply: OnceCell<Decided<Supply>>,
    chargers: OnceCell<Vec<Charging>>,
}

impl<'a> Deref for Job<'a> {
    type Target = Facts<'a>;
    fn deref(&self) -> &Facts<'a> {
        &self.facts
    }
}

impl<'a> Job<'a> {
    /// A job to be solved.
    pub fn new(plan: &'a Plan, house: &'a House) -> Self {
        Self::pinned(plan, house, Pins::new())
    }

    /// The same job as if the pinned facts were stated.
    pub fn pinned(plan: &'a Plan, house: &'a House, pins: Pins) -> Self {
        Self {
            facts: Facts::new(plan, house, pins),
            graph: OnceCell::new(),
            polarity: OnceCell::new(),
            protection: OnceCell::new(),
            demands: OnceCell::new(),
            supply: OnceCell::new(),
            chargers: OnceCell::new(),
        }
    }

    /// The terminals and what joins them.
    pub fn graph(&self) -> &Graph {
        self.graph.get_or_init(|| Graph::of(self))
    }

    /// Which terminals are joined to the positive side of the batteries and which to the negative.
    pub fn polarity(&self) -> &Polarity {
        self.polarity.get_or_init(|| polarity::of(self, self.graph()))
    }

    /// Which fuses protect which stretch of which wire.
    pub fn protection(&self) -> &Protection {
        self.protection.get_or_init(|| protection::of(self, self.graph()))
    }

    /// What an amplifier asks of the supply.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn demand(&self, amplifier: &Thing<'_, plan::Amplifier>) -> Decided<&Demand> {
        let at = self.amplifiers.iter().position(|other| other.address == amplifier.address);
        match at.and_then(|at| self.demands().get(at)) {
            Some(Ok(demand)) => Ok(demand),
            Some(Err(undecided)) => Err(undecided.clone()),
            None => Err(Undecided::NotApplicable("no such amplifier")),
        }
    }

    fn demands(&self) -> &[Decided<Demand>] {
        self.demands.get_or_init(|| self.amplifiers.iter().map(|amplifier| demand::of(self, amplifier)).collect())
    }

    /// The supply network in every operating case.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where positive and negative are joined or exchanged.
    pub fn supply(&self) -> Decided<&Supply> {
        let supply = self.supply.get_or_init(|| match self.polarity().no_currents() {
            Some(why) => Err(Undecided::NotApplicable(why)),
            None => supply::of(self, self.graph(), self.demands()),
        });
        supply.as_ref().map_err(Clone::clone)
    }

    /// What chargers do in a link of the graph while the engine runs.
    pub fn charger_current(&self, link: usize) -> Charging {
        self.chargers.get_or_init(|| chargers::of(self, self.graph())).get(link).copied().unwrap_or(Charging::NONE)
    }

    /// Computes now what is otherwise computed on first demand.
    pub fn solve(&self) {
        self.graph();
        self.protection();
        self.demands();
        // What is missing is told by the rules that need it.
        let _ = self.supply();
    }
}

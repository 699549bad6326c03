//! One network with one number for every fact: its operating point.
//!
//! Each step replaces every device by its tangent and solves the linear network (Newton's method on the nodal
//! equations). The first step leaves the loads off and so starts at the highest voltages the sources can hold; from
//! there the voltages only fall, down to the first point where all currents balance. Why this finds the operating
//! point that the installation settles in, and misses none:
//!
//! - Seen from the devices, a terminal voltage is what an ideal network would give less what the currents drop:
//!   `u = u0 - Z i(u)`. Where every load lowers every terminal (`Z >= 0`: one supply side and one return side, as
//!   wired in vehicles), a constant-power load drawing `P/u` and an alternator running into its limit are convex in
//!   `u`, so a tangent never steps over the highest solution.
//! - A battery that is idle and would take up load is the one concave device. A step that carries one past its own
//!   voltage is solved again with that battery giving current; where that does not settle, with the slopes of
//!   all such batteries, which steps short but never over.
//! - When the matrix with the slopes of all batteries is not positive definite, then the loads ask for more with each
//!   volt lost than the network can add, and no solution lies below: the power cannot be delivered.

use super::circuit::{Circuit, Values};
use super::factor::Matrix;

/// Leakage of a source that gives no current, in siemens: keeps a terminal that nothing else holds at the source's
/// own voltage. At 2 V it passes 20 nA.
const LEAKAGE: f64 = 1e-8;

/// Steps until a point counts as not found. Six are usual; near the power limit each step gains one binary digit.
const MOST_STEPS: usize = 200;

/// Rounds to settle which idle batteries take up load within one step.
const MOST_ROUNDS: usize = 8;

/// Voltage change, as a part of the highest source voltage, at which the steps have arrived. Steps converge
/// quadratically, so what is left after such a step is lost in rounding.
const ARRIVED: f64 = 1e-10;

/// What a source does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Mode {
    /// The terminals stand above its own voltage: no current.
    Idle,
    /// Its own voltage less the drop in its resistance.
    Giving,
    /// An alternator at its available current.
    Limited,
    /// Idle, but stepping as if it gave current: short and safe.
    Cautious,
}

/// An operating point.
#[derive(Debug, Clone)]
pub(super) struct Point {
    pub values: Values,
    /// Voltage at each row, against the reference.
    pub voltages: Vec<f64>,
    /// The factored slopes of the network at this point.
    pub slopes: Matrix,
}

/// What one source gives at a voltage across it.
#[derive(Debug, Clone, Copy)]
pub(super) struct SourceAt {
    pub mode: Mode,
    /// Its own voltage.
    pub emf: f64,
    /// One over its resistance.
    pub conductance: f64,
    /// Its available current.
    pub limit: f64,
    /// Voltage across its terminals.
    pub across: f64,
}

impl SourceAt {
    pub fn new(circuit: &Circuit, values: &[f64], source: usize, across: f64) -> Self {
        let place = circuit.source_place(source);
        let (emf, conductance, limit) = (values[place], 1.0 / values[place + 1], values[place + 2]);
        let mode = if across > emf {
            Mode::Idle
        } else if (emf - across) * conductance <= limit {
            Mode::Giving
        } else {
            Mode::Limited
        };
        Self { mode, emf, conductance, limit, across }
    }

    /// The current it gives, in ampere.
    pub fn current(self) -> f64 {
        match self.mode {
            Mode::Giving => (self.emf - self.across) * self.conductance,
            Mode::Limited => self.limit,
            Mode::Idle | Mode::Cautious => 0.0,
        }
    }

    /// How much the current falls per volt.
    pub fn slope(self) -> f64 {
        match self.mode {
            Mode::Giving | Mode::Cautious => self.conductance,
            Mode::Limited | Mode::Idle => LEAKAGE,
        }
    }

    /// The current of its tangent where the voltage across is nought.
    fn intercept(self) -> f64 {
        match self.mode {
            Mode::Giving => self.emf * self.conductance,
            Mode::Limited => self.limit + self.emf * LEAKAGE,
            Mode::Idle => self.emf * LEAKAGE,
            Mode::Cautious => self.across * self.conductance,
        }
    }
}

/// Finds the operating point, or that there is none. `from` is a point that is known to lie above it.
pub(super) fn solve(circuit: &Circuit, values: &[f64], share: f64, from: Option<&[f64]>) -> Option<Point> {
    Search::new(circuit, values).run(share, from)
}

/// How much of every load the network can carry, when it cannot carry all: follows the operating point from no load
/// upwards. `Ok` when it arrives at the full load after all.
pub(super) fn reach(circuit: &Circuit, values: &[f64]) -> Result<Point, f64> {
    const FINEST: f64 = 1e-10;
    let (mut share, mut step) = (0.0_f64, 0.5);
    let mut last: Option<Point> = None;
    while step > FINEST * share.max(FINEST) {
        let next = (share + step).min(1.0);
        let from = last.as_ref().map(|point| point.voltages.as_slice());
        match solve(circuit, values, next, from).or_else(|| solve(circuit, values, next, None)) {
            Some(point) if next >= 1.0 => return Ok(point),
            Some(point) => {
                share = next;
                last = Some(point);
            }
            None => step /= 2.0,
        }
    }
    Err(share)
}

struct Search<'a> {
    circuit: &'a Circuit,
    values: &'a [f64],
    /// The part of every load that is drawn; nothing in the first step.
    share: f64,
    edges: Matrix,
    matrix: Matrix,
    voltages: Vec<f64>,
    next: Vec<f64>,
    /// At `voltages`; the modes are those of the step in hand.
    sources: Vec<SourceAt>,
    /// The highest voltage that any source holds.
    highest: f64,
}

impl<'a> Search<'a> {
    fn new(circuit: &'a Circuit, values: &'a [f64]) -> Self {
        let edges = circuit.edge_matrix(values);
        let count = circuit.sources.len();
        let highest = (0..count).map(|source| values[circuit.source_place(source)]).fold(0.0, f64::max);
        Self {
            matrix: edges.clone(),
            edges,
            circuit,
            values,
            share: 0.0,
            voltages: vec![0.0; circuit.pattern.count()],
            next: vec![0.0; circuit.pattern.count()],
            sources: (0..count).map(|source| SourceAt::new(circuit, values, source, highest)).collect(),
            highest,
        }
    }

    fn run(mut self, share: f64, from: Option<&[f64]>) -> Option<Point> {
        if let Some(from) = from {
            self.voltages.copy_from_slice(from);
            self.read_sources();
        } else {
            self.step_down()?;
        }
        self.share = share;
        for _ in 0..MOST_STEPS {
            let arrived = self.step_down()? * ARRIVED * self.highest;
            if self.last_change() <= arrived {
                return self.finish();
            }
        }
        None
    }

    /// One step, from `voltages` to new ones. Gives how far the step can be trusted to be the last: a short one less.
    fn step_down(&mut self) -> Option<f64> {
        if self.share > 0.0 && self.some_load_is_starved() {
            return None;
        }
        let settled = self.settle()?;
        std::mem::swap(&mut self.voltages, &mut self.next);
        self.read_sources();
        Some(if settled { 1.0 } else { 1e-3 })
    }

    /// Solves the tangent network until every idle source agrees with the outcome, or else with a short step (false).
    /// `None` when no solution lies below.
    fn settle(&mut self) -> Option<bool> {
        for _ in 0..MOST_ROUNDS {
            if !self.linear_step() {
                if !self.change_idle(Mode::Giving) {
                    return None;
                }
            } else if !self.switch_idle() {
                return Some(true);
            }
        }
        self.read_sources();
        self.change_idle(Mode::Cautious);
        self.linear_step().then_some(false)
    }

    /// Puts all idle sources into another mode; tells whether there were any.
    fn change_idle(&mut self, mode: Mode) -> bool {
        let mut any = false;
        for source in self.sources.iter_mut().filter(|source| source.mode == Mode::Idle) {
            source.mode = mode;
            any = true;
        }
        any
    }

    /// Switches the sources that stood idle before the step to what its outcome says; tells whether any changed.
    fn switch_idle(&mut self) -> bool {
        let tolerance = 1e-12 * self.highest;
        let mut changed = false;
        for (source, link) in self.sources.iter_mut().zip(&self.circuit.sources) {
            let above = link.across(&self.next) - source.emf;
            let stood_idle = source.across > source.emf;
            let mode = match source.mode {
                Mode::Idle if above < -tolerance => Mode::Giving,
                Mode::Giving if stood_idle && above > tolerance => Mode::Idle,
                same => same,
            };
            changed |= mode != source.mode;
            source.mode = mode;
        }
        changed
    }

    /// Solves the network of tangents at `voltages` into `next`; false when its matrix is not positive definite.
    fn linear_step(&mut self) -> bool {
        self.assemble();
        if !self.matrix.factor(&self.circuit.pattern) {
            return false;
        }
        self.next.fill(0.0);
        for (source, link) in self.sources.iter().zip(&self.circuit.sources) {
            link.inject(&mut self.next, source.intercept());
        }
        for load in 0..self.circuit.loads.len() {
            let (power, current) = self.drawn(load);
            let link = self.circuit.loads[load];
            if power > 0.0 || current > 0.0 {
                let tangent = if power > 0.0 { 2.0 * power / link.across(&self.voltages) } else { 0.0 };
                link.inject(&mut self.next, -current - tangent);
            }
        }
        self.matrix.solve(&self.circuit.pattern, &mut self.next);
        true
    }

    /// Fills the matrix with the edges and the slopes of all devices.
    fn assemble(&mut self) {
        self.matrix.copy_from(&self.edges);
        for (source, link) in self.sources.iter().zip(&self.circuit.sources) {
            self.matrix.stamp(*link, source.slope());
        }
        for (load, link) in self.circuit.loads.iter().enumerate() {
            let (power, _) = self.drawn(load);
            if power > 0.0 {
                let across = link.across(&self.voltages);
                self.matrix.stamp(*link, -power / (across * across));
            }
        }
    }

    /// The power and the current that a load draws now.
    fn drawn(&self, load: usize) -> (f64, f64) {
        if !self.circuit.fed[load] {
            return (0.0, 0.0);
        }
        let place = self.circuit.load_place(load);
        (self.share * self.values[place], self.share * self.values[place + 1])
    }

    fn some_load_is_starved(&self) -> bool {
        self.circuit.loads.iter().enumerate().any(|(load, link)| {
            let (power, current) = self.drawn(load);
            (power > 0.0 || current > 0.0) && link.across(&self.voltages) <= 0.0
        })
    }

    fn read_sources(&mut self) {
        for (source, link) in self.circuit.sources.iter().enumerate() {
            self.sources[source] = SourceAt::new(self.circuit, self.values, source, link.across(&self.voltages));
        }
    }

    fn last_change(&self) -> f64 {
        self.voltages.iter().zip(&self.next).map(|(new, old)| (new - old).abs()).fold(0.0, f64::max)
    }

    fn finish(mut self) -> Option<Point> {
        if self.share > 0.0 && self.some_load_is_starved() {
            return None;
        }
        self.assemble();
        if !self.matrix.factor(&self.circuit.pattern) {
            // A battery exactly at its own voltage may be the one that holds the network.
            self.change_idle(Mode::Giving);
            self.assemble();
            if !self.matrix.factor(&self.circuit.pattern) {
                return None;
            }
        }
        Some(Point { values: self.values.to_vec(), voltages: self.voltages, slopes: self.matrix })
    }
}

//! The direct-current supply network: batteries, alternator, wires, fuses, joints, body, and what the added gear draws.
//!
//! Nodes are numbers; node 0 is the reference, the negative terminal of the main battery. Every fact is a range, a
//! point where it is known. [`solve`] tells whether the network can deliver the power at all, and gives a [`Solution`]
//! that bounds any voltage, current or loss on demand.
//!
//! # The devices, and which way each is conservative
//!
//! - An [`Edge`] is a resistance. Under 1 microohm it counts as 1 microohm.
//! - A [`Battery`] gives `max(0, (emf - v) / R)`. It takes no current: a charged battery under charge has raised its
//!   own voltage to the charging voltage and takes next to nothing. Without this the model would load the alternator
//!   with a false charging current; a battery that is really flat does load it, and is a case of its own.
//! - An [`Alternator`] holds its voltage behind the resistance of its charge cable, up to its available current.
//!   Beyond that it gives the available current at whatever voltage the batteries leave.
//! - A [`Load`] draws a constant power and a constant current. Constant power is the conservative case: the current
//!   rises as the voltage sags.
//!
//! # No operating point
//!
//! A source of voltage E behind a resistance R delivers at most E²/4R. A network that is asked for more has no
//! operating point: that is a finding, with the share of the loads that would still work, not a failure of the solver.
//! Where two points exist, the upper one is meant: the one the network comes to when the load is turned up from none.
//!
//! # Error
//!
//! Voltages at a point are those of the stated model to better than 1e-8 V, leakage and rounding together (compared
//! with ngspice over generated networks in `tests/networks.rs`). For ranges see [`Solution::range`].

mod bounds;
mod circuit;
mod corners;
pub(super) mod factor;
mod measure;
mod point;
#[cfg(test)]
mod tests;

pub use bounds::Solution;
pub use measure::Measure;

use crate::quantity::{Current, Power, Range, Resistance, Voltage};
use circuit::Circuit;
use point::Point;

/// A resistance between two nodes: a wire, a fuse, a joint, a strap, the body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// Where its current is counted from.
    pub a: usize,
    /// Where its current is counted to.
    pub b: usize,
    /// Its resistance.
    pub resistance: Range<Resistance>,
}

/// A battery: a voltage behind an internal resistance, giving current but taking none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Battery {
    /// Node of the positive terminal.
    pub positive: usize,
    /// Node of the negative terminal.
    pub negative: usize,
    /// Voltage without load.
    pub emf: Range<Voltage>,
    /// Internal resistance.
    pub resistance: Range<Resistance>,
}

/// An alternator with its regulator: holds a voltage up to the current it has available.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alternator {
    /// Node that its charge cable goes to.
    pub positive: usize,
    /// Node of its body.
    pub negative: usize,
    /// The charging voltage.
    pub voltage: Range<Voltage>,
    /// Resistance of the charge cable, behind which the voltage is held.
    pub resistance: Range<Resistance>,
    /// The current it can give, less what the vehicle itself takes of it.
    pub available: Range<Current>,
}

/// An amplifier or another consumer: draws a constant power and a constant current besides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Node of the positive terminal.
    pub positive: usize,
    /// Node of the negative terminal.
    pub negative: usize,
    /// Power drawn whatever the voltage.
    pub power: Range<Power>,
    /// Current drawn whatever the voltage, such as the idle current.
    pub current: Range<Current>,
}

/// A whole supply network in one operating case.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Network {
    /// Wires, fuses, joints, straps, body.
    pub edges: Vec<Edge>,
    /// Batteries.
    pub batteries: Vec<Battery>,
    /// Alternators; none with the engine off.
    pub alternators: Vec<Alternator>,
    /// Loads.
    pub loads: Vec<Load>,
}

/// Whether a network works within the ranges of its facts.
#[derive(Debug)]
pub enum Operating {
    /// It works whatever the facts are.
    Always(Box<Solution>),
    /// It works with the facts at their best but not at their worst.
    Sometimes {
        /// The solution with every fact at the end that is best for delivering power.
        best: Box<Solution>,
        /// The share of all loads, under 1, that still works with every fact at its worst.
        reach: f64,
    },
    /// It does not work even with the facts at their best.
    Never {
        /// The shares of all loads, under 1, that still work with every fact at its worst and at its best.
        reach: (f64, f64),
    },
}

/// Solves a network: whether it can deliver the power, and everything about it where it can.
///
/// Best and worst for delivery are: every resistance and load at its low or high end, every source voltage and
/// available current at its high or low end.
pub fn solve(network: &Network) -> Operating {
    let mut circuit = Circuit::new(network);
    mark_loads_without_voltage(&mut circuit);
    let worst = operate(&circuit, &circuit.extreme(false));
    if circuit.free.is_empty() {
        return match worst {
            Ok(point) => Operating::Always(Box::new(Solution::of_one_point(circuit, point))),
            Err(reach) => Operating::Never { reach: (reach, reach) },
        };
    }
    let best = operate(&circuit, &circuit.extreme(true));
    let middle = operate(&circuit, &circuit.middle());
    match (worst, middle, best) {
        (Ok(worst), Ok(middle), Ok(best)) => {
            Operating::Always(Box::new(Solution::between(circuit, worst, middle, best)))
        }
        (Err(worst), _, Err(best)) => Operating::Never { reach: (worst, best) },
        // The first case is the usual one; the others need a mesh in which a load raises another's voltage.
        (Err(reach), _, Ok(works)) | (Ok(works), _, Err(reach)) | (Ok(works), Err(reach), Ok(_)) => {
            Operating::Sometimes { best: Box::new(Solution::of_one_point(circuit, works)), reach }
        }
    }
}

/// The operating point at one choice of the facts, or the share of the loads that can be carried.
fn operate(circuit: &Circuit, values: &[f64]) -> Result<Point, f64> {
    point::solve(circuit, values, 1.0, None).map_or_else(|| point::reach(circuit, values), Ok)
}

/// A load between two points of the same potential, or turned round, is not fed either.
fn mark_loads_without_voltage(circuit: &mut Circuit) {
    const SMALLEST: f64 = 1e-3;
    let Some(unloaded) = point::solve(circuit, &circuit.middle(), 0.0, None) else { return };
    for (fed, link) in circuit.fed.iter_mut().zip(&circuit.loads) {
        *fed &= link.across(&unloaded.voltages) > SMALLEST;
    }
}

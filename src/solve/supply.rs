//! The supply network of a job, solved in every operating case.

use std::cell::OnceCell;

use super::case::Case;
use super::charging::{charging_voltage, spare};
use super::demand::Demand;
use super::facts::Facts;
use super::gear::GearKind;
use super::graph::{Graph, NEGATIVE, POSITIVE};
use super::known::{self, Decided, Place, Undecided};
use super::network::{self, Alternator, Battery, Edge, Load, Network, Operating, Solution};
use super::resistance::{self, charge_cable};
use super::step_down;
use crate::quantity::{Range, Temperature};

/// The supply network of a job.
#[derive(Debug)]
pub struct Supply {
    /// The links that are in the network, by their number in the graph; the edge of the same number is theirs.
    links: Vec<usize>,
    cases: [OnceCell<Operating>; Case::ALL.len()],
    networks: [Network; Case::ALL.len()],
    /// How hot each wire gets with programme, by the wire's place in the job's list.
    pub temperatures: Vec<Range<Temperature>>,
}

const NO_POINT: &str = "the supply cannot deliver the power at all (SUPPLY-04 reports that)";

impl Supply {
    /// The network of a case, for those who want to solve it elsewhere.
    pub fn network(&self, case: Case) -> &Network {
        &self.networks[case as usize]
    }

    /// Whether the network works in a case.
    pub fn operating(&self, case: Case) -> &Operating {
        self.cases[case as usize].get_or_init(|| network::solve(&self.networks[case as usize]))
    }

    /// The solution of a case.
    ///
    /// # Errors
    /// Open where it works with some of the facts' values only, not applicable where it never works.
    pub fn solution(&self, case: Case) -> Decided<&Solution> {
        match self.operating(case) {
            Operating::Always(solution) => Ok(solution),
            Operating::Sometimes { .. } => Err(Undecided::Open(Vec::new())),
            Operating::Never { .. } => Err(Undecided::NotApplicable(NO_POINT)),
        }
    }

    /// The edge of a link.
    pub fn edge(&self, link: usize) -> Option<usize> {
        self.links.iter().position(|known| *known == link)
    }
}

/// Builds the networks of a job, with what each of its amplifiers asks of them.
///
/// # Errors
/// Every fact that is missing.
pub fn of(facts: &Facts<'_>, graph: &Graph, demands: &[Decided<Demand>]) -> Decided<Supply> {
    let multiple = facts.system_multiple()?;
    complete(facts)?;
    let loads = loads(facts, graph, demands)?;
    // Heat first: programme currents at the temperature of the places give the temperatures of the conductors.
    let cold: Vec<Range<Temperature>> = facts.wires.iter().map(|wire| facts.ambient(wire).range).collect();
    let (links, edges) = edges(facts, graph, &cold, true)?;
    let batteries = batteries(facts, graph, multiple)?;
    let regulators = step_down::regulators(facts, graph)?;
    let build = |edges: &[Edge], case: Case| {
        let mut network = Network {
            edges: edges.to_vec(),
            batteries: batteries.clone(),
            alternators: if case.engine_runs() { vec![alternator(facts, graph, multiple, case)] } else { Vec::new() },
            loads: of_case(&loads, case),
        };
        step_down::put_in(&mut network, &regulators);
        network
    };
    let temperatures = heated(facts, graph, (&links, build(&edges, Case::IdleProgramme)), &cold)?;
    // Only isolators differ between cases, and they stand in every list.
    let (_, running) = self::edges(facts, graph, &temperatures, true)?;
    let (_, still) = self::edges(facts, graph, &temperatures, false)?;
    let networks = Case::ALL.map(|case| build(if case.engine_runs() { &running } else { &still }, case));
    Ok(Supply { links, cases: Default::default(), networks, temperatures })
}

/// What every wire and the vehicle must state before currents can be computed.
fn complete(facts: &Facts<'_>) -> Decided<()> {
    let wires = facts.wires.iter().flat_map(|wire| {
        [
            wire.need("from", &wire.from).map(drop),
            wire.need("to", &wire.to).map(drop),
            wire.need("size", &wire.size).map(drop),
            wire.need("length", &wire.length).map(drop),
        ]
    });
    let body = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body);
    let body = body.map(drop).ok_or_else(|| Undecided::need(Place::of("vehicle.body")));
    known::all(wires.chain([body])).map(drop)
}

/// What each amplifier draws: full and programme; of other gear both are the same.
struct Draw {
    positive: usize,
    negative: usize,
    full: Load,
    programme: Load,
}

fn loads(facts: &Facts<'_>, graph: &Graph, demands: &[Decided<Demand>]) -> Decided<Vec<Draw>> {
    let draw = |(positive, negative), current, full, programme| {
        let load = |power| Load { positive, negative, power, current };
        Draw { positive, negative, full: load(full), programme: load(programme) }
    };
    let nothing = Range::point(0.0);
    // Amplifiers come first, in the order of their demands.
    let mut demands = demands.iter();
    known::all(facts.gear.iter().filter_map(|gear| {
        let demand = (gear.kind == GearKind::Amplifier).then(|| demands.next()).flatten();
        let terminals = facts.supply_of(gear, graph)?;
        Some(match demand {
            Some(demand) => demand
                .as_ref()
                .map_err(Clone::clone)
                .map(|demand| draw(terminals, demand.idle.range, demand.full, demand.programme)),
            None => Ok(draw(terminals, gear.drawn_on(facts).range, nothing, nothing)),
        })
    }))
}

/// The resistances of all links, with the wires at these temperatures.
fn edges(
    facts: &Facts<'_>,
    graph: &Graph,
    temperatures: &[Range<Temperature>],
    engine_runs: bool,
) -> Decided<(Vec<usize>, Vec<Edge>)> {
    let mut links = Vec::new();
    let mut edges = Vec::new();
    for (index, link) in graph.links.iter().enumerate() {
        let resistance = resistance::of_link(facts, link, temperatures, engine_runs)?;
        links.push(index);
        edges.push(Edge { a: link.a, b: link.b, resistance });
    }
    Ok((links, edges))
}

/// How hot each wire gets: from the place alone to what the highest programme current makes of it.
fn heated(
    facts: &Facts<'_>,
    graph: &Graph,
    (links, network): (&[usize], Network),
    cold: &[Range<Temperature>],
) -> Decided<Vec<Range<Temperature>>> {
    let operating = network::solve(&network);
    let solution = match &operating {
        Operating::Always(solution) | Operating::Sometimes { best: solution, .. } => solution,
        Operating::Never { .. } => return Ok(cold.to_vec()),
    };
    known::all(facts.wires.iter().enumerate().map(|(index, wire)| {
        let edge = graph.wire(index).and_then(|link| links.iter().position(|known| *known == link));
        let current = edge.map_or(Range::point(0.0), |edge| solution.current(edge));
        let most = Range::new(0.0, current.high().abs().max(current.low().abs()));
        facts.conductor_temperature(wire, most).map(|hot| hot.hull(cold[index]))
    }))
}

/// What the loads draw in a case.
fn of_case(loads: &[Draw], case: Case) -> Vec<Load> {
    let apart = loads.iter().filter(|draw| draw.positive != draw.negative);
    apart.map(|draw| if case.is_full() { draw.full } else { draw.programme }).collect()
}

/// The starting battery and the added ones.
fn batteries(facts: &Facts<'_>, graph: &Graph, multiple: f64) -> Decided<Vec<Battery>> {
    let unknown = crate::plan::Battery::default();
    let starting = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref()).unwrap_or(&unknown);
    let source = |battery: &crate::plan::Battery, path: &Place, (positive, negative), multiple| Battery {
        positive,
        negative,
        emf: facts.rest_voltage(battery, path, multiple).range,
        resistance: facts.battery_resistance(battery, path, multiple).range,
    };
    let added = facts.plan.batteries.iter().filter_map(|(name, battery)| {
        let (positive, negative) = (graph.node(name, "positive")?, graph.node(name, "negative")?);
        let multiple = facts.multiple_at(graph, positive);
        let path = Place::of(format!("batteries.{name}"));
        Some(multiple.map(|multiple| source(battery, &path, (positive, negative), multiple)))
    });
    let first = source(starting, &Place::of("vehicle.battery"), (POSITIVE, NEGATIVE), multiple);
    known::all(std::iter::once(Ok(first)).chain(added))
}

fn alternator(facts: &Facts<'_>, graph: &Graph, multiple: f64, case: Case) -> Alternator {
    // A wire to the alternator's own post makes the factory cable a link of the graph; the post itself is near.
    const POST: f64 = 0.000_1;
    let apart = graph.node("alternator", "positive");
    Alternator {
        positive: apart.unwrap_or(POSITIVE),
        negative: NEGATIVE,
        voltage: charging_voltage(facts, multiple).range,
        resistance: if apart.is_some() { Range::point(POST) } else { charge_cable(facts).range },
        available: spare(facts, case),
    }
}

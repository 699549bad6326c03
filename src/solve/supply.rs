//! The supply network of a job, solved in every operating case.

use std::cell::OnceCell;

use super::facts::sub;
use super::graph::{Graph, Link, LinkKind, NEGATIVE, POSITIVE, isolator_passes};
use super::job::Job;
use super::known::{self, Decided, Known, Place, Thing, Undecided};
use super::network::{self, Alternator, Battery, Edge, Load, Network, Operating, Solution};
use super::protection::Host;
use crate::house::Assumption;
use crate::plan::{Amplifier, ChargeControl, Fuse, HighVoltage, Wire};
use crate::quantity::{Current, Range, Ratio, Resistance, Temperature, Voltage};

/// An operating case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Case {
    /// On the road, programme.
    CruiseProgramme,
    /// Engine idling, programme.
    IdleProgramme,
    /// Engine idling, full output.
    IdleFull,
    /// Engine off, programme.
    OffProgramme,
    /// Engine off, full output.
    OffFull,
}

impl Case {
    /// Every case.
    pub const ALL: [Self; 5] =
        [Self::CruiseProgramme, Self::IdleProgramme, Self::IdleFull, Self::OffProgramme, Self::OffFull];

    /// The case in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::CruiseProgramme => "on the road, programme",
            Self::IdleProgramme => "engine idling, programme",
            Self::IdleFull => "engine idling, full output",
            Self::OffProgramme => "engine off, programme",
            Self::OffFull => "engine off, full output",
        }
    }

    const fn engine_runs(self) -> bool {
        matches!(self, Self::CruiseProgramme | Self::IdleProgramme | Self::IdleFull)
    }

    const fn is_full(self) -> bool {
        matches!(self, Self::IdleFull | Self::OffFull)
    }
}

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

const JOINS_NOTHING: &str = "the wire joins nothing";
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

/// Builds the networks of a job.
///
/// # Errors
/// Every fact that is missing.
pub fn of(job: &Job<'_>) -> Decided<Supply> {
    let multiple = job.system_multiple()?;
    let graph = job.graph();
    complete(job)?;
    let loads = loads(job, graph)?;
    // Heat first: programme currents at the temperature of the places give the temperatures of the conductors.
    let cold: Vec<Range<Temperature>> = job.wires.iter().map(|wire| job.ambient(wire).range).collect();
    let (links, edges) = edges(job, graph, &cold, true)?;
    let batteries = batteries(job, graph, multiple);
    let build = |edges: &[Edge], case: Case| Network {
        edges: edges.to_vec(),
        batteries: batteries.clone(),
        alternators: if case.engine_runs() { vec![alternator(job, graph, multiple, case)] } else { Vec::new() },
        loads: of_case(&loads, case),
    };
    let temperatures = heated(job, graph, (&links, build(&edges, Case::IdleProgramme)), &cold)?;
    // Only isolators differ between cases, and they stand in every list.
    let (_, running) = self::edges(job, graph, &temperatures, true)?;
    let (_, still) = self::edges(job, graph, &temperatures, false)?;
    let networks = Case::ALL.map(|case| build(if case.engine_runs() { &running } else { &still }, case));
    Ok(Supply { links, cases: Default::default(), networks, temperatures })
}

/// What every wire and the vehicle must state before currents can be computed.
fn complete(job: &Job<'_>) -> Decided<()> {
    let wires = job.wires.iter().flat_map(|wire| {
        [
            wire.need("from", &wire.from).map(drop),
            wire.need("to", &wire.to).map(drop),
            wire.need("size", &wire.size).map(drop),
            wire.need("length", &wire.length).map(drop),
        ]
    });
    let body = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body);
    let body = body.map(drop).ok_or_else(|| Undecided::need(Place::of("vehicle.body")));
    known::all(wires.chain([body])).map(drop)
}

/// What each amplifier draws: full and programme.
struct Draw {
    positive: usize,
    negative: usize,
    full: Load,
    programme: Load,
}

fn loads(job: &Job<'_>, graph: &Graph) -> Decided<Vec<Draw>> {
    known::all(job.amplifiers.iter().filter_map(|amplifier| {
        let positive = graph.node(amplifier.name, "power")?;
        let negative = graph.node(amplifier.name, "ground")?;
        Some(job.demand(amplifier).map(|demand| {
            let load = |power| Load { positive, negative, power, current: demand.idle.range };
            Draw { positive, negative, full: load(demand.full), programme: load(demand.programme) }
        }))
    }))
}

/// The resistances of all links, with the wires at these temperatures.
fn edges(
    job: &Job<'_>,
    graph: &Graph,
    temperatures: &[Range<Temperature>],
    engine_runs: bool,
) -> Decided<(Vec<usize>, Vec<Edge>)> {
    let mut links = Vec::new();
    let mut edges = Vec::new();
    for (index, link) in graph.links.iter().enumerate() {
        let resistance = resistance(job, link, temperatures, engine_runs)?;
        links.push(index);
        edges.push(Edge { a: link.a, b: link.b, resistance });
    }
    Ok((links, edges))
}

/// What stands for a link that passes nothing: it stays in the network, so that all cases number their edges alike.
const OPEN: f64 = 1e9;

fn resistance(
    job: &Job<'_>,
    link: &Link,
    temperatures: &[Range<Temperature>],
    engine_runs: bool,
) -> Decided<Range<Resistance>> {
    let assumptions = &job.house.assumptions;
    match &link.kind {
        LinkKind::Wire(index) => wire_resistance(job, &job.wires[*index], temperatures[*index]),
        LinkKind::Output(index, output) => {
            let block = &job.blocks[*index];
            let joint = assumptions.joint.range;
            match block.outputs.get(output).and_then(|output| output.fuse.as_ref()) {
                Some(fuse) => {
                    let place = block.at(format!("outputs.{output}.fuse"));
                    Ok(job.fuse_resistance(fuse, &place)?.range + joint * 2.0)
                }
                None => Ok(joint),
            }
        }
        LinkKind::Isolator(name) => {
            let isolator = job.plan.isolators.get(name);
            if !isolator_passes(isolator.and_then(|isolator| isolator.kind), engine_runs) {
                return Ok(Range::point(OPEN));
            }
            let place = Place::of(format!("isolators.{name}.resistance"));
            Ok(job.assume(place, isolator.and_then(|isolator| isolator.resistance), &assumptions.isolator).range)
        }
        LinkKind::Ground(index) => {
            let ground = &job.grounds[*index];
            Ok(job.assume(ground.at("joint_resistance"), ground.joint_resistance, &assumptions.joint).range)
        }
        LinkKind::Body => Ok(body(job).range),
        LinkKind::ChargeCable => Ok(charge_cable(job).range),
    }
}

/// Resistance of the body from the battery's strap to the far grounds.
pub fn body(job: &Job<'_>) -> Known<Resistance> {
    let stated = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body_resistance);
    job.assume(Place::of("vehicle.body_resistance"), stated, &job.house.assumptions.body)
}

/// Resistance of the factory's charge cable and straps.
pub fn charge_cable(job: &Job<'_>) -> Known<Resistance> {
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let stated = alternator.and_then(|alternator| alternator.cable_resistance);
    job.assume(Place::of("vehicle.alternator.cable_resistance"), stated, &job.house.assumptions.charge_cable)
}

/// Resistance of a wire at a temperature, with its two joints and its fuses, each with the two joints of its holder.
///
/// # Errors
/// The needs for its length, its size and the ratings of its fuses.
pub fn wire_resistance(
    job: &Job<'_>,
    wire: &Thing<'_, Wire>,
    temperature: Range<Temperature>,
) -> Decided<Range<Resistance>> {
    let length = wire.need("length", &wire.length)?;
    let joint = job.joint(wire).range;
    let conductor = job.conductor_resistance(wire, length.into(), temperature)?;
    let fuse = |fuse: &Option<Fuse>, key| match fuse {
        // A fuse brings two more joints: one at each side of its holder.
        Some(fuse) => Ok(job.fuse_resistance(fuse, &wire.at(key))?.range + joint * 2.0),
        None => Ok(Range::point(0.0)),
    };
    Ok(conductor + joint * 2.0 + fuse(&wire.fuse, "fuse")? + fuse(&wire.far_fuse, "far_fuse")?)
}

/// How hot each wire gets: from the place alone to what the highest programme current makes of it.
fn heated(
    job: &Job<'_>,
    graph: &Graph,
    (links, network): (&[usize], Network),
    cold: &[Range<Temperature>],
) -> Decided<Vec<Range<Temperature>>> {
    let operating = network::solve(&network);
    let solution = match &operating {
        Operating::Always(solution) | Operating::Sometimes { best: solution, .. } => solution,
        Operating::Never { .. } => return Ok(cold.to_vec()),
    };
    known::all(job.wires.iter().enumerate().map(|(index, wire)| {
        let edge = graph.wire(index).and_then(|link| links.iter().position(|known| *known == link));
        let current = edge.map_or(Range::point(0.0), |edge| solution.current(edge));
        let most = Range::new(0.0, current.high().abs().max(current.low().abs()));
        job.conductor_temperature(wire, most).map(|hot| hot.hull(cold[index]))
    }))
}

/// What the loads draw in a case.
fn of_case(loads: &[Draw], case: Case) -> Vec<Load> {
    let apart = loads.iter().filter(|draw| draw.positive != draw.negative);
    apart.map(|draw| if case.is_full() { draw.full } else { draw.programme }).collect()
}

/// The starting battery and the added ones.
fn batteries(job: &Job<'_>, graph: &Graph, multiple: f64) -> Vec<Battery> {
    let unknown = crate::plan::Battery::default();
    let starting = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref()).unwrap_or(&unknown);
    let source = |battery: &crate::plan::Battery, path: &Place, positive, negative| Battery {
        positive,
        negative,
        emf: job.rest_voltage(battery, path, multiple).range,
        resistance: job.battery_resistance(battery, path, multiple).range,
    };
    let added = job.plan.batteries.iter().filter_map(|(name, battery)| {
        let (positive, negative) = (graph.node(name, "positive")?, graph.node(name, "negative")?);
        Some(source(battery, &Place::of(format!("batteries.{name}")), positive, negative))
    });
    let first = source(starting, &Place::of("vehicle.battery"), POSITIVE, NEGATIVE);
    std::iter::once(first).chain(added).collect()
}

fn alternator(job: &Job<'_>, graph: &Graph, multiple: f64, case: Case) -> Alternator {
    // A wire to the alternator's own post makes the factory cable a link of the graph; the post itself is near.
    const POST: f64 = 0.000_1;
    let apart = graph.node("alternator", "positive");
    Alternator {
        positive: apart.unwrap_or(POSITIVE),
        negative: NEGATIVE,
        voltage: charging_voltage(job, multiple).range,
        resistance: if apart.is_some() { Range::point(POST) } else { charge_cable(job).range },
        available: spare(job, case),
    }
}

/// The voltage the alternator holds.
pub fn charging_voltage(job: &Job<'_>, multiple: f64) -> Known<Voltage> {
    let assumptions = &job.house.assumptions;
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let control = alternator.and_then(|alternator| alternator.control);
    let assumed = match control {
        Some(ChargeControl::Fixed) => assumptions.charging_fixed,
        Some(ChargeControl::Ecu) | None => assumptions.charging_ecu,
    };
    let otherwise = Assumption { range: assumed.range * multiple, source: assumed.source };
    let stated = alternator.and_then(|alternator| alternator.voltage);
    job.assume(Place::of("vehicle.alternator.voltage"), stated, &otherwise)
}

/// What the alternator gives beyond what the vehicle takes for itself.
pub fn spare(job: &Job<'_>, case: Case) -> Range<Current> {
    (output(job, case).range - running(job).range).max(Range::point(0.0))
}

/// What the alternator gives in a case with the engine running: its rated output on the road, less at idle. A converter
/// in its place gives as much at a standstill as on the road.
pub fn output(job: &Job<'_>, case: Case) -> Known<Current> {
    let assumptions = &job.house.assumptions;
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let path = Place::of("vehicle.alternator");
    let rated = job.assume(sub(&path, "rated"), alternator.and_then(|a| a.rated), &assumptions.alternator);
    if case == Case::CruiseProgramme {
        return rated;
    }
    let converter = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.high_voltage);
    let converter = matches!(converter, Some(HighVoltage::Hybrid | HighVoltage::Electric));
    let share = if converter { CONVERTER_IDLE } else { *assumptions.alternator_idle };
    let range = rated.range.scaled(share.range.low(), share.range.high());
    let otherwise = Assumption { range, source: share.source };
    job.assume(sub(&path, "at_idle"), alternator.and_then(|a| a.at_idle), &otherwise)
}

/// A converter's output at a standstill as a share of its rated output.
const CONVERTER_IDLE: Assumption<Ratio> =
    Assumption { range: Range::point(1.0), source: "common practice, no published source" };

/// What the vehicle takes for itself with the engine running.
pub fn running(job: &Job<'_>) -> Known<Current> {
    let load = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.factory_load.as_ref());
    let stated = load.and_then(|load| load.running);
    job.assume(Place::of("vehicle.factory_load.running"), stated, &job.house.assumptions.running)
}

/// The node where an amplifier's return leaves its own runs: a ground, or a battery's negative post.
fn return_end(job: &Job<'_>, graph: &Graph, amplifier: &str) -> Option<usize> {
    let from = graph.node(amplifier, "ground")?;
    let grounds = job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name));
    let goals: Vec<usize> = grounds.chain(graph.negatives(job)).collect();
    graph.nearest(from, &goals, is_run).map(|(node, _)| node)
}

/// Wires, blocks and isolators: what an installer lays, not the body.
fn is_run(kind: &LinkKind) -> bool {
    matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..) | LinkKind::Isolator(_))
}

/// The two terminals of an amplifier and where its feed and return runs end.
struct Runs {
    source: usize,
    power: usize,
    ground: usize,
    end: usize,
    negative: usize,
}

/// The links of an amplifier's own runs, by their number in the graph, from the amplifier outwards.
#[derive(Debug, Clone, Default)]
pub struct RunLinks {
    /// From its power terminal to the nearest battery's positive post; empty where none is reached.
    pub feed: Vec<usize>,
    /// From its ground terminal to the nearest ground or battery's negative post; empty where none is reached.
    pub back: Vec<usize>,
}

const NO_FEED: &str = "no feed reaches this amplifier yet (PLAN-03 reports that)";
const NO_RETURN: &str = "no return leaves this amplifier yet (PLAN-03 and GROUND-09 report that)";

impl Job<'_> {
    fn runs(&self, amplifier: &Thing<'_, Amplifier>) -> Decided<Runs> {
        let graph = self.graph();
        let power = graph.node(amplifier.name, "power").ok_or(Undecided::NotApplicable(NO_FEED))?;
        let ground = graph.node(amplifier.name, "ground").ok_or(Undecided::NotApplicable(NO_RETURN))?;
        let (source, _) =
            graph.nearest(power, &graph.positives(self), is_run).ok_or(Undecided::NotApplicable(NO_FEED))?;
        let end = return_end(self, graph, amplifier.name).ok_or(Undecided::NotApplicable(NO_RETURN))?;
        let (negative, _) =
            graph.nearest(ground, &graph.negatives(self), |_| true).ok_or(Undecided::NotApplicable(NO_RETURN))?;
        Ok(Runs { source, power, ground, end, negative })
    }

    /// What an amplifier's own runs are made of: wires, outputs of blocks, isolators.
    pub fn run_links(&self, amplifier: &Thing<'_, Amplifier>) -> RunLinks {
        let graph = self.graph();
        let grounds = self.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name));
        let ends: Vec<usize> = graph.negatives(self).into_iter().chain(grounds).collect();
        let way = |terminal: &str, goals: &[usize]| {
            let from = graph.node(amplifier.name, terminal)?;
            graph.nearest(from, goals, is_run).map(|(_, links)| links)
        };
        RunLinks {
            feed: way("power", &graph.positives(self)).unwrap_or_default(),
            back: way("ground", &ends).unwrap_or_default(),
        }
    }

    fn computed<D: crate::quantity::Dimension>(range: Range<D>, case: Case) -> Known<D> {
        Known::computed(range, case.words())
    }

    /// Drop in an amplifier's own runs: feed and return with their fuses and joints, without the body.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where no run reaches it.
    pub fn run_drop(&self, amplifier: &Thing<'_, Amplifier>, case: Case) -> Decided<Known<Voltage>> {
        let runs = self.runs(amplifier)?;
        let solution = self.supply()?.solution(case)?;
        let sum = solution.voltage_sum(&[(runs.source, runs.power), (runs.ground, runs.end)]);
        Ok(Self::computed(sum, case))
    }

    /// Drop on the whole way from the battery that feeds an amplifier to it and back, the body with it.
    ///
    /// # Errors
    /// As [`Job::run_drop`].
    pub fn whole_drop(&self, amplifier: &Thing<'_, Amplifier>, case: Case) -> Decided<Known<Voltage>> {
        let runs = self.runs(amplifier)?;
        let solution = self.supply()?.solution(case)?;
        let sum = solution.voltage_sum(&[(runs.source, runs.power), (runs.ground, runs.negative)]);
        Ok(Self::computed(sum, case))
    }

    /// Drop on the whole way back from an amplifier to the nearest battery's negative post.
    ///
    /// # Errors
    /// As [`Job::run_drop`].
    pub fn return_drop(&self, amplifier: &Thing<'_, Amplifier>, case: Case) -> Decided<Known<Voltage>> {
        let runs = self.runs(amplifier)?;
        Ok(Self::computed(self.supply()?.solution(case)?.voltage(runs.ground, runs.negative), case))
    }

    /// Voltage between an amplifier's supply terminals.
    ///
    /// # Errors
    /// As [`Job::run_drop`].
    pub fn terminal_voltage(&self, amplifier: &Thing<'_, Amplifier>, case: Case) -> Decided<Known<Voltage>> {
        let runs = self.runs(amplifier)?;
        Ok(Self::computed(self.supply()?.solution(case)?.voltage(runs.power, runs.ground), case))
    }

    /// Current in a wire, whichever way it flows.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn wire_current(&self, wire: &Thing<'_, Wire>, case: Case) -> Decided<Known<Current>> {
        let edge = self.wire_edge(wire)?;
        let current = self.supply()?.solution(case)?.current(edge);
        Ok(Self::computed(magnitude(current), case))
    }

    /// Drop along a wire with its fuses and joints, whichever way the current flows.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn wire_drop(&self, wire: &Thing<'_, Wire>, case: Case) -> Decided<Known<Voltage>> {
        self.supply()?;
        self.link_drop(self.wire_link(wire)?, case)
    }

    /// Drop along a link of the graph, whichever way the current flows.
    ///
    /// # Errors
    /// The facts that are missing; not applicable for a link that is not there.
    pub fn link_drop(&self, link: usize, case: Case) -> Decided<Known<Voltage>> {
        let supply = self.supply()?;
        let edge = supply.edge(link).ok_or(Undecided::NotApplicable(JOINS_NOTHING))?;
        let Edge { a, b, .. } = supply.network(case).edges[edge];
        Ok(Self::computed(magnitude(supply.solution(case)?.voltage(a, b)), case))
    }

    /// How hot a wire gets with programme.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn wire_temperature(&self, wire: &Thing<'_, Wire>) -> Decided<Range<Temperature>> {
        let index = self.wires.iter().position(|other| other.address == wire.address);
        let temperatures = &self.supply()?.temperatures;
        index.and_then(|index| temperatures.get(index).copied()).ok_or(Undecided::NotApplicable("no such wire"))
    }

    fn wire_link(&self, wire: &Thing<'_, Wire>) -> Decided<usize> {
        let index = self.wires.iter().position(|other| other.address == wire.address);
        index.and_then(|index| self.graph().wire(index)).ok_or(Undecided::NotApplicable(JOINS_NOTHING))
    }

    fn wire_edge(&self, wire: &Thing<'_, Wire>) -> Decided<usize> {
        // The supply first: what is missing for it is asked for even where the wire has an end missing.
        let supply = self.supply()?;
        supply.edge(self.wire_link(wire)?).ok_or(Undecided::NotApplicable(JOINS_NOTHING))
    }

    /// Current through a fuse, whichever way it flows.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn fuse_current(&self, fuse: usize, case: Case) -> Decided<Known<Current>> {
        let site = self.protection().fuses.get(fuse).ok_or(Undecided::NotApplicable("no such fuse"))?;
        match site.host {
            Host::Wire { wire, .. } => self.wire_current(&self.wires[wire], case),
            Host::Block(block) => {
                let holds = |link: &Link| match &link.kind {
                    LinkKind::Output(index, output) => {
                        *index == block && site.place == self.blocks[block].at(format!("outputs.{output}.fuse"))
                    }
                    _ => false,
                };
                let link = self.graph().links.iter().position(holds);
                let supply = self.supply()?;
                let edge = link.and_then(|link| supply.edge(link));
                let edge = edge.ok_or(Undecided::NotApplicable("the fuse joins nothing"))?;
                Ok(Self::computed(magnitude(supply.solution(case)?.current(edge)), case))
            }
        }
    }
}

/// The size of a quantity that may flow either way.
fn magnitude<D: crate::quantity::Dimension>(range: Range<D>) -> Range<D> {
    let most = range.low().abs().max(range.high().abs());
    let least = if range.low() <= 0.0 && range.high() >= 0.0 { 0.0 } else { range.low().abs().min(range.high().abs()) };
    Range::new(least, most)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::House;

    /// What is asked of a job; the text must be a plan without faults of shape.
    fn of_job<T>(plan: &str, look: impl FnOnce(&Job<'_>) -> T) -> T {
        let reading = crate::plan::read(plan.to_owned());
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        let house = House::default();
        look(&Job::new(&reading.plan, &house))
    }

    fn near(found: Range<Resistance>, ohms: f64) {
        assert!(found.is_point() && (found.low() - ohms).abs() < 1e-9, "{found}, not {ohms}");
    }

    const WIRE: &str = "size: 4 AWG, conductor: copper, stranding: solid, insulation: 105 C, length: 5 m, path: [cargo], \
                        joint_resistance: 0.5 mohm";
    const NEAR: &str = "{form: bolt-down, rating: 100 A, distance: 20 cm, resistance: 0.3 mohm}";
    const FAR: &str = "{form: bolt-down, rating: 100 A, distance: 20 cm, resistance: 0.4 mohm}";

    /// Each fuse adds its element and the two joints of its holder to a wire's own two joints.
    #[test]
    fn a_wire_has_its_metal_its_joints_and_both_its_fuses() {
        let warm = Range::point(20.0);
        let of = |fuses: &str| {
            let plan = format!("plan: 1\nwires: {{feed: {{{WIRE}{fuses}}}}}\n");
            of_job(&plan, |job| {
                let metal = job.conductor_resistance(&job.wires[0], Range::point(5.0), warm).expect("stated");
                let whole = wire_resistance(job, &job.wires[0], warm).expect("stated");
                assert!((whole.high() - metal.high() - (whole.low() - metal.low())).abs() < 1e-12);
                Range::point(whole.low() - metal.low())
            })
        };
        near(of(""), 0.001);
        near(of(&format!(", fuse: {NEAR}")), 0.001 + 0.0013);
        near(of(&format!(", far_fuse: {FAR}")), 0.001 + 0.0014);
        near(of(&format!(", fuse: {NEAR}, far_fuse: {FAR}")), 0.001 + 0.0013 + 0.0014);
    }

    /// The joint of a block's own fuse is counted twice, as that of a holder in a wire.
    #[test]
    fn a_blocks_output_is_a_joint_or_a_fuse_between_two() {
        let of = |fuse: &str| {
            let plan = format!(
                "plan: 1\nblocks: {{split: {{outputs: {{one: {{{fuse}}}}}}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: split.in}}\n  branch: {{from: split.one, to: amp.power}}\n"
            );
            of_job(&plan, |job| {
                let is_output = |link: &&Link| matches!(link.kind, LinkKind::Output(..));
                let link = job.graph().links.iter().find(is_output).expect("an output");
                let found = resistance(job, link, &[Range::point(20.0); 2], true).expect("stated");
                (found, job.house.assumptions.joint.range)
            })
        };
        let (bare, joint) = of("");
        assert_eq!(bare, joint);
        let (fused, joint) = of(&format!("fuse: {NEAR}"));
        assert_eq!(fused, joint * 2.0 + Range::point(0.0003));
    }

    /// A lorry's two batteries in series: 24 V, and its regulator holds twice what a car's does.
    #[test]
    fn a_regulator_of_24_volt_holds_twice_as_much() {
        let of = |volts: &str, multiple| {
            let plan = format!("plan: 1\nvehicle: {{voltage: {volts}, alternator: {{control: fixed}}}}\n");
            of_job(&plan, |job| charging_voltage(job, multiple).range)
        };
        let (car, lorry) = (of("12 V", 1.0), of("24 V", 2.0));
        assert!(car.low() > 13.0 && car.high() < 15.5, "{car}");
        assert_eq!(lorry, car * 2.0);
    }

    /// A relay that parts the batteries while the engine is off passes nothing then.
    #[test]
    fn a_relay_passes_only_while_the_engine_runs() {
        let plan = "plan: 1\nisolators: {part: {kind: relay, resistance: 1 mohm}}\nbatteries: {rear: {}}\nwires:\n  \
                    a: {from: battery.positive, to: part.in}\n  b: {from: part.out, to: rear.positive}\n";
        of_job(plan, |job| {
            let is_relay = |link: &&Link| matches!(link.kind, LinkKind::Isolator(_));
            let link = job.graph().links.iter().find(is_relay).expect("a relay");
            let of = |runs| resistance(job, link, &[Range::point(20.0); 2], runs).expect("stated");
            near(of(true), 0.001);
            assert!(of(false).low() > 1e6);
        });
    }

    /// One thin feed runs hot at full programme, one beside it hardly carries anything: each is as hot as its own current
    /// makes it.
    #[test]
    fn each_wire_is_heated_by_its_own_current() {
        let plan = "plan: 1\nvehicle: {voltage: 12 V, body: steel, body_resistance: 1 mohm, alternator: {voltage: 14.2 V, \
                    rated: 200 A, at_idle: 150 A}, battery: {internal_resistance: 5 mohm, rest_voltage: 12.6 V}}\n\
                    amplifiers:\n  big: {class: AB, efficiency: 50 %, idle_current: 1 A, channels: 1, rated: [{load: 2 ohm, power: 600 W}]}\n  \
                    small: {class: D, efficiency: 80 %, idle_current: 0.1 A, channels: 1, rated: [{load: 4 ohm, power: 20 W}]}\n\
                    grounds: {floor: {}}\nwires:\n  \
                    a: {from: battery.positive, to: big.power, size: 8 AWG, conductor: copper, insulation: 105 C, length: 4 m, path: [cargo]}\n  \
                    b: {from: big.ground, to: grounds.floor, size: 8 AWG, conductor: copper, insulation: 105 C, length: 1 m, path: [cargo]}\n  \
                    c: {from: battery.positive, to: small.power, size: 8 AWG, conductor: copper, insulation: 105 C, length: 4 m, path: [cargo]}\n  \
                    d: {from: small.ground, to: grounds.floor, size: 8 AWG, conductor: copper, insulation: 105 C, length: 1 m, path: [cargo]}\n";
        of_job(plan, |job| {
            let of =
                |name: &str| job.wire_temperature(job.wires.iter().find(|w| w.name == name).unwrap()).expect("hot");
            let place = job.ambient(&job.wires[0]).range;
            for (hot, cool) in [("a", "c"), ("b", "d")] {
                let (hot, cool) = (of(hot), of(cool));
                assert!(hot.high() > place.high() + 5.0, "{hot}");
                assert!(cool.high() < place.high() + 0.5 && cool.low() == place.low(), "{cool}");
            }
        });
    }

    #[test]
    fn a_size_without_a_sign_is_at_least_how_near_it_comes_to_nothing() {
        let of = |low, high| magnitude(Range::<Current>::new(low, high));
        assert_eq!(of(-3.0, 5.0), Range::new(0.0, 5.0));
        assert_eq!(of(-5.0, -3.0), Range::new(3.0, 5.0));
        assert_eq!(of(2.0, 7.0), Range::new(2.0, 7.0));
        assert_eq!(of(-7.0, 0.0), Range::new(0.0, 7.0));
    }
}

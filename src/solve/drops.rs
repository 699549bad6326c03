//! What is read from the solved supply: drops along the runs of gear, voltages at its terminals, currents
//! and how hot they make wires.

use super::case::Case;
use super::chargers::Charging;
use super::graph::{Graph, Link, LinkKind};
use super::job::Job;
use super::known::{Decided, Known, Thing, Undecided};
use super::network::Edge;
use super::protection::Host;
use crate::plan::Wire;
use crate::quantity::{Current, Range, Temperature, Voltage};

/// Less than this many ampere is nothing: sources that do not give leak up to 0.3 uA at 30 V in a solved network, so that
/// it has one solution (`network::point`), and nothing that a plan states draws so little.
const NO_CURRENT: f64 = 1e-6;
const JOINS_NOTHING: &str = "the wire joins nothing";

/// The node where gear's return leaves its own runs: a ground, a battery's negative post, or a converter's.
fn return_end(job: &Job<'_>, graph: &Graph, gear: &str) -> Option<usize> {
    let from = graph.node(gear, "ground")?;
    let grounds = job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name));
    let shared = job.step_downs().into_iter().map(|step_down| step_down.ground);
    let goals: Vec<usize> = grounds.chain(graph.negatives(job)).chain(shared).collect();
    graph.nearest(from, &goals, is_run).map(|(node, _)| node)
}

/// Wires, blocks and isolators: what an installer lays, not the body.
fn is_run(kind: &LinkKind) -> bool {
    matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..) | LinkKind::Isolator(_))
}

/// The two terminals of gear and where its feed and return runs end.
struct Runs {
    source: usize,
    power: usize,
    ground: usize,
    end: usize,
    negative: usize,
}

/// The links of gear's own runs, by their number in the graph, from the gear outwards.
#[derive(Debug, Clone, Default)]
pub struct RunLinks {
    /// From its power terminal to the nearest battery's positive post or converter's output; empty where none is reached.
    pub feed: Vec<usize>,
    /// From its ground terminal to the nearest ground, battery's negative post or converter's minus; empty where none is
    /// reached.
    pub back: Vec<usize>,
}

const NO_FEED: &str = "no feed reaches it yet (PLAN-03 reports that)";
const NO_WIRE: &str = "no wire of the plan feeds it: it needs none, or the way there is the vehicle's own";
const NO_RETURN: &str = "no return leaves it yet (PLAN-03 and GROUND-09 report that)";

impl Job<'_> {
    fn runs(&self, gear: &str) -> Decided<Runs> {
        let graph = self.graph();
        let no_feed = if self.amplifier(gear).is_some() { NO_FEED } else { NO_WIRE };
        let power = graph.node(gear, "power").ok_or(Undecided::NotApplicable(no_feed))?;
        let ground = graph.node(gear, "ground").ok_or(Undecided::NotApplicable(NO_RETURN))?;
        let end = return_end(self, graph, gear).ok_or(Undecided::NotApplicable(NO_RETURN))?;
        // What a converter feeds is fed from its output, and comes back to it.
        if let Some(step_down) = self.step_down_of(gear) {
            return Ok(Runs { source: step_down.output, power, ground, end, negative: step_down.ground });
        }
        let (source, _) =
            graph.nearest(power, &graph.positives(self), is_run).ok_or(Undecided::NotApplicable(NO_FEED))?;
        let (negative, _) =
            graph.nearest(ground, &graph.negatives(self), |_| true).ok_or(Undecided::NotApplicable(NO_RETURN))?;
        Ok(Runs { source, power, ground, end, negative })
    }

    /// What gear's own runs are made of: wires, outputs of blocks, isolators.
    pub fn run_links(&self, gear: &str) -> RunLinks {
        let graph = self.graph();
        let grounds = self.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name));
        let step_downs = self.step_downs();
        let shared = step_downs.iter().map(|step_down| step_down.ground);
        let ends: Vec<usize> = graph.negatives(self).into_iter().chain(grounds).chain(shared).collect();
        let sources: Vec<usize> =
            graph.positives(self).into_iter().chain(step_downs.iter().map(|step_down| step_down.output)).collect();
        let way = |terminal: &str, goals: &[usize]| {
            let from = graph.node(gear, terminal)?;
            graph.nearest(from, goals, is_run).map(|(_, links)| links)
        };
        RunLinks { feed: way("power", &sources).unwrap_or_default(), back: way("ground", &ends).unwrap_or_default() }
    }

    fn computed<D: crate::quantity::Dimension>(range: Range<D>, case: Case) -> Known<D> {
        Known::computed(range, case.words())
    }

    /// Drop in gear's own runs: feed and return with their fuses and joints, without the body.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where no run reaches it.
    pub fn run_drop(&self, gear: &str, case: Case) -> Decided<Known<Voltage>> {
        let runs = self.runs(gear)?;
        let solution = self.supply()?.solution(case)?;
        let sum = solution.voltage_sum(&[(runs.source, runs.power), (runs.ground, runs.end)]);
        Ok(Self::computed(sum, case))
    }

    /// Drop on the whole way from the battery that feeds gear to it and back, the body with it.
    ///
    /// # Errors
    /// As [`Job::run_drop`].
    pub fn whole_drop(&self, gear: &str, case: Case) -> Decided<Known<Voltage>> {
        let runs = self.runs(gear)?;
        let solution = self.supply()?.solution(case)?;
        let sum = solution.voltage_sum(&[(runs.source, runs.power), (runs.ground, runs.negative)]);
        Ok(Self::computed(sum, case))
    }

    /// Drop on the whole way back from gear to the nearest battery's negative post.
    ///
    /// # Errors
    /// As [`Job::run_drop`].
    pub fn return_drop(&self, gear: &str, case: Case) -> Decided<Known<Voltage>> {
        let runs = self.runs(gear)?;
        Ok(Self::computed(self.supply()?.solution(case)?.voltage(runs.ground, runs.negative), case))
    }

    /// Voltage between gear's supply terminals.
    ///
    /// # Errors
    /// As [`Job::run_drop`].
    pub fn terminal_voltage(&self, gear: &str, case: Case) -> Decided<Known<Voltage>> {
        let runs = self.runs(gear)?;
        Ok(Self::computed(self.supply()?.solution(case)?.voltage(runs.power, runs.ground), case))
    }

    /// Current in a wire, whichever way it flows, with what chargers draw and give through it while the engine runs.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn wire_current(&self, wire: &Thing<'_, Wire>, case: Case) -> Decided<Known<Current>> {
        // The supply first: what is missing for it is asked for even where the wire has an end missing.
        self.supply()?;
        self.link_current(self.wire_link(wire)?, case)
    }

    /// Current in a link of the graph, as [`Job::wire_current`].
    fn link_current(&self, link: usize, case: Case) -> Decided<Known<Current>> {
        let supply = self.supply()?;
        let edge = supply.edge(link).ok_or(Undecided::NotApplicable(JOINS_NOTHING))?;
        let current = flowing(supply.solution(case)?.current(edge));
        Ok(Self::computed(self.charging(link, case).beside(current), case))
    }

    /// What chargers do in a link.
    fn charging(&self, link: usize, case: Case) -> Charging {
        if case.engine_runs() { self.charger_current(link) } else { Charging::NONE }
    }

    /// Drop along a wire with its fuses and joints, whichever way the current flows, with what chargers draw and give.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn wire_drop(&self, wire: &Thing<'_, Wire>, case: Case) -> Decided<Known<Voltage>> {
        let supply = self.supply()?;
        let link = self.wire_link(wire)?;
        let drop = self.link_drop(link, case)?.range;
        let ohms = supply.edge(link).map(|edge| supply.network(case).edges[edge].resistance);
        let Charging { drawn, given } = self.charging(link, case);
        let drop = ohms.map_or(drop, |ohms| drop.max(given * ohms) + drawn * ohms);
        Ok(Self::computed(drop, case))
    }

    /// Drop along a link of the graph, whichever way the current flows.
    ///
    /// # Errors
    /// The facts that are missing; not applicable for a link that is not there.
    pub fn link_drop(&self, link: usize, case: Case) -> Decided<Known<Voltage>> {
        let supply = self.supply()?;
        let edge = supply.edge(link).ok_or(Undecided::NotApplicable(JOINS_NOTHING))?;
        let Edge { a, b, .. } = supply.network(case).edges[edge];
        Ok(Self::computed(supply.solution(case)?.voltage(a, b).magnitude(), case))
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

    /// What chargers do in a fuse while the engine runs.
    pub fn charger_through(&self, fuse: usize) -> Charging {
        let link = match self.protection().fuses.get(fuse).map(|site| site.host) {
            Some(Host::Wire { wire, .. }) => self.graph().wire(wire),
            Some(Host::Block(block)) => self.output_of(fuse, block),
            None => None,
        };
        link.map_or(Charging::NONE, |link| self.charger_current(link))
    }

    /// The link of the block's output that a fuse sits in.
    fn output_of(&self, fuse: usize, block: usize) -> Option<usize> {
        let place = &self.protection().fuses[fuse].place;
        self.graph().links.iter().position(|link: &Link| match &link.kind {
            LinkKind::Output(index, output) => {
                *index == block && *place == self.blocks[block].at(format!("outputs.{output}.fuse"))
            }
            _ => false,
        })
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
                let link = self.output_of(fuse, block);
                self.supply()?;
                self.link_current(link.ok_or(Undecided::NotApplicable("the fuse joins nothing"))?, case)
            }
        }
    }
}

/// The size of a current; what is only leakage of the solution is nothing.
fn flowing(range: Range<Current>) -> Range<Current> {
    range.magnitude().map(|amperes| if amperes < NO_CURRENT { 0.0 } else { amperes })
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    #[test]
    fn leakage_is_no_current_and_a_small_current_stays() {
        let of = |low, high| flowing(Range::<Current>::new(low, high));
        assert_eq!(of(1.3e-8, 1.7e-8), Range::point(0.0));
        assert_eq!(of(-2e-7, 5.0), Range::new(0.0, 5.0));
        assert_eq!(of(2e-6, 1e-3), Range::new(2e-6, 1e-3));
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

    /// A feed from the alternator's own post goes on to the battery by the factory's cable, which nobody laid for it: no
    /// run of wires joins that amplifier to a battery.
    #[test]
    fn the_factorys_charge_cable_is_no_part_of_a_feed() {
        let runs = |post: &str| {
            let plan = format!(
                "plan: 1\nvehicle: {{body: steel}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
                 back: {{from: amp.ground, to: grounds.floor}}\n  feed: {{from: {post}, to: amp.power}}\n"
            );
            of_job(&plan, |job| job.run_links("amp").feed.len())
        };
        assert_eq!(runs("battery.positive"), 1);
        assert_eq!(runs("alternator.positive"), 0);
    }

    /// A charger that draws 15 A from a battery with nothing else on it: its cable loses 15 A times its resistance.
    #[test]
    fn what_a_charger_draws_is_lost_along_its_cable() {
        let text = "plan: 1\nvehicle: {voltage: 24 V, body: steel}\nbatteries: {audio: {rest_voltage: 12.7 V}}\n\
                    isolators: {dcdc: {kind: charger, rated: 30 A}}\ngrounds: {frame: {}}\nwires:\n  \
                    charge: {from: battery.positive, to: dcdc.in, size: 16 mm2, length: 4 m, conductor: copper}\n  \
                    out: {from: dcdc.out, to: audio.positive, size: 16 mm2, length: 50 cm, conductor: copper}\n  \
                    link: {from: audio.negative, to: grounds.frame, size: 16 mm2, length: 40 cm, conductor: copper}\n";
        of_job(text, |job| {
            let charge = job.wires.iter().find(|wire| wire.name == "charge").expect("it is there");
            let lost = job.wire_drop(charge, Case::IdleFull).expect("stated").range;
            // 4 m of 16 mm2 have 4.3 mohm cold, and its joints something besides.
            assert!(lost.low() > 15.0 * 0.004 && lost.high() < 15.0 * 0.02, "{lost}");
        });
    }
}

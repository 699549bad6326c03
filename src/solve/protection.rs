//! The ways from every battery to every stretch of wire that it can feed: which fuses the current passes before it, and
//! which runs it feeds without one.

use super::facts::Facts;

use super::graph::{self, Graph, LinkKind};
use super::known::{self, Decided, Place, Thing, Undecided};
use crate::plan::{self, Battery, Zone};
use crate::quantity::{Length, Quantity, Range};

/// A fuse of the plan with where it sits.
#[derive(Debug, Clone)]
pub struct FuseSite {
    /// Its place, like `wires.main.fuse`.
    pub place: Place,
    /// The fuse.
    pub fuse: plan::Fuse,
    /// The wire it sits in, or on whose near end it sits inside a block.
    pub host: Host,
    /// Where it is, as far as the plan tells.
    pub zone: Option<Zone>,
}

/// What holds a fuse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Host {
    /// A wire, by its place in the job's list; `far` for the fuse near its `to` end.
    Wire {
        /// The wire's place in the job's list.
        wire: usize,
        /// Whether the fuse is the one near the `to` end.
        far: bool,
    },
    /// A distribution block, by its place in the job's list.
    Block(usize),
}

/// The way from a battery to the far end of one stretch of wire.
#[derive(Debug, Clone)]
pub struct Way {
    /// The battery, by its place among the sources (0 is the starting battery).
    pub source: usize,
    /// The wire, by its place in the job's list.
    pub wire: usize,
    /// Which stretch of the wire it is, counted from its `from` end, and whether current enters it from that end.
    pub stretch: (usize, bool),
    /// The fuses passed before this stretch, in order; behind a step-down converter those behind it, where there are any.
    pub fuses: Vec<usize>,
    /// The fuse on the same wire that ends this stretch.
    pub until: Option<usize>,
    /// What the current passes up to the far end of this stretch.
    pub passes: Vec<Pass>,
}

/// Something on a way.
#[derive(Debug, Clone, PartialEq)]
pub enum Pass {
    /// A stretch of a wire, in metres; `None` when the plan does not tell how long.
    Stretch(usize, Option<f64>),
    /// A joint of a wire.
    Joint(usize),
    /// A fuse.
    Fuse(usize),
    /// A block's output without a fuse, an isolator that closes.
    Contact,
    /// A charger between two batteries or a step-down converter, by its name: it gives what it is made for and no more,
    /// whatever lies behind it.
    Charger(String),
}

impl Way {
    /// Whether a charger stands in it, so that no battery drives a short at its end.
    pub fn is_limited(&self) -> bool {
        self.passes.iter().any(|pass| matches!(pass, Pass::Charger(_)))
    }

    /// Whether a charger stands in it behind a fuse.
    pub fn is_limited_behind(&self, fuse: usize) -> bool {
        let behind = self.passes.iter().skip_while(|pass| **pass != Pass::Fuse(fuse));
        behind.into_iter().any(|pass| matches!(pass, Pass::Charger(_)))
    }
}

/// The fact with which a stretch of a wire gets a length: that of the wire, or how far along it a fuse sits.
pub(super) fn unmeasured(wire: &Thing<'_, plan::Wire>) -> Place {
    let fuses = [("fuse.distance", &wire.fuse), ("far_fuse.distance", &wire.far_fuse)];
    let unplaced = |fuse: &Option<plan::Fuse>| fuse.as_ref().is_some_and(|fuse| fuse.distance.is_none());
    let unplaced = fuses.into_iter().find(|(_, fuse)| unplaced(fuse)).map(|(key, _)| key);
    wire.at(unplaced.filter(|_| wire.length.is_some()).unwrap_or("length"))
}

/// A run of conductors that a battery feeds without a fuse on the way.
#[derive(Debug, Clone)]
pub struct Exposure {
    /// The battery, by its place among the sources.
    pub source: usize,
    /// The wires of the run, in order, by their place in the job's list.
    pub wires: Vec<usize>,
    /// Its length, or the facts that are missing to tell.
    pub length: Decided<Range<Length>>,
    /// What ends it.
    pub end: ExposureEnd,
}

/// What ends a run without a fuse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExposureEnd {
    /// A fuse.
    Fuse(usize),
    /// Another battery's post.
    Battery,
    /// Gear, or an end that leads nowhere yet.
    Gear,
}

/// A battery that can feed wires.
#[derive(Debug, Clone)]
pub struct Feeder {
    /// Its place, like `vehicle.battery`.
    pub place: Place,
    /// What to call it.
    pub name: String,
    /// Its positive post.
    pub(super) node: usize,
    /// Its negative post, if anything is connected to it.
    pub(super) negative: Option<usize>,
    /// What the plan states of it.
    pub battery: Battery,
}

/// The protection of a whole job.
#[derive(Debug, Clone, Default)]
pub struct Protection {
    /// Every fuse of the plan.
    pub fuses: Vec<FuseSite>,
    /// Every battery, the starting battery first.
    pub feeders: Vec<Feeder>,
    /// Every way to every stretch.
    pub ways: Vec<Way>,
    /// Every run without a fuse.
    pub exposures: Vec<Exposure>,
    /// The ways that end in each wire, by their number.
    in_wire: Vec<Vec<usize>>,
}

/// More ways than any vehicle has; a plan that is a mesh is followed no further.
const MOST_WAYS: usize = 2000;

/// Follows the supply from every battery.
pub fn of(facts: &Facts<'_>, graph: &Graph) -> Protection {
    let mut protection = Protection { fuses: fuses(facts), feeders: feeders(facts, graph), ..Protection::default() };
    for source in 0..protection.feeders.len() {
        let node = protection.feeders[source].node;
        let walker = Walker {
            facts,
            graph,
            source,
            visited: vec![node],
            fuses: Vec::new(),
            is_stepped_down: false,
            passes: Vec::new(),
        };
        walker.from(node, &mut protection);
    }
    protection.in_wire = vec![Vec::new(); facts.wires.len()];
    for (number, way) in protection.ways.iter().enumerate() {
        protection.in_wire[way.wire].push(number);
    }
    protection
}

fn fuses(facts: &Facts<'_>) -> Vec<FuseSite> {
    let mut sites = Vec::new();
    for (index, wire) in facts.wires.iter().enumerate() {
        let ends =
            [("fuse", &wire.fuse, wire.path.first(), false), ("far_fuse", &wire.far_fuse, wire.path.last(), true)];
        for (key, fuse, zone, far) in ends {
            if let Some(fuse) = fuse {
                let host = Host::Wire { wire: index, far };
                sites.push(FuseSite { place: wire.at(key), fuse: fuse.clone(), host, zone: zone.copied() });
            }
        }
    }
    for (index, block) in facts.blocks.iter().enumerate() {
        for (name, output) in &block.outputs {
            if let Some(fuse) = &output.fuse {
                let place = block.at(format!("outputs.{name}.fuse"));
                sites.push(FuseSite { place, fuse: fuse.clone(), host: Host::Block(index), zone: block.location });
            }
        }
    }
    sites
}

impl Protection {
    /// The ways to the stretches of one wire.
    pub fn ways_in(&self, wire: usize) -> impl Iterator<Item = &Way> {
        self.in_wire.get(wire).into_iter().flatten().map(|number| &self.ways[*number])
    }

    /// The fuse that sits in a wire, near its `to` end or near its `from` end.
    fn fuse_on(&self, wire: usize, far: bool) -> Option<usize> {
        // Fuses in wires come before those in blocks, in the order of their wires.
        let is_before = |site: &FuseSite| matches!(site.host, Host::Wire { wire: other, .. } if other < wire);
        let first = self.fuses.partition_point(is_before);
        let own = self.fuses[first..].iter().take(2).position(|site| site.host == Host::Wire { wire, far });
        own.map(|at| first + at)
    }
}

fn feeders(facts: &Facts<'_>, graph: &Graph) -> Vec<Feeder> {
    let starting = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.clone()).unwrap_or_default();
    let mut feeders = vec![Feeder {
        place: Place::of("vehicle.battery"),
        name: "the starting battery".into(),
        node: graph::POSITIVE,
        negative: Some(graph::NEGATIVE),
        battery: starting,
    }];
    for (name, battery) in &facts.plan.batteries {
        if let Some(node) = graph.node(name, "positive") {
            let place = Place::of(format!("batteries.{name}"));
            let negative = graph.node(name, "negative");
            feeders.push(Feeder { place, name: format!("battery {name}"), node, negative, battery: battery.clone() });
        }
    }
    feeders
}

struct Walker<'a, 'plan> {
    facts: &'a Facts<'plan>,
    graph: &'a Graph,
    source: usize,
    visited: Vec<usize>,
    fuses: Vec<usize>,
    /// Whether a step-down converter was passed behind the last fuse.
    is_stepped_down: bool,
    passes: Vec<Pass>,
}

impl Walker<'_, '_> {
    /// Follows every link that leads on from a node.
    fn from(&self, node: usize, found: &mut Protection) {
        // Where many wires side by side end, none of them leads on to where they come from.
        if self.graph.beside(node).iter().all(|next| self.visited.contains(next)) {
            return self.expose(ExposureEnd::Gear, found);
        }
        let mut leads_on = false;
        for (link, next) in self.graph.around(node) {
            let kind = &self.graph.links[link].kind;
            if self.visited.contains(&next) || !kind.conducts() {
                continue;
            }
            // A charger or a converter lets nothing back from what is behind it.
            if matches!(kind, LinkKind::Isolator(name) if self.limits_current(name) && self.graph.node(name, "out") == Some(node))
            {
                continue;
            }
            if found.ways.len() >= MOST_WAYS {
                return;
            }
            leads_on = true;
            let forward = self.graph.links[link].a == node;
            let mut walker = Walker {
                facts: self.facts,
                graph: self.graph,
                source: self.source,
                visited: self.visited.clone(),
                fuses: self.fuses.clone(),
                is_stepped_down: self.is_stepped_down,
                passes: self.passes.clone(),
            };
            walker.visited.push(next);
            walker.through(kind, forward, found);
            let battery = found.feeders.iter().any(|feeder| feeder.node == next);
            if battery {
                walker.expose(ExposureEnd::Battery, found);
            } else if self.graph.is_negative(next) {
                // A short: what lies beyond leads back to the battery and is fed by nobody.
                walker.expose(ExposureEnd::Gear, found);
            } else {
                walker.from(next, found);
            }
        }
        if !leads_on {
            self.expose(ExposureEnd::Gear, found);
        }
    }

    /// Passes one link, stretch by stretch.
    fn through(&mut self, kind: &LinkKind, forward: bool, found: &mut Protection) {
        match kind {
            LinkKind::Wire(wire) => self.along(*wire, forward, found),
            LinkKind::Output(block, name) => {
                let place = self.facts.blocks[*block].at(format!("outputs.{name}.fuse"));
                match found.fuses.iter().position(|site| site.place == place) {
                    Some(fuse) => self.pass_fuse(fuse, found),
                    None => self.passes.push(Pass::Contact),
                }
            }
            LinkKind::Isolator(name) if self.limits_current(name) => {
                // Behind it flows what it gives and no more: the battery's own run ends here.
                self.expose(ExposureEnd::Gear, found);
                self.is_stepped_down |= self.facts.plan.isolators.get(name).is_some_and(plan::Isolator::is_step_down);
                self.passes.push(Pass::Charger(name.clone()));
            }
            _ => self.passes.push(Pass::Contact),
        }
    }

    fn limits_current(&self, isolator: &str) -> bool {
        self.facts.plan.isolators.get(isolator).is_some_and(plan::Isolator::limits_current)
    }

    fn along(&mut self, wire: usize, forward: bool, found: &mut Protection) {
        let thing = &self.facts.wires[wire];
        let length = thing.length.map(Quantity::base);
        let distance = |fuse: &Option<plan::Fuse>| fuse.as_ref().map(|fuse| fuse.distance.map(Quantity::base));
        let (near, far) = (distance(&thing.fuse), distance(&thing.far_fuse));
        let between = |taken: Option<f64>, rest: Option<f64>| {
            Some((length? - taken.unwrap_or(0.0) - rest.unwrap_or(0.0)).max(0.0))
        };
        let (first, last) = (found.fuse_on(wire, false), found.fuse_on(wire, true));
        // Stretches from `from` to `to`, with the fuse behind each.
        let mut stretches: Vec<(Option<f64>, Option<usize>)> = Vec::new();
        if let Some(distance) = near {
            stretches.push((distance, first));
        }
        stretches.push((between(near.flatten(), far.flatten()), last));
        if let Some(distance) = far {
            stretches.push((distance, None));
        }
        if !forward {
            let fuses: Vec<Option<usize>> = stretches.iter().map(|(_, fuse)| *fuse).collect();
            stretches.reverse();
            for (at, stretch) in stretches.iter_mut().enumerate() {
                stretch.1 = fuses.len().checked_sub(at + 2).and_then(|before| fuses[before]);
            }
        }
        self.passes.push(Pass::Joint(wire));
        let last = stretches.len() - 1;
        for (at, (metres, fuse)) in stretches.into_iter().enumerate() {
            self.passes.push(Pass::Stretch(wire, metres));
            found.ways.push(Way {
                source: self.source,
                wire,
                stretch: (if forward { at } else { last - at }, forward),
                fuses: self.fuses.clone(),
                until: fuse,
                passes: self.passes.clone(),
            });
            if let Some(fuse) = fuse {
                self.passes.push(Pass::Joint(wire));
                self.pass_fuse(fuse, found);
                self.passes.push(Pass::Joint(wire));
            }
        }
        self.passes.push(Pass::Joint(wire));
    }

    fn pass_fuse(&mut self, fuse: usize, found: &mut Protection) {
        self.expose(ExposureEnd::Fuse(fuse), found);
        // Those before a converter see another current: behind it the first fuse begins anew.
        if std::mem::take(&mut self.is_stepped_down) {
            self.fuses.clear();
        }
        self.fuses.push(fuse);
        self.passes.push(Pass::Fuse(fuse));
    }

    /// Notes the run up to here, if no fuse was passed yet.
    fn expose(&self, end: ExposureEnd, found: &mut Protection) {
        let is_limited = self.passes.iter().any(|pass| matches!(pass, Pass::Charger(_)));
        if !self.fuses.is_empty() || self.passes.is_empty() || is_limited {
            return;
        }
        let mut wires: Vec<usize> = Vec::new();
        for pass in &self.passes {
            if let Pass::Stretch(wire, _) = pass
                && wires.last() != Some(wire)
            {
                wires.push(*wire);
            }
        }
        let length = self.run_length(end, found);
        let same = |known: &Exposure| known.source == self.source && known.end == end && known.wires == wires;
        if !found.exposures.iter().any(same) {
            found.exposures.push(Exposure { source: self.source, wires, length, end });
        }
    }

    fn run_length(&self, end: ExposureEnd, found: &Protection) -> Decided<Range<Length>> {
        let stretches = self.passes.iter().filter_map(|pass| match pass {
            Pass::Stretch(wire, metres) => Some((*wire, *metres)),
            _ => None,
        });
        let lengths = stretches.map(|(wire, metres)| {
            metres.ok_or_else(|| {
                let site = match end {
                    ExposureEnd::Fuse(fuse) => Some(&found.fuses[fuse]),
                    _ => None,
                };
                let own = site.filter(|site| matches!(site.host, Host::Wire { wire: host, .. } if host == wire));
                match own {
                    Some(site) if site.fuse.distance.is_none() => Undecided::need(site.place.sub("distance")),
                    _ => Undecided::need(unmeasured(&self.facts.wires[wire])),
                }
            })
        });
        let lengths = known::all(lengths)?;
        let own = match end {
            ExposureEnd::Fuse(fuse) => found.fuses[fuse].fuse.distance,
            ExposureEnd::Battery | ExposureEnd::Gear => None,
        };
        let wire = self.passes.iter().find_map(|pass| match pass {
            Pass::Stretch(wire, _) => self.facts.wires[*wire].length,
            _ => None,
        });
        let metres: f64 = lengths.iter().sum();
        // What is longer than its wires is told in metres, not in hundreds of centimetres.
        let as_written = own
            .or(wire)
            .filter(|length| metres < 1.0 || length.unit().is_none_or(|unit| !unit.shown || unit.scale >= 1.0));
        Ok(Range::point(metres).like(as_written))
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    /// Each of four hundred wires side by side is one way, and none goes on through the others.
    #[test]
    fn wires_side_by_side_are_one_way_each() {
        let wire = |at: usize| {
            let fuse = if at.is_multiple_of(2) { ", fuse: {rating: 60 A, distance: 20 cm}" } else { "" };
            format!("  w{at:03}: {{from: battery.positive, to: amp.power, length: 4 m{fuse}}}\n")
        };
        let plan = format!("plan: 1\nwires:\n{}", (0..400).map(wire).collect::<String>());
        of_job(&plan, |job| {
            let protection = job.protection();
            let ends = |wire: usize| protection.ways_in(wire).map(|way| way.fuses.clone()).collect::<Vec<_>>();
            for wire in 0..400 {
                let (fuse, alone) = (vec![vec![], vec![wire / 2]], vec![vec![]]);
                assert_eq!(ends(wire), if wire.is_multiple_of(2) { fuse } else { alone }, "{wire}");
            }
            assert_eq!((protection.ways.len(), protection.exposures.len()), (600, 400));
            assert_eq!(job.ways_to_gear("amp").len(), 400);
        });
    }

    /// What lies between two fuses of a wire is its length less both their distances.
    #[test]
    fn fuses_at_both_ends_leave_the_middle_between_them() {
        let plan = "plan: 1\nwires: {feed: {from: battery.positive, to: amp.power, length: 4 m, \
                    fuse: {distance: 20 cm}, far_fuse: {distance: 50 cm}}}\n";
        of_job(plan, |job| {
            let passes = &job.protection().ways.last().expect("a way").passes;
            let metres: Vec<f64> = passes
                .iter()
                .filter_map(|pass| if let Pass::Stretch(_, metres) = pass { *metres } else { None })
                .collect();
            assert_eq!(metres.len(), 3);
            for (found, stated) in metres.iter().zip([0.2, 3.3, 0.5]) {
                assert!((found - stated).abs() < 1e-12, "{metres:?}");
            }
        });
    }

    /// Stretches are counted from the `from` end of their wire, whichever way a battery feeds it.
    #[test]
    fn stretches_keep_their_numbers_against_the_wires_direction() {
        let ends = ["from: battery.positive, to: amp.power", "from: amp.power, to: battery.positive"];
        let found = ends.map(|ends| {
            let plan = format!(
                "plan: 1\nwires: {{feed: {{{ends}, length: 4 m, fuse: {{distance: 20 cm}}, far_fuse: {{distance: 50 cm}}}}}}\n"
            );
            of_job(&plan, |job| job.protection().ways.iter().map(|way| way.stretch).collect::<Vec<_>>())
        });
        assert_eq!(found[0], [(0, true), (1, true), (2, true)]);
        assert_eq!(found[1], [(2, false), (1, false), (0, false)]);
    }

    /// A run is told once, by however many contacts of a block it ends in nothing; one that ends elsewhere is another.
    #[test]
    fn a_run_without_a_fuse_is_told_once_for_each_end() {
        let runs = |outputs: &str| {
            let plan = format!(
                "plan: 1\nblocks: {{split: {{outputs: {{{outputs}}}}}}}\n\
                 wires: {{main: {{from: battery.positive, to: split.in, length: 1 m}}}}\n"
            );
            of_job(&plan, |job| job.protection().exposures.iter().map(|run| run.end).collect::<Vec<_>>())
        };
        assert_eq!(runs("one: {}, two: {}"), [ExposureEnd::Gear]);
        assert_eq!(runs("one: {fuse: {rating: 30 A}}, two: {}"), [ExposureEnd::Fuse(0), ExposureEnd::Gear]);
    }

    /// 50 cm and 4.5 m are 5 m.
    #[test]
    fn a_long_run_of_short_wires_is_told_in_metres() {
        let plan = "plan: 1\nbatteries: {aux: {}}\nisolators: {part: {kind: relay}}\nwires:\n  \
                    a: {from: battery.positive, to: part.in, length: 4.5 m, fuse: {rating: 60 A, distance: 0 cm}}\n  \
                    b: {from: part.out, to: aux.positive, length: 50 cm}\n";
        let told = of_job(plan, |job| {
            let runs = job.protection().exposures.iter().filter(|run| run.source == 1);
            runs.map(|run| run.length.clone().expect("stated").to_string()).collect::<Vec<_>>()
        });
        assert_eq!(told, ["5 m"]);
    }

    /// In feet and inches, as its wire and its fuse are written.
    #[test]
    fn a_run_is_told_in_the_unit_of_its_wire() {
        let told = |feed: &str| {
            let plan = format!("plan: 1\nwires: {{feed: {{from: battery.positive, to: amp.power, {feed}}}}}\n");
            of_job(&plan, |job| job.protection().exposures[0].length.clone().expect("stated").to_string())
        };
        assert_eq!(told("length: 12 ft"), "12 ft");
        assert_eq!(told("length: 12 ft, fuse: {distance: 20 in}"), "20 in");
    }

    /// No battery drives a short through a charger.
    #[test]
    fn a_way_is_limited_from_a_charger_on() {
        let ways = |kind: &str| {
            let plan = format!(
                "plan: 1\nisolators: {{dcdc: {{kind: {kind}}}}}\nwires:\n  in: {{from: battery.positive, to: dcdc.in}}\n  \
                 out: {{from: dcdc.out, to: amp.power}}\n"
            );
            of_job(&plan, |job| job.protection().ways.iter().map(Way::is_limited).collect::<Vec<_>>())
        };
        assert_eq!((ways("charger"), ways("relay")), (vec![false, true], vec![false, false]));
    }
}

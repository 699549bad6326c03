//! Which fuses protect which stretch of which wire, from every battery that can feed it.

use super::graph;
use super::graph::{Graph, LinkKind};
use super::job::Job;
use super::known::{self, Decided, Place, Undecided};
use crate::plan::{self, Battery, Zone};
use crate::quantity::{Current, Length, Quantity, Range, Resistance, Temperature, Voltage};

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
    /// The fuses passed before this stretch, in order.
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
    /// A block's output without a fuse, an isolator.
    Contact,
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
    node: usize,
    battery: Battery,
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
}

/// More ways than any vehicle has; a plan that is a mesh is followed no further.
const MOST_WAYS: usize = 2000;

/// Follows the supply from every battery.
pub fn of(job: &Job<'_>) -> Protection {
    let graph = job.graph();
    let mut protection = Protection { fuses: fuses(job), feeders: feeders(job, graph), ..Protection::default() };
    for source in 0..protection.feeders.len() {
        let node = protection.feeders[source].node;
        let walker = Walker { job, graph, source, visited: vec![node], fuses: Vec::new(), passes: Vec::new() };
        walker.from(node, &mut protection);
    }
    protection
}

fn fuses(job: &Job<'_>) -> Vec<FuseSite> {
    let mut sites = Vec::new();
    for (index, wire) in job.wires.iter().enumerate() {
        let ends =
            [("fuse", &wire.fuse, wire.path.first(), false), ("far_fuse", &wire.far_fuse, wire.path.last(), true)];
        for (key, fuse, zone, far) in ends {
            if let Some(fuse) = fuse {
                let host = Host::Wire { wire: index, far };
                sites.push(FuseSite { place: wire.at(key), fuse: fuse.clone(), host, zone: zone.copied() });
            }
        }
    }
    for (index, block) in job.blocks.iter().enumerate() {
        for (name, output) in &block.outputs {
            if let Some(fuse) = &output.fuse {
                let place = block.at(format!("outputs.{name}.fuse"));
                sites.push(FuseSite { place, fuse: fuse.clone(), host: Host::Block(index), zone: block.location });
            }
        }
    }
    sites
}

fn feeders(job: &Job<'_>, graph: &Graph) -> Vec<Feeder> {
    let starting = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.clone()).unwrap_or_default();
    let mut feeders = vec![Feeder {
        place: Place::of("vehicle.battery"),
        name: "the starting battery".into(),
        node: graph::POSITIVE,
        battery: starting,
    }];
    for (name, battery) in &job.plan.batteries {
        if let Some(node) = graph.node(name, "positive") {
            let place = Place::of(format!("batteries.{name}"));
            feeders.push(Feeder { place, name: format!("battery {name}"), node, battery: battery.clone() });
        }
    }
    feeders
}

struct Walker<'a, 'job> {
    job: &'a Job<'job>,
    graph: &'a Graph,
    source: usize,
    visited: Vec<usize>,
    fuses: Vec<usize>,
    passes: Vec<Pass>,
}

impl Walker<'_, '_> {
    /// Follows every link that leads on from a node.
    fn from(&self, node: usize, found: &mut Protection) {
        let mut leads_on = false;
        for (link, next) in self.graph.around(node) {
            let kind = &self.graph.links[link].kind;
            if self.visited.contains(&next) || matches!(kind, LinkKind::Ground(_) | LinkKind::Body) {
                continue;
            }
            if found.ways.len() >= MOST_WAYS {
                return;
            }
            leads_on = true;
            let forward = self.graph.links[link].a == node;
            let mut walker = Walker {
                job: self.job,
                graph: self.graph,
                source: self.source,
                visited: self.visited.clone(),
                fuses: self.fuses.clone(),
                passes: self.passes.clone(),
            };
            walker.visited.push(next);
            walker.through(kind, forward, found);
            let battery = found.feeders.iter().any(|feeder| feeder.node == next);
            if battery {
                walker.expose(ExposureEnd::Battery, found);
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
                let place = self.job.blocks[*block].at(format!("outputs.{name}.fuse"));
                match found.fuses.iter().position(|site| site.place == place) {
                    Some(fuse) => self.pass_fuse(fuse, found),
                    None => self.passes.push(Pass::Contact),
                }
            }
            _ => self.passes.push(Pass::Contact),
        }
    }

    fn along(&mut self, wire: usize, forward: bool, found: &mut Protection) {
        let thing = &self.job.wires[wire];
        let length = thing.length.map(Quantity::base);
        let distance = |fuse: &Option<plan::Fuse>| fuse.as_ref().map(|fuse| fuse.distance.map(Quantity::base));
        let (near, far) = (distance(&thing.fuse), distance(&thing.far_fuse));
        let between = |taken: Option<f64>, rest: Option<f64>| {
            Some((length? - taken.unwrap_or(0.0) - rest.unwrap_or(0.0)).max(0.0))
        };
        let site = |far| found.fuses.iter().position(|site| site.host == Host::Wire { wire, far });
        let (first, last) = (site(false), site(true));
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
        self.fuses.push(fuse);
        self.passes.push(Pass::Fuse(fuse));
    }

    /// Notes the run up to here, if no fuse was passed yet.
    fn expose(&self, end: ExposureEnd, found: &mut Protection) {
        if !self.fuses.is_empty() || self.passes.is_empty() {
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
                    Some(site) if site.fuse.distance.is_none() => {
                        Undecided::need(super::facts::sub(&site.place, "distance"))
                    }
                    _ => Undecided::need(self.job.wires[wire].at("length")),
                }
            })
        });
        known::all(lengths).map(|lengths| Range::point(lengths.iter().sum()))
    }
}

impl Job<'_> {
    /// The fuse with the smallest rating among some.
    pub fn smallest_fuse(&self, fuses: &[usize]) -> Option<usize> {
        let protection = self.protection();
        let rated = fuses.iter().filter_map(|fuse| Some((*fuse, protection.fuses[*fuse].fuse.rating?.base())));
        rated.min_by(|one, other| one.1.total_cmp(&other.1)).map(|(fuse, _)| fuse)
    }

    /// The wires that a fuse alone protects on some way: no smaller one is before them. By their place in the list.
    pub fn protected_by(&self, fuse: usize) -> Vec<usize> {
        let mut wires: Vec<usize> = self.ways_behind(fuse).map(|way| way.wire).collect();
        wires.sort_unstable();
        wires.dedup();
        wires
    }

    /// The ways on which a fuse is the smallest, but for those to a branch's own fuse near its start.
    pub fn ways_behind(&self, fuse: usize) -> impl Iterator<Item = &Way> {
        let ways = self.protection().ways.iter();
        ways.filter(move |way| self.smallest_fuse(&way.fuses) == Some(fuse) && !self.leads_to_its_fuse(way))
    }

    /// Whether a stretch is the start of a branch, no longer than a battery may be from its fuse, before the branch's own.
    fn leads_to_its_fuse(&self, way: &Way) -> bool {
        let fuses = &self.protection().fuses;
        let own = |fuse: usize| matches!(fuses[fuse].host, Host::Wire { wire, .. } if wire == way.wire);
        let near = |metres: f64| metres <= self.house.limits.fuse_distance.base() * (1.0 + 1e-9);
        let Some(Pass::Stretch(_, Some(metres))) = way.passes.last() else { return false };
        way.until.is_some() && way.fuses.last().is_some_and(|last| !own(*last)) && near(*metres)
    }

    /// The fuses that can feed a stretch at once from the end where a way enters it, side by side, and what they let
    /// through together: no more than a fuse that all of that current passes. `None` where a rating is not stated.
    pub fn let_through(&self, way: &Way) -> Option<(Vec<usize>, Quantity<Current>)> {
        let fuses = &self.protection().fuses;
        let rating = |fuse: &usize| fuses[*fuse].fuse.rating;
        let beside = |other: &&Way| other.wire == way.wire && other.stretch == way.stretch;
        let ways: Vec<&Way> = self.protection().ways.iter().filter(beside).collect();
        let mut side_by_side: Vec<usize> = ways.iter().filter_map(|way| self.smallest_fuse(&way.fuses)).collect();
        side_by_side.sort_unstable();
        side_by_side.dedup();
        let ratings: Option<Vec<_>> = side_by_side.iter().map(rating).collect();
        let sum: f64 = ratings?.into_iter().map(Quantity::base).sum();
        let common = way.fuses.iter().filter(|fuse| ways.iter().all(|other| other.fuses.contains(fuse)));
        let most = common.filter_map(rating).map(Quantity::base).fold(sum, f64::min);
        let first = rating(side_by_side.first()?)?;
        Some((side_by_side, first.with_base(most)))
    }

    /// The battery from which a fuse is nearest along the wire, and the length of that run.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where no battery reaches it without another fuse.
    pub fn fuse_distance(&self, fuse: usize) -> Decided<(usize, Range<Length>)> {
        let runs = self.protection().exposures.iter().filter(|run| run.end == ExposureEnd::Fuse(fuse));
        let lengths = known::all(runs.map(|run| run.length.clone().map(|length| (run.source, length))))?;
        lengths
            .into_iter()
            .min_by(|one, other| one.1.high().total_cmp(&other.1.high()))
            .ok_or(Undecided::NotApplicable("another fuse stands between every battery and this one"))
    }

    /// The runs without a fuse by which a battery feeds a wire and for which no fuse of its own is meant: without a
    /// length where no fuse ends them, with the length to a fuse that is nearer to another battery.
    pub fn unfused_runs(&self, wire: usize) -> Vec<(&Exposure, Option<Decided<Range<Length>>>)> {
        let runs = self.protection().exposures.iter().filter(|run| run.wires.contains(&wire));
        let length = |run: &Exposure, fuse| match self.fuse_distance(fuse) {
            Ok((nearest, _)) if nearest == run.source => None,
            Ok(_) => Some(run.length.clone()),
            Err(undecided) => Some(Err(undecided)),
        };
        runs.filter_map(|run| match run.end {
            ExposureEnd::Fuse(fuse) => length(run, fuse).map(|length| (run, Some(length))),
            ExposureEnd::Battery | ExposureEnd::Gear => Some((run, None)),
        })
        .collect()
    }

    /// The current through a short to the body at the far end of a way.
    ///
    /// The lower end takes every resistance at its upper end, the body included; the upper end takes a short right to
    /// the battery's strap.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn fault_current(&self, way: &Way) -> Decided<Range<Current>> {
        let multiple = self.system_multiple()?;
        let (emf, source) = self.source(way.source, multiple);
        let passes = self.passes_resistance(&way.passes)?;
        let back = super::resistance::body(self).range;
        let least = source + passes + back;
        let most = source + passes;
        Ok(Range::new(emf.low() / least.high(), emf.high() / most.low()))
    }

    /// The current through a short right behind a fuse, which the fuse has to interrupt.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where no battery reaches the fuse.
    pub fn fault_behind(&self, fuse: usize) -> Decided<Range<Current>> {
        let multiple = self.system_multiple()?;
        let protection = self.protection();
        let mut largest: Option<Range<Current>> = None;
        for way in &protection.ways {
            let Some(at) = way.passes.iter().position(|pass| *pass == Pass::Fuse(fuse)) else { continue };
            let (emf, source) = self.source(way.source, multiple);
            let passes = self.passes_resistance(&way.passes[..at])?;
            let total = source + passes;
            let current = Range::new(emf.low() / total.high(), emf.high() / total.low());
            largest = Some(largest.map_or(current, |known| known.max(current)));
        }
        largest.ok_or(Undecided::NotApplicable("no battery feeds this fuse"))
    }

    /// A battery's voltage at rest and its internal resistance.
    fn source(&self, source: usize, multiple: f64) -> (Range<Voltage>, Range<Resistance>) {
        let feeder = &self.protection().feeders[source];
        (
            self.rest_voltage(&feeder.battery, &feeder.place, multiple).range,
            self.battery_resistance(&feeder.battery, &feeder.place, multiple).range,
        )
    }

    /// Resistance of everything on a way: conductors from cold to their insulation's limit, joints, cold fuses.
    fn passes_resistance(&self, passes: &[Pass]) -> Decided<Range<Resistance>> {
        const COLD: f64 = 20.0;
        let parts = passes.iter().map(|pass| match pass {
            Pass::Stretch(wire, metres) => {
                let wire = &self.wires[*wire];
                let metres = metres.ok_or_else(|| Undecided::need(wire.at("length")))?;
                let temperature = Range::<Temperature>::new(COLD, self.insulation(wire).range.high());
                self.conductor_resistance(wire, Range::point(metres), temperature)
            }
            Pass::Joint(wire) => Ok(self.joint(&self.wires[*wire]).range),
            Pass::Fuse(fuse) => {
                let site = &self.protection().fuses[*fuse];
                self.fuse_resistance(&site.fuse, &site.place).map(|known| known.range)
            }
            Pass::Contact => Ok(self.house.assumptions.joint.range),
        });
        known::all(parts).map(|parts| parts.into_iter().sum())
    }

    /// The ways from every battery to the far end of a wire, all its own fuses passed.
    pub fn ways_to(&self, wire: usize) -> Vec<&Way> {
        let ways = self.protection().ways.iter().filter(|way| way.wire == wire);
        let goes_on = |way: &Way| {
            let longer = |other: &Way| other.passes.len() > way.passes.len() && other.passes.starts_with(&way.passes);
            self.protection().ways.iter().any(|other| other.wire == wire && other.source == way.source && longer(other))
        };
        ways.filter(|way| !goes_on(way)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    const WIRE: &str = "size: 4 AWG, conductor: copper, stranding: solid, insulation: 75 C, joint_resistance: 0.5 mohm";

    fn fuse(distance: &str) -> String {
        format!("{{form: bolt-down, rating: 100 A, resistance: 0.4 mohm{distance}}}")
    }

    /// 12.6 V behind 5 mohm; a feed of 4 m with a fuse at its end, and a body of 2 mohm to come back by.
    fn feed(fuses: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 2 mohm, \
             battery: {{internal_resistance: 5 mohm, rest_voltage: 12.6 V}}}}\n\
             wires: {{feed: {{from: battery.positive, to: amp.power, length: 4 m, {WIRE}{fuses}}}}}\n"
        )
    }

    /// A short at the far end is least where all is warm and the body lies in the way, most right at the strap: 4 m of
    /// 21.15 mm2 at 0.017241 ohm mm2/m are 3.26 mohm at 20 C and 21.6 % more at 75 C. The joint at the post is in it.
    #[test]
    fn the_body_and_the_heat_make_a_fault_smaller() {
        of_job(&feed(""), |job| {
            let ways = job.ways_to(0);
            let found = job.fault_current(ways[0]).expect("stated");
            let metal = 4.0 * 0.017_241 / 21.15;
            let (cold, warm) = (0.005 + 0.0005 + metal, 0.005 + 0.0005 + metal * (1.0 + 0.003_93 * 55.0) + 0.002);
            assert!((found.high() / (12.6 / cold) - 1.0).abs() < 0.002, "{found}");
            assert!((found.low() / (12.6 / warm) - 1.0).abs() < 0.002, "{found}");
        });
    }

    /// What lies between two fuses of a wire is its length less both their distances.
    #[test]
    fn fuses_at_both_ends_leave_the_middle_between_them() {
        let plan = feed(&format!(", fuse: {}, far_fuse: {}", fuse(", distance: 20 cm"), fuse(", distance: 50 cm")));
        of_job(&plan, |job| {
            let passes = &job.ways_to(0)[0].passes;
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

    /// A fuse protects what lies behind it, and neither the wire before it nor one beside it.
    #[test]
    fn a_fuse_protects_what_lies_behind_it_alone() {
        let plan = format!(
            "plan: 1\nblocks: {{split: {{outputs: {{one: {{fuse: {}}}, two: {{}}}}}}}}\nwires:\n  \
             a_main: {{from: battery.positive, to: split.in}}\n  b_one: {{from: split.one, to: amp.power}}\n  \
             c_two: {{from: split.two, to: other.power}}\n",
            fuse("")
        );
        of_job(&plan, |job| {
            let names = |fuse| job.protected_by(fuse).into_iter().map(|wire| job.wires[wire].name).collect::<Vec<_>>();
            assert_eq!(job.protection().fuses.len(), 1);
            assert_eq!(names(0), ["b_one"]);
        });
    }

    /// Two batteries on one wire, a fuse near the first only: from the second all of the wire is without a fuse.
    #[test]
    fn every_battery_has_its_own_unfused_run() {
        let plan = format!(
            "plan: 1\nbatteries: {{rear: {{}}}}\nwires: {{link: {{from: battery.positive, to: rear.positive, length: 4 m, \
             {WIRE}, fuse: {}}}}}\n",
            fuse(", distance: 20 cm")
        );
        of_job(&plan, |job| {
            let runs = &job.protection().exposures;
            let found: Vec<(usize, f64)> =
                runs.iter().map(|run| (run.source, run.length.clone().expect("stated").high())).collect();
            assert_eq!(found, [(0, 0.2), (1, 3.8)]);
            assert_eq!(job.fuse_distance(0).expect("stated").0, 0);
            assert_eq!(job.unfused_runs(0).len(), 1);
        });
    }
}

//! What several batteries drive through a short behind a fuse together.

use std::collections::{BTreeMap, BTreeSet};

use super::graph::{BODY, LinkKind, NEGATIVE};
use super::job::Job;
use super::known::{self, Decided, Undecided};
use super::network::factor::{Matrix, Pattern};
use super::protection::{FuseSite, Host, unmeasured};
use super::resistance::of_link;
use super::side_by_side::{CONTACT, without_dead_ends};
use crate::plan::Isolator;
use crate::quantity::{Current, Range, Resistance, Temperature};

/// Conductors are coldest, and resist least, at about room temperature, in C.
const COLD: f64 = 20.0;
/// What joins every terminal with the short, in siemens, so that none floats: far less than anything in a vehicle.
const LEAK: f64 = 1e-9;

/// A short right behind a fuse, with what feeds it: the link of the fuse is cut there, and both its parts end in the short.
struct Short<'j, 'plan> {
    job: &'j Job<'plan>,
    /// The link in which the fuse sits.
    cut: usize,
    /// The ends of that link from which a battery is reached.
    ends: Vec<(usize, Range<Resistance>)>,
    /// The batteries that feed it, by their place among the sources.
    feeders: Vec<usize>,
    /// The links between them and the fuse.
    between: Vec<(usize, Range<Resistance>)>,
}

/// A battery as a source: its posts, and what it drives behind what resistance.
type Source = ([usize; 2], f64, f64);
/// What joins two terminals, in ohm.
type Joins = ([usize; 2], f64);

/// The current through a short right behind a fuse that more than one battery feeds, relays and switches closed; nothing
/// where one battery at most does. The higher end takes it right at the straps of all batteries, as for one; the lower end
/// has each battery's way back over its own wires and the body in it.
///
/// # Errors
/// The facts that are missing.
pub(super) fn behind(job: &Job<'_>, fuse: usize) -> Decided<Option<Range<Current>>> {
    let Some(short) = Short::of(job, &job.protection().fuses[fuse])? else { return Ok(None) };
    let sources = short.feeders.iter().map(|feeder| job.source(*feeder));
    let sources = known::all(sources)?;
    let most = {
        let posts = short.feeders.iter().map(|feeder| [job.protection().feeders[*feeder].node, NEGATIVE]);
        let sources: Vec<Source> =
            posts.zip(&sources).map(|(posts, (emf, ohms))| (posts, emf.high(), ohms.low())).collect();
        let joins: Vec<Joins> = short.between.iter().map(|(link, ohms)| (short.ends_of(*link), ohms.low())).collect();
        short.driven(&sources, &joins, NEGATIVE, Range::low)
    };
    let least = {
        let posts = short.feeders.iter().map(|feeder| {
            let feeder = &job.protection().feeders[*feeder];
            feeder.negative.map(|negative| [feeder.node, negative])
        });
        let sources: Vec<Source> =
            posts.zip(&sources).filter_map(|(posts, (emf, ohms))| Some((posts?, emf.low(), ohms.high()))).collect();
        let has_body = job.graph().links.iter().any(|link| link.kind == LinkKind::Body);
        let at = if has_body { BODY } else { NEGATIVE };
        short.driven(&sources, &short.with_returns(), at, Range::high)
    };
    Ok(Some(Range::new(least.min(most), most)))
}

impl<'j, 'plan> Short<'j, 'plan> {
    fn of(job: &'j Job<'plan>, site: &FuseSite) -> Decided<Option<Self>> {
        let (graph, feeders) = (job.graph(), &job.protection().feeders);
        let Some(cut) = job.link_of(site).filter(|_| feeders.len() > 1) else { return Ok(None) };
        let sides = sides(job, cut);
        if sides.iter().all(|side| side.feeders.len() < 2) {
            return Ok(None);
        }
        let fed: Vec<(usize, &Side)> = sides.iter().enumerate().filter(|(_, side)| !side.feeders.is_empty()).collect();
        let ends = known::all(fed.iter().map(|(at, side)| Ok((side.node, part_of(job, site, *at)?))))?;
        let nodes: BTreeSet<usize> = fed.iter().flat_map(|(_, side)| side.reached.iter().copied()).collect();
        let found: BTreeSet<usize> = fed.iter().flat_map(|(_, side)| side.feeders.iter().copied()).collect();
        let inside = |link: &super::graph::Link| {
            passes(job, cut, &link.kind)
                && [link.a, link.b].iter().all(|node| nodes.contains(node) && !graph.is_negative(*node))
        };
        let mut links: BTreeSet<usize> = (0..graph.links.len()).filter(|at| inside(&graph.links[*at])).collect();
        let keep: Vec<usize> = found.iter().map(|at| feeders[*at].node).chain(ends.iter().map(|end| end.0)).collect();
        without_dead_ends(graph, &mut links, &keep);
        let temperatures = temperatures(job);
        let between = links.into_iter().map(|at| Ok((at, of_link(job, &graph.links[at], &temperatures, true)?)));
        let between = known::all(between)?;
        Ok(Some(Self { job, cut, ends, feeders: found.into_iter().collect(), between }))
    }

    fn ends_of(&self, link: usize) -> [usize; 2] {
        let link = &self.job.graph().links[link];
        [link.a, link.b]
    }

    /// The links between batteries and fuse, and all others of which the plan tells what they resist: wires back, grounds, the
    /// body. One that is left out only makes the current smaller.
    fn with_returns(&self) -> Vec<Joins> {
        let graph = self.job.graph();
        let temperatures = temperatures(self.job);
        let known: BTreeSet<usize> = self.between.iter().map(|(link, _)| *link).chain([self.cut]).collect();
        let back = graph.links.iter().enumerate().filter(|(at, link)| {
            !known.contains(at) && !matches!(link.kind, LinkKind::Isolator(_) | LinkKind::ChargeCable)
        });
        let back = back.filter_map(|(at, link)| {
            let ohms = of_link(self.job, link, &temperatures, true).ok()?;
            Some((self.ends_of(at), ohms.high()))
        });
        self.between.iter().map(|(link, ohms)| (self.ends_of(*link), ohms.high())).chain(back).collect()
    }

    /// What flows through the fuse, the more of both directions, with the short at a terminal of the negative side.
    fn driven(&self, sources: &[Source], joins: &[Joins], at: usize, end: fn(Range<Resistance>) -> f64) -> f64 {
        let shorts: Vec<Joins> = self.ends.iter().map(|(node, ohms)| ([*node, at], end(*ohms))).collect();
        let all: Vec<Joins> = joins.iter().chain(&shorts).copied().collect();
        let volts = potentials(sources, &all, at);
        let through =
            shorts.iter().map(|([node, _], ohms)| volts.get(node).copied().unwrap_or(0.0) / ohms.max(CONTACT));
        through.fold(0.0, f64::max)
    }
}

/// Whether a short comes through a link: a charger or a converter lets through what it is made for and no short, and
/// another way than the fuse's own is meant.
fn passes(job: &Job<'_>, cut: usize, kind: &LinkKind) -> bool {
    match kind {
        LinkKind::Isolator(name) => !job.plan.isolators.get(name).is_some_and(Isolator::limits_current),
        other => other.conducts() && *other != job.graph().links[cut].kind,
    }
}

/// One end of a fuse's link.
struct Side {
    /// Its terminal.
    node: usize,
    /// The terminals that are reached from there past the fuse.
    reached: BTreeSet<usize>,
    /// The batteries among them, by their place among the sources.
    feeders: Vec<usize>,
}

/// Both ends of a fuse's link.
fn sides(job: &Job<'_>, cut: usize) -> [Side; 2] {
    let (graph, feeders) = (job.graph(), &job.protection().feeders);
    let negatives: Vec<usize> = (0..graph.terminals.len()).filter(|node| graph.is_negative(*node)).collect();
    [graph.links[cut].a, graph.links[cut].b].map(|node| {
        let reached = graph.joined_within(&[node], &negatives, |kind| passes(job, cut, kind));
        let feeders = (0..feeders.len()).filter(|at| reached.contains(&feeders[*at].node)).collect();
        Side { node, reached, feeders }
    })
}

impl Job<'_> {
    /// The batteries that drive a short behind a fuse, by their place among the sources.
    pub fn batteries_behind(&self, fuse: usize) -> BTreeSet<usize> {
        let cut = self.link_of(&self.protection().fuses[fuse]);
        cut.into_iter().flat_map(|cut| sides(self, cut)).flat_map(|side| side.feeders).collect()
    }
}

/// What resists between one end of a fuse's link and the fuse: the first end, or the other.
fn part_of(job: &Job<'_>, site: &FuseSite, end: usize) -> Decided<Range<Resistance>> {
    let Host::Wire { wire, far } = site.host else { return Ok(Range::point(0.0)) };
    let wire = &job.wires[wire];
    let temperature = Range::new(COLD, job.insulation(wire).range.high());
    let joint = job.joint(wire).range;
    let distance = site.fuse.distance.ok_or_else(|| Undecided::need(unmeasured(wire)))?.base();
    if far == (end == 1) {
        return Ok(job.conductor_resistance(wire, Range::point(distance), temperature)? + joint * 2.0);
    }
    let length = wire.length.ok_or_else(|| Undecided::need(unmeasured(wire)))?.base();
    let rest = job.conductor_resistance(wire, Range::point((length - distance).max(0.0)), temperature)? + joint * 2.0;
    let (other, key) = if far { (&wire.fuse, "fuse") } else { (&wire.far_fuse, "far_fuse") };
    match other {
        Some(other) => Ok(rest + job.fuse_resistance(other, &wire.at(key))?.range + joint * 2.0),
        None => Ok(rest),
    }
}

/// From a cold wire to one as hot as its insulation stands.
fn temperatures(job: &Job<'_>) -> Vec<Range<Temperature>> {
    job.wires.iter().map(|wire| Range::new(COLD, job.insulation(wire).range.high())).collect()
}

/// The voltages of all terminals against one of them.
fn potentials(sources: &[Source], joins: &[Joins], zero: usize) -> BTreeMap<usize, f64> {
    let as_joins = sources.iter().map(|(posts, _, ohms)| (*posts, *ohms));
    let all: Vec<Joins> = joins.iter().copied().chain(as_joins).collect();
    let nodes: BTreeSet<usize> = all.iter().flat_map(|(ends, _)| *ends).filter(|node| *node != zero).collect();
    let unknown: BTreeMap<usize, usize> = nodes.into_iter().enumerate().map(|(at, node)| (node, at)).collect();
    let row = |node: usize| unknown.get(&node).copied();
    let pairs = all.iter().filter_map(|([a, b], _)| Some((row(*a)?, row(*b)?)));
    let (pattern, row_of) = Pattern::new(unknown.len(), pairs);
    let at = |[a, b]: [usize; 2]| pattern.link(row(a).map(|at| row_of[at]), row(b).map(|at| row_of[at]));
    let mut matrix = Matrix::zero(&pattern);
    for (ends, ohms) in &all {
        matrix.stamp(at(*ends), 1.0 / ohms.max(CONTACT));
    }
    for row in &row_of {
        matrix.stamp(pattern.link(Some(*row), None), LEAK);
    }
    let mut volts = vec![0.0; unknown.len()];
    for (posts, emf, ohms) in sources {
        at(*posts).inject(&mut volts, emf / ohms.max(CONTACT));
    }
    matrix.factor(&pattern);
    matrix.solve(&pattern, &mut volts);
    unknown.into_iter().map(|(node, at)| (node, volts[row_of[at]])).collect()
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    const TWO: &str = "plan: 1\nvehicle: {voltage: 12 V, body: steel, body_resistance: 1 mohm}\n\
        batteries: {one: {internal_resistance: 2.5 mohm, rest_voltage: 12.8 V}, two: {internal_resistance: 2.5 mohm, rest_voltage: 12.8 V}}\n\
        grounds: {floor: {on: body-structure, joint_resistance: 0.1 mohm}}\nwires:\n  \
        par: {from: one.positive, to: two.positive, size: 1/0 AWG, conductor: copper, stranding: solid, insulation: 75 C, length: 40 cm, \
        joint_resistance: 0.1 mohm}\n  \
        back-one: {from: one.negative, to: grounds.floor, size: 1/0 AWG, conductor: copper, insulation: 75 C, length: 30 cm, joint_resistance: 0.1 mohm}\n  \
        back-two: {from: two.negative, to: grounds.floor, size: 1/0 AWG, conductor: copper, insulation: 75 C, length: 30 cm, joint_resistance: 0.1 mohm}\n  \
        feed: {from: one.positive, to: amp.power, size: 16 mm2, conductor: copper, insulation: 75 C, length: 60 cm, \
        joint_resistance: 0.1 mohm, fuse: {form: bolt-down, rating: 60 A, distance: 0 cm}}\n";

    fn fault(text: &str) -> (f64, f64) {
        of_job(text, |job| {
            let fuses = &job.protection().fuses;
            let at = fuses.iter().position(|site| site.place.path() == "wires.feed.fuse").expect("a fuse");
            let found = job.fault_behind(at).expect("stated");
            (found.low(), found.high())
        })
    }

    fn near(found: f64, expected: f64) {
        assert!((found / expected - 1.0).abs() < 0.005, "{found}, {expected}");
    }

    /// 2.5 mohm beside 2.5 mohm, 40 cm of 53.5 mm2 (0.129 mohm at 20 C) and two joints: 1.327 mohm; two joints more to the
    /// fuse. Alone one of them drives 4.74 kA.
    #[test]
    fn two_batteries_side_by_side_drive_a_short_together() {
        let (low, high) = fault(TWO);
        let link = 0.4 * 0.017_241 / 53.5 + 0.000_2;
        let both = 1.0 / (1.0 / 0.0025 + 1.0 / (0.0025 + link));
        near(high, 12.8 / (both + 0.000_2));
        assert!(low > 12.8 / 0.0027 && low < high, "{low} {high}");
        // The starting battery is the first of all sources.
        assert_eq!(of_job(TWO, |job| job.batteries_behind(0)), BTreeSet::from([1, 2]));
        let apart = TWO.replace("to: two.positive", "to: other.power");
        near(fault(&apart).1, 12.8 / 0.0027);
    }

    /// A battery behind a closed relay counts; no battery drives a short through a charger.
    #[test]
    fn what_feeds_through_a_relay_counts_and_through_a_charger_does_not() {
        let of = |kind: &str| {
            let parted = TWO
                .replace("par: {from: one.positive, to: two.positive", "par: {from: part.out, to: two.positive")
                + "  in: {from: one.positive, to: part.in, size: 1/0 AWG, conductor: copper, insulation: 75 C, length: 0 cm, \
                   joint_resistance: 0.000001 mohm}\n"
                + &format!("isolators: {{part: {{kind: {kind}, rated: 30 A, resistance: 0.2 mohm}}}}\n");
            fault(&parted).1
        };
        let link = 0.4 * 0.017_241 / 53.5 + 0.000_4;
        let both = 1.0 / (1.0 / 0.0025 + 1.0 / (0.0025 + link));
        near(of("relay"), 12.8 / (both + 0.000_2));
        near(of("switch"), 12.8 / (both + 0.000_2));
        near(of("charger"), 12.8 / 0.0027);
    }

    /// In the link itself each of its fuses breaks what comes from its other side.
    #[test]
    fn a_fuse_between_two_batteries_sees_one_of_them_at_a_time() {
        let text = TWO.replace(
            "par: {from: one.positive, to: two.positive, size",
            "par: {fuse: {form: bolt-down, rating: 200 A, distance: 0 cm}, from: one.positive, to: two.positive, size",
        );
        let at = of_job(&text, |job| {
            let fuses = &job.protection().fuses;
            let at = fuses.iter().position(|site| site.place.path() == "wires.par.fuse").expect("a fuse");
            job.fault_behind(at).expect("stated").high()
        });
        near(at, 12.8 / 0.0027);
    }

    /// What 30 cm of a warm way back resist, both its joints in it.
    const BACK: f64 = 0.3 * HOT / 53.5 + 0.000_2;
    /// Copper as hot as insulation for 75 C allows, in ohm mm2 per metre.
    const HOT: f64 = 0.017_241 * (1.0 + 0.003_93 * 55.0);

    /// The least has warm wires, each battery's own way back in series with it, and the joint of the ground that both share.
    #[test]
    fn the_least_comes_back_over_each_batterys_own_wire() {
        let link = 0.4 * HOT / 53.5 + 0.000_2;
        let both = 1.0 / (1.0 / (0.0025 + BACK) + 1.0 / (0.0025 + BACK + link));
        near(fault(TWO).0, 12.8 / (both + 0.000_2 + 0.000_1));
        // Without a body both come back to the starting battery's post.
        let cables = TWO
            .replace("body: steel, body_resistance: 1 mohm", "body: composite")
            .replace("grounds.floor", "battery.negative");
        near(fault(&cables).0, 12.8 / (both + 0.000_2));
    }

    /// What does not let a short through, and what lies elsewhere, neither adds to it nor has to be known.
    #[test]
    fn only_what_joins_the_batteries_and_the_fuse_counts() {
        let alone = fault(TWO);
        let is_as_alone = |text: &str| {
            let (low, high) = fault(text);
            near(low, alone.0);
            near(high, alone.1);
        };
        let beside = TWO.to_owned()
            + "  a: {from: one.positive, to: dcdc.in, size: 1/0 AWG, conductor: copper, insulation: 75 C, length: 10 cm}\n  \
               b: {from: dcdc.out, to: two.positive, size: 1/0 AWG, conductor: copper, insulation: 75 C, length: 10 cm}\n\
               isolators: {dcdc: {kind: charger, rated: 30 A}}\n";
        is_as_alone(&beside);
        // Two wires side by side behind a charger, of which nothing is known.
        let elsewhere = TWO.to_owned()
            + "  a: {from: one.positive, to: dcdc.in}\n  b: {from: dcdc.out, to: split.in}\n  c: {from: dcdc.out, to: split.in}\n\
               isolators: {dcdc: {kind: charger, rated: 30 A}}\nblocks: {split: {outputs: {one: {}}}}\n";
        is_as_alone(&elsewhere);
    }

    /// Between two groups of batteries a fuse breaks what all of one group drive.
    #[test]
    fn a_fuse_between_two_groups_sees_a_whole_group() {
        for count in [2, 3] {
            let names: Vec<String> =
                ["a", "b"].iter().flat_map(|side| (0..count).map(move |at| format!("{side}{at}"))).collect();
            let battery =
                |name: &String| format!("  {name}: {{internal_resistance: 2.5 mohm, rest_voltage: 12.8 V}}\n");
            let wire = "conductor: copper, size: 1/0 AWG, insulation: 75 C, joint_resistance: 0.1 mohm";
            // Short enough that of these wires only their joints count.
            let joined = |name: &String| match name.split_at(1) {
                (_, "0") => String::new(),
                (side, _) => {
                    format!("  {name}: {{from: {side}0.positive, to: {name}.positive, length: 0 cm, {wire}}}\n")
                }
            };
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel}}\nbatteries:\n{}wires:\n{}  \
                 par: {{from: a0.positive, to: b0.positive, length: 40 cm, {wire}, fuse: {{form: bolt-down, rating: 200 A, distance: 0 cm}}}}\n",
                names.iter().map(battery).collect::<String>(),
                names.iter().map(joined).collect::<String>(),
            );
            let found = of_job(&text, |job| {
                let fuses = &job.protection().fuses;
                let at = fuses.iter().position(|site| site.place.path() == "wires.par.fuse").expect("a fuse");
                job.fault_behind(at).expect("stated").high()
            });
            let group = 1.0 / (1.0 / 0.0025 + f64::from(count - 1) / 0.0027);
            near(found, 12.8 / (group + 0.000_2));
        }
    }

    /// With a fuse at both ends of the link, a short behind the fuse at the weaker side is driven from the other one through
    /// the whole wire and the fuse over there: 30 cm, three tenths of a milliohm and four joints.
    #[test]
    fn the_fuse_at_the_other_end_is_in_the_way() {
        let of = |ends: &str, at: &str| {
            let battery = |name: &str| format!("  {name}: {{internal_resistance: 2.5 mohm, rest_voltage: 12.8 V}}\n");
            let wire =
                "conductor: copper, size: 1/0 AWG, insulation: 75 C, stranding: solid, joint_resistance: 0.1 mohm";
            let fuse = "{form: bolt-down, rating: 200 A, distance: 10 cm, resistance: 0.3 mohm}";
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel}}\nbatteries:\n{}wires:\n  \
                 b1: {{from: b0.positive, to: b1.positive, length: 0 cm, {wire}}}\n  \
                 b2: {{from: b0.positive, to: b2.positive, length: 0 cm, {wire}}}\n  \
                 par: {{{ends}, length: 40 cm, {wire}, fuse: {fuse}, far_fuse: {fuse}}}\n",
                ["a0", "b0", "b1", "b2"].map(battery).concat()
            );
            of_job(&text, |job| {
                let fuses = &job.protection().fuses;
                let at = fuses.iter().position(|site| site.place.path() == format!("wires.par.{at}")).expect("a fuse");
                job.fault_behind(at).expect("stated").high()
            })
        };
        let three = 1.0 / (1.0 / 0.0025 + 2.0 / 0.0027);
        let run = |metres: f64| metres * 0.017_241 / 53.5 + 0.000_2;
        let (there, here) = (12.8 / (three + run(0.3) + 0.000_3 + 0.000_2), 12.8 / (three + run(0.1)));
        let (towards, back) = ("from: a0.positive, to: b0.positive", "from: b0.positive, to: a0.positive");
        near(of(towards, "fuse"), there);
        near(of(towards, "far_fuse"), here);
        near(of(back, "far_fuse"), there);
        near(of(back, "fuse"), here);
    }

    /// What a link between the batteries resists has to be known.
    #[test]
    fn a_link_without_a_length_is_asked_for() {
        let text = TWO.replace("length: 40 cm, ", "");
        let need = of_job(&text, |job| {
            let at = job.protection().fuses.len() - 1;
            format!("{:?}", job.fault_behind(at).expect_err("its length is missing"))
        });
        assert!(need.contains("par") && need.contains("length"), "{need}");
    }
}

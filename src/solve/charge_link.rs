//! The link between two batteries: what lies in line with a relay or switch, and what an empty battery takes through it.

use super::charging::charging_voltage;
use super::facts::Facts;
use super::graph::{LinkKind, POSITIVE};
use super::job::Job;
use super::known::{Decided, Place, Undecided, all};
use super::protection::{FuseSite, Host};
use super::side_by_side::Between;
use crate::plan::{Isolator, IsolatorKind};
use crate::quantity::{Current, Quantity, Range, Ratio, Temperature};

/// Voltage of an empty lead-acid battery of 12 V at rest, in V (common practice, no published source).
const EMPTY: f64 = 12.0;
/// Voltage of a charged battery of 12 V at rest, in V (memory: lead-acid 12.5 to 12.8 V, lithium iron phosphate 13.2 to
/// 13.4 V): near enough to tell 12 V from 24 V.
const AT_REST: f64 = 12.8;
/// A conductor is coldest, and resists least, at about room temperature, in C.
const COLD: f64 = 20.0;

/// What lies between an isolator and the nearest battery on either side.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ChargeLink {
    /// Wires, by their place in the job's list.
    pub wires: Vec<usize>,
    /// Outputs of blocks, by the block's place in the job's list and the output's name.
    pub outputs: Vec<(usize, String)>,
    /// Whether a battery is reached on both sides.
    pub is_between_batteries: bool,
    /// The ways on each side of the isolator: several where runs lie side by side.
    sides: Vec<Between>,
}

impl ChargeLink {
    /// Whether a fuse sits in it.
    pub fn has(&self, site: &FuseSite, facts: &Facts<'_>) -> bool {
        match site.host {
            Host::Wire { wire, .. } => self.wires.contains(&wire),
            Host::Block(block) => {
                let at = |output: &str| facts.blocks[block].at(format!("outputs.{output}.fuse"));
                self.outputs.iter().any(|(other, output)| *other == block && site.place == at(output))
            }
        }
    }
}

/// What a battery that charges through a relay or switch asks of the fuses in line with it.
#[derive(Debug, Clone)]
pub struct ChargeAsked {
    /// The relay's or switch's name.
    pub isolator: String,
    /// Its kind.
    pub kind: IsolatorKind,
    /// The current that it is made for.
    pub rated: Quantity<Current>,
    /// What a fuse in line has to carry.
    pub current: Quantity<Current>,
    /// What the copper in line lets through to an empty battery at most, where that is less than the isolator asks.
    pub limited: Option<Quantity<Current>>,
    /// How much of it flows here, where other runs lie beside this one.
    pub shared: Option<Quantity<Ratio>>,
}

/// How the alternator's voltage comes to a terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charged {
    /// No wire leads there from the starting battery.
    Not,
    /// Through wires, relays and switches: it is the voltage that the alternator holds.
    Directly,
    /// Through a charger or a step-down converter alone, which sets its own.
    ByCharger,
}

/// What chargers do in a link of the graph while the engine runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charging {
    /// What they draw before them, on top of what loads draw there.
    pub drawn: Range<Current>,
    /// What they give behind them, against what loads take from the battery there.
    pub given: Range<Current>,
}

impl Charging {
    /// Nothing.
    pub const NONE: Self = Self { drawn: Range::point(0.0), given: Range::point(0.0) };

    /// The most that flows beside what loads draw. What a battery gets and what it gives pass its wires in opposite
    /// directions: the larger alone counts, with the charger on or off.
    pub fn beside(self, load: Range<Current>) -> Range<Current> {
        load.max(self.given) + self.drawn
    }
}

impl Job<'_> {
    /// How the alternator's voltage comes to a terminal, like `positive` of an added battery.
    pub fn charged(&self, thing: &str, terminal: &str) -> Charged {
        self.graph().node(thing, terminal).map_or(Charged::Not, |node| self.charged_at(node))
    }

    pub(super) fn charged_at(&self, node: usize) -> Charged {
        let graph = self.graph();
        let leads = |by: &dyn Fn(&LinkKind) -> bool| graph.nearest(node, &[POSITIVE], by).is_some();
        if leads(&|kind| conducts(kind) && self.charger(kind).is_none()) {
            Charged::Directly
        } else if leads(&conducts) {
            Charged::ByCharger
        } else {
            Charged::Not
        }
    }

    /// The name of a charger or a step-down converter, if a link is one.
    fn charger<'k>(&self, kind: &'k LinkKind) -> Option<&'k str> {
        let LinkKind::Isolator(name) = kind else { return None };
        let isolator = self.plan.isolators.get(name)?;
        isolator.limits_current().then_some(name.as_str())
    }

    /// How many ampere chargers take from the alternator for each that is drawn at a node behind them; nothing where the
    /// alternator's voltage comes there by itself, or not at all. What is drawn behind a step-down converter is drawn before
    /// it already.
    pub(super) fn taken_for(&self, node: usize) -> Option<Range<Ratio>> {
        if !self.plan.isolators.values().any(Isolator::limits_current) || self.charged_at(node) != Charged::ByCharger {
            return None;
        }
        if self.step_down_before(self.graph(), node).is_some() {
            return Some(Range::point(0.0));
        }
        let graph = self.graph();
        let (_, way) = graph.nearest(node, &[POSITIVE], conducts)?;
        let chargers = way.iter().filter_map(|link| self.charger(&graph.links[*link].kind));
        let each = chargers
            .filter_map(|name| self.posts_beside(name).map(|(before, behind)| self.taken_by(name, before, behind)));
        Some(each.fold(Range::point(1.0), |all, one| all.scaled(one.low(), one.high())))
    }

    /// How many ampere a charger takes from the battery before it for each that it gives to the one behind it: the power is
    /// the same but for what it loses.
    pub(super) fn taken_by(&self, name: &str, before: usize, behind: usize) -> Range<Ratio> {
        let stated = self.plan.isolators.get(name).and_then(|isolator| isolator.efficiency);
        let place = Place::of(format!("isolators.{name}.efficiency"));
        let stated = stated.filter(|share| share.base() > 0.0);
        let efficiency = self.assume(place, stated, &self.house.assumptions.charger_efficiency).range;
        let volts = self.multiple_at(behind) / self.multiple_at(before);
        Range::new(volts * 100.0 / efficiency.high(), volts * 100.0 / efficiency.low())
    }

    /// What lies in line with an isolator.
    pub fn charge_link(&self, name: &str) -> ChargeLink {
        let run = |kind: &LinkKind| match kind {
            LinkKind::Isolator(other) => other != name,
            other => is_laid(other),
        };
        let graph = self.graph();
        let posts = graph.positives(self);
        let sides = ["in", "out"].map(|side| {
            let from = graph.node(name, side)?;
            let (post, way) = graph.nearest(from, &posts, run)?;
            Some(Between::of(graph, (from, post), way, &posts, run))
        });
        let is_between_batteries = sides.iter().all(Option::is_some);
        let sides = sides.into_iter().flatten().collect();
        let mut link = ChargeLink { is_between_batteries, sides, ..ChargeLink::default() };
        for at in link.sides.iter().flat_map(|side| &side.links) {
            match &graph.links[*at].kind {
                LinkKind::Wire(wire) => link.wires.push(*wire),
                LinkKind::Output(block, output) => link.outputs.push((*block, output.clone())),
                _ => {}
            }
        }
        link
    }

    /// What a battery that charges asks of a fuse: the house's share of what the relay or switch in line is made for, or
    /// what the copper in line lets through, where that is less. The largest, where several are in line; nothing where
    /// none is, or where a charger limits the current.
    ///
    /// # Errors
    /// The needs for the isolator's kind and rating, and for the system's voltage.
    pub fn charge_asked(&self, fuse: usize) -> Decided<Option<ChargeAsked>> {
        let site = &self.protection().fuses[fuse];
        self.charge_asked_where(self.link_of(site))
    }

    /// The link of the graph in which a fuse sits.
    fn link_of(&self, site: &FuseSite) -> Option<usize> {
        let graph = self.graph();
        match site.host {
            Host::Wire { wire, .. } => graph.wire(wire),
            Host::Block(block) => graph.links.iter().position(|link| match &link.kind {
                LinkKind::Output(other, output) => {
                    *other == block && site.place == self.blocks[block].at(format!("outputs.{output}.fuse"))
                }
                _ => false,
            }),
        }
    }

    /// The smallest sum of fuses that holds back all that flows between an isolator and the nearest battery on one side or the
    /// other, fuses side by side added; nothing where no fuse is in line, or a way beside them has none.
    ///
    /// # Errors
    /// The needs for ratings in line.
    pub fn held_back(&self, link: &ChargeLink) -> Decided<Option<(Quantity<Current>, Vec<usize>)>> {
        let fuses = &self.protection().fuses;
        let sites = fuses.iter().enumerate().filter(|(_, site)| link.has(site, self));
        let rated = all(sites.map(|(fuse, site)| {
            let rating = site.fuse.rating.ok_or_else(|| Undecided::need(site.place.sub("rating")))?;
            Ok((fuse, self.link_of(site), rating))
        }))?;
        let smallest = |at: usize| {
            let here = rated.iter().filter(|(_, link, _)| *link == Some(at));
            here.min_by(|one, other| one.2.base().total_cmp(&other.2.base()))
        };
        let sides = link
            .sides
            .iter()
            .filter_map(|side| side.held_back(self.graph(), |at| smallest(at).map(|(_, _, rating)| rating.base())));
        let least = sides.min_by(|one, other| one.0.total_cmp(&other.0));
        Ok(least.and_then(|(sum, cut)| {
            let fuses: Vec<_> = cut.into_iter().filter_map(smallest).collect();
            let (_, _, first) = fuses.first()?;
            Some((first.with_base(sum), fuses.iter().map(|(fuse, ..)| *fuse).collect()))
        }))
    }

    /// The same of a fuse that a wire would have.
    ///
    /// # Errors
    /// As [`Job::charge_asked`].
    pub fn charge_asked_in(&self, wire: usize) -> Decided<Option<ChargeAsked>> {
        self.charge_asked_where(self.graph().wire(wire))
    }

    fn charge_asked_where(&self, at: Option<usize>) -> Decided<Option<ChargeAsked>> {
        let mut most: Option<ChargeAsked> = None;
        let Some(at) = at else { return Ok(None) };
        for (name, isolator) in &self.plan.isolators {
            let link = self.charge_link(name);
            let side = link.sides.iter().find(|side| side.links.contains(&at));
            if let Some(side) = side.filter(|_| link.is_between_batteries) {
                let known = most.as_ref().map_or(0.0, |most| most.current.base());
                let asked = self.asked_by(name, isolator, &link)?;
                let asked = asked.map(|asked| self.shared(asked, side, at)).transpose()?;
                most = asked.filter(|asked| asked.current.base() > known).or(most);
            }
        }
        Ok(most)
    }

    /// The nearest battery post on either side of an isolator, each with the way to it.
    pub(super) fn sides(&self, name: &str, run: impl Fn(&LinkKind) -> bool) -> [Option<(usize, Vec<usize>)>; 2] {
        let graph = self.graph();
        let posts = graph.positives(self);
        ["in", "out"].map(|side| graph.nearest(graph.node(name, side)?, &posts, &run))
    }

    /// The nearest battery posts on both sides of an isolator, where there are two.
    pub(super) fn posts_beside(&self, name: &str) -> Option<(usize, usize)> {
        match self.sides(name, is_laid) {
            [Some(before), Some(behind)] => Some((before.0, behind.0)),
            _ => None,
        }
    }

    /// How many twelve-volt batteries in series stand before an isolator; nothing where no battery feeds it.
    ///
    /// # Errors
    /// The need for the system's voltage, where that tells it.
    pub fn multiple_before(&self, isolator: &str) -> Decided<Option<f64>> {
        let graph = self.graph();
        let feeds = |kind: &LinkKind| conducts(kind) && !matches!(kind, LinkKind::Isolator(name) if name == isolator);
        let post = graph.node(isolator, "in").and_then(|input| graph.nearest(input, &graph.positives(self), feeds));
        let Some((post, _)) = post else { return Ok(None) };
        if post == POSITIVE { self.system_multiple().map(Some) } else { Ok(Some(self.multiple_at(post))) }
    }

    /// How many twelve-volt batteries in series a battery is worth, by its positive post: as its voltage at rest says, or else
    /// the vehicle's.
    fn multiple_at(&self, post: usize) -> f64 {
        let graph = self.graph();
        let mut added = self.plan.batteries.iter();
        let own = added.find(|(name, _)| graph.node(name, "positive") == Some(post));
        let rest =
            own.and_then(|(_, battery)| battery.rest_voltage).map(|volts| (volts.base() / AT_REST).round().max(1.0));
        rest.or_else(|| self.system_multiple().ok()).unwrap_or(1.0)
    }

    fn asked_by(&self, name: &str, isolator: &Isolator, link: &ChargeLink) -> Decided<Option<ChargeAsked>> {
        let at = Place::of(format!("isolators.{name}"));
        let kind = isolator.kind.ok_or_else(|| Undecided::need(at.sub("kind")))?;
        if kind.limits_current() {
            return Ok(None);
        }
        let rated = isolator.rated.ok_or_else(|| Undecided::need(at.sub("rated")))?;
        let share = rated.with_base(rated.base() * self.house.limits.charge_fuse.base());
        let limited = self.lets_through(link)?.filter(|through| through.base() < share.base());
        let current = limited.unwrap_or(share);
        Ok(Some(ChargeAsked { isolator: name.to_owned(), kind, rated, current, limited, shared: None }))
    }

    /// What of it flows in one of several runs side by side: as much as its cold copper leaves to it. Joints and fuses even
    /// out what is unequal, and are left out.
    fn shared(&self, asked: ChargeAsked, side: &Between, at: usize) -> Decided<ChargeAsked> {
        if side.is_one_way() {
            return Ok(asked);
        }
        let (shares, _) = side.divide(self.graph(), |wire| self.cold_ohms(wire))?;
        let share = shares.get(&at).copied().unwrap_or(0.0);
        if share > 1.0 - 1e-6 {
            return Ok(asked);
        }
        let current = asked.current.with_base(asked.current.base() * share);
        Ok(ChargeAsked { current, shared: Some(Quantity::new(share)), ..asked })
    }

    /// Resistance of a wire's cold copper without its joints, in ohm: the middle of what it may be.
    fn cold_ohms(&self, wire: usize) -> Decided<f64> {
        let wire = &self.wires[wire];
        let length = wire.need("length", &wire.length)?;
        Ok(self.conductor_resistance(wire, length.into(), Range::point(COLD))?.middle())
    }

    /// The most that the cold copper of a link lets through from a charging voltage to an empty battery; nothing where a
    /// length or a size is not stated.
    fn lets_through(&self, link: &ChargeLink) -> Decided<Option<Quantity<Current>>> {
        let multiple = self.system_multiple()?;
        let cold = Range::<Temperature>::point(COLD);
        let least = |wire: usize| {
            let wire = &self.wires[wire];
            let length = wire.length.ok_or(())?;
            self.conductor_resistance(wire, length.into(), cold).map(Range::low).map_err(|_| ())
        };
        let sides = link.sides.iter().map(|side| side.divide(self.graph(), least).map(|(_, ohms)| ohms));
        let ohms: Result<f64, ()> = sides.sum();
        let pushes = charging_voltage(self, multiple).range.high() - EMPTY * multiple;
        Ok(ohms.ok().filter(|ohms| *ohms > 0.0 && pushes > 0.0).map(|ohms| Quantity::new(pushes / ohms)))
    }
}

/// Wires and outputs of blocks.
pub(super) fn is_laid(kind: &LinkKind) -> bool {
    matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..))
}

/// All that current passes but the body.
fn conducts(kind: &LinkKind) -> bool {
    !matches!(kind, LinkKind::Ground(_) | LinkKind::Body)
}

#[cfg(test)]
mod tests {
    use super::super::{Case, of_job};
    use super::Charged;

    /// 30 A at 12 V are 15 A at 24 V, and 30 A where both batteries are alike, and a ninth more where a tenth is lost.
    #[test]
    fn a_charger_gives_what_it_is_made_for_and_draws_by_the_voltage_before_it_and_what_it_loses() {
        let of = |voltage: &str, rest: &str, loses: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: {voltage}}}\nbatteries: {{rear: {{{rest}}}}}\nisolators: {{dcdc: {{kind: charger, \
                 rated: 30 A{loses}}}}}\namplifiers: {{amp: {{}}}}\nwires:\n  a: {{from: battery.positive, to: dcdc.in}}\n  \
                 b: {{from: dcdc.out, to: rear.positive}}\n  c: {{from: rear.positive, to: amp.power}}\n  \
                 d: {{from: rear.negative, to: battery.negative}}\n"
            );
            of_job(&text, |job| {
                let current = |wire| job.charger_current(job.graph().wire(wire).expect("a link"));
                let given: Vec<f64> = (1..4).map(|wire| current(wire).given.middle()).collect();
                assert_eq!(given, [30.0, 0.0, 30.0]);
                let behind = job.taken_for(job.graph().node("amp", "power").expect("a node")).expect("behind it");
                let (taken, drawn) = (behind * 30.0, current(0).drawn);
                assert_eq!((taken.low(), taken.high()), (drawn.low(), drawn.high()));
                assert!(job.taken_for(job.graph().node("dcdc", "in").expect("a node")).is_none());
                (drawn.low(), drawn.high())
            })
        };
        let whole = ", efficiency: 100 %";
        assert_eq!(of("24 V", "rest_voltage: 12.7 V", whole), (15.0, 15.0));
        assert_eq!(of("12 V", "rest_voltage: 13.3 V", whole), (30.0, 30.0));
        assert_eq!(of("24 V", "", whole), (30.0, 30.0));
        assert_eq!(of("12 V", "rest_voltage: 25.6 V", whole), (60.0, 60.0));
        let near = |found: (f64, f64), low: f64, high: f64| {
            assert!((found.0 - low).abs() < 1e-9 && (found.1 - high).abs() < 1e-9, "{found:?}");
        };
        near(of("12 V", "rest_voltage: 12.7 V", ", efficiency: 90 %"), 30.0 / 0.9, 30.0 / 0.9);
        near(of("24 V", "rest_voltage: 12.7 V", ""), 15.0 / 0.95, 15.0 / 0.85);
        near(of("24 V", "rest_voltage: 12.7 V", ", efficiency: 0 %"), 15.0 / 0.95, 15.0 / 0.85);
    }

    /// Both posts are on the body by a slip: over the body no battery is charged.
    #[test]
    fn a_short_charges_nothing() {
        let text = "plan: 1\nvehicle: {body: steel}\nbatteries: {rear: {}}\ngrounds: {floor: {}, rail: {}}\nwires:\n  \
                    a: {from: battery.positive, to: grounds.floor}\n  b: {from: rear.positive, to: grounds.rail}\n";
        of_job(text, |job| assert_eq!(job.charged("rear", "positive"), Charged::Not));
        let joined = text.replace("grounds.rail}", "battery.positive}");
        of_job(&joined, |job| assert_eq!(job.charged("rear", "positive"), Charged::Directly));
    }

    /// An added battery's return carries what it is charged with from its post to the body, and what its amplifier takes from the
    /// body to its post: 60 A with the charger on and the music off, never their sum. Before the charger both flow alike.
    #[test]
    fn what_a_battery_gets_and_what_it_gives_do_not_add_up() {
        let of = |rated: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 1 mohm, battery: {{internal_resistance: 5 mohm}}, \
                 alternator: {{rated: 200 A, at_idle: 150 A, voltage: 14 V}}, factory_load: {{running: 20 A}}}}\n\
                 batteries: {{rear: {{internal_resistance: 5 mohm}}}}\nisolators: {{dcdc: {{kind: charger, rated: {rated}, \
                 efficiency: 90 %}}}}\namplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, \
                 rated: [{{load: 2 ohm, power: 300 W}}]}}}}\ngrounds: {{floor: {{}}, rail: {{}}}}\nwires:\n  \
                 in: {{from: battery.positive, to: dcdc.in, size: 16 mm2, length: 4 m, conductor: copper}}\n  \
                 out: {{from: dcdc.out, to: rear.positive, size: 16 mm2, length: 1 m, conductor: copper}}\n  \
                 back: {{from: rear.negative, to: grounds.rail, size: 16 mm2, length: 50 cm, conductor: copper}}\n  \
                 feed: {{from: rear.positive, to: amp.power, size: 16 mm2, length: 1 m, conductor: copper}}\n  \
                 return: {{from: amp.ground, to: grounds.floor, size: 16 mm2, length: 50 cm, conductor: copper}}\n"
            );
            of_job(&text, |job| {
                ["back", "return", "in"].map(|name| {
                    let wire = job.wire(name).expect("a wire");
                    job.wire_current(wire, Case::IdleFull).expect("stated").range.high()
                })
            })
        };
        let [back, own, drawn] = of("60 A");
        assert!((back - 60.0).abs() < 1e-9 && (drawn - 60.0 / 0.9).abs() < 1e-9, "{back} {drawn}");
        assert!((28.0..40.0).contains(&own), "{own}");
        // What the amplifier takes is more than a small charger gives.
        let [back, own, _] = of("10 A");
        assert!((back - own).abs() < 1e-6, "{back} {own}");
    }

    /// 14.4 V on an empty battery at 12 V through 10 m of 6 mm2, 28.7 mohm: 84 A, whatever the relay is made for.
    #[test]
    fn a_long_thin_link_limits_what_an_empty_battery_takes() {
        let of = |length: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, alternator: {{voltage: 14.4 V}}}}\nbatteries: {{rear: {{}}}}\n\
                 isolators: {{part: {{kind: relay, rated: 140 A}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: part.in, size: 35 mm2, conductor: copper, stranding: solid, length: 1 cm, \
                 fuse: {{rating: 100 A}}}}\n  b: {{from: part.out, to: rear.positive, size: 6 mm2, conductor: copper, \
                 stranding: solid, length: {length}}}\n"
            );
            of_job(&text, |job| {
                let asked = job.charge_asked(0).expect("stated").expect("in line");
                (asked.current.base(), asked.limited.is_some())
            })
        };
        let (long, limited) = of("10 m");
        assert!((long - 2.4 / (10.0 * 0.017_241 / 6.0)).abs() < 0.1 && limited, "{long}");
        let (short, limited) = of("3 m");
        assert!((short - 98.0).abs() < 1e-9 && !limited, "{short}");
    }

    /// In a 24 V system 28.8 V stand against an empty battery at 24 V: twice as much as at 12 V. An alternator that gives no
    /// more than the battery charges nothing, and the share of what the relay is made for stays.
    #[test]
    fn what_pushes_is_the_charging_voltage_above_an_empty_battery() {
        let of = |voltage: &str, charging: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: {voltage}, alternator: {{voltage: {charging}}}}}\nbatteries: {{rear: {{}}}}\n\
                 isolators: {{part: {{kind: relay, rated: 400 A}}}}\nwires:\n  a: {{from: battery.positive, to: part.in, size: \
                 6 mm2, conductor: copper, stranding: solid, length: 5 m, fuse: {{rating: 100 A}}}}\n  b: {{from: part.out, to: \
                 rear.positive, size: 6 mm2, conductor: copper, stranding: solid, length: 5 m}}\n"
            );
            of_job(&text, |job| {
                let asked = job.charge_asked(0).expect("stated").expect("in line");
                (asked.current.base(), asked.limited.is_some())
            })
        };
        let (car, truck) = (of("12 V", "14.4 V"), of("24 V", "28.8 V"));
        assert!(car.1 && truck.1 && (truck.0 / car.0 - 2.0).abs() < 1e-6, "{car:?} {truck:?}");
        assert_eq!(of("12 V", "11.5 V"), (280.0, false));
    }
}

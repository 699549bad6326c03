//! The link between two batteries: what lies in line with a relay or switch, and what an empty battery takes through it.

use super::charging::charging_voltage;
use super::facts::Facts;
use super::graph::{LinkKind, POSITIVE};
use super::job::Job;
use super::known::{Decided, Place, Undecided};
use super::protection::{FuseSite, Host};
use crate::plan::{Isolator, IsolatorKind};
use crate::quantity::{Current, Quantity, Range, Resistance, Temperature};

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
}

/// How the alternator's voltage comes to a terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charged {
    /// No wire leads there from the starting battery.
    Not,
    /// Through wires, relays and switches: it is the voltage that the alternator holds.
    Directly,
    /// Through a charger alone, which sets its own.
    ByCharger,
}

impl Job<'_> {
    /// How the alternator's voltage comes to a terminal, like `positive` of an added battery.
    pub fn charged(&self, thing: &str, terminal: &str) -> Charged {
        let graph = self.graph();
        let is_charger = |kind: &LinkKind| match kind {
            LinkKind::Isolator(name) => {
                self.plan.isolators.get(name).and_then(|isolator| isolator.kind) == Some(IsolatorKind::Charger)
            }
            _ => false,
        };
        let conducts = |kind: &LinkKind| !matches!(kind, LinkKind::Ground(_) | LinkKind::Body);
        let Some(node) = graph.node(thing, terminal) else { return Charged::Not };
        let leads = |by: &dyn Fn(&LinkKind) -> bool| graph.nearest(node, &[POSITIVE], by).is_some();
        if leads(&|kind| conducts(kind) && !is_charger(kind)) {
            Charged::Directly
        } else if leads(&conducts) {
            Charged::ByCharger
        } else {
            Charged::Not
        }
    }

    /// What lies in line with an isolator.
    pub fn charge_link(&self, name: &str) -> ChargeLink {
        let graph = self.graph();
        let posts = graph.positives(self);
        let run = |kind: &LinkKind| match kind {
            LinkKind::Isolator(other) => other != name,
            LinkKind::Wire(_) | LinkKind::Output(..) => true,
            LinkKind::ChargeCable | LinkKind::Ground(_) | LinkKind::Body => false,
        };
        let sides = ["in", "out"].into_iter().filter_map(|side| graph.node(name, side));
        let ways: Vec<_> = sides.filter_map(|side| graph.nearest(side, &posts, run)).collect();
        let mut link = ChargeLink { is_between_batteries: ways.len() == 2, ..ChargeLink::default() };
        for at in ways.into_iter().flat_map(|(_, way)| way) {
            match &graph.links[at].kind {
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
        self.charge_asked_where(&|link| link.has(site, self))
    }

    /// The same of a fuse that a wire would have.
    ///
    /// # Errors
    /// As [`Job::charge_asked`].
    pub fn charge_asked_in(&self, wire: usize) -> Decided<Option<ChargeAsked>> {
        self.charge_asked_where(&|link| link.wires.contains(&wire))
    }

    fn charge_asked_where(&self, is_in: &dyn Fn(&ChargeLink) -> bool) -> Decided<Option<ChargeAsked>> {
        let mut most: Option<ChargeAsked> = None;
        for (name, isolator) in &self.plan.isolators {
            let link = self.charge_link(name);
            if link.is_between_batteries && is_in(&link) {
                let known = most.as_ref().map_or(0.0, |most| most.current.base());
                let asked = self.asked_by(name, isolator, &link)?;
                most = asked.filter(|asked| asked.current.base() > known).or(most);
            }
        }
        Ok(most)
    }

    /// What chargers draw through every link of the graph, or give through it, while the engine runs, in A: the current that
    /// each is made for behind it and on the way back from the battery there, as much of that before it as the voltages of its
    /// two batteries ask. What it loses is not in that, so it is no more than flows. Nothing where a rating or a battery is
    /// missing.
    pub(super) fn chargers(&self) -> Vec<f64> {
        let mut through = vec![0.0; self.graph().links.len()];
        let chargers = self.plan.isolators.iter().filter(|(_, is)| is.kind == Some(IsolatorKind::Charger));
        for (name, charger) in chargers {
            let (Some(rated), Some([before, behind])) = (charger.rated, self.charger_sides(name)) else { continue };
            let drawn = rated.base() * self.multiple_at(behind.0) / self.multiple_at(before.0);
            for ((post, way), amperes) in [(before, drawn), (behind, rated.base())] {
                for link in way.into_iter().chain(self.way_back(post)) {
                    through[link] += amperes;
                }
            }
        }
        through
    }

    /// The nearest battery post on either side of an isolator, each with the way to it.
    fn charger_sides(&self, name: &str) -> Option<[(usize, Vec<usize>); 2]> {
        let graph = self.graph();
        let posts = graph.positives(self);
        let run = |kind: &LinkKind| matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..));
        let side = |terminal: &str| graph.nearest(graph.node(name, terminal)?, &posts, run);
        Some([side("in")?, side("out")?])
    }

    /// The way from the negative post of an added battery to the body or the starting battery: what it is charged with
    /// comes back through it.
    fn way_back(&self, post: usize) -> Vec<usize> {
        let graph = self.graph();
        let mut added = self.plan.batteries.keys();
        let name = added.find(|name| graph.node(name, "positive") == Some(post));
        let run = |kind: &LinkKind| matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..));
        let goals: Vec<usize> = (0..graph.terminals.len()).filter(|node| graph.is_negative(*node)).collect();
        let way = name.and_then(|name| graph.nearest(graph.node(name, "negative")?, &goals, run));
        way.map(|(_, way)| way).unwrap_or_default()
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
        if kind == IsolatorKind::Charger {
            return Ok(None);
        }
        let rated = isolator.rated.ok_or_else(|| Undecided::need(at.sub("rated")))?;
        let share = rated.with_base(rated.base() * self.house.limits.charge_fuse.base());
        let limited = self.lets_through(link)?.filter(|through| through.base() < share.base());
        let current = limited.unwrap_or(share);
        Ok(Some(ChargeAsked { isolator: name.to_owned(), kind, rated, current, limited }))
    }

    /// The most that the cold copper of a link lets through from a charging voltage to an empty battery; nothing where a
    /// length or a size is not stated.
    fn lets_through(&self, link: &ChargeLink) -> Decided<Option<Quantity<Current>>> {
        let multiple = self.system_multiple()?;
        let cold = Range::<Temperature>::point(COLD);
        let part = |wire: &usize| {
            let wire = &self.wires[*wire];
            self.conductor_resistance(wire, wire.length?.into(), cold).ok()
        };
        let parts: Option<Vec<Range<Resistance>>> = link.wires.iter().map(part).collect();
        let ohms: Option<f64> = parts.map(|parts| parts.into_iter().map(Range::low).sum());
        let pushes = charging_voltage(self, multiple).range.high() - EMPTY * multiple;
        Ok(ohms.filter(|ohms| *ohms > 0.0 && pushes > 0.0).map(|ohms| Quantity::new(pushes / ohms)))
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;

    /// 30 A at 12 V are 15 A at 24 V, and 30 A where both batteries are alike.
    #[test]
    fn a_charger_gives_what_it_is_made_for_and_draws_by_the_voltage_before_it() {
        let of = |voltage: &str, rest: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: {voltage}}}\nbatteries: {{rear: {{{rest}}}}}\nisolators: {{dcdc: {{kind: charger, \
                 rated: 30 A}}}}\namplifiers: {{amp: {{}}}}\nwires:\n  a: {{from: battery.positive, to: dcdc.in}}\n  \
                 b: {{from: dcdc.out, to: rear.positive}}\n  c: {{from: rear.positive, to: amp.power}}\n  \
                 d: {{from: rear.negative, to: battery.negative}}\n"
            );
            of_job(&text, |job| {
                (0..4).map(|wire| job.charger_current(job.graph().wire(wire).expect("a link"))).collect::<Vec<_>>()
            })
        };
        assert_eq!(of("24 V", "rest_voltage: 12.7 V"), [15.0, 30.0, 0.0, 30.0]);
        assert_eq!(of("12 V", "rest_voltage: 13.3 V"), [30.0, 30.0, 0.0, 30.0]);
        assert_eq!(of("24 V", ""), [30.0, 30.0, 0.0, 30.0]);
        assert_eq!(of("12 V", "rest_voltage: 25.6 V"), [60.0, 30.0, 0.0, 30.0]);
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

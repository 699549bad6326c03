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
        let mut most: Option<ChargeAsked> = None;
        for (name, isolator) in &self.plan.isolators {
            let link = self.charge_link(name);
            if link.is_between_batteries && link.has(site, self) {
                let known = most.as_ref().map_or(0.0, |most| most.current.base());
                let asked = self.asked_by(name, isolator, &link)?;
                most = asked.filter(|asked| asked.current.base() > known).or(most);
            }
        }
        Ok(most)
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
}

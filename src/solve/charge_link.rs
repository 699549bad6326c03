//! The link between two batteries: what lies in line with a relay or switch, and what an empty battery takes through it.

use super::charging::charging_voltage;
use super::facts::Facts;
use super::graph::LinkKind;
use super::job::Job;
use super::known::{Decided, Place, Undecided, all};
use super::protection::{FuseSite, Host};
use super::side_by_side::Between;
use crate::plan::{Isolator, IsolatorKind};
use crate::quantity::{Current, Quantity, Range, Ratio, Temperature};

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

impl Job<'_> {
    /// What lies in line with an isolator.
    pub fn charge_link(&self, name: &str) -> ChargeLink {
        let run = |kind: &LinkKind| match kind {
            LinkKind::Isolator(other) => other != name,
            other => other.is_laid(),
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
    pub(super) fn link_of(&self, site: &FuseSite) -> Option<usize> {
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

    /// Each output of a block is a link of its own, and so are those of two blocks of the same names.
    #[test]
    fn a_fuse_in_a_block_sits_in_its_own_output() {
        let outputs = "{outputs: {one: {fuse: {rating: 30 A}}, two: {fuse: {rating: 40 A}}}}";
        let text = format!(
            "plan: 1\nblocks: {{left: {outputs}, right: {outputs}}}\nwires: {{main: {{from: battery.positive, to: left.in}}}}\n"
        );
        of_job(&text, |job| {
            for site in &job.protection().fuses {
                let link = job.link_of(site).expect("a link");
                let terminal = job.graph().terminals[job.graph().links[link].b].clone();
                assert_eq!(site.place.path(), format!("blocks.{}.fuse", terminal.replace('.', ".outputs.")));
            }
            assert_eq!(job.protection().fuses.len(), 4);
        });
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

    /// Of two runs side by side, 2 m and 4 m of the same wire, one takes two thirds and the other a third of the 98 A that
    /// are asked of a relay for 140 A. What lies behind both takes all of it.
    #[test]
    fn runs_side_by_side_share_what_is_asked() {
        let run = |name: &str, ends: &str, length: &str| {
            format!(
                "  {name}: {{{ends}, size: 6 mm2, conductor: copper, stranding: solid, length: {length}, fuse: {{rating: 100 A}}}}\n"
            )
        };
        let (front, back) = ("from: battery.positive, to: part.in", "from: part.out, to: rear.positive");
        let text = "plan: 1\nvehicle: {voltage: 12 V, alternator: {voltage: 14.4 V}}\nbatteries: {rear: {}}\n\
                    isolators: {part: {kind: relay, rated: 140 A}}\nwires:\n"
            .to_owned()
            + &run("a", front, "2 m")
            + &run("b", front, "4 m")
            + &run("c", back, "1 m");
        of_job(&text, |job| {
            let of = |fuse: usize| {
                let asked = job.charge_asked(fuse).expect("stated").expect("in line");
                (asked.current.base(), asked.shared.map(crate::quantity::Quantity::base))
            };
            let close = |one: f64, other: f64| (one - other).abs() < 1e-6;
            let ((short, two), (long, one)) = (of(0), of(1));
            assert!(close(short, 98.0 * 2.0 / 3.0) && close(long, 98.0 / 3.0), "{short} {long}");
            assert!(close(two.expect("shared"), 2.0 / 3.0) && close(one.expect("shared"), 1.0 / 3.0));
            assert_eq!(of(2), (98.0, None));
        });
    }
}

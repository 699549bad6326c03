//! What flows through a short to the body: at the end of a way, and behind a fuse that has to interrupt it.

use super::job::Job;
use super::known::{self, Decided, Place, Undecided};
use super::protection::{Pass, Way, unmeasured};
use super::resistance::body;
use super::short_together;
use crate::quantity::{Current, Quantity, Range, Resistance, Temperature, Voltage};

impl Job<'_> {
    /// The current through a short to the body at the far end of a way.
    ///
    /// The lower end takes every resistance at its upper end, the body included; the upper end takes a short right to
    /// the battery's strap.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn fault_current(&self, way: &Way) -> Decided<Range<Current>> {
        self.drawn_through(way, Range::point(0.0))
    }

    /// The current to the body at the far end of a way through something that resists so much.
    pub(super) fn drawn_through(&self, way: &Way, resists: Range<Resistance>) -> Decided<Range<Current>> {
        let (emf, source) = self.source(way.source)?;
        let passes = self.passes_resistance(&way.passes)? + resists;
        let back = body(self).range;
        let least = source + passes + back;
        let most = source + passes;
        self.as_chargers_let(&way.passes, Range::new(emf.low() / least.high(), emf.high() / most.low()))
    }

    /// The current through a short right behind a fuse, which the fuse has to interrupt: that of the battery that drives most
    /// by itself, and of all of them together where several feed the fuse.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where no battery reaches the fuse.
    pub fn fault_behind(&self, fuse: usize) -> Decided<Range<Current>> {
        let protection = self.protection();
        let mut largest: Option<Range<Current>> = None;
        for way in &protection.ways {
            let Some(at) = way.passes.iter().position(|pass| *pass == Pass::Fuse(fuse)) else { continue };
            let (emf, source) = self.source(way.source)?;
            let passes = self.passes_resistance(&way.passes[..at])?;
            let total = source + passes;
            let current = Range::new(emf.low() / total.high(), emf.high() / total.low());
            let current = self.as_chargers_let(&way.passes[..at], current)?;
            largest = Some(largest.map_or(current, |known| known.max(current)));
        }
        let alone = largest.ok_or(Undecided::NotApplicable("no battery feeds this fuse"))?;
        Ok(short_together::behind(self, fuse)?.map_or(alone, |together| alone.max(together)))
    }

    /// The current of a short as the chargers in its way let it through. A converter holds its output at what it is made for,
    /// or shuts down: no battery drives a short through it (common practice, no published source).
    fn as_chargers_let(&self, passes: &[Pass], current: Range<Current>) -> Decided<Range<Current>> {
        let chargers = passes.iter().filter_map(|pass| if let Pass::Charger(name) = pass { Some(name) } else { None });
        let rated = chargers.map(|name| {
            let stated = self.plan.isolators.get(name).and_then(|isolator| isolator.rated);
            stated.ok_or_else(|| Undecided::need(Place::of(format!("isolators.{name}.rated"))))
        });
        let least = known::all(rated)?.into_iter().map(Quantity::base).fold(f64::INFINITY, f64::min);
        Ok(current.map(|amperes| amperes.min(least)))
    }

    /// A battery's voltage at rest and its internal resistance, by its place among the sources.
    ///
    /// # Errors
    /// The facts that tell how many volts it has.
    pub(super) fn source(&self, source: usize) -> Decided<(Range<Voltage>, Range<Resistance>)> {
        let feeder = &self.protection().feeders[source];
        let multiple = self.multiple_at(self.graph(), feeder.node)?;
        Ok((
            self.rest_voltage(&feeder.battery, &feeder.place, multiple).range,
            self.battery_resistance(&feeder.battery, &feeder.place, multiple).range,
        ))
    }

    /// Resistance of everything on a way: conductors from cold to their insulation's limit, joints, cold fuses.
    fn passes_resistance(&self, passes: &[Pass]) -> Decided<Range<Resistance>> {
        const COLD: f64 = 20.0;
        let parts = passes.iter().map(|pass| match pass {
            Pass::Stretch(wire, metres) => {
                let wire = &self.wires[*wire];
                let metres = metres.ok_or_else(|| Undecided::need(unmeasured(wire)))?;
                let temperature = Range::<Temperature>::new(COLD, self.insulation(wire).range.high());
                self.conductor_resistance(wire, Range::point(metres), temperature)
            }
            Pass::Joint(wire) => Ok(self.joint(&self.wires[*wire]).range),
            Pass::Fuse(fuse) => {
                let site = &self.protection().fuses[*fuse];
                self.fuse_resistance(&site.fuse, &site.place).map(|known| known.range)
            }
            Pass::Contact | Pass::Charger(_) => Ok(self.house.assumptions.joint.range),
        });
        known::all(parts).map(|parts| parts.into_iter().sum())
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    /// 12.6 V behind 5 mohm; a feed of 4 m without a fuse, and a body of 2 mohm to come back by.
    const FEED: &str = "plan: 1\nvehicle: {voltage: 12 V, body: steel, body_resistance: 2 mohm, \
                        battery: {internal_resistance: 5 mohm, rest_voltage: 12.6 V}}\n\
                        wires: {feed: {from: battery.positive, to: amp.power, length: 4 m, size: 4 AWG, conductor: copper, \
                        stranding: solid, insulation: 75 C, joint_resistance: 0.5 mohm}}\n";

    /// A short at the far end is least where all is warm and the body lies in the way, most right at the strap: 4 m of
    /// 21.15 mm2 at 0.017241 ohm mm2/m are 3.26 mohm at 20 C and 21.6 % more at 75 C. The joint at the post is in it.
    #[test]
    fn the_body_and_the_heat_make_a_fault_smaller() {
        of_job(FEED, |job| {
            let found = job.fault_current(&job.protection().ways[0]).expect("stated");
            let metal = 4.0 * 0.017_241 / 21.15;
            let (cold, warm) = (0.005 + 0.0005 + metal, 0.005 + 0.0005 + metal * (1.0 + 0.003_93 * 55.0) + 0.002);
            assert!((found.high() / (12.6 / cold) - 1.0).abs() < 0.002, "{found}");
            assert!((found.low() / (12.6 / warm) - 1.0).abs() < 0.002, "{found}");
        });
    }

    const CAMPER: &str = "plan: 1\nvehicle: {voltage: 12 V, body: steel, body_resistance: 2 mohm, battery: {internal_resistance: 5 mohm, \
        rest_voltage: 12.6 V}}\nbatteries: {rear: {internal_resistance: 20 mohm, rest_voltage: 12.6 V}}\n\
        isolators: {dcdc: {kind: charger, rated: 30 A}}\nwires:\n  \
        charge: {from: battery.positive, to: dcdc.in, length: 4 m, size: 6 AWG, conductor: copper}\n  \
        link: {from: dcdc.out, to: rear.positive, length: 1 m, size: 6 AWG, conductor: copper, \
        far_fuse: {form: bolt-down, rating: 40 A, resistance: 1 mohm, distance: 10 cm}}\n";

    /// Behind a converter for 30 A flow 30 A, whatever the starting battery could give; the rear battery drives its own.
    #[test]
    fn a_charger_ends_the_way_of_a_short_for_the_other_battery() {
        of_job(CAMPER, |job| {
            let link = job.wires.iter().position(|wire| wire.name == "link").expect("stated");
            let of = |source: usize| {
                let ways = job.protection().ways.iter().filter(|way| way.wire == link && way.source == source);
                ways.map(|way| job.fault_current(way).expect("stated").high()).fold(0.0, f64::max)
            };
            assert!((of(0) - 30.0).abs() < 1e-9, "{}", of(0));
            assert!(of(1) > 400.0, "{}", of(1));
            let behind = job.fault_behind(0).expect("stated");
            assert!(behind.high() < 12.6 / 0.020 && behind.low() > 30.0, "{behind}");
        });
        let relay = CAMPER.replace("kind: charger", "kind: relay");
        of_job(&relay, |job| assert!(job.fault_behind(0).expect("stated").high() > 12.6 / 0.020));
    }

    /// The length of the wire stands there; how far along it the fuse sits does not.
    #[test]
    fn what_is_missing_is_asked_for() {
        let need = |text: &str| {
            of_job(text, |job| match job.fault_behind(0).expect_err("it is not stated") {
                Undecided::Open(places) => places.iter().map(Place::path).collect::<Vec<_>>(),
                Undecided::NotApplicable(why) => panic!("{why}"),
            })
        };
        let fused = FEED.replace("length: 4 m", "length: 4 m, fuse: {form: bolt-down, rating: 60 A}");
        assert_eq!(need(&fused), ["wires.feed.fuse.distance"]);
        assert_eq!(need(&fused.replace("length: 4 m, ", "")), ["wires.feed.length"]);
    }
}

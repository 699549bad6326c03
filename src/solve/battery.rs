//! What batteries hold at rest and resist, and how many of twelve volts in series each is worth.

use super::facts::Facts;
use super::graph::{Graph, LinkKind, POSITIVE};
use super::known::{Decided, Known, Place, Undecided};
use crate::house::Assumption;
use crate::plan::{Battery, BatteryKind, Isolator};
use crate::quantity::{Current, Quantity, Range, Resistance, Voltage};

/// Voltage of a charged battery of 12 V at rest, in V (memory: lead-acid 12.5 to 12.8 V, lithium iron phosphate 13.2 to
/// 13.4 V): near enough to tell 12 V from 24 V.
const AT_REST: f64 = 12.8;

/// How many twelve-volt batteries in series a voltage at rest stands for.
fn in_series(rest: Quantity<Voltage>) -> f64 {
    (rest.base() / AT_REST).round().max(1.0)
}

impl Facts<'_> {
    /// How many twelve-volt batteries in series the battery with a positive post is worth: as its voltage at rest says, or
    /// that of one joined with it; the vehicle's where the starting battery is joined with it, and in a vehicle of 12 V. A
    /// charger in a vehicle of 24 V may have a battery of either behind it.
    ///
    /// # Errors
    /// The need for its voltage at rest, or for the system's.
    pub fn multiple_at(&self, graph: &Graph, post: usize) -> Decided<f64> {
        let is_charger = |name: &String| self.plan.isolators.get(name).is_some_and(Isolator::limits_current);
        let joins = |kind: &LinkKind| match kind {
            LinkKind::Isolator(name) => !is_charger(name),
            other => other.conducts(),
        };
        let added = || self.plan.batteries.iter().map(|(name, battery)| (graph.node(name, "positive"), name, battery));
        let own = added().find(|(node, ..)| *node == Some(post));
        if let Some(rest) = own.and_then(|(.., battery)| battery.rest_voltage) {
            return Ok(in_series(rest));
        }
        let system = self.system_multiple()?;
        let Some((_, name, _)) = own.filter(|_| system > 1.0) else { return Ok(system) };
        let joined = graph.joined(&[post], joins);
        if joined.contains(&POSITIVE) {
            return Ok(system);
        }
        let mut beside = added().filter(|(node, ..)| node.is_some_and(|node| joined.contains(&node)));
        let stated = beside.find_map(|(.., battery)| battery.rest_voltage);
        stated.map(in_series).ok_or_else(|| Undecided::need(Place::of(format!("batteries.{name}.rest_voltage"))))
    }

    /// Voltage of a charged battery at rest, worth this many twelve-volt batteries in series.
    pub fn rest_voltage(&self, battery: &Battery, path: &Place, multiple: f64) -> Known<Voltage> {
        let assumptions = &self.house.assumptions;
        let assumed = match battery.kind {
            Some(BatteryKind::LithiumIronPhosphate) => assumptions.rest_lithium,
            _ => assumptions.rest_lead_acid,
        };
        let otherwise = Assumption { range: assumed.range * multiple, source: assumed.source };
        self.assume(path.sub("rest_voltage"), battery.rest_voltage, &otherwise)
    }

    /// Internal resistance of a battery, worth this many twelve-volt batteries in series: by its cold-cranking current, else
    /// by its capacity, else as wide as batteries are.
    pub fn battery_resistance(&self, battery: &Battery, path: &Place, multiple: f64) -> Known<Resistance> {
        let assumptions = &self.house.assumptions;
        let is_lithium = battery.kind == Some(BatteryKind::LithiumIronPhosphate);
        let at_capacity =
            if is_lithium { assumptions.lithium_volts_at_capacity } else { assumptions.battery_volts_at_capacity };
        let unknown = if is_lithium { assumptions.lithium } else { assumptions.battery };
        let cranking = battery.cold_cranking.map(Quantity::base).filter(|amperes| *amperes > 0.0);
        // As many ampere as it has ampere-hours.
        let capacity = battery.capacity.map(Quantity::base).filter(|hours| *hours > 0.0);
        let by = |volts: Range<Voltage>, amperes: f64, source| Assumption {
            range: volts / Range::<Current>::point(amperes) * multiple,
            source,
        };
        let cranks = cranking.map(|amperes| {
            let known = assumptions.battery_volts_over_cranking;
            by(known.range, amperes, known.source)
        });
        let otherwise = cranks
            .or_else(|| capacity.map(|amperes| by(at_capacity.range, amperes, at_capacity.source)))
            .unwrap_or(Assumption { range: unknown.range * multiple, source: unknown.source });
        self.assume(path.sub("internal_resistance"), battery.internal_resistance, &otherwise)
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    fn resistance(battery: &str) -> (f64, f64) {
        let text = format!("plan: 1\nvehicle: {{voltage: 12 V, battery: {{{battery}}}}}\n");
        of_job(&text, |job| {
            let battery = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.clone()).unwrap_or_default();
            let found = job.battery_resistance(&battery, &Place::of("vehicle.battery"), 1.0).range;
            (found.low() * 1e3, found.high() * 1e3)
        })
    }

    /// Lithium iron phosphate rests above 13 V, lead under it; two batteries in series have twice the voltage and twice the
    /// resistance.
    #[test]
    fn batteries_by_kind_and_in_series() {
        of_job("plan: 1\n", |job| {
            let place = Place::of("vehicle.battery");
            let of = |kind| Battery { kind, ..Battery::default() };
            let rest = |kind, multiple| job.rest_voltage(&of(kind), &place, multiple).range;
            let lithium = rest(Some(BatteryKind::LithiumIronPhosphate), 1.0);
            assert!(lithium.low() > 13.0 && rest(Some(BatteryKind::Agm), 1.0).high() < 13.1, "{lithium}");
            assert_eq!(rest(None, 2.0), rest(None, 1.0) * 2.0);
            let resists = |battery: &Battery, multiple| job.battery_resistance(battery, &place, multiple).range;
            let cranks = |amperes| Battery { cold_cranking: Some(Quantity::new(amperes)), ..Battery::default() };
            for battery in [Battery::default(), cranks(600.0)] {
                assert_eq!(resists(&battery, 2.0), resists(&battery, 1.0) * 2.0);
            }
            // Twice the cranking current is half the resistance; none at all says nothing.
            assert!((resists(&cranks(600.0), 1.0).high() / resists(&cranks(1200.0), 1.0).high() - 2.0).abs() < 1e-9);
            assert_eq!(resists(&cranks(0.0), 1.0), resists(&Battery::default(), 1.0));
        });
        assert_eq!(resistance("capacity: 0 Ah"), resistance(""), "nor does no capacity at all");
    }

    /// Leaving a figure out never makes a battery tamer than it is: pairs of capacity and cold-cranking current as starting
    /// batteries are sold with (common practice, no published source), from a small car's to a truck's.
    #[test]
    fn what_is_assumed_by_capacity_covers_what_its_cranking_current_says() {
        for (capacity, cranking) in [(44, 440), (60, 680), (70, 760), (92, 850), (110, 920), (180, 1200), (225, 1150)] {
            let (most, _) = resistance(&format!("capacity: {capacity} Ah, cold_cranking: {cranking} A"));
            let (by_capacity, high) = resistance(&format!("capacity: {capacity} Ah"));
            let (unknown, _) = resistance("");
            assert!(by_capacity <= most && most <= high, "{capacity} Ah: {by_capacity}, {most}, {high}");
            assert!(unknown <= most, "{capacity} Ah: {unknown}, {most}");
        }
    }

    /// 0.1 to 1 V over its ampere-hours: the larger a lithium battery, the less it resists.
    #[test]
    fn a_large_lithium_battery_resists_less_than_a_small_one() {
        let of = |capacity: &str| resistance(&format!("kind: lithium-iron-phosphate{capacity}"));
        let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found}, {expected}");
        near(of(", capacity: 20 Ah").0, 5.0);
        near(of(", capacity: 200 Ah").0, 0.5);
        near(of(", capacity: 200 Ah").1, 5.0);
        assert!(of("").0 < of(", capacity: 200 Ah").0);
    }

    /// A battery behind a charger has a voltage of its own; one joined with the starting battery has the vehicle's.
    #[test]
    fn what_a_battery_is_worth_is_asked_for_behind_a_charger_of_24_volts() {
        let of = |voltage: &str, kind: &str, rest: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: {voltage}}}\nbatteries: {{rear: {{{rest}}}}}\nisolators: {{part: {{kind: {kind}}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: part.in}}\n  b: {{from: part.out, to: rear.positive}}\n"
            );
            of_job(&text, |job| {
                let post = job.graph().node("rear", "positive").expect("a post");
                job.multiple_at(job.graph(), post).map_err(|open| match open {
                    Undecided::Open(places) => places[0].path(),
                    Undecided::NotApplicable(why) => why.to_owned(),
                })
            })
        };
        assert_eq!(of("24 V", "charger", ""), Err("batteries.rear.rest_voltage".to_owned()));
        assert_eq!(of("24 V", "charger", "rest_voltage: 12.7 V"), Ok(1.0));
        assert_eq!(of("24 V", "charger", "rest_voltage: 25.6 V"), Ok(2.0));
        assert_eq!(of("24 V", "relay", ""), Ok(2.0));
        assert_eq!(of("12 V", "charger", ""), Ok(1.0));
    }
}

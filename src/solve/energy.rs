//! How much current there is to spare, and how long a battery lasts.

use std::collections::BTreeMap;

use super::case::Case;
use super::charged::Charged;
use super::charging;
use super::gear::{Gear, GearKind};
use super::graph::{LinkKind, POSITIVE, isolator_passes};
use super::job::Job;
use super::known::{self, Decided, Known, Place, Undecided};
use super::network::{Load, Solution};
use super::resistance::charge_cable;
use super::step_down;
use super::supply::Supply;
use crate::house::Assumption;
use crate::plan::{self, Battery, BatteryKind};
use crate::quantity::{Capacity, Current, Duration, Quantity, Range, Ratio, Resistance, Share, Voltage};

/// Hours of the discharge by which a battery's capacity is named (the twenty-hour rate).
const RATED_HOURS: f64 = 20.0;

const HOUR: f64 = 3600.0;

/// How long a charged battery gives a steady current until it has given a share of its capacity.
///
/// At the twenty-hour current, capacity / 20 h, it gives its capacity. Above it gives less, by Peukert's law:
/// t = 20 h x (capacity / (current x 20 h))^exponent. Below, the law would promise more than the battery holds, so
/// the time is capacity / current. Self-discharge is left out; it takes some per cent a month.
///
/// `capacity` is that of the twenty-hour rate; `exponent` is 1 or more. No
/// current lasts without limit (an infinite duration). Peukert's law holds for a battery of 20 to 25 C that rests at no
/// time; it is off by some ten per cent from one make to the next (from memory).
pub fn endurance(
    capacity: Range<Capacity>,
    current: Range<Current>,
    exponent: Range<Ratio>,
    usable: Range<Share>,
) -> Range<Duration> {
    let seconds = |capacity: f64, current: f64, exponent: f64, usable: f64| {
        let rated = capacity / RATED_HOURS;
        let exponent = if current > rated { exponent } else { 1.0 };
        RATED_HOURS * HOUR * usable / 100.0 * (rated / current).powf(exponent)
    };
    let shortest = seconds(capacity.low(), current.high(), exponent.high(), usable.low());
    Range::new(shortest, seconds(capacity.high(), current.low(), exponent.low(), usable.high()))
}

/// The steady current that takes a share of a battery's capacity in a time. Holds up to the twenty-hour current.
pub fn steady_draw(capacity: Range<Capacity>, usable: Range<Share>, time: Quantity<Duration>) -> Range<Current> {
    capacity.scaled(usable.low() / 100.0, usable.high() / 100.0).map(|hours| hours * HOUR / time.base())
}

/// What the alternator has in a case with the engine running, and what the added gear asks of it on average.
#[derive(Debug, Clone)]
pub struct Balance {
    /// What the alternator gives.
    pub output: Known<Current>,
    /// What the vehicle takes of it for itself.
    pub running: Known<Current>,
    /// What is left.
    pub spare: Range<Current>,
    /// What all added gear draws together.
    pub asked: Known<Current>,
}

/// Batteries that feed added gear together with the engine off.
#[derive(Debug, Clone)]
pub struct Bank {
    /// Where the capacity of each stands, and what it is.
    pub capacities: Vec<(Place, Quantity<Capacity>)>,
    /// Peukert's exponent.
    pub exponent: Assumption<Ratio>,
    /// What added gear draws from all of them together, with programme.
    pub drawn: Known<Current>,
    /// What radio and vehicle draw besides, where the plan says so and the starting battery is among them.
    pub accessory: Option<Known<Current>>,
    /// How long until the engine may not crank.
    pub lasts: Range<Duration>,
}

/// What is drawn with the vehicle asleep.
#[derive(Debug, Clone)]
pub struct Asleep {
    /// By the vehicle itself.
    pub vehicle: Known<Current>,
    /// By each thing that is added and switched off.
    pub added: Vec<Known<Current>>,
    /// By each thing that a constant feed keeps on.
    pub kept_on: Vec<Known<Current>>,
}

/// What flows through the factory's charge cable, and what it loses.
#[derive(Debug, Clone)]
pub struct Charge {
    /// Resistance of the cable and its straps.
    pub cable: Known<Resistance>,
    /// What flows through it on the road with programme: the vehicle's own draw and the added gear's.
    pub current: Known<Current>,
    /// What it loses.
    pub drop: Range<Voltage>,
}

const NOT_CONNECTED: &str = "no added gear has both its supply terminals connected";

impl Job<'_> {
    /// What the alternator can spare, and what all added gear together asks of it on average.
    ///
    /// Gear on a second battery behind a charger counts as well: what that battery gives, the charger takes back, as much as
    /// the voltages of both ask, and what it loses.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where no gear is connected or the network never works.
    pub fn balance(&self, case: Case) -> Decided<Balance> {
        let asked = self.drawn(case, None)?;
        let (output, running) = (charging::output(self, case), charging::running(self));
        Ok(Balance { output, running, spare: charging::spare(self, case), asked })
    }

    /// What added gear draws together in a case, but that which is fed through a charger alone.
    pub(super) fn drawn_before_chargers(&self, case: Case) -> Decided<Known<Current>> {
        let before = |load: &Load| self.charged_at(load.positive) != Charged::ByCharger;
        self.drawn_by(case, &|load| before(load).then_some(Range::point(1.0)))
    }

    /// What added gear draws together in a case: all, or what is on one bank of batteries.
    fn drawn(&self, case: Case, of: Option<&[(usize, usize)]>) -> Decided<Known<Current>> {
        // What a second battery gives while the engine runs comes back through its charger.
        let taken = |node| {
            let is_counted = case.engine_runs() || self.step_down_before(self.graph(), node).is_some();
            is_counted.then(|| self.taken_for(node)).flatten().unwrap_or(Range::point(1.0))
        };
        let counted = |load: &Load| match of {
            Some(wanted) => wanted.contains(&(load.positive, load.negative)).then_some(Range::point(1.0)),
            None => Some(taken(load.positive)),
        };
        self.drawn_by(case, &counted)
    }

    fn drawn_by(&self, case: Case, times: &dyn Fn(&Load) -> Option<Range<Ratio>>) -> Decided<Known<Current>> {
        if self.connected().next().is_none() {
            return Err(Undecided::NotApplicable(NOT_CONNECTED));
        }
        let supply = self.supply()?;
        let solution = supply.solution(case)?;
        Ok(Known::computed(sum_of_loads(supply, solution, case, times), case.words()))
    }

    /// The batteries that feed added gear with the engine off, bank by bank, each named by its first battery.
    ///
    /// Batteries that an open relay or a charger parts are banks of their own. All batteries of a bank share the
    /// current by their capacity. The current is that of charged batteries: towards the end it is a few per cent more.
    pub fn banks(&self) -> Vec<(Place, Decided<Bank>)> {
        let sources = sources(self);
        let mut fed: BTreeMap<Vec<usize>, Vec<(usize, usize)>> = BTreeMap::new();
        for (power, ground) in self.connected() {
            let feeding = (0..sources.len()).filter(|at| reaches(self, sources[*at].node, power)).collect();
            fed.entry(feeding).or_default().push((power, ground));
        }
        let banks = fed.into_iter().filter(|(batteries, _)| !batteries.is_empty());
        banks
            .map(|(batteries, gear)| {
                let batteries: Vec<&Source<'_>> = batteries.into_iter().map(|at| &sources[at]).collect();
                (batteries[0].place.clone(), bank(self, &batteries, &gear))
            })
            .collect()
    }

    /// What is drawn with the vehicle asleep.
    pub fn asleep(&self) -> Asleep {
        let assumptions = &self.house.assumptions;
        let stated = self.plan.vehicle.as_ref().and_then(|vehicle| vehicle.factory_load.as_ref());
        let stated = stated.and_then(|load| load.key_off);
        let vehicle = self.assume(Place::of("vehicle.factory_load.key_off"), stated, &assumptions.key_off);
        let (on, off): (Vec<_>, Vec<_>) = self.gear.iter().partition(|gear| self.is_kept_on(gear));
        // Behind a converter that is switched off nothing is fed.
        let is_dead = |gear: &Gear<'_>| {
            self.step_down_of(gear.name).is_some_and(|step_down| self.is_switched_off(step_down.name))
        };
        // What hangs on a circuit that goes off, or on what it listens to, draws nothing asleep unless it is said to.
        let draws = |gear: &&&Gear<'_>| {
            let may = gear.kind == GearKind::Amplifier || gear.off_current.is_some() || self.is_always_fed(gear);
            may && !is_dead(gear)
        };
        let added = off.iter().filter(draws).map(|gear| gear.drawn_off(self)).chain(self.capacitors_asleep());
        let step_downs = self.step_downs().into_iter().map(|is| step_down::drawn_off(self, is.name));
        let added = added.chain(step_downs).collect();
        Asleep { vehicle, added, kept_on: on.into_iter().map(|gear| gear.drawn_on(self)).collect() }
    }

    /// The supply terminals of the gear that has both of them connected, and of converters, which draw for what is behind.
    fn connected(&self) -> impl Iterator<Item = (usize, usize)> {
        let step_downs = self.step_downs().into_iter().map(|step_down| (step_down.input, step_down.ground));
        self.gear.iter().filter_map(|gear| self.supply_of(gear, self.graph())).chain(step_downs)
    }

    /// What is left of a battery when the engine may not crank any more, in words: `half empty`.
    pub fn emptied(&self) -> String {
        let usable = self.house.assumptions.usable_charge.range;
        if usable == Range::point(50.0) { "half empty".into() } else { format!("emptied by {usable}") }
    }

    /// How long the starting battery gives a steady current until the engine may not crank.
    ///
    /// # Errors
    /// The need for its capacity.
    pub fn starting_battery_lasts(&self, current: Range<Current>) -> Decided<Range<Duration>> {
        let starting = starting_battery(self);
        let exponent = exponent(self, &starting);
        let capacity = capacity(&starting)?;
        Ok(endurance(capacity.into(), current, exponent.range, self.house.assumptions.usable_charge.range))
    }

    /// The steady current that the starting battery stands for a time until the engine may not crank.
    ///
    /// # Errors
    /// The need for its capacity.
    pub fn starting_battery_stands(&self, time: Quantity<Duration>) -> Decided<Range<Current>> {
        let capacity = capacity(&starting_battery(self))?;
        Ok(steady_draw(capacity.into(), self.house.assumptions.usable_charge.range, time))
    }

    /// What the factory's charge cable loses on the road with programme.
    ///
    /// The vehicle's own draw flows through it too. Both together never exceed what the alternator gives.
    ///
    /// # Errors
    /// As [`Job::balance`]; not applicable where a cable is added beside it.
    pub fn charge(&self) -> Decided<Charge> {
        if self.graph().node("alternator", "positive").is_some() {
            return Err(Undecided::NotApplicable("an added cable goes to the alternator and carries most of it"));
        }
        let balance = self.balance(Case::CruiseProgramme)?;
        let supply = self.supply()?;
        let solution = supply.solution(Case::CruiseProgramme)?;
        let by_chargers = sum_of_loads(supply, solution, Case::CruiseProgramme, &|load| self.taken_for(load.positive));
        let added = solution.alternator_current(0) + by_chargers;
        let current = (added + balance.running.range).min(balance.output.range);
        let cable = charge_cable(self);
        let drop = current * cable.range;
        Ok(Charge { cable, current: Known::computed(current, "the vehicle's own draw and the added gear's"), drop })
    }
}

impl Asleep {
    /// By the vehicle and by what is switched off.
    pub fn without_kept_on(&self) -> Range<Current> {
        self.vehicle.range + self.added.iter().map(|known| known.range).sum()
    }

    /// Altogether.
    pub fn total(&self) -> Range<Current> {
        self.without_kept_on() + self.kept_on.iter().map(|known| known.range).sum()
    }
}

/// The currents of the loads that are counted, each so many times.
fn sum_of_loads(
    supply: &Supply,
    solution: &Solution,
    case: Case,
    times: &dyn Fn(&Load) -> Option<Range<Ratio>>,
) -> Range<Current> {
    let (mut once, mut scaled) = (Vec::new(), Range::point(0.0));
    for (load, is) in supply.network(case).loads.iter().enumerate() {
        match times(is) {
            Some(times) if times == Range::point(1.0) => once.push(load),
            Some(times) => scaled = scaled + solution.load_currents(&[load]).scaled(times.low(), times.high()),
            None => {}
        }
    }
    // What is counted once draws together, which is no more, and often less, than each at its own end.
    scaled + solution.load_currents(&once)
}

/// A battery with where it stands in the plan and the node of its positive post.
struct Source<'a> {
    place: Place,
    node: usize,
    battery: Option<&'a Battery>,
}

fn starting_battery<'a>(job: &Job<'a>) -> Source<'a> {
    let battery = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
    Source { place: Place::of("vehicle.battery"), node: POSITIVE, battery }
}

/// The starting battery first, then the added ones.
fn sources<'a>(job: &Job<'a>) -> Vec<Source<'a>> {
    let added = job.plan.batteries.iter().filter_map(|(name, battery)| {
        let node = job.graph().node(name, "positive")?;
        Some(Source { place: Place::of(format!("batteries.{name}")), node, battery: Some(battery) })
    });
    std::iter::once(starting_battery(job)).chain(added).collect()
}

/// Whether a battery feeds a terminal with the engine off.
fn reaches(job: &Job<'_>, battery: usize, terminal: usize) -> bool {
    let passes = |kind: &LinkKind| match kind {
        LinkKind::Wire(_) | LinkKind::Output(..) => true,
        LinkKind::Isolator(name) => {
            isolator_passes(job.plan.isolators.get(name).and_then(|isolator| isolator.kind), false)
        }
        LinkKind::Ground(_) | LinkKind::Body | LinkKind::ChargeCable => false,
    };
    job.graph().nearest(terminal, &[battery], passes).is_some()
}

fn bank(job: &Job<'_>, batteries: &[&Source<'_>], gear: &[(usize, usize)]) -> Decided<Bank> {
    let drawn = job.drawn(Case::OffProgramme, Some(gear))?;
    let capacities = known::all(
        batteries.iter().map(|source| capacity(source).map(|capacity| (source.place.sub("capacity"), capacity))),
    )?;
    let load = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.factory_load.as_ref());
    let accessory = load.and_then(|load| load.accessory).filter(|_| batteries[0].node == POSITIVE);
    let accessory = accessory.map(|current| Known {
        range: current.into(),
        origin: known::Origin::Stated(Place::of("vehicle.factory_load.accessory")),
    });
    let all = drawn.range + accessory.iter().map(|known| known.range).sum();
    let exponents = batteries.iter().map(|source| exponent(job, source));
    let exponent = exponents.reduce(wider).unwrap_or(*job.house.assumptions.peukert_flooded);
    let capacity = capacities.iter().map(|(_, capacity)| Range::from(*capacity)).sum();
    let lasts = endurance(capacity, all, exponent.range, job.house.assumptions.usable_charge.range);
    Ok(Bank { capacities, exponent, drawn, accessory, lasts })
}

fn capacity(source: &Source<'_>) -> Decided<Quantity<Capacity>> {
    let stated = source.battery.and_then(|battery| battery.capacity);
    stated.ok_or_else(|| Undecided::need(source.place.sub("capacity")))
}

fn wider(one: Assumption<Ratio>, other: Assumption<Ratio>) -> Assumption<Ratio> {
    Assumption { range: one.range.hull(other.range), source: one.source }
}

/// Peukert's exponent of a battery. One of unknown kind is some kind of lead-acid battery, as for its voltage.
fn exponent(job: &Job<'_>, of: &Source<'_>) -> Assumption<Ratio> {
    let show = |index: f64| plan::word(if index < 0.5 { &BatteryKind::Flooded } else { &BatteryKind::Agm });
    let kinds = [BatteryKind::Flooded, BatteryKind::Agm];
    let source = "a battery that is not named is some kind of lead-acid battery (common practice)";
    let stated = of.battery.and_then(|battery| battery.kind);
    let kinds = job.assume_words(&of.place.sub("kind"), stated, &kinds, show, source);
    let assumptions = &job.house.assumptions;
    let of = |kind: BatteryKind| match kind {
        BatteryKind::Flooded | BatteryKind::EnhancedFlooded => *assumptions.peukert_flooded,
        BatteryKind::Agm | BatteryKind::Gel => *assumptions.peukert_sealed,
        BatteryKind::LithiumIronPhosphate => *assumptions.peukert_lithium,
    };
    kinds.into_iter().map(of).reduce(wider).unwrap_or(*assumptions.peukert_flooded)
}

#[cfg(test)]
mod tests {
    use super::super::{of_job, told_of};
    use super::*;

    const HALF: Range<Share> = Range::point(50.0);

    fn hours(capacity: f64, current: f64, exponent: f64, usable: f64) -> f64 {
        endurance(Range::point(capacity), Range::point(current), Range::point(exponent), Range::point(usable * 100.0))
            .high()
            / HOUR
    }

    fn near(found: f64, expected: f64, tolerance: f64) {
        assert!((found - expected).abs() <= tolerance, "{found}, expected {expected}");
    }

    /// 60 Ah give 3 A for 20 h. 30 A is ten times that: 20 h / 10^1.2 = 1.262 h, against 2 h without the law.
    #[test]
    fn a_high_current_takes_more_than_its_share() {
        near(hours(60.0, 3.0, 1.2, 1.0), 20.0, 1e-9);
        near(hours(60.0, 30.0, 1.2, 1.0), 1.262, 0.0005);
        near(hours(60.0, 30.0, 1.0, 1.0), 2.0, 1e-9);
        near(hours(60.0, 30.0, 1.2, 0.5), 0.631, 0.0005);
    }

    /// Under the twenty-hour current no battery gives more than its capacity.
    #[test]
    fn a_small_current_gets_no_more_than_the_capacity() {
        near(hours(60.0, 0.03, 1.3, 1.0), 2000.0, 1e-6);
        assert!(hours(60.0, 0.0, 1.3, 1.0).is_infinite());
    }

    #[test]
    fn ranges_take_the_worst_and_the_best_of_everything() {
        let lasts = endurance(Range::new(50.0, 60.0), Range::new(10.0, 20.0), Range::new(1.1, 1.3), HALF);
        near(lasts.low(), endurance(Range::point(50.0), Range::point(20.0), Range::new(1.3, 1.3), HALF).low(), 1e-6);
        near(lasts.high(), endurance(Range::point(60.0), Range::point(10.0), Range::new(1.1, 1.1), HALF).high(), 1e-6);
    }

    /// What `steady_draw` allows lasts just as long as it was asked for.
    #[test]
    fn draw_and_endurance_are_each_others_reverse() {
        let three_weeks = Quantity::new(21.0 * 24.0 * HOUR);
        let draw = steady_draw(Range::point(60.0), HALF, three_weeks);
        near(draw.high(), 0.059_52, 0.000_01);
        near(endurance(Range::point(60.0), draw, Range::new(1.1, 1.3), HALF).low(), three_weeks.base(), 1e-3);
    }

    /// Two amplifiers in the back on one battery each: with a relay between two banks, with a switch one.
    fn plan(isolator: &str) -> String {
        let amplifier =
            "{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, rated: [{load: 4 ohm, power: 300 W}]}";
        let wire = "size: 1/0 AWG, conductor: copper, length: 1 m";
        format!(
            "plan: 1\nvehicle:\n  voltage: 12 V\n  body: steel\n  factory_load: {{accessory: 5 A}}\n  \
             battery: {{kind: agm, capacity: 60 Ah, rest_voltage: 12.6 V, internal_resistance: 5 mohm}}\n\
             batteries: {{rear: {{kind: agm, capacity: 90 Ah, rest_voltage: 12.6 V, internal_resistance: 5 mohm}}}}\n\
             isolators: {{part: {{kind: {isolator}}}}}\namplifiers: {{one: {amplifier}, two: {amplifier}}}\ngrounds: {{g: {{}}}}\n\
             wires:\n  a: {{from: battery.positive, to: part.in, {wire}}}\n  b: {{from: part.out, to: rear.positive, {wire}}}\n  \
             c: {{from: rear.negative, to: grounds.g, {wire}}}\n  d: {{from: battery.positive, to: one.power, {wire}}}\n  \
             e: {{from: one.ground, to: grounds.g, {wire}}}\n  f: {{from: rear.positive, to: two.power, {wire}}}\n  \
             h: {{from: two.ground, to: grounds.g, {wire}}}\n"
        )
    }

    fn banks(isolator: &str) -> Vec<(String, f64, f64)> {
        let of = |(place, bank): (Place, Decided<Bank>)| {
            let bank = bank.expect("everything is stated");
            let capacity = bank.capacities.iter().map(|(_, capacity)| capacity.base()).sum();
            let accessory = bank.accessory.map_or(0.0, |known| known.range.high());
            (place.path(), capacity, bank.drawn.range.middle() + accessory)
        };
        of_job(&plan(isolator), |job| job.banks().into_iter().map(of).collect())
    }

    /// 300 W / 3 / 80 % at 12.5 V are 10 A, with 1 A idle 11 A; the radio's 5 A hang on the starting battery.
    #[test]
    fn a_relay_makes_two_banks_and_a_switch_one() {
        for kind in ["relay", "charger"] {
            let banks = banks(kind);
            assert_eq!(banks.len(), 2, "{banks:?}");
            assert_eq!((banks[0].0.as_str(), banks[0].1), ("vehicle.battery", 60.0));
            assert_eq!((banks[1].0.as_str(), banks[1].1), ("batteries.rear", 90.0));
            near(banks[0].2, 16.0, 0.2);
            near(banks[1].2, 11.0, 0.2);
        }
        let one = banks("switch");
        assert_eq!((one.len(), one[0].1), (1, 150.0));
        near(one[0].2, 27.0, 0.3);
    }

    #[test]
    fn what_sleeps_and_what_is_kept_on_are_told_apart() {
        let text = "plan: 1\nvehicle: {factory_load: {key_off: 20 mA}}\nconverters: {loc: {off_current: 2 mA}, other: {}}\n\
                    amplifiers: {one: {idle_current: 0.8 A}, two: {off_current: 3 mA}}\n\
                    turn_on: {remote: {from: {kind: constant}, to: [one.remote]}}\n";
        of_job(text, |job| {
            let asleep = job.asleep();
            near(asleep.without_kept_on().high(), 0.025, 1e-12);
            near(asleep.total().high(), 0.825, 1e-12);
        });
    }

    /// A processor of 0.6 A that is wired to the battery is asked of the alternator, drawn with the engine off, and draws the
    /// same where a circuit of the vehicle feeds it, which sleeps with the vehicle.
    #[test]
    fn gear_beside_the_amplifiers_is_counted_where_it_is_wired() {
        let wired = "  x: {from: battery.positive, to: dsp.power, size: 14 AWG, conductor: copper, length: 1 m}\n  \
                     y: {from: dsp.ground, to: grounds.g, size: 14 AWG, conductor: copper, length: 1 m}\n\
                     sources: {dsp: {kind: processor, current: 0.6 A, off_current: 3 mA}}\n";
        let of = |text: &str| {
            of_job(text, |job| {
                let asked = job.balance(Case::IdleProgramme).expect("decided").asked.range.middle();
                let bank = job.banks().remove(0).1.expect("decided").drawn.range.middle();
                (asked, bank, job.asleep().total().middle())
            })
        };
        let (without, with) = (of(&plan("charger")), of(&(plan("charger") + wired)));
        near(with.0 - without.0, 0.6, 0.01);
        near(with.1 - without.1, 0.6, 0.01);
        near(with.2 - without.2, 0.003, 1e-9);
        let tapped = "  y: {from: dsp.ground, to: grounds.g, size: 14 AWG, conductor: copper, length: 1 m}\n\
                      turn_on: {tap: {from: {kind: accessory}, to: [dsp.power]}}\n\
                      sources: {dsp: {kind: processor, current: 0.6 A}}\n";
        let tapped = of(&(plan("charger") + tapped));
        near(tapped.0 - without.0, 0.6, 0.01);
        near(tapped.1 - without.1, 0.6, 0.01);
        near(tapped.2 - without.2, 0.0, 1e-9);
    }

    /// The amplifier on the second battery draws 11 A there. Through a relay the alternator gives them; a charger that gives
    /// 90 % of what it takes takes 12.2 A for them, and they flow through the factory's charge cable too.
    #[test]
    fn a_charger_takes_what_it_loses_besides() {
        let of = |loses: &str| {
            let text = plan("charger").replace("kind: charger", &format!("kind: charger{loses}"));
            of_job(&text, |job| {
                let asked = job.balance(Case::IdleProgramme).expect("decided").asked.range;
                (asked, job.charge().expect("decided").current.range)
            })
        };
        let (whole, cable) = of(", efficiency: 100 %");
        let (lossy, more) = of(", efficiency: 90 %");
        let rear = 11.0 * (1.0 / 0.9 - 1.0);
        near(lossy.middle() - whole.middle(), rear, 0.05);
        near(more.middle() - cable.middle(), rear, 0.05);
        let (unknown, _) = of("");
        near(unknown.low() - whole.low(), 11.0 * (1.0 / 0.95 - 1.0), 0.05);
        near(unknown.high() - whole.high(), 11.0 * (1.0 / 0.85 - 1.0), 0.05);
    }

    /// A battery that is not named is some kind of lead-acid battery: what it comes to is told of either.
    #[test]
    fn a_battery_of_no_kind_is_told_as_flooded_or_sealed() {
        of_job("plan: 1\n", |job| {
            exponent(job, &starting_battery(job));
            assert_eq!(told_of(job, "vehicle.battery.kind"), ["flooded", "agm"]);
        });
    }
}

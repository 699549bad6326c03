//! The facts of a job: what its plan states, and the range that stands in for what it does not. Nothing of the supply is
//! solved in here.

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::ampacity;
use super::conductor::{self, Construction};
use super::gear::{self, Gear};
use super::known::{Decided, Known, Origin, Place, Thing, Undecided};
use crate::house::{Assumption, House};
use crate::plan::{self, Covering, Fuse, FuseForm, Material, Plan, Stranding, Wire, Zone};
use crate::quantity::{Current, Dimension, Duration, Gauge, Length, Quantity, Range, Resistance, Temperature};

/// Facts narrowed to try what a verdict would be: by path, a number in its base unit or the index of a word.
pub type Pins = BTreeMap<String, f64>;

/// A fact that the plan does not state and for which a range stands in.
#[derive(Debug, Clone)]
pub struct Assumed {
    /// Where the plan would state it.
    pub place: Place,
    /// What is assumed, in the base unit, or the first and last index of the words in `words`.
    pub range: (f64, f64),
    /// Values worth trying: insulation classes, words. Empty where any number in the range may be.
    pub steps: Vec<f64>,
    /// How a value is written in a plan.
    pub show: fn(f64) -> String,
    /// Where the range comes from.
    pub source: &'static str,
}

/// What is known of a job before anything is computed: the plan, and ranges where it states nothing.
pub struct Facts<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Limits and assumptions.
    pub house: &'a House,
    /// Its wires.
    pub wires: Vec<Thing<'a, plan::Wire>>,
    /// Its amplifiers.
    pub amplifiers: Vec<Thing<'a, plan::Amplifier>>,
    /// All gear that is fed and told to go on: its amplifiers, processors and converters.
    pub gear: Vec<Gear<'a>>,
    /// Its grounds.
    pub grounds: Vec<Thing<'a, plan::Ground>>,
    /// Its loads.
    pub loads: Vec<Thing<'a, plan::Load>>,
    /// Its turn-on leads.
    pub turn_on: Vec<Thing<'a, plan::TurnOn>>,
    /// Its signals.
    pub signals: Vec<Thing<'a, plan::Signal>>,
    /// Its distribution blocks.
    pub blocks: Vec<Thing<'a, plan::Block>>,
    pins: Pins,
    assumed: RefCell<BTreeMap<String, Assumed>>,
}

fn things<'a, T>(section: &str, items: &'a BTreeMap<String, T>) -> Vec<Thing<'a, T>> {
    items.iter().map(|(name, item)| Thing::new(section, name, item)).collect()
}

impl<'a> Facts<'a> {
    /// Whether some facts are tried at a value that the plan does not state: then only the verdict counts, and nobody is told
    /// anything.
    pub fn is_tried(&self) -> bool {
        !self.pins.is_empty()
    }

    /// The facts of a plan, as if the pinned ones were stated.
    pub fn new(plan: &'a Plan, house: &'a House, pins: Pins) -> Self {
        Self {
            plan,
            house,
            wires: things("wires", &plan.wires),
            amplifiers: things("amplifiers", &plan.amplifiers),
            gear: gear::of(plan),
            grounds: things("grounds", &plan.grounds),
            loads: things("loads", &plan.loads),
            turn_on: things("turn_on", &plan.turn_on),
            signals: things("signals", &plan.signals),
            blocks: things("blocks", &plan.blocks),
            pins,
            assumed: RefCell::default(),
        }
    }

    /// A wire by name.
    pub fn wire(&self, name: &str) -> Option<&Thing<'a, plan::Wire>> {
        self.wires.iter().find(|wire| wire.name == name)
    }

    /// An amplifier by name.
    pub fn amplifier(&self, name: &str) -> Option<&Thing<'a, plan::Amplifier>> {
        self.amplifiers.iter().find(|amplifier| amplifier.name == name)
    }

    /// A ground by name.
    pub fn ground(&self, name: &str) -> Option<&Thing<'a, plan::Ground>> {
        self.grounds.iter().find(|ground| ground.name == name)
    }

    /// Every fact that had to be assumed so far, by path.
    pub fn assumed(&self) -> Vec<Assumed> {
        self.assumed.borrow().values().cloned().collect()
    }

    /// A stated number, or the range that stands in for it.
    pub fn assume<D: Dimension>(
        &self,
        place: Place,
        stated: Option<Quantity<D>>,
        otherwise: &Assumption<D>,
    ) -> Known<D> {
        self.assume_steps(place, stated, otherwise, &[])
    }

    /// The same, for a fact that only ever takes certain values within its range.
    pub fn assume_steps<D: Dimension>(
        &self,
        place: Place,
        stated: Option<Quantity<D>>,
        otherwise: &Assumption<D>,
        steps: &[f64],
    ) -> Known<D> {
        if let Some(stated) = stated {
            return Known { range: stated.into(), origin: Origin::Stated(place) };
        }
        let (low, high) = (otherwise.range.low(), otherwise.range.high());
        let (low, high) = self.pin_or_assume(&place, (low, high), steps, show::<D>, otherwise.source);
        Known { range: Range::new(low, high), origin: Origin::Assumed(place, otherwise.source) }
    }

    /// The words that may stand where none is stated, narrowed when one is pinned.
    pub fn assume_words<W: Copy>(
        &self,
        place: &Place,
        stated: Option<W>,
        words: &[W],
        show: fn(f64) -> String,
        source: &'static str,
    ) -> Vec<W> {
        if let Some(word) = stated {
            return vec![word];
        }
        #[allow(clippy::cast_precision_loss, reason = "a handful of words")]
        let steps: Vec<f64> = (0..words.len()).map(|index| index as f64).collect();
        let ends = (0.0, steps.last().copied().unwrap_or(0.0));
        let (low, high) = self.pin_or_assume(place, ends, &steps, show, source);
        let inside = steps.iter().zip(words).filter(|(step, _)| (low..=high).contains(*step));
        inside.map(|(_, word)| *word).collect()
    }

    /// The pinned value of a fact, or what is assumed of it; remembers that it was asked for.
    fn pin_or_assume(
        &self,
        place: &Place,
        range: (f64, f64),
        steps: &[f64],
        show: fn(f64) -> String,
        source: &'static str,
    ) -> (f64, f64) {
        let path = place.path();
        if let Some(pin) = self.pins.get(&path) {
            return (*pin, *pin);
        }
        if range.0 < range.1 {
            let fact = Assumed { place: place.clone(), range, steps: steps.to_vec(), show, source };
            self.assumed.borrow_mut().insert(path, fact);
        }
        range
    }
}

/// Insulation classes of the ampacity table within the assumed range.
const CLASSES: [f64; 5] = [60.0, 75.0, 80.0, 90.0, 105.0];

/// What a wire may carry, and what that was made from.
#[derive(Debug, Clone)]
pub struct Carries {
    /// What it may carry.
    pub ampacity: Range<Current>,
    /// Its size.
    pub size: Gauge,
    /// What its insulation is made for.
    pub insulation: Known<Temperature>,
    /// How hot the hottest place on its way is.
    pub ambient: Known<Temperature>,
    /// How many conductors it runs tied together with.
    pub bundle: usize,
    /// What it may be made of.
    pub materials: Vec<Material>,
}

impl Facts<'_> {
    /// What a wire may be made of.
    pub fn materials(&self, wire: &Thing<'_, Wire>) -> Vec<Material> {
        let words = [Material::Copper, Material::CopperCladAluminium];
        let show = |index: f64| if index < 0.5 { "copper".to_owned() } else { "copper-clad-aluminium".to_owned() };
        let source = "what is sold without naming its metal may be copper-clad aluminium (common practice)";
        self.assume_words(&wire.at("conductor"), wire.conductor, &words, show, source)
    }

    /// What a wire's insulation is made for.
    pub fn insulation(&self, wire: &Thing<'_, Wire>) -> Known<Temperature> {
        self.assume_steps(wire.at("insulation"), wire.insulation, &self.house.assumptions.insulation, &CLASSES)
    }

    /// How hot a place gets.
    pub fn zone_temperature(&self, zone: Zone) -> Assumption<Temperature> {
        let usual = if zone.is_hot() { self.house.assumptions.hot_zone } else { self.house.assumptions.zone };
        **self.house.zones.get(&zone).unwrap_or(&usual)
    }

    /// How hot the hottest place on a wire's way is: its path, or the ends of it that are known.
    pub fn ambient(&self, wire: &Thing<'_, Wire>) -> Known<Temperature> {
        let place = wire.at("path");
        let hottest = wire
            .path
            .iter()
            .copied()
            .map(|zone| (zone, self.zone_temperature(zone)))
            .reduce(|one, other| if other.1.range.high() > one.1.range.high() { other } else { one });
        if let Some((zone, hottest)) = hottest {
            let of_house = self.house.zones.get(&zone).map(|zone| Origin::House(zone.name, zone.source));
            let origin = of_house.unwrap_or(Origin::Stated(place));
            return Known { range: hottest.range, origin };
        }
        self.any_heat(place, "the way is not stated: it may go through the engine bay")
    }

    /// How hot a place gets of which the plan does not tell where it is.
    pub(super) fn any_heat(&self, place: Place, source: &'static str) -> Known<Temperature> {
        let (cool, hot) = (self.house.assumptions.zone.range, self.house.assumptions.hot_zone.range);
        let measured = self.house.zones.values().map(|zone| zone.range);
        let (cool, hot) = measured.fold((cool, hot), |(cool, hot), zone| (cool.min(zone), hot.max(zone)));
        let show = |base: f64| {
            if base > 40.0 { "a way through a hot place".to_owned() } else { "a way through no hot place".to_owned() }
        };
        let steps = [cool.high(), hot.high()];
        let (low, high) = self.pin_or_assume(&place, (cool.low(), hot.high()), &steps, show, source);
        Known { range: Range::new(low, high), origin: Origin::Assumed(place, source) }
    }

    /// What a wire may carry where it runs.
    ///
    /// # Errors
    /// The need for its size.
    pub fn ampacity(&self, wire: &Thing<'_, Wire>) -> Decided<Carries> {
        let size = wire.need("size", &wire.size)?;
        Ok(self.ampacity_at(wire, size))
    }

    /// What a wire of another size in the place of one might carry.
    pub fn ampacity_at(&self, wire: &Thing<'_, Wire>, size: Gauge) -> Carries {
        let (insulation, ambient, bundle) = (self.insulation(wire), self.ambient(wire), self.bundle(wire));
        let materials = self.materials(wire);
        let ampacity = materials
            .iter()
            .map(|material| ampacity::ampacity(size, insulation.range, *material, ambient.range, bundle))
            .reduce(Range::hull)
            .unwrap_or(Range::point(0.0));
        Carries { ampacity, size, insulation, ambient, bundle, materials }
    }

    /// How many conductors count as tied together: a wire under carpet or in a full conduit gives off its heat like one of as
    /// many as the house says. Loom lets air through and does not count.
    fn bundle(&self, wire: &Wire) -> usize {
        let stated = wire.bundle.unwrap_or(1).max(1);
        let covered = self.house.assumptions.covered.range.high();
        let covered = (1..=u8::MAX).find(|count| f64::from(*count) >= covered).unwrap_or(u8::MAX);
        usize::from(match wire.covering {
            Some(Covering::Conduit | Covering::Carpet) => stated.max(covered),
            _ => stated,
        })
    }

    /// How hot a wire gets that carries a current for long.
    ///
    /// # Errors
    /// The need for its size.
    pub fn conductor_temperature(
        &self,
        wire: &Thing<'_, Wire>,
        current: Range<Current>,
    ) -> Decided<Range<Temperature>> {
        let carries = self.ampacity(wire)?;
        let (insulation, ambient) = (carries.insulation.range, carries.ambient.range);
        let temperatures = carries.materials.iter().map(|material| {
            ampacity::running_temperature(carries.size, insulation, *material, ambient, carries.bundle, current)
        });
        Ok(temperatures.reduce(Range::hull).unwrap_or(ambient))
    }

    /// Resistance of a stretch of a wire at a temperature, without its joints.
    ///
    /// # Errors
    /// The need for its size.
    pub fn conductor_resistance(
        &self,
        wire: &Thing<'_, Wire>,
        length: Range<Length>,
        temperature: Range<Temperature>,
    ) -> Decided<Range<Resistance>> {
        let size = wire.need("size", &wire.size)?;
        let built = if wire.stranding == Some(Stranding::Solid) { Construction::Solid } else { Construction::Stranded };
        let of = |material: &Material| conductor::resistance(length, size.area(), *material, temperature, built);
        Ok(self.materials(wire).iter().map(of).reduce(Range::hull).unwrap_or(Range::point(0.0)))
    }

    /// Resistance of one joint of a wire.
    pub fn joint(&self, wire: &Thing<'_, Wire>) -> Known<Resistance> {
        self.assume(wire.at("joint_resistance"), wire.joint_resistance, &self.house.assumptions.joint)
    }

    /// Resistance of a fuse's element.
    ///
    /// # Errors
    /// The need for its rating.
    pub fn fuse_resistance(&self, fuse: &Fuse, place: &Place) -> Decided<Known<Resistance>> {
        let rating = fuse.rating.ok_or_else(|| Undecided::need(place.sub("rating")))?;
        let assumptions = &self.house.assumptions;
        let drop = if fuse.is_breaker() { assumptions.breaker_drop } else { assumptions.fuse_drop };
        let range = super::fuse::element_resistance(rating, drop.range);
        Ok(self.assume(place.sub("resistance"), fuse.resistance, &Assumption { range, source: drop.source }))
    }

    /// The largest current that a fuse interrupts.
    ///
    /// # Errors
    /// The need for its form, when its breaking capacity is not stated either; of a breaker the need for it.
    pub fn breaking_capacity(&self, fuse: &Fuse, place: &Place) -> Decided<Known<Current>> {
        let stated = fuse.breaking_capacity;
        let form = match (stated, fuse.form) {
            (_, Some(form)) => form,
            (Some(_), None) => FuseForm::BoltDown,
            (None, None) => return Err(Undecided::need(place.sub("form"))),
        };
        let source = "ISO 8820-3 blades 1 kA; ISO 8820-5 strips 1 to 2 kA by type (from memory)";
        let place = place.sub("breaking_capacity");
        let promised = form.breaking_capacity().or(stated.map(Range::from));
        let range = promised.ok_or_else(|| Undecided::need(place.clone()))?;
        Ok(self.assume(place, stated, &Assumption { range, source }))
    }

    /// The longest time in which a circuit breaker opens at six times its rating.
    pub fn breaker_opening(&self, fuse: &Fuse, place: &Place) -> Known<Duration> {
        self.assume(place.sub("opening_time"), fuse.opening_time, &self.house.assumptions.breaker_opening)
    }

    /// Twelve-volt batteries in series that make up the system.
    ///
    /// # Errors
    /// The need for the system voltage.
    pub fn system_multiple(&self) -> Decided<f64> {
        self.plan
            .system_voltage()
            .map(plan::SystemVoltage::multiple)
            .ok_or_else(|| Undecided::need(Place::of("vehicle.voltage")))
    }
}

/// A value in a plan's words.
fn show<D: Dimension>(base: f64) -> String {
    Range::<D>::point(base).to_string()
}

#[cfg(test)]
mod tests {
    use super::super::{coils, demand, of_job, told_of};

    #[test]
    fn the_hottest_place_on_the_way_counts_wherever_it_comes() {
        let of = |path: &str| {
            let plan = format!("plan: 1\nwires: {{main: {{path: [{path}]}}}}\n");
            of_job(&plan, |job| job.ambient(&job.wires[0]).range)
        };
        let (hot, cool) = (of("engine-bay"), of("cargo"));
        assert!(hot.high() > cool.high() + 10.0, "{hot} and {cool}");
        assert_eq!(of("engine-bay, firewall, cargo"), hot);
        assert_eq!(of("cargo, firewall, engine-bay"), hot);
    }

    /// A wire in a full conduit or under carpet loses heat like one of three, and one of more like one of more.
    #[test]
    fn a_covered_wire_counts_as_one_of_three() {
        for (facts, conductors) in [
            ("", 1),
            ("bundle: 2", 2),
            ("covering: carpet", 3),
            ("covering: conduit", 3),
            ("covering: conduit, bundle: 2", 3),
            ("covering: carpet, bundle: 5", 5),
        ] {
            let plan = format!("plan: 1\nwires: {{main: {{{facts}}}}}\n");
            of_job(&plan, |job| assert_eq!(job.bundle(&job.wires[0]), conductors, "{facts}"));
        }
    }

    /// A verdict that turns with a word which is not stated says with which: each is the plan's own, in its order.
    #[test]
    fn what_is_not_stated_is_told_in_the_words_of_a_plan() {
        let plan = "plan: 1\nwires: {main: {}}\ndrivers: {low: {coils: [4 ohm]}}\n\
                    amplifiers: {amp: {class: D, channels: 1, rated: [{load: 4 ohm, power: 100 W}]}}\n\
                    loads: {bass: {amplifier: amp, outputs: [1], coils: low, lead: {length: 2 m, size: 12 AWG}}}\n";
        of_job(plan, |job| {
            assert_eq!(job.materials(&job.wires[0]).len(), 2);
            job.ambient(&job.wires[0]);
            coils::lead_resistance(job, &job.loads[0]).expect("stated");
            demand::of(job, &job.amplifiers[0]).expect("stated");
            let metals = ["copper", "copper-clad-aluminium"];
            assert_eq!(told_of(job, "wires.main.conductor"), metals);
            assert_eq!(told_of(job, "loads.bass.lead.conductor"), metals);
            assert_eq!(told_of(job, "wires.main.path"), ["a way through no hot place", "a way through a hot place"]);
            assert_eq!(told_of(job, "drivers.low.kind"), ["subwoofer", "full-range"]);
        });
    }
}

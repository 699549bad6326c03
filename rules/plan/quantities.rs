//! Every quantity that a plan states, with the range in which it makes sense.

use std::borrow::Cow;
use std::sync::Arc;

use super::plausible;
use crate::plan::{Battery, Bridged, End, Fuse, Inputs, Plan, RatedPower};
use crate::quantity::dimension::Unit;
use crate::quantity::{Area, Current, Dimension, Gauge, Power, Quantity, Range, Resistance, Voltage, Window, text};
use crate::solve::Place;

/// So many times what a source of one voltage gives into a smaller load is still taken: makers rate each load at its own
/// distortion (common practice, no published source).
const MORE_INTO_LESS: f64 = 1.25;
/// So many times what the fuses on a case let in for long is still taken as rated power: bursts of music are rated at
/// twice that and more (common practice, no published source).
const BURST: f64 = 3.0;
/// The highest voltage at which an amplifier is rated that does not say so, in V: that of a 24 V vehicle.
const MOST_VOLTS: f64 = 28.8;

/// A stated quantity.
pub struct Stated {
    /// Where it stands.
    pub place: Place,
    /// What is odd about it, if it is far outside of what is ever built.
    pub slip: Option<Slip>,
}

/// A quantity that looks like a slip of unit or of the point.
pub struct Slip {
    /// How it is written.
    pub written: String,
    /// Which values make sense, in words.
    pub usual: String,
    /// The same number with another unit of its dimension, where that makes sense.
    pub meant: Vec<String>,
    /// What the plan states elsewhere that cannot be true beside it, in a few words.
    pub beside: Option<(Place, String)>,
}

/// Every quantity of a plan for which a range is known.
pub fn of(plan: &Plan) -> Vec<Stated> {
    let mut seen = Seen(Vec::new());
    seen.vehicle(plan);
    seen.gear(plan);
    seen.supply(plan);
    seen.leads(plan);
    seen.settings(plan);
    seen.measured(plan);
    seen.0
}

/// Both ends in the unit of what is written; each in the unit in which it reads best, `0.5 mA to 2 A`, where that one would
/// ask for thousandths or tens of thousands: then the unit itself may be the slip.
fn usual<D: Dimension>(low: f64, high: f64, written: Range<D>) -> String {
    let range = Range::<D>::new(low, high);
    let reads_well = |unit: &Unit| {
        let (low, high) = (low / unit.scale, high / unit.scale);
        !unit.shown || (low == 0.0 || low > 0.009_99) && high < 9_999.0
    };
    if written.unit().is_some_and(reads_well) {
        return range.in_unit_of(written).to_string();
    }
    let unit = |base: f64| text::best_unit(D::UNITS, base);
    if unit(low) == unit(high) {
        return range.to_string();
    }
    format!("{} to {}", Quantity::<D>::new(low), Quantity::<D>::new(high))
}

/// A key below a thing.
type Key = Cow<'static, str>;

/// Where a thing stands.
fn path(written: impl Into<Arc<str>>) -> Arc<str> {
    written.into()
}

struct Seen(Vec<Stated>);

impl Seen {
    fn one<D: Dimension>(&mut self, at: &Arc<str>, key: impl Into<Key>, value: Option<Quantity<D>>) {
        let Some(value) = value else { return };
        self.note(Place::below(at, key), Range::from(value), || value.to_string(), meant::<D>);
    }

    fn window<D: Dimension>(&mut self, at: &Arc<str>, key: impl Into<Key>, value: Option<Window<D>>) {
        let Some(value) = value else { return };
        self.note(Place::below(at, key), Range::from(value), || value.to_string(), |_, _| Vec::new());
    }

    fn gauge(&mut self, at: &Arc<str>, key: impl Into<Key>, value: Option<Gauge>) {
        let Some(value) = value else { return };
        self.note::<Area>(Place::below(at, key), value.area(), || value.to_string(), |_, _| Vec::new());
    }

    /// Words are made only for a value that looks like a slip: most do not.
    fn note<D: Dimension>(
        &mut self,
        place: Place,
        value: Range<D>,
        written: impl Fn() -> String,
        meant: fn(&str, (f64, f64)) -> Vec<String>,
    ) {
        let Some((low, high)) = plausible::range(&place) else { return };
        // The least part in a thousand million allows for rounding of units.
        let slack = high.abs() * 1e-9;
        let inside = value.low() >= low - slack && value.high() <= high + slack;
        let nought = || value.high() == 0.0 && plausible::can_be_nought(&place);
        let slip = (!inside && !nought()).then(|| {
            let written = written();
            let usual = format!("{} is usual", usual(low, high, value));
            Slip { meant: meant(&written, (low, high)), usual, written, beside: None }
        });
        self.0.push(Stated { place, slip });
    }

    /// A quantity that makes sense by itself, and cannot be true beside what stands at another place.
    fn contradicts(&mut self, at: &str, written: String, usual: String, beside: (Place, String)) {
        if let Some(stated) = self.0.iter_mut().find(|stated| stated.slip.is_none() && stated.place.path() == at) {
            stated.slip = Some(Slip { written, usual, meant: Vec::new(), beside: Some(beside) });
        }
    }

    /// An alternator gives its rated current when it turns fast, and less at idle.
    fn above_rated(&mut self, rated: Quantity<Current>, idle: Quantity<Current>) {
        if idle.base() > rated.base() {
            let usual = format!("at idle an alternator gives less than the {rated} that it is rated for");
            let beside = (Place::of("vehicle.alternator.rated"), "rated when it turns fast".to_owned());
            self.contradicts("vehicle.alternator.at_idle", idle.to_string(), usual, beside);
        }
    }

    /// What a maker rates an amplifier into it allows as a load.
    fn above_rated_load(&mut self, at: &str, least: Option<Quantity<Resistance>>, rated: &[RatedPower]) {
        let lowest = rated.iter().enumerate().min_by(|one, other| one.1.load.base().total_cmp(&other.1.load.base()));
        let (Some(least), Some((number, lowest))) = (least, lowest) else { return };
        if lowest.load.base() < least.base() * (1.0 - 1e-9) {
            let usual = format!("its maker rates it for {} at {}", lowest.power, lowest.load);
            let beside = (Place::of(format!("{at}.rated.{number}.load")), "rated into less".to_owned());
            self.contradicts(&format!("{at}.minimum_load"), least.to_string(), usual, beside);
        }
    }

    /// What an amplifier states itself holds for outputs that no section names.
    fn of_no_output(&mut self, at: &str, amplifier: &crate::plan::Amplifier) {
        let (Some(channels), Some(first)) = (amplifier.channels, amplifier.rated.first()) else { return };
        let is_named = |output: u8| amplifier.sections.values().any(|section| section.outputs.contains(&output));
        if (1..=channels).all(is_named) {
            let usual = format!("its sections name all of its {channels} outputs");
            let beside = (Place::of(format!("{at}.channels")), "none is left for this".to_owned());
            self.contradicts(&format!("{at}.rated.0.power"), first.power.to_string(), usual, beside);
        }
    }

    /// The fuse in front of an amplifier may be as large as those on its case together.
    fn below_case(&mut self, at: &str, most: Option<Quantity<Current>>, own: &[Quantity<Current>]) {
        let (Some(most), Some(first)) = (most, own.first()) else { return };
        let sum = first.with_base(own.iter().map(|fuse| fuse.base()).sum());
        if sum.base() > most.base() * (1.0 + 1e-9) {
            let usual = format!("the fuses on its case make {sum} together");
            let beside = (Place::of(format!("{at}.onboard_fuses")), format!("{sum} together"));
            self.contradicts(&format!("{at}.maximum_fuse"), most.to_string(), usual, beside);
        }
    }

    /// Into a part of the load a source of a given voltage gives so many times the power and no more.
    fn above_voltage(&mut self, at: &str, rated: &[RatedPower]) {
        for (number, point) in rated.iter().enumerate() {
            let most = |other: &RatedPower| other.power.base() * other.load.base() / point.load.base();
            let higher = rated.iter().enumerate().filter(|(_, other)| other.load.base() > point.load.base());
            let least = higher.min_by(|one, other| most(one.1).total_cmp(&most(other.1)));
            let Some((other, above)) = least else { continue };
            if point.power.base() > most(above) * MORE_INTO_LESS * (1.0 + 1e-9) {
                let most = above.power.with_base(most(above));
                let usual = format!("{} at {} are {most} at {} at most", above.power, above.load, point.load);
                let beside = (Place::of(format!("{at}.{other}.power")), "rated into more".to_owned());
                self.contradicts(&format!("{at}.{number}.power"), point.power.to_string(), usual, beside);
            }
        }
    }

    /// What all channels give comes in through the fuses on the case.
    fn above_case(&mut self, at: &str, amplifier: &crate::plan::Amplifier) {
        let own = amplifier.onboard_fuses.as_deref().unwrap_or_default();
        let volts = amplifier.rated_at.map_or(MOST_VOLTS, Quantity::base);
        let Some(first) = own.first() else { return };
        let sum = first.with_base(own.iter().map(|fuse| fuse.base()).sum());
        let comes_in = Quantity::<Power>::new(sum.base() * volts);
        let named: usize = amplifier.sections.values().map(|section| section.outputs.len()).sum();
        let rest = usize::from(amplifier.channels.unwrap_or(1)).saturating_sub(named);
        let sections = amplifier.sections.iter();
        let sections = sections
            .map(|(name, section)| (format!("{at}.sections.{name}.rated"), &section.rated, section.outputs.len()));
        let parts = std::iter::once((format!("{at}.rated"), &amplifier.rated, rest)).chain(sections);
        let highest = |rated: &[RatedPower]| {
            let points = rated.iter().map(|point| point.power).enumerate();
            points.max_by(|one, other| one.1.base().total_cmp(&other.1.base()))
        };
        // The highest power of every part, the part that gives most last.
        let mut parts: Vec<(f64, String, Quantity<Power>)> = parts
            .filter_map(|(at, rated, outputs)| {
                let (number, power) = highest(rated)?;
                #[allow(clippy::cast_precision_loss, reason = "a handful of outputs")]
                let together = power.base() * outputs as f64;
                Some((together, format!("{at}.{number}.power"), power))
            })
            .collect();
        parts.sort_by(|one, other| one.0.total_cmp(&other.0));
        let all: f64 = parts.iter().map(|(together, ..)| together).sum();
        let Some((_, place, power)) = parts.pop() else { return };
        if all > comes_in.base() * BURST * (1.0 + 1e-9) {
            let volts = Quantity::<Voltage>::new(volts);
            let usual = format!("the fuses on its case make {sum} together, {comes_in} at {volts}");
            let beside = (Place::of(format!("{at}.onboard_fuses")), format!("{sum} together"));
            self.contradicts(&place, power.to_string(), usual, beside);
        }
    }

    fn battery(&mut self, at: &Arc<str>, battery: &Battery) {
        self.one(at, "capacity", battery.capacity);
        self.one(at, "cold_cranking", battery.cold_cranking);
        self.one(at, "charge_current", battery.charge_current);
        self.one(at, "internal_resistance", battery.internal_resistance);
        self.one(at, "rest_voltage", battery.rest_voltage);
        self.one(at, "mass", battery.mass);
    }

    fn fuse(&mut self, at: &Arc<str>, fuse: &Fuse) {
        self.one(at, "rating", fuse.rating);
        self.one(at, "distance", fuse.distance);
        self.one(at, "voltage", fuse.voltage);
        self.one(at, "breaking_capacity", fuse.breaking_capacity);
        self.one(at, "resistance", fuse.resistance);
        self.one(at, "opening_time", fuse.opening_time);
        self.one(at, "carries", fuse.carries);
        if let Some(holder) = &fuse.holder {
            self.gauge(at, "holder.takes", holder.takes);
            self.one(at, "holder.rated", holder.rated);
        }
    }

    fn vehicle(&mut self, plan: &Plan) {
        let Some(vehicle) = &plan.vehicle else { return };
        let at = path("vehicle");
        for (zone, distance) in &vehicle.distances {
            self.one(&at, format!("distances.{}", zone.word()), Some(*distance));
        }
        self.one(&at, "body_resistance", vehicle.body_resistance);
        if let Some(battery) = &vehicle.battery {
            self.battery(&path("vehicle.battery"), battery);
        }
        if let Some(alternator) = &vehicle.alternator {
            self.one(&at, "alternator.rated", alternator.rated);
            self.one(&at, "alternator.at_idle", alternator.at_idle);
            if let (Some(rated), Some(idle)) = (alternator.rated, alternator.at_idle) {
                self.above_rated(rated, idle);
            }
            self.one(&at, "alternator.voltage", alternator.voltage);
            self.one(&at, "alternator.cable_resistance", alternator.cable_resistance);
        }
        if let Some(load) = &vehicle.factory_load {
            self.one(&at, "factory_load.running", load.running);
            self.one(&at, "factory_load.accessory", load.accessory);
            self.one(&at, "factory_load.key_off", load.key_off);
        }
    }

    fn gear(&mut self, plan: &Plan) {
        for (name, battery) in &plan.batteries {
            self.battery(&path(format!("batteries.{name}")), battery);
        }
        for (name, amplifier) in &plan.amplifiers {
            self.amplifier(&path(format!("amplifiers.{name}")), amplifier);
        }
        for (name, driver) in &plan.drivers {
            let at = path(format!("drivers.{name}"));
            self.one(&at, "size", driver.size);
            self.one(&at, "rms", driver.rms);
            for (number, coil) in driver.coils.iter().enumerate() {
                self.one(&at, format!("coils.{number}"), Some(*coil));
            }
            for (number, coil) in driver.dc_resistance.iter().enumerate() {
                self.one(&at, format!("dc_resistance.{number}"), Some(*coil));
            }
            self.window(&at, "box_volume", driver.box_volume);
            self.one(&at, "resonance", driver.resonance);
            self.one(&at, "compliance_volume", driver.compliance_volume);
            self.one(&at, "displacement", driver.displacement);
        }
        for (name, enclosure) in &plan.enclosures {
            let at = path(format!("enclosures.{name}"));
            self.one(&at, "net_volume", enclosure.net_volume);
            self.one(&at, "gross_volume", enclosure.gross_volume);
            self.one(&at, "bracing", enclosure.bracing);
            self.one(&at, "mass", enclosure.mass);
            if let Some(vent) = &enclosure.vent {
                let sides = [("diameter", vent.diameter), ("width", vent.width), ("height", vent.height)];
                for (key, value) in sides.into_iter().chain([("length", vent.length)]) {
                    self.one(&at, format!("vent.{key}"), value);
                }
            }
        }
        for (name, source) in &plan.sources {
            let at = path(format!("sources.{name}"));
            self.inputs(&at, source.inputs.as_ref());
            self.one(&at, "level", source.level);
            self.one(&at, "power", source.power);
            self.one(&at, "speaker_load", source.speaker_load);
            self.window(&at, "operating_voltage", source.operating_voltage);
            self.one(&at, "current", source.current);
            self.one(&at, "off_current", source.off_current);
            self.one(&at, "remote_current", source.remote_current);
            self.one(&at, "on_delay", source.on_delay);
        }
        for (name, converter) in &plan.converters {
            let at = path(format!("converters.{name}"));
            self.one(&at, "input_maximum", converter.input_maximum);
            self.one(&at, "output_maximum", converter.output_maximum);
            self.one(&at, "turn_on_current", converter.turn_on_current);
            self.window(&at, "operating_voltage", converter.operating_voltage);
            self.one(&at, "current", converter.current);
            self.one(&at, "off_current", converter.off_current);
            self.one(&at, "remote_current", converter.remote_current);
        }
    }

    fn amplifier(&mut self, at: &Arc<str>, amplifier: &crate::plan::Amplifier) {
        self.ratings(at, amplifier.minimum_load, &amplifier.rated);
        self.of_no_output(at, amplifier);
        self.bridged(at, amplifier.bridged.as_ref());
        for (name, section) in &amplifier.sections {
            let at = path(format!("{at}.sections.{name}"));
            self.ratings(&at, section.minimum_load, &section.rated);
            self.bridged(&at, section.bridged.as_ref());
            self.one(&at, "efficiency", section.efficiency);
        }
        self.one(at, "rated_at", amplifier.rated_at);
        self.window(at, "operating_voltage", amplifier.operating_voltage);
        self.one(at, "efficiency", amplifier.efficiency);
        self.one(at, "idle_current", amplifier.idle_current);
        self.one(at, "off_current", amplifier.off_current);
        for (number, fuse) in amplifier.onboard_fuses.iter().flatten().enumerate() {
            self.one(at, format!("onboard_fuses.{number}"), Some(*fuse));
        }
        self.above_case(at, amplifier);
        self.one(at, "maximum_fuse", amplifier.maximum_fuse);
        self.below_case(at, amplifier.maximum_fuse, amplifier.onboard_fuses.as_deref().unwrap_or_default());
        if let Some(terminals) = &amplifier.terminals {
            self.gauge(at, "terminals.power", terminals.power);
            self.gauge(at, "terminals.speaker", terminals.speaker);
            self.one(at, "terminals.strip", terminals.strip);
        }
        self.inputs(at, amplifier.inputs.as_ref());
        self.one(at, "remote_current", amplifier.remote_current);
        self.one(at, "on_delay", amplifier.on_delay);
        self.one(at, "mass", amplifier.mass);
    }

    /// What a channel, or two joined, give into which load.
    fn ratings(&mut self, at: &Arc<str>, least: Option<Quantity<Resistance>>, rated: &[RatedPower]) {
        for (number, point) in rated.iter().enumerate() {
            self.one(at, format!("rated.{number}.load"), Some(point.load));
            self.one(at, format!("rated.{number}.power"), Some(point.power));
        }
        self.one(at, "minimum_load", least);
        self.above_rated_load(at, least, rated);
        self.above_voltage(&format!("{at}.rated"), rated);
    }

    fn bridged(&mut self, at: &Arc<str>, bridged: Option<&Bridged>) {
        if let Some(Bridged::Ratings(bridged)) = bridged {
            self.ratings(&path(format!("{at}.bridged")), bridged.minimum_load, &bridged.rated);
        }
    }

    fn inputs(&mut self, at: &Arc<str>, inputs: Option<&Inputs>) {
        self.window(at, "inputs.line", inputs.and_then(|inputs| inputs.line));
        self.window(at, "inputs.speaker_level", inputs.and_then(|inputs| inputs.speaker_level));
    }

    fn supply(&mut self, plan: &Plan) {
        for (name, isolator) in &plan.isolators {
            let at = path(format!("isolators.{name}"));
            self.one(&at, "rated", isolator.rated);
            self.one(&at, "efficiency", isolator.efficiency);
            self.one(&at, "output_voltage", isolator.output_voltage);
            self.one(&at, "off_current", isolator.off_current);
            self.one(&at, "resistance", isolator.resistance);
            self.gauge(&at, "takes", isolator.takes);
        }
        for (name, block) in &plan.blocks {
            let at = path(format!("blocks.{name}"));
            self.gauge(&at, "takes", block.takes);
            self.one(&at, "strip", block.strip);
            for (output, is) in &block.outputs {
                self.gauge(&at, format!("outputs.{output}.takes"), is.takes);
                is.fuse.iter().for_each(|fuse| self.fuse(&path(format!("{at}.outputs.{output}.fuse")), fuse));
            }
        }
        for (name, capacitor) in &plan.capacitors {
            let at = path(format!("capacitors.{name}"));
            self.one(&at, "capacitance", capacitor.capacitance);
            self.one(&at, "voltage", capacitor.voltage);
            self.one(&at, "resistance", capacitor.resistance);
            self.one(&at, "off_current", capacitor.off_current);
            self.gauge(&at, "takes", capacitor.takes);
            self.one(&at, "strip", capacitor.strip);
            self.one(&at, "mass", capacitor.mass);
        }
        for (name, wire) in &plan.wires {
            let at = path(format!("wires.{name}"));
            self.gauge(&at, "size", wire.size);
            self.one(&at, "insulation", wire.insulation);
            self.one(&at, "length", wire.length);
            self.one(&at, "fixed_every", wire.fixed_every);
            self.one(&at, "joint_resistance", wire.joint_resistance);
            wire.fuse.iter().for_each(|fuse| self.fuse(&path(format!("{at}.fuse")), fuse));
            wire.far_fuse.iter().for_each(|fuse| self.fuse(&path(format!("{at}.far_fuse")), fuse));
            if let Some(ends) = &wire.ends {
                ends.from.iter().for_each(|end| self.end(&path(format!("{at}.ends.from")), end));
                ends.to.iter().for_each(|end| self.end(&path(format!("{at}.ends.to")), end));
            }
        }
        for (name, ground) in &plan.grounds {
            let at = path(format!("grounds.{name}"));
            self.one(&at, "joint_resistance", ground.joint_resistance);
        }
    }

    fn end(&mut self, at: &Arc<str>, end: &End) {
        self.one(at, "stud", end.stud);
        self.gauge(at, "takes", end.takes);
        self.one(at, "strip", end.strip);
    }

    fn leads(&mut self, plan: &Plan) {
        for (name, lead) in &plan.turn_on {
            let at = path(format!("turn_on.{name}"));
            if let Some(from) = &lead.from {
                self.one(&at, "from.fuse", from.fuse);
                self.one(&at, "from.spare", from.spare);
                self.one(&at, "from.delay", from.delay);
            }
            self.one(&at, "fuse", lead.fuse);
            if let Some(relay) = &lead.relay {
                self.one(&at, "relay.coil_current", relay.coil_current);
                self.one(&at, "relay.contact_fuse", relay.contact_fuse);
            }
            self.gauge(&at, "size", lead.size);
        }
        for (name, signal) in &plan.signals {
            let at = path(format!("signals.{name}"));
            let Some(lead) = &signal.lead else { continue };
            self.one(&at, "lead.length", lead.length);
            self.one(&at, "lead.separation", lead.separation);
            self.one(&at, "lead.crosses_at", lead.crosses_at);
        }
        for (name, load) in &plan.loads {
            let at = path(format!("loads.{name}"));
            let Some(lead) = &load.lead else { continue };
            self.gauge(&at, "lead.size", lead.size);
            self.one(&at, "lead.length", lead.length);
        }
    }

    fn settings(&mut self, plan: &Plan) {
        for (name, mount) in &plan.mounts {
            let at = path(format!("mounts.{name}"));
            self.one(&at, "clearance", mount.clearance);
        }
        for (name, setting) in &plan.settings {
            let at = path(format!("settings.{name}"));
            self.one(&at, "gain_target", setting.gain_target);
            self.one(&at, "tone", setting.tone);
            self.one(&at, "low_pass", setting.low_pass);
            self.one(&at, "high_pass", setting.high_pass);
            self.one(&at, "low_cut", setting.low_cut);
            self.one(&at, "low_pass_slope", setting.low_pass_slope);
            self.one(&at, "high_pass_slope", setting.high_pass_slope);
            self.one(&at, "low_cut_slope", setting.low_cut_slope);
            self.one(&at, "boost", setting.boost);
        }
    }

    fn measured(&mut self, plan: &Plan) {
        let Some(measured) = &plan.measured else { return };
        let at = path("measured");
        for (name, wire) in &measured.wires {
            let at = path(format!("measured.wires.{name}"));
            self.one(&at, "drop", wire.drop);
            self.one(&at, "at", wire.at);
            self.one(&at, "fuse", wire.fuse);
            self.gauge(&at, "size", wire.size);
        }
        for (name, resistance) in &measured.grounds {
            self.one(&at, format!("grounds.{name}"), Some(*resistance));
        }
        for (name, load) in &measured.loads {
            let at = path(format!("measured.loads.{name}"));
            self.one(&at, "dc_resistance", load.dc_resistance);
        }
        self.one(&at, "key_off", measured.key_off);
        self.one(&at, "charging", measured.charging);
        for (name, setting) in &measured.settings {
            let at = path(format!("measured.settings.{name}"));
            self.one(&at, "gain", setting.gain);
        }
    }
}

/// The same number in other units, where that makes sense at a place.
fn meant<D: Dimension>(written: &str, (low, high): (f64, f64)) -> Vec<String> {
    let Some((number, unit)) = written.split_once(' ') else { return Vec::new() };
    let others = D::UNITS.iter().filter(|other| other.symbol != unit);
    let fitting = others.filter(|other| {
        number.parse::<f64>().is_ok_and(|number| (low..=high).contains(&(number * other.scale + other.offset)))
    });
    fitting.map(|other| format!("{number} {}", other.symbol)).collect()
}

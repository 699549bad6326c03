//! Every quantity that a plan states, with the range in which it makes sense.

use super::plausible;
use crate::plan::{Battery, Bridged, End, Fuse, Inputs, Plan, RatedPower};
use crate::quantity::dimension::Unit;
use crate::quantity::{Area, Current, Dimension, Gauge, Quantity, Range, Resistance, Window, text};
use crate::solve::Place;

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

struct Seen(Vec<Stated>);

impl Seen {
    fn one<D: Dimension>(&mut self, path: impl FnOnce() -> String, value: Option<Quantity<D>>) {
        let Some(value) = value else { return };
        self.note(path(), Range::from(value), || value.to_string(), meant::<D>);
    }

    fn window<D: Dimension>(&mut self, path: impl FnOnce() -> String, value: Option<Window<D>>) {
        let Some(value) = value else { return };
        self.note(path(), Range::from(value), || value.to_string(), |_, _| Vec::new());
    }

    fn gauge(&mut self, path: impl FnOnce() -> String, value: Option<Gauge>) {
        let Some(value) = value else { return };
        self.note::<Area>(path(), value.area(), || value.to_string(), |_, _| Vec::new());
    }

    /// Words are made only for a value that looks like a slip: most do not.
    fn note<D: Dimension>(
        &mut self,
        path: String,
        value: Range<D>,
        written: impl Fn() -> String,
        meant: fn(&str, &str) -> Vec<String>,
    ) {
        let Some((low, high)) = plausible::range(&path) else { return };
        // The least part in a thousand million allows for rounding of units.
        let slack = high.abs() * 1e-9;
        let inside = value.low() >= low - slack && value.high() <= high + slack;
        let slip = (!inside).then(|| {
            let written = written();
            let usual = format!("{} is usual", usual(low, high, value));
            Slip { meant: meant(&written, &path), usual, written, beside: None }
        });
        self.0.push(Stated { place: Place::of(path), slip });
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

    fn battery(&mut self, at: &str, battery: &Battery) {
        self.one(|| format!("{at}.capacity"), battery.capacity);
        self.one(|| format!("{at}.cold_cranking"), battery.cold_cranking);
        self.one(|| format!("{at}.internal_resistance"), battery.internal_resistance);
        self.one(|| format!("{at}.rest_voltage"), battery.rest_voltage);
        self.one(|| format!("{at}.mass"), battery.mass);
    }

    fn fuse(&mut self, at: &str, fuse: &Fuse) {
        self.one(|| format!("{at}.rating"), fuse.rating);
        self.one(|| format!("{at}.distance"), fuse.distance);
        self.one(|| format!("{at}.voltage"), fuse.voltage);
        self.one(|| format!("{at}.breaking_capacity"), fuse.breaking_capacity);
        self.one(|| format!("{at}.resistance"), fuse.resistance);
        self.one(|| format!("{at}.opening_time"), fuse.opening_time);
        self.one(|| format!("{at}.carries"), fuse.carries);
        if let Some(holder) = &fuse.holder {
            self.gauge(|| format!("{at}.holder.takes"), holder.takes);
            self.one(|| format!("{at}.holder.rated"), holder.rated);
        }
    }

    fn vehicle(&mut self, plan: &Plan) {
        let Some(vehicle) = &plan.vehicle else { return };
        for (zone, distance) in &vehicle.distances {
            self.one(|| format!("vehicle.distances.{}", zone.word()), Some(*distance));
        }
        self.one(|| "vehicle.body_resistance".into(), vehicle.body_resistance);
        if let Some(battery) = &vehicle.battery {
            self.battery("vehicle.battery", battery);
        }
        if let Some(alternator) = &vehicle.alternator {
            self.one(|| "vehicle.alternator.rated".into(), alternator.rated);
            self.one(|| "vehicle.alternator.at_idle".into(), alternator.at_idle);
            if let (Some(rated), Some(idle)) = (alternator.rated, alternator.at_idle) {
                self.above_rated(rated, idle);
            }
            self.one(|| "vehicle.alternator.voltage".into(), alternator.voltage);
            self.one(|| "vehicle.alternator.cable_resistance".into(), alternator.cable_resistance);
        }
        if let Some(load) = &vehicle.factory_load {
            self.one(|| "vehicle.factory_load.running".into(), load.running);
            self.one(|| "vehicle.factory_load.accessory".into(), load.accessory);
            self.one(|| "vehicle.factory_load.key_off".into(), load.key_off);
        }
    }

    fn gear(&mut self, plan: &Plan) {
        for (name, battery) in &plan.batteries {
            self.battery(&format!("batteries.{name}"), battery);
        }
        for (name, amplifier) in &plan.amplifiers {
            self.amplifier(&format!("amplifiers.{name}"), amplifier);
        }
        for (name, driver) in &plan.drivers {
            let at = format!("drivers.{name}");
            self.one(|| format!("{at}.size"), driver.size);
            self.one(|| format!("{at}.rms"), driver.rms);
            for (number, coil) in driver.coils.iter().enumerate() {
                self.one(|| format!("{at}.coils.{number}"), Some(*coil));
            }
            for (number, coil) in driver.dc_resistance.iter().enumerate() {
                self.one(|| format!("{at}.dc_resistance.{number}"), Some(*coil));
            }
            self.window(|| format!("{at}.box_volume"), driver.box_volume);
            self.one(|| format!("{at}.resonance"), driver.resonance);
            self.one(|| format!("{at}.compliance_volume"), driver.compliance_volume);
            self.one(|| format!("{at}.displacement"), driver.displacement);
        }
        for (name, enclosure) in &plan.enclosures {
            let at = format!("enclosures.{name}");
            self.one(|| format!("{at}.net_volume"), enclosure.net_volume);
            self.one(|| format!("{at}.gross_volume"), enclosure.gross_volume);
            self.one(|| format!("{at}.bracing"), enclosure.bracing);
            self.one(|| format!("{at}.mass"), enclosure.mass);
            if let Some(vent) = &enclosure.vent {
                let sides = [("diameter", vent.diameter), ("width", vent.width), ("height", vent.height)];
                for (key, value) in sides.into_iter().chain([("length", vent.length)]) {
                    self.one(|| format!("{at}.vent.{key}"), value);
                }
            }
        }
        for (name, source) in &plan.sources {
            self.inputs(&format!("sources.{name}"), source.inputs.as_ref());
            self.one(|| format!("sources.{name}.level"), source.level);
            self.one(|| format!("sources.{name}.power"), source.power);
            self.one(|| format!("sources.{name}.speaker_load"), source.speaker_load);
            self.one(|| format!("sources.{name}.current"), source.current);
            self.one(|| format!("sources.{name}.off_current"), source.off_current);
            self.one(|| format!("sources.{name}.remote_current"), source.remote_current);
            self.one(|| format!("sources.{name}.on_delay"), source.on_delay);
        }
        for (name, converter) in &plan.converters {
            self.one(|| format!("converters.{name}.input_maximum"), converter.input_maximum);
            self.one(|| format!("converters.{name}.output_maximum"), converter.output_maximum);
            self.one(|| format!("converters.{name}.turn_on_current"), converter.turn_on_current);
            self.one(|| format!("converters.{name}.current"), converter.current);
            self.one(|| format!("converters.{name}.off_current"), converter.off_current);
            self.one(|| format!("converters.{name}.remote_current"), converter.remote_current);
        }
    }

    fn amplifier(&mut self, at: &str, amplifier: &crate::plan::Amplifier) {
        let mut rated = vec![("rated", &amplifier.rated)];
        if let Some(Bridged::Ratings(bridged)) = &amplifier.bridged {
            let at = format!("{at}.bridged");
            self.one(|| format!("{at}.minimum_load"), bridged.minimum_load);
            self.above_rated_load(&at, bridged.minimum_load, &bridged.rated);
            rated.push(("bridged.rated", &bridged.rated));
        }
        for (key, points) in rated {
            for (number, point) in points.iter().enumerate() {
                self.one(|| format!("{at}.{key}.{number}.load"), Some(point.load));
                self.one(|| format!("{at}.{key}.{number}.power"), Some(point.power));
            }
        }
        self.one(|| format!("{at}.rated_at"), amplifier.rated_at);
        self.one(|| format!("{at}.minimum_load"), amplifier.minimum_load);
        self.above_rated_load(at, amplifier.minimum_load, &amplifier.rated);
        self.window(|| format!("{at}.operating_voltage"), amplifier.operating_voltage);
        self.one(|| format!("{at}.efficiency"), amplifier.efficiency);
        self.one(|| format!("{at}.idle_current"), amplifier.idle_current);
        self.one(|| format!("{at}.off_current"), amplifier.off_current);
        for (number, fuse) in amplifier.onboard_fuses.iter().flatten().enumerate() {
            self.one(|| format!("{at}.onboard_fuses.{number}"), Some(*fuse));
        }
        self.one(|| format!("{at}.maximum_fuse"), amplifier.maximum_fuse);
        self.below_case(at, amplifier.maximum_fuse, amplifier.onboard_fuses.as_deref().unwrap_or_default());
        if let Some(terminals) = &amplifier.terminals {
            self.gauge(|| format!("{at}.terminals.power"), terminals.power);
            self.gauge(|| format!("{at}.terminals.speaker"), terminals.speaker);
            self.one(|| format!("{at}.terminals.strip"), terminals.strip);
        }
        self.inputs(at, amplifier.inputs.as_ref());
        self.one(|| format!("{at}.remote_current"), amplifier.remote_current);
        self.one(|| format!("{at}.on_delay"), amplifier.on_delay);
        self.one(|| format!("{at}.mass"), amplifier.mass);
    }

    fn inputs(&mut self, at: &str, inputs: Option<&Inputs>) {
        self.window(|| format!("{at}.inputs.line"), inputs.and_then(|inputs| inputs.line));
        self.window(|| format!("{at}.inputs.speaker_level"), inputs.and_then(|inputs| inputs.speaker_level));
    }

    fn supply(&mut self, plan: &Plan) {
        for (name, isolator) in &plan.isolators {
            self.one(|| format!("isolators.{name}.rated"), isolator.rated);
            self.one(|| format!("isolators.{name}.resistance"), isolator.resistance);
        }
        for (name, block) in &plan.blocks {
            self.gauge(|| format!("blocks.{name}.takes"), block.takes);
            self.one(|| format!("blocks.{name}.strip"), block.strip);
            for (output, is) in &block.outputs {
                self.gauge(|| format!("blocks.{name}.outputs.{output}.takes"), is.takes);
                is.fuse.iter().for_each(|fuse| self.fuse(&format!("blocks.{name}.outputs.{output}.fuse"), fuse));
            }
        }
        for (name, wire) in &plan.wires {
            let at = format!("wires.{name}");
            self.gauge(|| format!("{at}.size"), wire.size);
            self.one(|| format!("{at}.insulation"), wire.insulation);
            self.one(|| format!("{at}.length"), wire.length);
            self.one(|| format!("{at}.fixed_every"), wire.fixed_every);
            self.one(|| format!("{at}.joint_resistance"), wire.joint_resistance);
            wire.fuse.iter().for_each(|fuse| self.fuse(&format!("{at}.fuse"), fuse));
            wire.far_fuse.iter().for_each(|fuse| self.fuse(&format!("{at}.far_fuse"), fuse));
            if let Some(ends) = &wire.ends {
                ends.from.iter().for_each(|end| self.end(&format!("{at}.ends.from"), end));
                ends.to.iter().for_each(|end| self.end(&format!("{at}.ends.to"), end));
            }
        }
        for (name, ground) in &plan.grounds {
            self.one(|| format!("grounds.{name}.joint_resistance"), ground.joint_resistance);
        }
    }

    fn end(&mut self, at: &str, end: &End) {
        self.one(|| format!("{at}.stud"), end.stud);
        self.gauge(|| format!("{at}.takes"), end.takes);
        self.one(|| format!("{at}.strip"), end.strip);
    }

    fn leads(&mut self, plan: &Plan) {
        for (name, lead) in &plan.turn_on {
            let at = format!("turn_on.{name}");
            if let Some(from) = &lead.from {
                self.one(|| format!("{at}.from.fuse"), from.fuse);
                self.one(|| format!("{at}.from.spare"), from.spare);
                self.one(|| format!("{at}.from.delay"), from.delay);
            }
            self.one(|| format!("{at}.fuse"), lead.fuse);
            if let Some(relay) = &lead.relay {
                self.one(|| format!("{at}.relay.coil_current"), relay.coil_current);
                self.one(|| format!("{at}.relay.contact_fuse"), relay.contact_fuse);
            }
            self.gauge(|| format!("{at}.size"), lead.size);
        }
        for (name, signal) in &plan.signals {
            let Some(lead) = &signal.lead else { continue };
            self.one(|| format!("signals.{name}.lead.length"), lead.length);
            self.one(|| format!("signals.{name}.lead.separation"), lead.separation);
            self.one(|| format!("signals.{name}.lead.crosses_at"), lead.crosses_at);
        }
        for (name, load) in &plan.loads {
            let Some(lead) = &load.lead else { continue };
            self.gauge(|| format!("loads.{name}.lead.size"), lead.size);
            self.one(|| format!("loads.{name}.lead.length"), lead.length);
        }
    }

    fn settings(&mut self, plan: &Plan) {
        for (name, mount) in &plan.mounts {
            self.one(|| format!("mounts.{name}.clearance"), mount.clearance);
        }
        for (name, setting) in &plan.settings {
            let at = format!("settings.{name}");
            self.one(|| format!("{at}.gain_target"), setting.gain_target);
            self.one(|| format!("{at}.tone"), setting.tone);
            self.one(|| format!("{at}.low_pass"), setting.low_pass);
            self.one(|| format!("{at}.high_pass"), setting.high_pass);
            self.one(|| format!("{at}.low_cut"), setting.low_cut);
            self.one(|| format!("{at}.low_pass_slope"), setting.low_pass_slope);
            self.one(|| format!("{at}.high_pass_slope"), setting.high_pass_slope);
            self.one(|| format!("{at}.low_cut_slope"), setting.low_cut_slope);
            self.one(|| format!("{at}.boost"), setting.boost);
        }
    }

    fn measured(&mut self, plan: &Plan) {
        let Some(measured) = &plan.measured else { return };
        for (name, wire) in &measured.wires {
            self.one(|| format!("measured.wires.{name}.drop"), wire.drop);
            self.one(|| format!("measured.wires.{name}.at"), wire.at);
            self.one(|| format!("measured.wires.{name}.fuse"), wire.fuse);
            self.gauge(|| format!("measured.wires.{name}.size"), wire.size);
        }
        for (name, resistance) in &measured.grounds {
            self.one(|| format!("measured.grounds.{name}"), Some(*resistance));
        }
        for (name, load) in &measured.loads {
            self.one(|| format!("measured.loads.{name}.dc_resistance"), load.dc_resistance);
        }
        self.one(|| "measured.key_off".into(), measured.key_off);
        self.one(|| "measured.charging".into(), measured.charging);
        for (name, setting) in &measured.settings {
            self.one(|| format!("measured.settings.{name}.gain"), setting.gain);
        }
    }
}

/// The same number in other units, where that makes sense at a place.
fn meant<D: Dimension>(written: &str, path: &str) -> Vec<String> {
    let Some((low, high)) = plausible::range(path) else { return Vec::new() };
    let Some((number, unit)) = written.split_once(' ') else { return Vec::new() };
    let others = D::UNITS.iter().filter(|other| other.symbol != unit);
    let fitting = others.filter(|other| {
        number.parse::<f64>().is_ok_and(|number| (low..=high).contains(&(number * other.scale + other.offset)))
    });
    fitting.map(|other| format!("{number} {}", other.symbol)).collect()
}

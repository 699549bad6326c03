//! The draft, section by section in the order of the format.

mod gear;
mod wires;
mod work;

use std::collections::BTreeSet;
use std::sync::Arc;

use gear::{write_amplifiers, write_drivers, write_vehicle};

use super::hang::{self, Hung, Load};
use super::paper::{Paper, maybe, quoted};
use super::way::Side;
use super::{Amplifier, Driver, Facts};
use crate::plan::{self, Body, DriverKind, HighVoltage, Plan, Shelves, Zone, choices, read_with};
use crate::words::either;

/// What the draft calls things that nobody has given a name yet.
const SOURCE: &str = "radio";
const BLOCK: &str = "split";
const RETURNS: &str = "returns";
const GROUND: &str = "chassis";
const MAIN: &str = "main";
const RETURN: &str = "return";
const REMOTE: &str = "remote";
const BUFFER: &str = "buffer";
const BUFFER_FEED: &str = "buffer-feed";
const BUFFER_RETURN: &str = "buffer-return";

/// Writes a draft.
///
/// # Errors
/// A sentence, when the facts do not make a plan: a name that stands for two things, a thing that no shelf has, a driver on
/// no amplifier.
pub fn draft(facts: &Facts, shelves: &Arc<Shelves>) -> Result<String, String> {
    let drivers = counted(facts);
    let mut gear = Paper::default();
    gear.key(0, "plan", plan::FORMAT, "");
    write_vehicle(&mut gear, facts);
    write_amplifiers(&mut gear, facts);
    write_drivers(&mut gear, &drivers, &|_| None);
    let reading = read_with(gear.text(), shelves);
    if let Some(misread) = reading.misreads.first() {
        return Err(format!("{}; {}", misread.what, misread.mend));
    }
    let job = Draft::new(facts, drivers, reading.plan)?;
    Ok(job.write())
}

/// Every driver by a name of its own.
fn counted(facts: &Facts) -> Vec<(String, &Driver)> {
    let each = facts.drivers.iter().flat_map(|driver| {
        let count = driver.count.unwrap_or(1);
        (1..=count).map(move |number| match count {
            1 => (driver.name.clone(), driver),
            _ => (format!("{}-{number}", driver.name), driver),
        })
    });
    each.collect()
}

struct Draft<'f> {
    facts: &'f Facts,
    /// The gear as the shelf completes it.
    gear: Plan,
    drivers: Vec<(String, &'f Driver)>,
    /// What hangs on each amplifier; on none, where there is none yet.
    loads: Vec<(Option<&'f str>, Load)>,
    side: Side,
    battery: Option<Zone>,
}

impl<'f> Draft<'f> {
    fn new(facts: &'f Facts, drivers: Vec<(String, &'f Driver)>, gear: Plan) -> Result<Self, String> {
        let mut loads = Vec::new();
        let amplifiers = facts.amplifiers.iter().map(|amplifier| Some(amplifier.name.as_str()));
        let none = facts.amplifiers.is_empty().then_some(None);
        for amplifier in amplifiers.chain(none) {
            let mut hung = Vec::new();
            for (name, said) in &drivers {
                if driven_by(facts, said)? == amplifier {
                    hung.push(Hung { name: name.clone(), driver: &gear.drivers[name] });
                }
            }
            let known = amplifier.and_then(|name| gear.amplifiers.get(name));
            loads.extend(hang::loads(known, &hung)?.into_iter().map(|load| (amplifier, load)));
        }
        let located = gear.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref()?.location);
        let draft = Self { facts, drivers, loads, side: facts.side.unwrap_or(Side::Right), battery: located, gear };
        draft.names_are_apart()?;
        Ok(draft)
    }

    fn names_are_apart(&self) -> Result<(), String> {
        let mut names: BTreeSet<String> = [SOURCE, BLOCK, RETURNS, MAIN, RETURN, REMOTE].map(str::to_owned).into();
        if self.has_capacitor() {
            names.extend([BUFFER, BUFFER_FEED, BUFFER_RETURN].map(str::to_owned));
        }
        let gear = self.facts.amplifiers.iter().map(|amplifier| amplifier.name.clone());
        let drivers = self.drivers.iter().map(|(name, _)| name.clone());
        for name in gear.chain(drivers).chain(self.boxes().into_iter().map(|(name, _)| name)) {
            if !names.insert(name.clone()) {
                return Err(format!("`{name}` would stand for two things; give one of them another name"));
            }
        }
        Ok(())
    }

    /// The boxes, each with where it stands: one for every kind of subwoofer.
    fn boxes(&self) -> Vec<(String, Option<Zone>)> {
        let subs: Vec<&Driver> = self.facts.drivers.iter().filter(|driver| self.is_sub(driver)).collect();
        let boxed = subs.iter().map(|driver| {
            let on = driven_by(self.facts, driver).ok().flatten();
            let amplifier = self.facts.amplifiers.iter().find(|amplifier| Some(amplifier.name.as_str()) == on);
            let name = if subs.len() == 1 { "box".to_owned() } else { format!("{}-box", driver.name) };
            (name, amplifier.and_then(|amplifier| self.location(amplifier)))
        });
        boxed.collect()
    }

    fn is_sub(&self, driver: &Driver) -> bool {
        let mut own = self.drivers.iter().filter(|(_, said)| *said == driver);
        own.any(|(name, _)| self.kind(name) == Some(DriverKind::Subwoofer))
    }

    fn kind(&self, driver: &str) -> Option<DriverKind> {
        self.gear.drivers.get(driver).and_then(|driver| driver.kind)
    }

    fn box_of(&self, driver: &Driver) -> Option<String> {
        let subs = self.facts.drivers.iter().filter(|other| self.is_sub(other));
        subs.zip(self.boxes()).find(|(other, _)| *other == driver).map(|(_, (name, _))| name)
    }

    fn known(&self, amplifier: &Amplifier) -> Option<&plan::Amplifier> {
        self.gear.amplifiers.get(&amplifier.name)
    }

    fn location(&self, amplifier: &Amplifier) -> Option<Zone> {
        self.known(amplifier).and_then(|known| known.location)
    }

    fn body(&self) -> Option<Body> {
        self.gear.vehicle.as_ref().and_then(|vehicle| vehicle.body)
    }

    fn high_voltage(&self) -> Option<HighVoltage> {
        self.gear.vehicle.as_ref().and_then(|vehicle| vehicle.high_voltage)
    }

    /// Whether the return has to be a cable to the battery.
    fn returns_by_cable(&self) -> bool {
        matches!(self.body(), Some(Body::Aluminium | Body::Composite))
    }

    fn is_shared(&self) -> bool {
        self.facts.amplifiers.len() > 1
    }

    fn has_capacitor(&self) -> bool {
        self.facts.capacitor && !self.facts.amplifiers.is_empty()
    }

    /// Where the first amplifier sits: block, ground and capacitor are beside it.
    fn centre(&self) -> Option<Zone> {
        self.facts.amplifiers.first().and_then(|amplifier| self.location(amplifier))
    }

    fn write(&self) -> String {
        let mut paper = Paper::default();
        paper.remark(
            "A first draft. An empty key is a fact to be found out: `testlamp check` lists them, and which of them",
        );
        paper.remark("decide most. What is marked as a proposal, nobody has decided yet.");
        paper.key(0, "plan", plan::FORMAT, "");
        self.job(&mut paper);
        write_vehicle(&mut paper, self.facts);
        write_amplifiers(&mut paper, self.facts);
        write_drivers(&mut paper, &self.drivers, &|driver| self.box_of(driver));
        self.enclosures(&mut paper);
        if !self.facts.amplifiers.is_empty() {
            Self::source(&mut paper);
            self.blocks(&mut paper);
            self.capacitor(&mut paper);
            self.wires(&mut paper);
            self.ground(&mut paper);
            self.turn_on(&mut paper);
            self.signals(&mut paper);
        }
        self.loads(&mut paper);
        self.mounts(&mut paper);
        self.settings(&mut paper);
        if !self.facts.amplifiers.is_empty() {
            self.steps(&mut paper);
        }
        paper.text()
    }

    fn job(&self, paper: &mut Paper) {
        paper.section("job");
        paper.key(1, "number", maybe(self.facts.number.as_deref().map(quoted)), "");
        paper.key(1, "stage", "draft", "");
        paper.key(1, "summary", maybe(self.facts.summary.as_deref().map(quoted)), "");
    }

    fn enclosures(&self, paper: &mut Paper) {
        let boxes = self.boxes();
        if !boxes.is_empty() {
            paper.section("enclosures");
        }
        for (name, location) in boxes {
            paper.key(1, &name, "", "");
            paper.key(2, "kind", "", &either(&choices("enclosures.any.kind")));
            paper.key(2, "net_volume", "", "with everything in it subtracted");
            let remark = if location.is_some() { "proposal: beside its amplifier" } else { "" };
            paper.key(2, "location", maybe(location.map(Zone::word)), remark);
            paper.key(2, "mass", "", "with the driver in it");
        }
    }

    fn source(paper: &mut Paper) {
        paper.section("sources");
        paper.key(1, SOURCE, "", "");
        paper.key(2, "kind", "factory", "proposal: it stays");
        paper.open(
            2,
            &[
                ("outputs", "line, or speaker-level with a converter behind it?"),
                ("level", "at the loudest clean setting"),
                ("bass_output", "has it a line output for bass?"),
                ("senses_load", "does it fall silent without a speaker on it?"),
                ("sound_processing", "noise cancelling, engine sound: ask and listen"),
            ],
        );
    }

    fn loads(&self, paper: &mut Paper) {
        if !self.loads.is_empty() {
            paper.section("loads");
        }
        for (amplifier, load) in &self.loads {
            let outputs: Vec<String> = load.outputs.iter().map(u8::to_string).collect();
            let remark = if outputs.len() == 2 { "proposal: bridged" } else { "" };
            paper.key(1, &load.name, "", "");
            paper.key(2, "amplifier", maybe(*amplifier), "");
            let outputs = if outputs.is_empty() { String::new() } else { format!("[{}]", outputs.join(", ")) };
            paper.key(2, "outputs", outputs, remark);
            paper.key(2, "coils", &load.coils, load.remark);
            paper.key(2, "lead", "{size: , length: }", "");
        }
    }

    fn mounts(&self, paper: &mut Paper) {
        let amplifiers = self.facts.amplifiers.iter().map(|amplifier| amplifier.name.clone());
        let capacitor = self.has_capacitor().then(|| BUFFER.to_owned());
        let boxes = self.boxes().into_iter().map(|(name, _)| name);
        let gear: Vec<String> = amplifiers.chain(capacitor).chain(boxes).collect();
        if !gear.is_empty() {
            paper.section("mounts");
        }
        for name in gear {
            paper.key(1, &name, "", "");
            paper.key(2, "on", "", "");
            paper.key(2, "fasteners", "{count: , kind: , thread: }", "");
            if self.facts.amplifiers.iter().any(|amplifier| amplifier.name == name) {
                paper.key(2, "clearance", "", "free space around it");
            }
            paper.key(2, "blind_side", "", "look behind before you drill: checked");
        }
    }
}

/// The amplifier that drives a driver; where there is only one, that one.
fn driven_by<'f>(facts: &'f Facts, driver: &'f Driver) -> Result<Option<&'f str>, String> {
    let named = driver.on.as_deref();
    match (named, facts.amplifiers.as_slice()) {
        (Some(on), amplifiers) if amplifiers.iter().any(|amplifier| amplifier.name == on) => Ok(Some(on)),
        (Some(on), _) => Err(format!("{} is to hang on `{on}`, and no amplifier is called that", driver.name)),
        (None, []) => Ok(None),
        (None, [only]) => Ok(Some(&only.name)),
        (None, several) => {
            let names: Vec<&str> = several.iter().map(|amplifier| amplifier.name.as_str()).collect();
            Err(format!("{} hangs on {}: say which", driver.name, either(&names)))
        }
    }
}

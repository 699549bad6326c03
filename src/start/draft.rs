//! The draft, section by section in the order of the format.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::hang::{self, Hung, Load};
use super::paper::{Paper, maybe, quoted};
use super::said::DRIVER_KIND;
use super::way::{Side, way};
use super::{Amplifier, Driver, Facts};
use crate::plan::{self, Body, DriverKind, HighVoltage, Plan, Room, Shelves, Zone, ZoneKind, choices, read_with, word};
use crate::quantity::{Quantity, Voltage};
use crate::words::either;

/// What the draft calls things that nobody has given a name yet.
const SOURCE: &str = "radio";
const BLOCK: &str = "split";
const RETURNS: &str = "returns";
const GROUND: &str = "chassis";
const MAIN: &str = "main";
const RETURN: &str = "return";
const REMOTE: &str = "remote";

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

    /// Where the first amplifier sits: block and ground are beside it.
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
        paper.key(2, "outputs", "", "line, or speaker-level with a converter behind it?");
        paper.key(2, "level", "", "at the loudest clean setting");
        paper.key(2, "bass_output", "", "has it a line output for bass?");
        paper.key(2, "senses_load", "", "does it fall silent without a speaker on it?");
        paper.key(2, "sound_processing", "", "noise cancelling, engine sound: ask and listen");
    }

    fn blocks(&self, paper: &mut Paper) {
        if !self.is_shared() {
            return;
        }
        paper.section("blocks");
        self.block(paper, BLOCK, "fuse: {rating: }", "a fuse for the thinner wire behind it");
        if self.returns_by_cable() {
            self.block(paper, RETURNS, "", "");
        }
    }

    fn block(&self, paper: &mut Paper, name: &str, output: &str, remark: &str) {
        paper.key(1, name, "", "");
        paper.key(2, "location", maybe(self.centre().map(Zone::word)), "");
        paper.key(2, "outputs", "", "");
        for amplifier in &self.facts.amplifiers {
            paper.key(3, &amplifier.name, format!("{{{output}}}"), remark);
        }
    }

    fn wires(&self, paper: &mut Paper) {
        paper.section("wires");
        let first = &self.facts.amplifiers[0].name;
        let to = if self.is_shared() { format!("{BLOCK}.in") } else { format!("{first}.power") };
        let run = self.run(self.battery, self.centre());
        self.wire(paper, MAIN, ["battery.positive", &to], &run);
        for amplifier in self.facts.amplifiers.iter().filter(|_| self.is_shared()) {
            let (name, run) = (&amplifier.name, self.run(self.centre(), self.location(amplifier)));
            let (from, to) = (format!("{BLOCK}.{name}"), format!("{name}.power"));
            self.wire(paper, &format!("{name}-feed"), [&from, &to], &run);
        }
        for amplifier in &self.facts.amplifiers {
            let from = format!("{}.ground", amplifier.name);
            let (to, run) = match (self.returns_by_cable(), self.is_shared()) {
                (false, _) => (format!("grounds.{GROUND}"), self.run(self.location(amplifier), self.centre())),
                (true, true) => {
                    (format!("{RETURNS}.{}", amplifier.name), self.run(self.location(amplifier), self.centre()))
                }
                (true, false) => ("battery.negative".into(), self.run_back()),
            };
            self.wire(paper, &self.return_of(amplifier), [&from, &to], &run);
        }
        if self.returns_by_cable() && self.is_shared() {
            let ends = [&format!("{RETURNS}.in"), "battery.negative"];
            self.wire(paper, RETURN, ends, &self.run_back());
        }
    }

    fn return_of(&self, amplifier: &Amplifier) -> String {
        if self.is_shared() { format!("{}-return", amplifier.name) } else { RETURN.into() }
    }

    /// The places from one to another; none where one end is not known.
    fn run(&self, from: Option<Zone>, to: Option<Zone>) -> Vec<Zone> {
        from.zip(to).map(|(from, to)| way(from, to, self.side)).unwrap_or_default()
    }

    fn run_back(&self) -> Vec<Zone> {
        let mut run = self.run(self.battery, self.centre());
        run.reverse();
        run
    }

    fn wire(&self, paper: &mut Paper, name: &str, [from, to]: [&str; 2], run: &[Zone]) {
        paper.key(1, name, "", "");
        paper.key(2, "from", from, "");
        paper.key(2, "to", to, "");
        let is_main = name == MAIN;
        paper.key(2, "size", "", if is_main { "`testlamp fix --sizes` chooses sizes and fuses" } else { "" });
        paper.key(2, "conductor", "copper", "proposal");
        paper.key(2, "stranding", "fine", "proposal");
        paper.key(2, "insulation", "", "the class printed on it");
        paper.key(2, "length", "", "measured along the trim");
        self.path(paper, 2, run, "");
        if is_main {
            paper.key(2, "fuse", "", "");
            paper.key(3, "form", "", "");
            paper.key(3, "rating", "", "at most what the wire carries");
            paper.key(3, "distance", "20 cm", "proposal: as near to the battery as it can sit");
            paper.key(3, "voltage", "", "printed on it");
            paper.key(3, "breaking_capacity", "", "by its maker, like 2 kA");
            paper.key(3, "holder", "{takes: , rated: , sealed: }", "");
        }
        crossings(paper, run);
        if run.len() > 1 {
            let is_under = run.iter().any(|zone| zone.room() == Some(Room::Underbody));
            paper.key(2, "covering", if is_under { "conduit" } else { "loom" }, "proposal");
        }
        paper.key(2, "fixed_every", "30 cm", "proposal");
        paper.key(2, "ends", "", "");
        for end in ["from", "to"] {
            paper.key(3, end, "{kind: , made: crimped}", "ring, ferrule, push-on or bare?");
        }
    }

    /// The places a run goes through.
    fn path(&self, paper: &mut Paper, depth: usize, run: &[Zone], remark: &str) {
        let words: Vec<String> = run.iter().map(|zone| zone.word()).collect();
        let is_long = run.len() > 1 && self.facts.side.is_none() && remark.is_empty();
        let remark = if run.is_empty() { "the places it runs through, in order" } else { remark };
        let remark = if is_long { "proposal" } else { remark };
        paper.key(
            depth,
            "path",
            if run.is_empty() { String::new() } else { format!("[{}]", words.join(", ")) },
            remark,
        );
    }

    fn ground(&self, paper: &mut Paper) {
        if self.returns_by_cable() {
            return;
        }
        paper.section("grounds");
        paper.key(1, GROUND, "", if self.is_shared() { "one point for all, or they hum" } else { "" });
        paper.key(2, "on", "", "welded sheet or structure; no seat, no belt, no airbag");
        paper.key(2, "surface", "bare-metal", "proposal: ground back to bright metal");
        paper.key(2, "fastener", "{kind: , thread: , locking: , shared: }", "");
        paper.key(2, "coated_after", "true", "proposal");
        paper.key(2, "location", maybe(self.centre().map(Zone::word)), "");
    }

    fn turn_on(&self, paper: &mut Paper) {
        paper.section("turn_on");
        paper.key(1, REMOTE, "", "");
        paper.key(2, "from", "", "");
        paper.key(3, "kind", "", "accessory, or the radio's own output");
        paper.key(3, "circuit", "", "what else hangs on it; nothing of engine, brakes, airbags");
        paper.key(3, "fuse", "", "");
        paper.key(3, "spare", "", "");
        paper.key(2, "tap", "", "");
        paper.key(2, "fuse", "", "");
        let to: Vec<String> =
            self.facts.amplifiers.iter().map(|amplifier| format!("{}.remote", amplifier.name)).collect();
        paper.key(2, "to", format!("[{}]", to.join(", ")), "");
        self.path(paper, 2, &self.run(self.centre().map(|_| Zone::Dash), self.centre()), "");
    }

    fn signals(&self, paper: &mut Paper) {
        paper.section("signals");
        for amplifier in &self.facts.amplifiers {
            for (name, input) in self.signals_of(amplifier) {
                paper.key(1, &name, "", "");
                paper.key(2, "from", SOURCE, "");
                paper.key(2, "taken_at", "", "");
                paper.key(3, "speaker", "", "or the `output:` it is taken at");
                paper.key(3, "plays", "", "swept with a tone: full-range?");
                paper.key(3, "after", "", "the radio, or a factory amplifier behind it?");
                paper.key(3, "polarity_checked", "", "");
                paper.key(2, "through", "", "a converter, from speaker level to line level");
                paper.key(2, "to", format!("{}.{input}", amplifier.name), "");
                paper.key(2, "lead", "", "");
                paper.key(3, "length", "", "");
                paper.key(3, "shielded", "", "");
                let to = self.location(amplifier);
                let run = to.map(|to| way(Zone::Dash, to, self.side.other())).unwrap_or_default();
                self.path(paper, 3, &run, if run.len() > 2 { "away from the supply" } else { "" });
            }
        }
    }

    /// The signals of an amplifier, each with the input that it goes to.
    fn signals_of(&self, amplifier: &Amplifier) -> Vec<(String, String)> {
        let known = self.known(amplifier);
        let inputs = known.and_then(|known| known.inputs.as_ref());
        let is_speaker = inputs.is_some_and(|inputs| inputs.line.is_none() && inputs.speaker_level.is_some());
        let kind = if is_speaker { "speaker" } else { "line" };
        let own = self.loads.iter().filter(|(on, _)| *on == Some(amplifier.name.as_str()));
        let used: BTreeSet<u8> = own.flat_map(|(_, load)| load.outputs.iter().copied()).collect();
        let is_used = |channel: &u8| used.is_empty() || used.contains(channel);
        let ends: Vec<String> = match known.and_then(|known| known.channels) {
            Some(channels @ 3..) => (1..=channels).filter(is_used).map(|channel| channel.to_string()).collect(),
            _ => vec!["left".into(), "right".into()],
        };
        let prefix = if self.is_shared() { format!("{}-", amplifier.name) } else { String::new() };
        let own = |end: String| {
            let name = if end.len() > 2 { format!("{prefix}{end}") } else { format!("{prefix}channel-{end}") };
            (name, format!("{kind}-{end}"))
        };
        ends.into_iter().map(own).collect()
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
        let gear: Vec<String> = amplifiers.chain(self.boxes().into_iter().map(|(name, _)| name)).collect();
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

    fn settings(&self, paper: &mut Paper) {
        let setting = |amplifier| Some((amplifier, self.setting(amplifier)?, self.gain(amplifier)?));
        let set: Vec<(&Amplifier, _, _)> = self.facts.amplifiers.iter().filter_map(setting).collect();
        if !set.is_empty() {
            paper.section("settings");
        }
        for (amplifier, (filter, tone), gain) in set {
            paper.key(1, &amplifier.name, "", "");
            paper.key(2, "gain_target", gain, "proposal: all that amplifier and coils are rated for");
            paper.key(2, "tone", tone, "proposal");
            paper.key(2, filter, "80 Hz", "proposal");
            paper.key(2, "filters", "", "their design, like butterworth");
            paper.key(2, "boost", "0 dB", "proposal: none");
        }
    }

    /// The voltage that all loads of an amplifier bear; none where one of them is not known well enough.
    fn gain(&self, amplifier: &Amplifier) -> Option<Quantity<Voltage>> {
        let own = self.loads.iter().filter(|(on, _)| *on == Some(amplifier.name.as_str()));
        let gains: Vec<Quantity<Voltage>> = own.map(|(_, load)| load.gain).collect::<Option<_>>()?;
        gains.into_iter().min_by(|one, other| one.base().total_cmp(&other.base()))
    }

    /// The filter and the test tone of an amplifier that drives one part of the music.
    fn setting(&self, amplifier: &Amplifier) -> Option<(&'static str, &'static str)> {
        let own = |said: &Driver| driven_by(self.facts, said).ok().flatten() == Some(amplifier.name.as_str());
        let kinds: Vec<_> =
            self.drivers.iter().filter(|(_, said)| own(said)).map(|(name, _)| self.kind(name)).collect();
        let all = |allowed: &[DriverKind]| {
            !kinds.is_empty() && kinds.iter().all(|kind| kind.is_some_and(|kind| allowed.contains(&kind)))
        };
        match () {
            () if all(&[DriverKind::Subwoofer]) => Some(("low_pass", "50 Hz")),
            () if all(&[DriverKind::Woofer, DriverKind::FullRange]) => Some(("high_pass", "1 kHz")),
            () => None,
        }
    }

    fn steps(&self, paper: &mut Paper) {
        let is_high = matches!(self.high_voltage(), Some(HighVoltage::Hybrid | HighVoltage::Electric));
        paper.section("steps");
        let mut step = |words: String| paper.entry(&words, "");
        step("radio: note-code".into());
        if is_high {
            step("high_voltage: isolated-by-qualified-person".into());
        }
        step("battery: disconnect".into());
        step(format!("run: {MAIN}"));
        for amplifier in self.facts.amplifiers.iter().filter(|_| self.is_shared()) {
            step(format!("run: {}-feed", amplifier.name));
        }
        if !self.returns_by_cable() {
            step(format!("ground: {GROUND}"));
        }
        for amplifier in &self.facts.amplifiers {
            step(format!("run: {}", self.return_of(amplifier)));
        }
        if self.returns_by_cable() && self.is_shared() {
            step(format!("run: {RETURN}"));
        }
        step(format!("run: {REMOTE}"));
        for (name, _) in self.facts.amplifiers.iter().flat_map(|amplifier| self.signals_of(amplifier)) {
            step(format!("run: {name}"));
        }
        let names: Vec<&String> = self.facts.amplifiers.iter().map(|amplifier| &amplifier.name).collect();
        for name in names.iter().copied().chain(self.boxes().iter().map(|(name, _)| name)) {
            step(format!("mount: {name}"));
        }
        if self.is_shared() {
            step(format!("connect: {BLOCK}"));
            if self.returns_by_cable() {
                step(format!("connect: {RETURNS}"));
            }
        }
        for name in &names {
            step(format!("connect: {name}"));
        }
        step("inspect: polarity-and-polish".into());
        step("inspect: no-short".into());
        step("battery: reconnect".into());
        if self.is_shared() {
            step(format!("fuse: {BLOCK}"));
        }
        step(format!("fuse: {MAIN}"));
        if is_high {
            step("high_voltage: restored-by-qualified-person".into());
        }
        step("radio: restore-code".into());
        for name in &names {
            step(format!("set: {name}"));
        }
        step("test: commissioning".into());
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

fn crossings(paper: &mut Paper, run: &[Zone]) {
    let through: Vec<&Zone> = run.iter().filter(|zone| zone.kind() == ZoneKind::Crossing).collect();
    if !through.is_empty() {
        paper.key(2, "crossings", "", "");
    }
    for zone in through {
        let remark = "a factory grommet with room, or a new hole?";
        paper.key(3, &zone.word(), "{through: , sealed: , blind_side: }", remark);
    }
}

fn write_vehicle(paper: &mut Paper, facts: &Facts) {
    let is_open = facts.vehicle_shelf.is_none();
    paper.section("vehicle");
    // Beside a thing of the shelf an empty key would say that it is not known after all.
    let mut key = |depth: usize, key: &str, value: Option<String>, remark: &str| match value {
        Some(value) => paper.key(depth, key, value, ""),
        None if is_open => paper.key(depth, key, "", remark),
        None => {}
    };
    if !is_open {
        key(1, "shelf", facts.vehicle_shelf.clone(), "");
    }
    key(1, "summary", facts.vehicle.as_deref().map(quoted), "");
    key(1, "voltage", facts.voltage.as_ref().map(word), &either(&choices("vehicle.voltage")));
    key(1, "body", facts.body.as_ref().map(word), &format!("{}: can it carry a return?", either(&choices("vehicle.body"))));
    key(1, "high_voltage", facts.high_voltage.as_ref().map(word), &either(&choices("vehicle.high_voltage")));
    if is_open || facts.battery.is_some() {
        key(1, "battery", Some(String::new()), "");
        key(2, "location", facts.battery.map(Zone::word), "");
        key(2, "kind", None, "its label tells: flooded, agm, ...");
        key(2, "capacity", None, "");
        key(2, "cold_cranking", None, "");
        key(2, "monitor", None, "is there a sensor on the negative clamp?");
    }
    if is_open || facts.alternator.is_some() {
        key(1, "alternator", Some(String::new()), "");
        key(2, "rated", facts.alternator.map(|rated| rated.to_string()), "");
        key(2, "at_idle", None, "hot");
        key(2, "control", None, "its own regulator (fixed), or the engine's control unit (ecu)");
    }
    key(1, "factory_load", is_open.then(String::new), "");
    key(2, "running", None, "clamp meter, lamps and blower on");
    key(2, "key_off", None, "asleep: half an hour after locking");
}

fn write_amplifiers(paper: &mut Paper, facts: &Facts) {
    if !facts.amplifiers.is_empty() {
        paper.section("amplifiers");
    }
    for amplifier in &facts.amplifiers {
        paper.key(1, &amplifier.name, "", "");
        let location = maybe(amplifier.location.map(Zone::word));
        if let Some(shelf) = &amplifier.shelf {
            paper.key(2, "shelf", shelf, "");
        }
        if amplifier.shelf.is_none() || amplifier.location.is_some() {
            paper.key(2, "location", location, "");
        }
        let output = amplifier.output;
        if amplifier.shelf.is_none() {
            paper.key(2, "class", "", "AB or D, mostly: it decides the current");
        }
        if amplifier.shelf.is_none() || output.is_some() {
            paper.key(2, "channels", maybe(output.map(|output| output.channels)), "");
        }
        match output.and_then(|output| output.rated) {
            Some((power, load)) => paper.key(2, "rated", format!("[{{load: {load}, power: {power}}}]"), ""),
            None if amplifier.shelf.is_none() => {
                paper.key(2, "rated", "", "like [{load: 4 ohm, power: 75 W}], a channel");
            }
            None => {}
        }
        if amplifier.shelf.is_none() {
            paper.key(2, "minimum_load", "", "");
            paper.key(2, "operating_voltage", "", "like 10 V .. 16 V");
            paper.key(2, "onboard_fuses", "", "on its case, like [25 A, 25 A]");
            paper.key(2, "maximum_fuse", "", "if its maker gives one");
            paper.key(2, "terminals", "{power: , speaker: , strip: }", "");
            paper.key(2, "remote_current", "", "");
        }
    }
}

fn write_drivers(paper: &mut Paper, drivers: &[(String, &Driver)], box_of: &dyn Fn(&Driver) -> Option<String>) {
    if !drivers.is_empty() {
        paper.section("drivers");
    }
    for (name, driver) in drivers {
        let is_open = driver.shelf.is_none();
        paper.key(1, name, "", "");
        let mut key = |key: &str, value: Option<String>, remark: &str| match value {
            Some(value) => paper.key(2, key, value, ""),
            None if is_open => paper.key(2, key, "", remark),
            None => {}
        };
        if !is_open {
            key("shelf", driver.shelf.clone(), "");
        }
        key("kind", driver.kind.as_ref().map(word), &either(&choices(DRIVER_KIND)));
        let coils: Vec<String> = driver.coils.iter().map(ToString::to_string).collect();
        key(
            "coils",
            (!coils.is_empty()).then(|| format!("[{}]", coils.join(", "))),
            "each voice coil, like [4 ohm, 4 ohm]",
        );
        key("rms", driver.rms.map(|rms| rms.to_string()), "all coils together");
        if let Some(name) = box_of(driver) {
            key("enclosure", Some(name), "");
            key("box_volume", None, "what its maker asks for");
        }
    }
}

//! Every name in a plan that refers to something else, and the names that can be referred to.

use std::collections::BTreeMap;

use crate::plan::{Coil, Plan, Setting, Terminal};
use crate::solve::{Job, Place};
use crate::words;

/// A name that refers to something.
pub struct Reference<'a> {
    /// Where it stands.
    pub place: Place,
    /// The name of the thing it refers to.
    pub name: &'a str,
    /// What it may refer to, by section.
    pub sections: &'static [&'static str],
    /// What is written before the name, like `grounds.`.
    pub before: &'static str,
    /// What is written after the name, like `.2` for a coil.
    pub after: String,
    /// The terminal of that thing, where it refers to one.
    pub terminal: Option<&'a str>,
    /// Whether it makes the thing part of what is built; a step or a measurement alone does not.
    pub uses: bool,
}

impl<'a> Reference<'a> {
    /// As it is written with a name in it.
    pub fn with(&self, name: &str) -> String {
        format!("{}{name}{}", self.before, self.after)
    }

    /// The names it may refer to, each once: things of two sections can have one name.
    pub fn known(&self, plan: &'a Plan) -> Vec<&'a str> {
        let named = self.sections.iter().flat_map(|section| names(plan, section));
        let factory = OF_THE_VEHICLE.into_iter().filter(|_| self.terminal.is_some());
        let mut told = std::collections::BTreeSet::new();
        named.chain(factory).filter(|name| told.insert(*name)).collect()
    }

    /// Its name without the section, where somebody wrote that before it.
    pub fn bare(&self) -> &'a str {
        let after = self.name.split_once('.').filter(|(section, _)| self.sections.contains(section));
        after.map_or(self.name, |(_, name)| name)
    }

    /// Whether there is what it refers to.
    pub fn is_known(&self, plan: &Plan) -> bool {
        let is_named = self.sections.iter().any(|section| has(plan, section, self.name));
        is_named || (self.terminal.is_some() && OF_THE_VEHICLE.contains(&self.name))
    }

    /// The name it refers to; where that does not exist, the one that was meant.
    pub fn means(&self, plan: &'a Plan) -> Option<&'a str> {
        if self.is_known(plan) { Some(self.name) } else { words::only_near(self.bare(), self.known(plan)) }
    }
}

/// Names that every plan knows.
const OF_THE_VEHICLE: [&str; 3] = ["battery", "alternator", "grounds"];
/// What a terminal can belong to, grounds apart.
pub const WITH_TERMINALS: &[&str] =
    &["amplifiers", "batteries", "isolators", "blocks", "capacitors", "converters", "sources"];
/// What can be fastened.
const FASTENED: &[&str] =
    &["amplifiers", "enclosures", "drivers", "batteries", "converters", "blocks", "isolators", "capacitors", "sources"];
/// What can be connected.
const CONNECTED: &[&str] = &[
    "amplifiers",
    "drivers",
    "enclosures",
    "batteries",
    "converters",
    "blocks",
    "isolators",
    "capacitors",
    "sources",
    "loads",
];

/// What can be set and measured with a test tone.
const SET: &[&str] = &["amplifiers", "settings"];

/// The names in a section.
pub fn names<'a>(plan: &'a Plan, section: &str) -> Vec<&'a str> {
    fn keys<T>(map: &BTreeMap<String, T>) -> Vec<&str> {
        map.keys().map(String::as_str).collect()
    }
    // A setting without a name of its own is called by its amplifier.
    fn named(settings: &BTreeMap<String, Setting>) -> Vec<&str> {
        settings.iter().filter(|(_, is)| is.amplifier.is_some()).map(|(name, _)| name.as_str()).collect()
    }
    match section {
        "amplifiers" => keys(&plan.amplifiers),
        "drivers" => keys(&plan.drivers),
        "enclosures" => keys(&plan.enclosures),
        "sources" => keys(&plan.sources),
        "converters" => keys(&plan.converters),
        "batteries" => keys(&plan.batteries),
        "isolators" => keys(&plan.isolators),
        "blocks" => keys(&plan.blocks),
        "capacitors" => keys(&plan.capacitors),
        "wires" => keys(&plan.wires),
        "grounds" => keys(&plan.grounds),
        "turn_on" => keys(&plan.turn_on),
        "signals" => keys(&plan.signals),
        "loads" => keys(&plan.loads),
        "settings" => named(&plan.settings),
        _ => Vec::new(),
    }
}

/// Whether a section has a thing of this name.
fn has(plan: &Plan, section: &str, name: &str) -> bool {
    match section {
        "amplifiers" => plan.amplifiers.contains_key(name),
        "drivers" => plan.drivers.contains_key(name),
        "enclosures" => plan.enclosures.contains_key(name),
        "sources" => plan.sources.contains_key(name),
        "converters" => plan.converters.contains_key(name),
        "batteries" => plan.batteries.contains_key(name),
        "isolators" => plan.isolators.contains_key(name),
        "blocks" => plan.blocks.contains_key(name),
        "capacitors" => plan.capacitors.contains_key(name),
        other => names(plan, other).contains(&name),
    }
}

/// Every reference of a plan.
pub fn of<'a>(job: &Job<'a>) -> Vec<Reference<'a>> {
    let mut found = Found(Vec::new());
    found.supply(job);
    found.audio(job);
    found.work(job.plan);
    found.measured(job.plan);
    found.0
}

struct Found<'a>(Vec<Reference<'a>>);

impl<'a> Found<'a> {
    fn name(&mut self, place: Place, name: &'a str, sections: &'static [&'static str], uses: bool) {
        self.0.push(Reference { place, name, sections, before: "", after: String::new(), terminal: None, uses });
    }

    fn terminal(&mut self, place: Place, terminal: &'a Terminal) {
        let (thing, end) = (terminal.thing.as_str(), terminal.terminal.as_str());
        self.0.push(match thing {
            "grounds" => Reference {
                place,
                name: end,
                sections: &["grounds"],
                before: "grounds.",
                after: String::new(),
                terminal: None,
                uses: true,
            },
            _ => Reference {
                place,
                name: thing,
                sections: WITH_TERMINALS,
                before: "",
                after: format!(".{end}"),
                terminal: Some(end),
                uses: true,
            },
        });
    }

    fn coil(&mut self, place: Place, coil: &'a Coil) {
        self.0.push(Reference {
            place,
            name: &coil.driver,
            sections: &["drivers"],
            before: if coil.reversed { "-" } else { "" },
            after: format!(".{}", coil.number),
            terminal: None,
            uses: true,
        });
    }

    fn supply(&mut self, job: &Job<'a>) {
        for wire in &job.wires {
            for (key, end) in [("from", &wire.plan().from), ("to", &wire.plan().to)] {
                if let Some(end) = end {
                    self.terminal(wire.at(key), end);
                }
            }
        }
        for lead in &job.turn_on {
            if let Some(of) = lead.plan().from.as_ref().and_then(|from| from.of.as_deref()) {
                self.name(lead.at("from.of"), of, &["sources", "converters"], true);
            }
            for (at, end) in lead.plan().to.iter().enumerate() {
                self.terminal(lead.at(format!("to.{at}")), end);
            }
        }
    }

    fn audio(&mut self, job: &Job<'a>) {
        for signal in &job.signals {
            let is = signal.plan();
            let after = is.taken_at.as_ref().and_then(|taken| taken.after.as_ref());
            for (key, name, sections) in [
                ("from", is.from.as_ref(), &["sources"] as &'static [&'static str]),
                ("taken_at.after", after, &["sources"]),
                ("through", is.through.as_ref(), &["converters"]),
            ] {
                if let Some(name) = name {
                    self.name(signal.at(key), name, sections, true);
                }
            }
            if let Some(end) = &is.to {
                self.terminal(signal.at("to"), end);
            }
        }
        for load in &job.loads {
            if let Some(amplifier) = &load.plan().amplifier {
                self.name(load.at("amplifier"), amplifier, &["amplifiers"], true);
            }
            for (path, coil) in load.plan().coils.iter().flat_map(|coils| coils.each()) {
                self.coil(load.at(format!("coils{path}")), coil);
            }
        }
        for (name, driver) in &job.plan.drivers {
            if let Some(enclosure) = &driver.enclosure {
                self.name(Place::of(format!("drivers.{name}.enclosure")), enclosure, &["enclosures"], true);
            }
        }
    }

    fn work(&mut self, plan: &'a Plan) {
        for name in plan.mounts.keys() {
            self.name(Place::of(format!("mounts.{name}")), name, FASTENED, true);
        }
        for (name, setting) in &plan.settings {
            match &setting.amplifier {
                Some(amplifier) => {
                    self.name(Place::of(format!("settings.{name}.amplifier")), amplifier, &["amplifiers"], true);
                }
                None => self.name(Place::of(format!("settings.{name}")), name, &["amplifiers"], true),
            }
        }
        for (at, step) in plan.steps.iter().enumerate() {
            for (key, name, sections) in [
                ("run", &step.run, &["wires", "turn_on", "signals", "loads"] as &'static [&'static str]),
                ("ground", &step.ground, &["grounds"]),
                ("mount", &step.mount, FASTENED),
                ("connect", &step.connect, CONNECTED),
                ("charge", &step.charge, &["capacitors"]),
                ("discharge", &step.discharge, &["capacitors"]),
                ("fuse", &step.fuse, &["wires", "blocks", "turn_on"]),
                ("set", &step.set, SET),
            ] {
                if let Some(name) = name {
                    self.name(Place::of(format!("steps.{at}.{key}")), name, sections, false);
                }
            }
        }
    }

    fn measured(&mut self, plan: &'a Plan) {
        let Some(measured) = &plan.measured else { return };
        let mut each = |key: &str, name: &'a str, sections: &'static [&'static str]| {
            self.name(Place::of(format!("measured.{key}.{name}")), name, sections, false);
        };
        measured.wires.keys().for_each(|name| each("wires", name, &["wires"]));
        measured.grounds.keys().for_each(|name| each("grounds", name, &["grounds"]));
        measured.loads.keys().for_each(|name| each("loads", name, &["loads"]));
        measured.settings.keys().for_each(|name| each("settings", name, SET));
        measured.indicators.keys().for_each(|name| each("indicators", name, &["amplifiers"]));
    }
}
